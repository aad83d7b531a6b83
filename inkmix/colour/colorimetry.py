"""Conversions between reflectance, XYZ, Lab, sRGB, density, tone value; the colour difference.

All Lab is D50, 2 degree observer. XYZ is on the scale of 100 for the perfect diffuser (`xyz100`),
sRGB on the scale of 1 (`srgb1`). Every function broadcasts over leading axes. Nothing here knows of
inks, papers or files, and nothing clips: a caller that clips says so.
"""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import BoolArray, FloatArray, read_only
from inkmix.base.errors import Fault, UsageError
from inkmix.colour.observer import DENSITY_FILTERS, OBSERVER_WEIGHTS
from inkmix.colour.observer import WHITE_XYZ100 as WHITE_XYZ100  # what all here is relative to

# CIE 15:2018, equations 8.3 to 8.8: the exact fractions, not their rounded forms.
_KNEE = (6 / 29) ** 3
_SLOPE = 841 / 108
_OFFSET = 4 / 29


def _cube_root(ratio: FloatArray) -> FloatArray:
    """f(t) of CIE 15: cube root, straight below the knee."""
    return np.where(ratio > _KNEE, np.cbrt(ratio), _SLOPE * ratio + _OFFSET)


def _cube(root: FloatArray) -> FloatArray:
    """Inverse of `_cube_root`."""
    return np.where(root > 6 / 29, root**3, (root - _OFFSET) / _SLOPE)


def xyz100_to_lab(xyz100: npt.ArrayLike) -> FloatArray:
    """CIELAB under D50 of XYZ.

    Parameters
    ----------
    xyz100 : (..., 3) array_like
        Tristimulus values, Y = 100 for the perfect diffuser. Below 0 the straight part goes on.

    References
    ----------
    CIE 15:2018, section 8.2.1.

    Examples
    --------
    >>> [float(v) for v in xyz100_to_lab([96.422, 100.0, 82.521])]
    [100.0, 0.0, 0.0]
    """
    fx, fy, fz = np.moveaxis(_cube_root(np.asarray(xyz100, dtype=np.float64) / WHITE_XYZ100), -1, 0)
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def lab_to_xyz100(lab: npt.ArrayLike) -> FloatArray:
    """XYZ (D50, Y = 100 for white) of CIELAB (..., 3); the inverse of `xyz100_to_lab`."""
    L, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    fy = (L + 16) / 116
    return _cube(np.stack([fy + a / 500, fy, fy - b / 200], axis=-1)) * WHITE_XYZ100


def lightness_to_y100(lightness: npt.ArrayLike) -> FloatArray:
    """Luminance factor Y in percent of L*."""
    return 100 * _cube((np.asarray(lightness, dtype=np.float64) + 16) / 116)


def _hue_deg(b: FloatArray, a: FloatArray) -> FloatArray:
    """Hue angle 0-360; 0 where there is no chroma, as the paper defines it."""
    return np.degrees(np.arctan2(b, a)) % 360.0


def _cos_deg(angle: FloatArray) -> FloatArray:
    return np.cos(np.radians(angle))


def _more_red(lab1: FloatArray, lab2: FloatArray) -> tuple[FloatArray, ...]:
    """Chroma and hue of both colours after the correction of a (equations 2 to 7)."""
    chroma7 = (
        (np.hypot(lab1[..., 1], lab1[..., 2]) + np.hypot(lab2[..., 1], lab2[..., 2])) / 2
    ) ** 7
    stretch = 1 + 0.5 * (1 - np.sqrt(chroma7 / (chroma7 + 25.0**7)))
    a1, a2, b1, b2 = stretch * lab1[..., 1], stretch * lab2[..., 1], lab1[..., 2], lab2[..., 2]
    return np.hypot(a1, b1), np.hypot(a2, b2), _hue_deg(b1, a1), _hue_deg(b2, a2)


def _hue_step_and_mean(
    h1: FloatArray, h2: FloatArray, coloured: npt.NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Hue difference (equation 10) and mean hue (equation 14), degrees."""
    apart, total = h2 - h1, h1 + h2
    # Opposite hues are half a turn apart, whatever the last bit of arctan2 says.
    across = np.abs(apart) > 180 + 1e-9
    step = np.where(across, apart - np.copysign(360, apart), apart)
    mean = np.where(across, np.where(total < 360, total + 360, total - 360), total) / 2
    return np.where(coloured, step, 0.0), np.where(coloured, mean, total)


def _rotation(chroma: FloatArray, hue: FloatArray) -> FloatArray:
    """R_T of equations 16 to 18 and 22: the tilt in the blues."""
    chroma7 = chroma**7
    tilt = np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))
    return np.asarray(-2 * np.sqrt(chroma7 / (chroma7 + 25.0**7)) * np.sin(tilt), dtype=np.float64)


def _hue_weight(hue: FloatArray) -> FloatArray:
    """T of equation 15."""
    return (
        1
        - 0.17 * _cos_deg(hue - 30)
        + 0.24 * _cos_deg(2 * hue)
        + 0.32 * _cos_deg(3 * hue + 6)
        - 0.20 * _cos_deg(4 * hue - 63)
    )


def delta_e00(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> FloatArray:
    """CIEDE2000 colour difference with unit weights.

    Meant for differences below 5; larger ones can only be ranked.

    Parameters
    ----------
    lab1, lab2 : (..., 3) array_like
        CIELAB, broadcast against each other.

    References
    ----------
    Sharma, Wu & Dalal 2005, Color Research and Application 30(1), 21-30; equation numbers in the
    helpers are theirs.

    Examples
    --------
    >>> round(float(delta_e00([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    dL, dC, dH, rotation = _parts_e00(lab1, lab2)
    square = dL**2 + dC**2 + dH**2 + rotation * dC * dH
    return np.asarray(np.sqrt(np.maximum(square, 0.0)), dtype=np.float64)


def vector_e00(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> FloatArray:
    """Vectors (..., 3) from the first colours to the second that are as long as their dE00.

    Lightness, chroma, hue, each weighted; the tilt in the blues is in the last two.
    """
    dL, dC, dH, rotation = _parts_e00(lab1, lab2)
    tilt = rotation / 2
    return np.stack([dL, dC + tilt * dH, np.sqrt(1 - tilt**2) * dH], axis=-1)


def _parts_e00(lab1: npt.ArrayLike, lab2: npt.ArrayLike) -> tuple[FloatArray, ...]:
    """Weighted differences of lightness, chroma and hue, and R_T."""
    first, second = np.broadcast_arrays(np.asarray(lab1, np.float64), np.asarray(lab2, np.float64))
    c1, c2, h1, h2 = _more_red(first, second)
    step, hue = _hue_step_and_mean(h1, h2, c1 * c2 != 0)
    lightness, chroma = (first[..., 0] + second[..., 0]) / 2, (c1 + c2) / 2
    off50 = (lightness - 50) ** 2
    dL = (second[..., 0] - first[..., 0]) / (1 + 0.015 * off50 / np.sqrt(20 + off50))
    dC = (c2 - c1) / (1 + 0.045 * chroma)
    dH = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(step / 2))
    dH = dH / (1 + 0.015 * chroma * _hue_weight(hue))
    return dL, dC, dH, _rotation(chroma, hue)


def _rgb_to_xyz100(primaries_xy: npt.ArrayLike, white_xy: npt.ArrayLike) -> FloatArray:
    """Matrix of a display from the chromaticities of its primaries and white."""
    x, y = np.asarray(primaries_xy, np.float64).T
    columns = np.stack([x / y, np.ones(3), (1 - x - y) / y])
    wx, wy = np.asarray(white_xy, np.float64)
    white = np.array([wx / wy, 1.0, (1 - wx - wy) / wy])
    return np.asarray(100 * columns * np.linalg.solve(columns, white), dtype=np.float64)


# sRGB, IEC 61966-2-1: chromaticities of the primaries (those of BT.709) and of D65.
_SRGB_TO_XYZ_D65 = _rgb_to_xyz100([(0.64, 0.33), (0.30, 0.60), (0.15, 0.06)], (0.3127, 0.3290))
# Cone matrix of Bradford, as in ICC.1, annex E.
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)


def _adaptation(from_xyz: FloatArray, to_xyz: FloatArray) -> FloatArray:
    """Bradford matrix that carries one white into the other."""
    gain = (_BRADFORD @ to_xyz) / (_BRADFORD @ from_xyz)
    return np.asarray(np.linalg.inv(_BRADFORD) @ (gain[:, None] * _BRADFORD), dtype=np.float64)


def display_to_xyz100(primaries_xy: npt.ArrayLike, white_xy: npt.ArrayLike) -> FloatArray:
    """Matrix (3, 3) from linear RGB of a display to XYZ under D50, adapted by Bradford.

    Raises
    ------
    numpy.linalg.LinAlgError
        If the chromaticities span no triangle.
    """
    to_xyz = _rgb_to_xyz100(primaries_xy, white_xy)
    return _adaptation(to_xyz.sum(axis=1), np.asarray(WHITE_XYZ100)) @ to_xyz


_SRGB_TO_XYZ = read_only(
    _adaptation(_SRGB_TO_XYZ_D65.sum(axis=1), np.asarray(WHITE_XYZ100)) @ _SRGB_TO_XYZ_D65
)
_XYZ_TO_SRGB = read_only(np.linalg.inv(_SRGB_TO_XYZ))


def encode_srgb1(linear: npt.ArrayLike) -> FloatArray:
    """Gamma-encoded sRGB of linear sRGB (IEC 61966-2-1), unclipped, odd about 0."""
    light = np.asarray(linear, dtype=np.float64)
    size = np.abs(light)
    curved = 1.055 * np.maximum(size, 0.0031308) ** (1 / 2.4) - 0.055
    return np.copysign(np.where(size <= 0.0031308, 12.92 * size, curved), light)


def decode_srgb1(encoded: npt.ArrayLike) -> FloatArray:
    """Linear sRGB of gamma-encoded sRGB (IEC 61966-2-1), unclipped, odd about 0."""
    value = np.asarray(encoded, dtype=np.float64)
    size = np.abs(value)
    return np.copysign(
        np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4), value
    )


def xyz100_to_srgb1(xyz100: npt.ArrayLike) -> FloatArray:
    """Encoded sRGB (..., 3) of XYZ under D50, adapted to D65 by Bradford; unclipped."""
    return encode_srgb1(np.asarray(xyz100, dtype=np.float64) @ _XYZ_TO_SRGB.T)


def xyz100_to_srgb8(xyz100: npt.ArrayLike) -> tuple[npt.NDArray[np.uint8], BoolArray]:
    """Nearest 8-bit sRGB (..., 3) of XYZ under D50, and where (...) that is not the colour.

    A colour outside sRGB by more than half a step is cut to its edge, channel by channel.
    """
    srgb255 = np.rint(255 * xyz100_to_srgb1(xyz100))
    shown = np.clip(srgb255, 0, 255)
    outside = np.asarray((shown != srgb255).any(axis=-1), dtype=np.bool_)
    return shown.astype(np.uint8), outside


def xyz100_to_triple8(xyz100: npt.ArrayLike) -> tuple[int, int, int]:
    """Nearest 8-bit sRGB (R, G, B) of one colour, XYZ (3,) under D50."""
    red, green, blue = xyz100_to_srgb8(xyz100)[0].tolist()
    return red, green, blue


def srgb1_to_xyz100(srgb1: npt.ArrayLike) -> FloatArray:
    """XYZ under D50 (..., 3) of encoded sRGB, adapted from D65 by Bradford."""
    return np.asarray(decode_srgb1(srgb1) @ _SRGB_TO_XYZ.T, dtype=np.float64)


def srgb_hex_to_srgb1(colour: str) -> FloatArray:
    """Encoded sRGB, 0-1, of a colour written #rrggbb.

    Raises
    ------
    UsageError
        If the text has another form.
    """
    digits = colour.removeprefix("#")
    if len(digits) != 6 or not all(c in "0123456789abcdefABCDEF" for c in digits):
        raise UsageError(
            Fault(where="screen colour", found=repr(colour), expected="six hex digits, as #3a2c4d")
        )
    return np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255.0


_NORMED_WEIGHTS = read_only(OBSERVER_WEIGHTS * (WHITE_XYZ100 / OBSERVER_WEIGHTS.sum(axis=0)))


def reflectance_to_xyz100(reflectance: npt.ArrayLike) -> FloatArray:
    """XYZ (..., 3) under D50, 2 degree, of reflectance factors (..., 36) on the house grid."""
    return np.asarray(np.asarray(reflectance, np.float64) @ _NORMED_WEIGHTS)


def visual_density(y100: npt.ArrayLike) -> FloatArray:
    """Absolute visual density of the luminance factor Y in percent.

    Y stands for the visual filter of ISO 5-3, which is the same curve under lamp A: equal for
    greys, within 0.1 for strong colours.
    """
    return -np.log10(np.maximum(np.asarray(y100, dtype=np.float64), 1e-6) / 100)


def reflectance_to_density(reflectance: npt.ArrayLike, *, status: str) -> Mapping[str, FloatArray]:
    """Absolute densities by filter ("visual", or "red", "green", "blue") of spectra (..., 36).

    Parameters
    ----------
    status : {"visual", "T", "E"}
        Filter set of ISO 5-3.

    References
    ----------
    ISO 5-3:2009; ISO 5-4: D = -log10(sum R W / sum W).
    """
    if status not in DENSITY_FILTERS:
        choices = ", ".join(DENSITY_FILTERS)
        raise UsageError(Fault(where="density status", found=repr(status), expected=choices))
    values = np.asarray(reflectance, np.float64)
    return {
        name: -np.log10(np.maximum(values @ weights / weights.sum(), 1e-6))
        for name, weights in DENSITY_FILTERS[status].items()
    }


def murray_davies_pct(
    tint: npt.ArrayLike, *, paper: npt.ArrayLike, solid: npt.ArrayLike
) -> FloatArray:
    """Apparent dot area of a tint in percent, from reflectances (any one band, any scale).

    References
    ----------
    Murray 1936, J. Franklin Inst. 221, 721-744.
    """
    white = np.asarray(paper, dtype=np.float64)
    area = (white - np.asarray(tint)) / (white - np.asarray(solid))
    return np.asarray(100 * area, dtype=np.float64)
