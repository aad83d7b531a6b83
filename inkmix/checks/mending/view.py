"""A night area looked at for a correction: cells of it, and squares of its pixels as a sample."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.ordered_threads import in_order
from inkmix.checks.mending.cells import Cells, cells_over
from inkmix.checks.window import Mask, Planes, as_planes
from inkmix.press.table.lookup import LIGHTNESS_SCALE

TILE_PX = 8
"""Side of a square of the sample; texture is measured within it."""

_MOST_TILES = 400
_BAND_PX = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaSource:
    """How an area is read.

    Parameters
    ----------
    read : (rows, cols) -> (I, rows, cols)
        Ink amounts for colour.
    lightness : planes -> (rows, cols) int16
        L* times LIGHTNESS_SCALE.
    mask : (rows, cols) -> (rows, cols) bool
        Where the area is.
    """

    read: Callable[[slice, slice], Planes]
    lightness: Callable[[Planes], NDArray[np.int16]]
    mask: Callable[[slice, slice], Mask]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreaView:
    """What was seen of an area and its surroundings.

    Parameters
    ----------
    planes : (I, rows, cols) array
        Mean ink amounts of each cell, surroundings included.
    peak_L : (rows, cols) ndarray
        L* of the lightest pixel of the area in each cell.
    inside_px, over_px : (rows, cols) ndarray of int
        Pixels of the area in each cell, and those of them that are lighter than allowed.
    tiles : (I, N, TILE_PX ** 2) array
        Squares of pixels that lie in the area as wholes.
    tile_cells : (N, 2) ndarray of int
        The cell in which each has its middle.
    """

    cells: Cells
    planes: Planes
    peak_L: FloatArray
    inside_px: IntArray
    over_px: IntArray
    tiles: Planes
    tile_cells: IntArray

    @property
    def inside(self) -> BoolArray:
        """Cells of which the area holds any pixel."""
        return np.asarray(self.inside_px > 0)


def view_of(source: AreaSource, rows: slice, cols: slice, *, lightest_L: float) -> AreaView:
    """Look at a rectangle; `lightest_L` is the lightest L* that an area's pixel may have."""
    cells = cells_over(rows, cols)
    looking = _Looking(source=source, cells=cells, level=int(lightest_L * LIGHTNESS_SCALE))
    parts = list(in_order(looking.part, looking.bands()))
    joined = [np.concatenate([part[k] for part in parts]) for k in range(3)]
    planes = np.concatenate([part[3] for part in parts], axis=1)
    tiles = [tile for part in parts for tile in part[4]]
    corners = np.array([at for part in parts for at in part[5]], np.int64).reshape(-1, 2)
    inks = len(planes)
    middle = corners + TILE_PX // 2 - (rows.start, cols.start)
    return AreaView(
        cells=cells,
        planes=planes,
        peak_L=joined[0] / LIGHTNESS_SCALE,
        inside_px=joined[1],
        over_px=joined[2],
        tiles=as_planes(np.stack(tiles, axis=1))
        if tiles
        else as_planes(np.empty((inks, 0, TILE_PX**2), planes.dtype)),
        tile_cells=middle // cells.factor,
    )


_Part = tuple[NDArray[np.int16], IntArray, IntArray, Planes, list[Planes], list[tuple[int, int]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Looking:
    source: AreaSource
    cells: Cells
    level: int

    def bands(self) -> list[slice]:
        """Rows at once: whole cells and whole squares."""
        rows, cols = self.cells.rows, self.cells.cols
        unit = TILE_PX * self.cells.factor
        height = unit * max(1, _BAND_PX // (unit * max(1, cols.stop - cols.start)))
        return [
            slice(top, min(top + height, rows.stop)) for top in range(rows.start, rows.stop, height)
        ]

    def part(self, rows: slice) -> _Part:
        cols = self.cells.cols
        planes = self.source.read(rows, cols)
        lightness, mask = self.source.lightness(planes), self.source.mask(rows, cols)
        over = mask & (lightness > self.level)
        tiles, corners = self._tiles(planes, mask, rows)
        return (
            self._reduced(np.where(mask, lightness, np.int16(0)), np.maximum),
            self._reduced(mask.astype(np.int64), np.add),
            self._reduced(over.astype(np.int64), np.add),
            self._means(planes),
            tiles,
            corners,
        )

    def _reduced(self, values: NDArray[Any], by: np.ufunc) -> NDArray[Any]:
        if self.cells.factor == 1:
            return values
        starts = [np.arange(0, side, self.cells.factor) for side in values.shape]
        return np.asarray(by.reduceat(by.reduceat(values, starts[0], axis=0), starts[1], axis=1))

    def _means(self, planes: Planes) -> Planes:
        if self.cells.factor == 1:
            return planes
        size = self._reduced(np.ones(planes.shape[1:], np.int64), np.add)
        sums = [self._reduced(plane.astype(np.int64), np.add) for plane in planes]
        return as_planes(np.stack([np.rint(one / size).astype(planes.dtype) for one in sums]))

    def _tiles(
        self, planes: Planes, mask: Mask, rows: slice
    ) -> tuple[list[Planes], list[tuple[int, int]]]:
        """Squares on a grid that lie in the area as wholes."""
        stride, first = self._stride(), rows.start - self.cells.rows.start
        found, corners = [], []
        for top in range(-first % stride, mask.shape[0] - TILE_PX + 1, stride):
            for left in range(0, mask.shape[1] - TILE_PX + 1, stride):
                place = slice(top, top + TILE_PX), slice(left, left + TILE_PX)
                if mask[place].all():
                    found.append(planes[(slice(None), *place)].reshape(len(planes), -1).copy())
                    corners.append((rows.start + top, self.cells.cols.start + left))
        return found, corners

    def _stride(self) -> int:
        height, width = (side.stop - side.start for side in (self.cells.rows, self.cells.cols))
        return TILE_PX * max(1, round(math.sqrt(height * width / _MOST_TILES) / TILE_PX))
