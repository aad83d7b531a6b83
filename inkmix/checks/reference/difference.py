"""dE00 of two sRGB pictures, pixel by pixel, counted in whole steps.

The formula is that of `colorimetry.delta_e00`, written without angles: with sums, products,
quotients, square roots and tables alone, NumPy and compiled loops round alike, and an integer step
is the same whichever ran. It is told here; base/kernels/difference.py repeats it.

Hues enter only by half their difference and by their mean. Both come from the vectors of a and b:
the sum of their directions points to the mean hue, and so does their difference, a quarter turned;
the longer one is taken, so that nothing is lost where hues are nearly opposite.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base import loops
from inkmix.base.arrays import FloatArray, read_only
from inkmix.colour.colorimetry import WHITE_XYZ100, decode_srgb1, srgb1_to_xyz100

STEPS_PER_DE00 = 64
BINS = STEPS_PER_DE00 * 200  # sRGB holds no two colours as far apart, on any paper
_TWIN_PX = 1 << 16  # pixels worked on at once

_KNEE, _SLOPE, _OFFSET = (6 / 29) ** 3, 841 / 108, 4 / 29  # CIE 15:2018, equations 8.3 to 8.8
_FAR = 25.0**7
_OPPOSITE = np.radians(1e-9)  # hues so near to half a turn apart are taken in their order
_ROOTS_PER_ONE = 1024
_ROOTS = 4 * _ROOTS_PER_ONE  # a paper brighter than the white has ratios above 1
_CELLS = 256  # of the table of tilts, in a quarter of all hues
_TILT_TERMS = 6

_LINEAR = read_only(decode_srgb1(np.arange(256) / 255.0))
_CUBE_ROOTS = read_only(np.cbrt((np.arange(_ROOTS) + 0.5) / _ROOTS_PER_ONE))
_TURNS = (30.0, 6.0, 63.0)  # of equation 15


def _tilt(place: FloatArray) -> FloatArray:
    """sin(2 delta theta) of equation 22 by the hue's place on a square, 0-4."""
    across = np.where(place < 2, 1 - place, place - 3)
    angle = np.degrees(np.arctan2(1 - np.abs(across), across))
    hue = np.where(place < 2, angle, 360 - angle)
    return np.asarray(np.sin(np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))))


def _tilt_terms() -> FloatArray:
    """Polynomials (4 * cells, terms) through Chebyshev's points of each cell, within 1e-12."""
    points = np.cos(np.pi * (np.arange(_TILT_TERMS) + 0.5) / _TILT_TERMS) / 2
    places = (np.arange(4 * _CELLS)[:, None] + 0.5 + points) / _CELLS
    powers = np.vander(points, increasing=True)
    return np.asarray(np.linalg.solve(powers, _tilt(places).T).T, dtype=np.float64)


_TILTS = read_only(np.ascontiguousarray(_tilt_terms()))
_CONSTANTS = read_only(
    np.array(
        [_KNEE, _SLOPE, _OFFSET, _ROOTS_PER_ONE, _FAR, _OPPOSITE]
        + [part(np.radians(turn)) for turn in _TURNS for part in (np.cos, np.sin)]
    )
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DifferenceCounter:
    """Counts of dE00 between pictures whose white is known.

    Parameters
    ----------
    ratios_of_first, ratios_of_second : (3, 3) ndarray
        From linear sRGB to XYZ over that of D50, each on its paper.
    """

    ratios_of_first: FloatArray
    ratios_of_second: FloatArray

    def add(
        self, histogram: NDArray[np.int64], first: NDArray[np.uint8], second: NDArray[np.uint8]
    ) -> None:
        """Count pictures (rows, cols, 3) into a histogram (BINS,)."""
        one, two = (np.ascontiguousarray(srgb8).reshape(-1) for srgb8 in (first, second))
        if not loops.are_compiled():
            for start in range(0, one.size, 3 * _TWIN_PX):
                part = slice(start, start + 3 * _TWIN_PX)
                histogram += np.bincount(self._steps(one[part], two[part]), minlength=BINS)
            return
        from inkmix.base.kernels import difference

        tables = (_LINEAR, _CUBE_ROOTS, _TILTS)
        numbers = (self.ratios_of_first, self.ratios_of_second, _CONSTANTS)
        difference.count_steps(one, two, tables, numbers, histogram, float(STEPS_PER_DE00))

    def de00(self, first: NDArray[np.uint8], second: NDArray[np.uint8]) -> FloatArray:
        """dE00 (...) of sRGB (..., 3) by the formula that is counted, before rounding to steps."""
        one = _coordinates(first, self.ratios_of_first)
        two = _coordinates(second, self.ratios_of_second)
        return de00_without_angles(*one, *two)

    def _steps(self, first: NDArray[np.uint8], second: NDArray[np.uint8]) -> NDArray[np.int64]:
        de00 = self.de00(first.reshape(-1, 3), second.reshape(-1, 3))
        return np.minimum((de00 * STEPS_PER_DE00 + 0.5).astype(np.int64), BINS - 1)


def on_white() -> FloatArray:
    """Matrix of a picture that shows the paper as it is."""
    return read_only(np.ascontiguousarray(srgb1_to_xyz100(np.eye(3)).T / WHITE_XYZ100[:, None]))


def on_paper(paper_xyz100: FloatArray) -> FloatArray:
    """Matrix of a picture whose white is a paper."""
    return read_only(on_white() * (paper_xyz100 / WHITE_XYZ100)[:, None])


def _coordinates(
    srgb8: NDArray[np.uint8], ratios: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """L*, a*, b*."""
    red, green, blue = np.moveaxis(_LINEAR[srgb8], -1, 0)
    fx, fy, fz = (_cube_root(row[0] * red + row[1] * green + row[2] * blue) for row in ratios)
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def _cube_root(ratio: FloatArray) -> FloatArray:
    """f(t) of CIE 15; the cube root by two steps after Halley, each of which cubes its error."""
    root = _CUBE_ROOTS[np.minimum((ratio * _ROOTS_PER_ONE).astype(np.int64), _ROOTS - 1)]
    for _ in range(2):
        cube = root * root * root
        root = (root * (cube + (ratio + ratio))) / ((cube + cube) + ratio)
    return np.where(ratio > _KNEE, root, _SLOPE * ratio + _OFFSET)


def _share_of_far(chroma: FloatArray) -> FloatArray:
    """Root of C^7 / (C^7 + 25^7), of equations 4 and 17."""
    chroma2 = chroma * chroma
    chroma7 = chroma2 * chroma2 * chroma2 * chroma
    return np.asarray(np.sqrt(chroma7 / (chroma7 + _FAR)))


def _length(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.asarray(np.sqrt(x * x + y * y))


def de00_without_angles(
    L1: FloatArray, a1: FloatArray, b1: FloatArray, L2: FloatArray, a2: FloatArray, b2: FloatArray
) -> FloatArray:
    """CIEDE2000 of CIELAB values, within 1e-12 of `colorimetry.delta_e00`."""
    stretch = 1 + 0.5 * (1 - _share_of_far((_length(a1, b1) + _length(a2, b2)) * 0.5))
    a1, a2 = a1 * stretch, a2 * stretch
    C1, C2 = _length(a1, b1), _length(a2, b2)
    half_sine, c, s = _hues(a1, b1, C1, a2, b2, C2)
    chroma, off = (C1 + C2) * 0.5, (L1 + L2) * 0.5 - 50
    off50 = off * off
    dL = (L2 - L1) / (1 + 0.015 * off50 / np.sqrt(20 + off50))
    dC = (C2 - C1) / (1 + 0.045 * chroma)
    dH = 2 * np.sqrt(C1 * C2) * half_sine / (1 + 0.015 * chroma * _hue_weight(c, s))
    tilted = 2 * _share_of_far(chroma) * dC * dH
    square = dL * dL + dC * dC + dH * dH - _tilt_at(c, s) * tilted
    return np.asarray(np.sqrt(np.where(square > 0, square, 0.0)))


def _hues(
    a1: FloatArray, b1: FloatArray, C1: FloatArray, a2: FloatArray, b2: FloatArray, C2: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sine of half the hue difference, and cosine and sine of the mean hue."""
    both, dot, cross = C1 * C2, a1 * a2 + b1 * b2, a1 * b2 - a2 * b1
    opposite = np.abs(cross) <= _OPPOSITE * both
    later = np.where(opposite, _is_later(a1, b1, b2), cross >= 0)
    sign, near = np.where(later, 1.0, -1.0), dot >= 0
    x = np.where(near, C2 * a1 + C1 * a2, sign * (C1 * b2 - C2 * b1))
    y = np.where(near, C2 * b1 + C1 * b2, sign * (C2 * a1 - C1 * a2))
    length = _length(x, y)
    length = np.where(length > 0, length, 1.0)
    half_sine = np.where(near, cross, sign * length) / np.where(near, length, both + both)
    return half_sine, x / length, y / length


def _is_later(a1: FloatArray, b1: FloatArray, b2: FloatArray) -> NDArray[np.bool_]:
    """Whether the second of two opposite hues, counted from 0 to 360 degrees, is the larger."""
    up1, up2 = b1 >= 0, b2 >= 0
    later: NDArray[np.bool_] = np.where(up1 == up2, (a1 > 0) == up1, up1)
    return later


def _hue_weight(c: FloatArray, s: FloatArray) -> FloatArray:
    """T of equation 15 of the cosine and sine of a hue."""
    c30, s30, c6, s6, c63, s63 = _CONSTANTS[-6:]
    c2, s2 = c * c - s * s, 2 * (s * c)
    c3, s3 = c2 * c - s2 * s, s2 * c + c2 * s
    c4, s4 = c2 * c2 - s2 * s2, 2 * (s2 * c2)
    return np.asarray(
        1
        - 0.17 * (c * c30 + s * s30)
        + 0.24 * c2
        + 0.32 * (c3 * c6 - s3 * s6)
        - 0.20 * (c4 * c63 + s4 * s63)
    )


def _tilt_at(c: FloatArray, s: FloatArray) -> FloatArray:
    """The tilt in the blues, from its table."""
    across = c / (np.abs(c) + np.abs(s) + 1e-300)
    place = np.where(s < 0, 3 + across, 1 - across) * _CELLS
    cell = np.minimum(place.astype(np.int64), 4 * _CELLS - 1)
    off = place - cell - 0.5
    terms = _TILTS[cell]
    tilt = terms[..., _TILT_TERMS - 1]
    for term in range(_TILT_TERMS - 2, -1, -1):
        tilt = terms[..., term] + off * tilt
    return tilt
