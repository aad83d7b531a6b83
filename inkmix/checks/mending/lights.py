"""Lights of a night: moon, stars, windows, snow; connected, lighter than the sky around them.

The sky is told from what lies in it by a smooth surface through the lightness of the area, which
lights do not pull up. What stands out of it is a light; scattered grains are none. As many stay as
the book's share allows, those that stand out most.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray

LEAST_PX = 4
"""Smaller is a grain."""
LEAST_L = 6.0
"""What stands out by less is a cloud."""

_OUT_OF_GRAIN = 4.0  # times the spread of the sky; one pixel in 30,000 of a normal grain
_FRINGE = 0.4  # of that: pixels beside a light belong to it
_STEPS = (1.0, 1.4, 2.0, 3.0, 4.0)  # of that: a glow is cut down before a light goes out
_FITTED = 5_000  # cells
_ROUNDS = 12
_BISQUARE = 4.685  # Beaton & Tukey 1974, Technometrics 16, 147-185
_LEAST_SPREAD_L = 0.5
_NORMAL = 1.4826  # standard deviation of a normal spread by its median deviation


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """One light: its box in cells, its pixels above the limit, and how much lighter it is, L*."""

    rows: slice
    cols: slice
    pixels: int
    stands_out_L: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lights:
    """The lights of an area.

    Parameters
    ----------
    cells, lost_cells : (rows, cols) ndarray of bool
        Cells of those that stay, and of the others.
    kept, lost : tuple of Light
        Those that stay, and those for which the share has no room.
    """

    cells: BoolArray
    lost_cells: BoolArray
    kept: tuple[Light, ...]
    lost: tuple[Light, ...]


def find_lights(
    lightness: FloatArray,
    inside: BoolArray,
    over_px: IntArray,
    *,
    sky: tuple[FloatArray, float],
    room_px: int,
) -> Lights:
    """The lights of an area and which of them may stay.

    Parameters
    ----------
    lightness : (rows, cols) ndarray
        L* of the lightest pixel of each cell.
    sky : ((rows, cols) ndarray, float)
        As `sky_of` tells it.
    inside : (rows, cols) ndarray of bool
        Cells of the area.
    over_px : (rows, cols) ndarray of int
        Pixels of each cell that are lighter than allowed.
    room_px : int
        So many of these may stay.
    """
    level, spread = sky
    above = np.where(inside, lightness - level, 0.0)
    least = max(LEAST_L, _OUT_OF_GRAIN * spread)
    found = [_at(above, inside & (over_px > 0), over_px, step * least, room_px) for step in _STEPS]
    return max(found, key=lambda one: one[0])[1]  # of equals the first, which cuts least


def _at(
    above: FloatArray, where: BoolArray, over_px: IntArray, least_L: float, room_px: int
) -> tuple[float, Lights]:
    """Lights that stand out by so much, and what is saved by those that stay."""
    from scipy import ndimage

    numbers, count = ndimage.label(where & (above > least_L), np.ones((3, 3)))
    core_px = np.bincount(numbers.ravel(), over_px.ravel(), count + 1)[1:]
    fringe = ndimage.maximum_filter(numbers, 3)
    numbers = np.where((numbers == 0) & where & (above > _FRINGE * least_L), fringe, numbers)
    which = np.arange(1, count + 1)
    pixels = ndimage.sum_labels(over_px, numbers, which).astype(np.int64)
    stands_out = ndimage.mean(above, numbers, which) if count else np.zeros(0)
    boxes = ndimage.find_objects(numbers)
    left = room_px
    kept: list[int] = []
    lost: list[int] = []
    for k in np.lexsort((which, -stands_out)).tolist():
        if core_px[k] < LEAST_PX:
            continue
        fits = pixels[k] <= left
        left -= int(pixels[k]) if fits else 0
        (kept if fits else lost).append(k)
    saved = float((pixels[kept] * stands_out[kept]).sum())

    def cells(of: list[int]) -> BoolArray:
        is_of = np.zeros(count + 1, np.bool_)
        is_of[[k + 1 for k in of]] = True
        return np.asarray(is_of[numbers])

    def lights(of: list[int]) -> tuple[Light, ...]:
        return tuple(_light(boxes[k], int(pixels[k]), float(stands_out[k])) for k in of)

    found = Lights(cells=cells(kept), lost_cells=cells(lost), kept=lights(kept), lost=lights(lost))
    return saved, found


def _light(box: tuple[slice, slice], pixels: int, stands_out_L: float) -> Light:
    rows, cols = box
    return Light(rows=rows, cols=cols, pixels=pixels, stands_out_L=stands_out_L)


def sky_of(lightness: FloatArray, inside: BoolArray) -> tuple[FloatArray, float]:
    """L* of the sky at each cell, a surface of second degree, and its spread about that.

    Fitted by Tukey's bisquare, so that what stands out far has no say.
    """
    rows, cols = np.nonzero(inside)
    some = np.linspace(0, len(rows) - 1, min(len(rows), _FITTED)).astype(np.int64)
    rows, cols = rows[some], cols[some]
    terms, values = _terms(rows, cols, lightness.shape), lightness[rows, cols]
    weights = np.ones(len(values))
    factors: FloatArray = np.zeros(terms.shape[1])
    spread = _LEAST_SPREAD_L
    for _ in range(_ROUNDS):
        fitted = np.linalg.lstsq(terms * weights[:, None], values * weights, rcond=None)[0]
        factors = np.asarray(fitted, dtype=np.float64)
        missed = values - terms @ factors
        off = missed - np.median(missed)
        spread = max(_NORMAL * float(np.median(np.abs(off))), _LEAST_SPREAD_L)
        weights = np.clip(1 - (off / (_BISQUARE * spread)) ** 2, 0, None) + 1e-6
    level = float(np.median(values - terms @ factors))
    return _surface(factors, lightness.shape) + level, spread


def _terms(rows: NDArray[np.int64], cols: NDArray[np.int64], shape: tuple[int, ...]) -> FloatArray:
    y, x = rows / shape[0] - 0.5, cols / shape[1] - 0.5
    return np.stack([np.ones_like(y), y, x, y * y, x * y, x * x], axis=-1)


def _surface(factors: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    y, x = np.arange(shape[0])[:, None] / shape[0] - 0.5, np.arange(shape[1]) / shape[1] - 0.5
    one, down, right, down2, both, right2 = factors
    return np.asarray(one + down * y + right * x + down2 * y * y + both * x * y + right2 * x * x)
