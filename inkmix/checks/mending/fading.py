"""How a correction fades out over the border of its area.

Softly where the drawing goes on beyond. Where the border follows an edge that is drawn, it ends
there: the pixel beside the border belongs to the edge and stays, the next one changes. The border
of the sheet is no border of an area.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, smoothstep
from inkmix.checks.mending.cells import wider

_NO_EDGE, _EDGE = 3.0, 9.0
"""dE between neighbours across a border: up to the first the drawing goes on, from the second on it
has an edge there."""
_BESIDE_LIGHTS = 3  # cells
_FARTHEST_CELLS = 60  # beyond the sheet; no correction fades over more


@dataclass(frozen=True, slots=True, kw_only=True)
class Fading:
    """Over how many pixels a correction fades.

    Parameters
    ----------
    border_px : float
        Over the border of the area, where the drawing goes on.
    outside : float
        Share of that which lies outside, 0-1.
    """

    border_px: float
    outside: float


class Border:
    """The border of an area in cells of `factor` pixels: how far each cell is, and its edges.

    Parameters
    ----------
    whole, any_px : (rows, cols) ndarray of bool
        Cells that lie in the area, and those of which any pixel does.
    lab : (rows, cols, 3) ndarray
        Colours of the cells; asked for beside the border only.
    """

    def __init__(
        self, whole: BoolArray, any_px: BoolArray, lab: FloatArray, *, factor: int
    ) -> None:
        self._factor = factor
        self._is_all = bool(whole.all())
        self._is_beside = beside_border(any_px)
        self.soft = np.zeros(whole.shape, np.bool_)
        """Cells at the border where the drawing goes on."""
        self.drawn = np.zeros(whole.shape)
        """How much of a drawn edge the nearest piece of border is, 0-1."""
        if self._is_all:
            return
        self._inside_px = _distances(whole) * factor
        self._outside_px = _distances(~any_px) * factor
        self.drawn = _edges(any_px, lab)
        self.soft = wider(self._is_beside & (self.drawn < 0.5))

    def near(self, distance_px: float) -> BoolArray:
        """Cells so near to a border where the drawing goes on, on either side of it."""
        if not self.soft.any():
            return self.soft
        return self._from_soft_px <= distance_px

    @cached_property
    def _from_soft_px(self) -> FloatArray:
        return _distances(~self.soft) * self._factor

    def edge(self, along_px: float, lights: BoolArray) -> NDArray[np.float32]:
        """How much of a drawn edge the border near each cell is, 0-1.

        A light at the border is one, too. Along the border an edge ends over so many pixels.
        """
        from scipy.ndimage import gaussian_filter

        if self._is_all:
            return np.zeros(self.drawn.shape, np.float32)
        by_light = wider(self._is_beside & wider(lights), _BESIDE_LIGHTS)
        drawn = np.where(by_light, 1.0, self.drawn).astype(np.float32)
        along = max(1.0, along_px / self._factor)
        return np.asarray(gaussian_filter(drawn, along, mode="nearest"))

    def weights(self, fading: Fading) -> NDArray[np.float32]:
        """Weights (rows, cols) of 0-1 where the drawing goes on."""
        if self._is_all:
            return np.ones(self.drawn.shape, np.float32)
        half = self._factor / 2
        signed = np.where(
            self._inside_px > 0, self._inside_px - half, -np.maximum(self._outside_px - half, 0)
        )
        return smoothstep(signed / fading.border_px + fading.outside).astype(np.float32)


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
    is_border = beside_border(inside)
    if not is_border.any():
        return np.zeros(inside.shape)
    nearest = distance_transform_edt(~is_border, return_distances=False, return_indices=True)
    share = smoothstep((step - _NO_EDGE) / (_EDGE - _NO_EDGE))[tuple(nearest)]
    return np.asarray(gaussian_filter(share, 1.0))


def beside_border(inside: BoolArray) -> BoolArray:
    """Cells on both sides of a border."""
    beside = np.zeros(inside.shape, np.bool_)
    down, right = inside[:-1] != inside[1:], inside[:, :-1] != inside[:, 1:]
    beside[:-1] |= down
    beside[1:] |= down
    beside[:, :-1] |= right
    beside[:, 1:] |= right
    return beside
