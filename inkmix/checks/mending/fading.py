"""How strongly a correction acts in each cell: fully, not at all, and what lies between.

It fades out over the border of its area: softly where the drawing goes on beyond, within few pixels
where the border follows an edge that is drawn, which stays as it is. It fades out around lights
likewise. The border of the sheet is no border of an area.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.checks.mending.cells import Cells

_NO_EDGE, _EDGE = 3.0, 9.0
"""dE between neighbours across a border: up to the first the drawing goes on, from the second on it
has an edge there."""
_FARTHEST_CELLS = 60  # beyond the sheet; no correction fades over more
_LEVELS = 8  # of need that are told apart
_EDGE_CELLS = 2.0  # over which a correction fades at an edge


@dataclass(frozen=True, slots=True, kw_only=True)
class Fading:
    """Distances over which a correction fades, in pixels.

    Parameters
    ----------
    border_px : float
        Over the border of the area, where the drawing goes on.
    outside : float
        Share of that which lies outside, 0-1.
    lights_px : float
        Around each light.
    """

    border_px: float
    outside: float
    lights_px: float


class Border:
    """The border of an area in cells of `factor` pixels: how far each cell is, and its edges.

    Parameters
    ----------
    whole, any_px : (rows, cols) ndarray of bool
        Cells that lie in the area, and those of which any pixel does.
    lab : (rows, cols, 3) ndarray
        Colours of the cells.
    """

    def __init__(
        self, whole: BoolArray, any_px: BoolArray, lab: FloatArray, *, factor: int
    ) -> None:
        from scipy.ndimage import binary_dilation

        self._factor = factor
        self._is_all = bool(whole.all())
        self.soft = np.zeros(whole.shape, np.bool_)
        """Cells at the border where the drawing goes on."""
        if self._is_all:
            return
        self._inside_px = _distances(whole) * factor
        self._outside_px = _distances(~any_px) * factor
        self._edge = _edges(any_px, lab)
        self.soft = binary_dilation(_beside(any_px) & (self._edge < 0.5), np.ones((3, 3)))

    def depth(self, fading: Fading) -> FloatArray:
        """0 at the border to 1 where the area is deeper than the correction fades."""
        return smooth(self._inside_px / fading.border_px)

    def weights(self, fading: Fading, shape: tuple[int, int]) -> FloatArray:
        """Weights (rows, cols) of 0-1 by the border alone."""
        if self._is_all:
            return np.ones(shape)
        half = self._factor / 2
        signed = np.where(
            self._inside_px > 0, self._inside_px - half, -np.maximum(self._outside_px - half, 0)
        )
        soft = smooth(signed / fading.border_px + fading.outside)
        sharp = smooth((self._inside_px - self._factor) / (_EDGE_CELLS * self._factor))
        return soft + (sharp - soft) * self._edge


def _distances(where: BoolArray) -> FloatArray:
    """How far each cell that is set is from one that is not; beyond the sheet it goes on."""
    from scipy.ndimage import distance_transform_edt

    if where.all():
        return np.full(where.shape, float(sum(where.shape)))
    padded = np.pad(where, _FARTHEST_CELLS, mode="edge")
    inner = slice(_FARTHEST_CELLS, -_FARTHEST_CELLS)
    return np.asarray(distance_transform_edt(padded)[inner, inner])


def _edges(inside: BoolArray, lab: FloatArray) -> FloatArray:
    """0-1: how much of a drawn edge the nearest piece of border is."""
    from scipy.ndimage import distance_transform_edt, gaussian_filter

    step = np.zeros(inside.shape)
    for axis in (0, 1):
        one = [slice(None)] * 2
        other = [slice(None)] * 2
        one[axis], other[axis] = slice(None, -1), slice(1, None)
        across = inside[tuple(one)] != inside[tuple(other)]
        apart = np.linalg.norm(lab[tuple(one)] - lab[tuple(other)], axis=-1) * across
        for side in (one, other):
            np.maximum(step[tuple(side)], apart, out=step[tuple(side)])
    is_border = _beside(inside)
    if not is_border.any():
        return np.zeros(inside.shape)
    nearest = distance_transform_edt(~is_border, return_distances=False, return_indices=True)
    share = smooth((step - _NO_EDGE) / (_EDGE - _NO_EDGE))[tuple(nearest)]
    return np.asarray(gaussian_filter(share, 1.0))


def _beside(inside: BoolArray) -> BoolArray:
    """Cells on both sides of a border."""
    beside = np.zeros(inside.shape, np.bool_)
    down, right = inside[:-1] != inside[1:], inside[:, :-1] != inside[:, 1:]
    beside[:-1] |= down
    beside[1:] |= down
    beside[:, :-1] |= right
    beside[:, 1:] |= right
    return beside


def weights_beside_lights(
    lights: BoolArray, border: Border, fading: Fading, factor: int
) -> FloatArray:
    """Weights of 0-1 around lights; 0 in them, and beside them where pixels lie between cells.

    Where a light touches a border over which the drawing goes on, they rise as slowly as there.
    """
    from scipy.ndimage import binary_dilation, label

    if not lights.any():
        return np.ones(lights.shape)
    grown = lights if factor == 1 else binary_dilation(lights, np.ones((3, 3)))
    weights = _around(grown, fading.lights_px, factor)
    near = border.soft
    if not (near & grown).any() or fading.border_px <= fading.lights_px:
        return weights
    numbers, count = label(grown, np.ones((3, 3)))
    at_border = np.zeros(count + 1, np.bool_)
    at_border[np.unique(numbers[near & grown])] = True
    slow = np.minimum(weights, _around(at_border[numbers], fading.border_px, factor))
    return slow + (weights - slow) * border.depth(fading)


def weights_by_need(
    need: FloatArray, counted: BoolArray, *, stray: float, reach_px: float, factor: int
) -> FloatArray:
    """Weights of 0-1 that are as low as can be: what each place needs, rising and falling slowly.

    Parameters
    ----------
    need : (rows, cols) ndarray
        Least weight of each cell; above 1 where none is enough.
    counted : (rows, cols) ndarray of bool
        Cells whose need counts.
    stray : float
        Share of the cells within reach that need not get it, 0-1.
    reach_px : float
        Over this distance weights fall to what the next place needs.
    """
    from scipy.ndimage import maximum_filter, uniform_filter

    reach = max(1, math.ceil(reach_px / factor))
    here = uniform_filter(counted.astype(np.float32), 2 * reach + 1) * stray
    weights = np.zeros(need.shape, np.float32)
    for level in range(_LEVELS - 1, -1, -1):
        short = (counted & (need > level / _LEVELS)).astype(np.float32)
        many = uniform_filter(short, 2 * reach + 1) > here + 1e-6
        weights = np.where(many & (weights == 0), (level + 1) / _LEVELS, weights)
    highest = maximum_filter(weights, 2 * reach + 1)
    once = uniform_filter(highest, 2 * (reach // 2) + 1)
    return np.asarray(uniform_filter(once, 2 * (reach - reach // 2) + 1), dtype=np.float64)


def _around(grown: BoolArray, over_px: float, factor: int) -> FloatArray:
    from scipy.ndimage import distance_transform_edt

    away = (distance_transform_edt(~grown) - 0.5) * factor
    return np.where(grown, 0.0, smooth(away / over_px))


def smooth(share: FloatArray) -> FloatArray:
    """0 to 1 without a kink at either end."""
    at = np.clip(share, 0, 1)
    return np.asarray(at * at * (3 - 2 * at))


def faded(
    cells: Cells, weights: NDArray[np.float32], rows: slice, cols: slice
) -> NDArray[np.int32] | None:
    """Weights of the pixels of a window in 256 steps; None where none acts."""
    at = cells.to_pixels(weights, rows, cols)
    if not at.any():
        return None
    return np.rint(at * 256).astype(np.int32)
