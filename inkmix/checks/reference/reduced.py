"""Reduced pictures on a grid whose cells need not be whole pixels, summed in integers.

A pixel that lies across two cells counts in both by its parts, in whole numbers: a row of N pixels
on n cells is N * n units long, a pixel n of them and a cell N. So no cut of windows changes a bit.
Light is summed, not its encoded number: fine grain looks from afar like its mean in light.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base import loops
from inkmix.base.arrays import FloatArray
from inkmix.plates.overview import LINEAR_OF_SRGB8, LINEAR_ONE

Sums = NDArray[np.int64]
_TWIN_PX = 1 << 16  # widened to 64 bits on the way


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """`pixels` in a row on `cells`, of which there are no more."""

    pixels: int
    cells: int

    def parts(self, span: slice) -> Sums:
        """Of each pixel of a span: its first cell, its part in it and in the next, (N, 3)."""
        start = np.arange(span.start, span.stop, dtype=np.int64) * self.cells
        cell = start // self.pixels
        here = np.minimum((cell + 1) * self.pixels - start, self.cells)
        return np.stack([cell, here, self.cells - here], axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patch:
    """Sums of some cells of a grid, (cell rows, cell cols, 3), and where they lie."""

    top: int
    left: int
    sums: Sums

    def add_to(self, whole: Sums) -> None:
        """Add to the sums of a whole grid."""
        rows, cols = self.sums.shape[:2]
        whole[self.top : self.top + rows, self.left : self.left + cols] += self.sums


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Cells over a picture."""

    down: Axis
    across: Axis

    def start(self) -> Sums:
        """Nothing yet, (cell rows, cell cols, 3)."""
        return np.zeros((self.down.cells, self.across.cells, 3), np.int64)

    def sums(self, rows: slice, cols: slice, srgb8: NDArray[np.uint8]) -> Patch:
        """Sums of a window (rows, cols, 3) of the picture."""
        down, across = self.down.parts(rows), self.across.parts(cols)
        top, left = int(down[0, 0]), int(across[0, 0])
        down[:, 0] -= top
        across[:, 0] -= left
        shape = (_cells(down), _cells(across), 3)
        sums = np.zeros(shape, np.int64)
        _add(np.ascontiguousarray(srgb8), down, across, sums)
        return Patch(top=top, left=left, sums=sums)

    def mean_linear(self, sums: Sums) -> FloatArray:
        """Mean linear light of each cell, 0-1, of the sums of a whole picture."""
        whole = self.down.pixels * self.across.pixels
        return np.asarray(sums / (whole * LINEAR_ONE), dtype=np.float64)


def grid_over(shape: tuple[int, int], *, cells: tuple[int, int]) -> Grid:
    """Cells (rows, cols) over a picture of a shape."""
    return Grid(
        down=Axis(pixels=shape[0], cells=cells[0]), across=Axis(pixels=shape[1], cells=cells[1])
    )


def _cells(parts: Sums) -> int:
    """Cells that a span of pixels touches."""
    return int(parts[-1, 0]) + (2 if parts[-1, 2] else 1)


def _add(srgb8: NDArray[np.uint8], down: Sums, across: Sums, sums: Sums) -> None:
    if loops.are_compiled():
        from inkmix.base.kernels import reduced

        starts = np.append(_starts(across), len(across))
        beyond, whole = across[starts[1:] - 1, 2], int(across[0, 1] + across[0, 2])
        reduced.add_to_cells(srgb8, LINEAR_OF_SRGB8, down, starts, beyond, whole, sums)
        return
    step = max(1, _TWIN_PX // len(across))
    for start in range(0, len(down), step):
        light = LINEAR_OF_SRGB8[srgb8[start : start + step]].astype(np.int64)
        lines = _along(np.moveaxis(light, 1, 0), across, sums.shape[1])
        part = down[start : start + step]
        sums += _along(np.moveaxis(lines, 1, 0), part, sums.shape[0])


def _along(values: Sums, parts: Sums, cells: int) -> Sums:
    """Weighted sums over cells along the first axis."""
    out = np.zeros((cells + 1, *values.shape[1:]), np.int64)
    here, beyond = (column.reshape(-1, *(1,) * (values.ndim - 1)) for column in parts.T[1:])
    starts = _starts(parts)
    into = parts[starts, 0]
    out[into] += np.add.reduceat(values * here, starts, axis=0)
    out[into + 1] += np.add.reduceat(values * beyond, starts, axis=0)
    return out[:cells]


def _starts(parts: Sums) -> Sums:
    """First pixel of each cell; all but the last of its pixels lie in it wholly."""
    return np.flatnonzero(np.diff(parts[:, 0], prepend=-1))
