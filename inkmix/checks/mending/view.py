"""A night area looked at for a correction: cells of it, and pixels of these as a sample."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.ordered_threads import in_order
from inkmix.checks.mending.cells import Cells, cells_over, wider
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
    source : AreaSource
        Where it was seen.
    planes : (I, rows, cols) array
        Mean ink amounts of each cell, surroundings included.
    mean_L, square_L : (rows, cols) ndarray
        Mean of L* and of its square over all pixels of each cell.
    peak_L : (rows, cols) ndarray
        L* of the lightest pixel of the area in each cell.
    inside_px, over_px : (rows, cols) ndarray of int
        Pixels of the area in each cell, and those of them that are lighter than allowed.
    pixels : (I, rows, cols) array
        Ink amounts of one pixel of each cell, drawn by lot.
    pixel_L : (rows, cols) ndarray
        Its L*.
    is_inside : (rows, cols) ndarray of bool
        Whether it lies in the area.
    tiles : (I, N, TILE_PX ** 2) array
        Squares of pixels that lie in the area as wholes.
    tile_px : (N, 2) ndarray of int
        Row and column of the first pixel of each.
    """

    source: AreaSource
    cells: Cells
    planes: Planes
    mean_L: FloatArray
    square_L: FloatArray
    peak_L: FloatArray
    inside_px: IntArray
    over_px: IntArray
    pixels: Planes
    pixel_L: FloatArray
    is_inside: BoolArray
    tiles: Planes
    tile_px: IntArray

    @property
    def inside(self) -> BoolArray:
        """Cells of which the area holds any pixel."""
        return np.asarray(self.inside_px > 0)

    @property
    def whole(self) -> BoolArray:
        """Cells that the area holds as wholes."""
        return np.asarray(self.inside_px == self.cells.pixels)

    @property
    def stands_for_px(self) -> IntArray:
        """Pixels of the area (rows, cols) for which the one of each cell stands."""
        return np.where(self.is_inside, self.cells.pixels, 0)

    def numbers(self, among: BoolArray, *, most: int | None = None) -> IntArray:
        """Numbers (N,) of cells whose pixel lies in the area, of some or, if none does, of all."""
        some = np.flatnonzero((self.is_inside & among).ravel())
        some = some if len(some) else np.flatnonzero(self.is_inside.ravel())
        return some if most is None else some[:: max(1, len(some) // most)]

    def pixels_in(self, numbers: IntArray) -> tuple[Planes, FloatArray]:
        """The pixels of cells by their numbers (N,): ink amounts (I, N) and L* (N,)."""
        planes = self.pixels.reshape(len(self.pixels), -1)[:, numbers]
        return as_planes(planes), self.pixel_L.ravel()[numbers]

    def tile_numbers(self) -> IntArray:
        """Numbers (N, TILE_PX ** 2) of the cells in which the pixels of squares lie."""
        cells, side = self.cells, np.arange(TILE_PX)
        row, col = (self.tile_px - (cells.rows.start, cells.cols.start)).T
        down = (row[:, None] + side) // cells.factor
        right = (col[:, None] + side) // cells.factor
        numbers = down[:, :, None] * cells.shape[1] + right[:, None, :]
        return np.asarray(numbers.reshape(len(row), TILE_PX**2))

    def tiles_near(self, cells: BoolArray) -> BoolArray:
        """Which squares (N,) hold any of some cells, or lie beside one."""
        return np.asarray(wider(cells, 2).ravel()[self.tile_numbers()].any(axis=1))


def view_of(source: AreaSource, rows: slice, cols: slice, *, lightest_L: float) -> AreaView:
    """Look at a rectangle; `lightest_L` is the lightest L* that an area's pixel may have."""
    cells = cells_over(rows, cols)
    looking = _Looking(source=source, cells=cells, level=int(lightest_L * LIGHTNESS_SCALE))
    parts = list(in_order(looking.part, looking.bands()))
    tiles = [tile for part in parts for tile in part.tiles]
    corners = np.array([at for part in parts for at in part.corners], np.int64).reshape(-1, 2)
    planes = _joined(part.planes for part in parts)
    none = as_planes(np.empty((len(planes), 0, TILE_PX**2), planes.dtype))
    return AreaView(
        source=source,
        cells=cells,
        planes=as_planes(planes),
        mean_L=_joined(part.mean_L for part in parts),
        square_L=_joined(part.square_L for part in parts),
        peak_L=_joined(part.peak_L for part in parts),
        inside_px=_joined(part.inside_px for part in parts),
        over_px=_joined(part.over_px for part in parts),
        pixels=as_planes(_joined(part.pixels for part in parts)),
        pixel_L=_joined(part.pixel_L for part in parts),
        is_inside=_joined(part.is_inside for part in parts),
        tiles=as_planes(np.stack(tiles, axis=1)) if tiles else none,
        tile_px=corners,
    )


def _joined(bands: Iterable[NDArray[Any]]) -> NDArray[Any]:
    """Bands (..., rows, cols), one below the other."""
    return np.concatenate(list(bands), axis=-2)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """A band of cells, named as in AreaView."""

    planes: Planes
    mean_L: FloatArray
    square_L: FloatArray
    peak_L: FloatArray
    inside_px: IntArray
    over_px: IntArray
    pixels: Planes
    pixel_L: FloatArray
    is_inside: BoolArray
    tiles: list[Planes]
    corners: list[tuple[int, int]]


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
        """The cells of some rows."""
        cols = self.cells.cols
        planes = self.source.read(rows, cols)
        level, mask = self.source.lightness(planes), self.source.mask(rows, cols)
        size = self._sums(np.ones(mask.shape, np.bool_))
        some = self._some(mask.shape, seed=rows.start)
        tiles, corners = self._tiles(planes, mask, rows)
        square = level.astype(np.int32)
        square *= square
        return _Part(
            planes=self._means(planes, size),
            mean_L=self._sums(level) / (size * LIGHTNESS_SCALE),
            square_L=self._sums(square) / (size * LIGHTNESS_SCALE**2),
            peak_L=self._peaks(np.where(mask, level, np.int16(0))) / LIGHTNESS_SCALE,
            inside_px=self._sums(mask),
            over_px=self._sums(mask & (level > self.level)),
            pixels=as_planes(planes[:, *some]),
            pixel_L=level[some] / LIGHTNESS_SCALE,
            is_inside=mask[some],
            tiles=tiles,
            corners=corners,
        )

    def _some(self, shape: tuple[int, ...], *, seed: int) -> tuple[IntArray, IntArray]:
        """Row and column of one pixel of each cell, drawn by lot."""
        down, right = np.ix_(*(np.arange(0, side, self.cells.factor) for side in shape))
        lots = np.random.default_rng(seed).integers(
            self.cells.factor, size=(2, down.size, right.size)
        )
        return np.minimum(down + lots[0], shape[0] - 1), np.minimum(right + lots[1], shape[1] - 1)

    def _sums(self, values: NDArray[Any]) -> IntArray:
        """Sums (rows, cols) over the pixels of each cell."""
        lines = _every(values, self.cells.factor, np.add, axis=0, dtype=np.int64)
        return _every(lines, self.cells.factor, np.add, axis=1, dtype=np.int64)

    def _peaks(self, values: NDArray[np.int16]) -> NDArray[np.int16]:
        lines = _every(values, self.cells.factor, np.maximum, axis=0, dtype=np.int16)
        return _every(lines, self.cells.factor, np.maximum, axis=1, dtype=np.int16)

    def _means(self, planes: Planes, size: IntArray) -> Planes:
        if self.cells.factor == 1:
            return planes
        means = [np.rint(self._sums(plane) / size) for plane in planes]
        return as_planes(np.stack(means).astype(planes.dtype))

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


def _every(
    values: NDArray[Any], count: int, ufunc: np.ufunc, *, axis: int, dtype: type[np.integer[Any]]
) -> NDArray[Any]:
    """So many neighbours along an axis made one by a ufunc; several times faster than reduceat."""
    values = np.moveaxis(values, axis, 0)
    made = values[::count].astype(dtype)
    for first in range(1, count):
        others = values[first::count]
        ufunc(made[: len(others)], others, out=made[: len(others)])
    return np.moveaxis(made, 0, axis)
