"""A part of a sheet as square cells, few enough to be looked at together."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, IntArray

MOST_CELLS = 300_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Cells of `factor` x `factor` pixels over a rectangle; those at its far edges may be smaller.

    Parameters
    ----------
    rows, cols : slice
        The rectangle, in pixels of the sheet.
    """

    rows: slice
    cols: slice
    factor: int

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, cols) of cells."""
        height, width = (side.stop - side.start for side in (self.rows, self.cols))
        return -(-height // self.factor), -(-width // self.factor)

    @property
    def pixels(self) -> IntArray:
        """Pixels (rows, cols) of each cell."""
        heights, widths = (
            np.diff(np.append(np.arange(0, length, self.factor), length))
            for length in (side.stop - side.start for side in (self.rows, self.cols))
        )
        return np.asarray(heights[:, None] * widths)

    def box_of(self, rows: slice, cols: slice) -> tuple[slice, slice]:
        """The pixels of the sheet, rows and columns, that a rectangle of cells covers."""
        down, across = (
            slice(
                whole.start + side.start * self.factor,
                min(whole.start + side.stop * self.factor, whole.stop),
            )
            for side, whole in ((rows, self.rows), (cols, self.cols))
        )
        return down, across

    def to_pixels(
        self, values: NDArray[np.float32], rows: slice, cols: slice
    ) -> NDArray[np.float32]:
        """Values of cells at the pixels of a window, straight lines between their middles.

        Beyond the rectangle they are 0.
        """
        down, from_row, row_part = self._along(rows, self.rows, self.shape[0])
        right, from_col, col_part = self._along(cols, self.cols, self.shape[1])
        out = np.zeros((rows.stop - rows.start, cols.stop - cols.start), np.float32)
        if down.start >= down.stop or right.start >= right.stop:
            return out
        near = values[from_row[0] : from_row[-1] + 2, from_col[0] : from_col[-1] + 2]
        if near.min() == near.max():
            out[down, right] = near.flat[0]
            return out
        below = np.minimum(from_row + 1, self.shape[0] - 1)
        beside = np.minimum(from_col + 1, self.shape[1] - 1)
        above = values[from_row]
        bands = above + (values[below] - above) * row_part[:, None]
        left = bands[:, from_col]
        out[down, right] = left + (bands[:, beside] - left) * col_part
        return out

    def of_pixels(self, values: NDArray[Any], rows: slice, cols: slice) -> NDArray[Any]:
        """Of each pixel of a window the value of the cell that it lies in; the nearest, beyond."""
        down, right = (
            np.clip((np.arange(side.start, side.stop) - whole.start) // self.factor, 0, count - 1)
            for side, whole, count in zip(
                (rows, cols), (self.rows, self.cols), self.shape, strict=True
            )
        )
        return values[np.ix_(down, right)]

    def around(self, rows: slice, cols: slice) -> tuple[slice, slice]:
        """Cells that have a say in a window; none where it lies beyond the rectangle."""
        down, right = (
            slice(
                max(0, (side.start - whole.start) // self.factor - 1),
                max(0, (side.stop - 1 - whole.start) // self.factor + 2),
            )
            for side, whole in ((rows, self.rows), (cols, self.cols))
        )
        return down, right

    def _along(
        self, window: slice, whole: slice, cells: int
    ) -> tuple[slice, NDArray[np.int64], NDArray[np.float32]]:
        """Where a window lies in the rectangle, the cell before each pixel, how far behind it."""
        start, stop = max(window.start, whole.start), min(window.stop, whole.stop)
        place = (np.arange(start, stop) - whole.start + 0.5) / self.factor - 0.5
        place = np.clip(place, 0, cells - 1)
        before = np.floor(place).astype(np.int64)
        inside = slice(start - window.start, stop - window.start)
        return inside, before, (place - before).astype(np.float32)


def cells_over(rows: slice, cols: slice, *, most: int = MOST_CELLS) -> Cells:
    """The smallest cells that cover a rectangle in at most so many."""
    area = (rows.stop - rows.start) * (cols.stop - cols.start)
    factor = max(1, math.ceil(math.sqrt(area / most)))
    return Cells(rows=rows, cols=cols, factor=factor)


def wider(cells: BoolArray, by: int = 1) -> BoolArray:
    """Cells and those around them."""
    from scipy.ndimage import binary_dilation

    if not cells.any():
        return cells
    return np.asarray(binary_dilation(cells, np.ones((3, 3)), iterations=by))
