"""Where ink is taken off: at places over the limit and, fading, a little around them.

Places are told by square cells of the sheet, few enough to be held at once. No plate is looked at
here but for pixels that are over the limit.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, IntArray, smoothstep
from inkmix.checks.mending.ink_off_pixels import WEIGHT_ONE
from inkmix.checks.window import Box, Mask
from inkmix.sheet.geometry import Sheet

MOST_CELLS = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class OverCells:
    """Square cells of a sheet, to be marked where a pixel in them is over the limit.

    Parameters
    ----------
    height_px, width_px : int
        Size of the sheet; cells at its far edges may be cut off.
    side : int
        Of a cell, in pixels.
    """

    height_px: int
    width_px: int
    side: int

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, cols) of cells."""
        return -(-self.height_px // self.side), -(-self.width_px // self.side)

    def marked(self, over: Mask, *, rows: slice, cols: slice) -> IntArray:
        """Numbers of the cells in which a window has pixels that are `over`, increasing."""
        cell_rows = np.logical_or.reduceat(over, self._starts(rows), axis=0)
        cells = np.logical_or.reduceat(cell_rows, self._starts(cols), axis=1)
        down, right = np.nonzero(cells)
        first = rows.start // self.side, cols.start // self.side
        return np.asarray((down + first[0]) * self.shape[1] + right + first[1], dtype=np.int64)

    def _starts(self, span: slice) -> IntArray:
        """Where cells begin in a window, its own beginning included."""
        after = (span.start // self.side + 1) * self.side
        return np.concatenate([[0], np.arange(after, span.stop, self.side) - span.start])

    def map_of(self, marked: Iterable[IntArray]) -> BoolArray:
        """Which cells (rows, cols) are marked by any window."""
        cells = np.zeros(self.shape, dtype=bool)
        for numbers in marked:
            cells.flat[numbers] = True
        return cells

    def within(self, marked: BoolArray, boxes: Iterable[Box]) -> tuple[BoolArray, Box] | None:
        """The marked cells of some rectangles of pixels, as small as may be, and where they lie.

        Returns
        -------
        (rows, cols) ndarray of bool, (rows, cols) of cells; or None
            None without rectangles.
        """
        spans = [(self._cells(rows), self._cells(cols)) for rows, cols in boxes]
        if not spans:
            return None
        kept = np.zeros_like(marked)
        for span in spans:
            kept[span] = marked[span]
        around = _hull(rows for rows, _ in spans), _hull(cols for _, cols in spans)
        return kept[around], around

    def of_boxes(self, boxes: Iterable[Box]) -> BoolArray:
        """Which cells (rows, cols) hold any pixel of these rectangles."""
        cells = np.zeros(self.shape, dtype=bool)
        for rows, cols in boxes:
            cells[self._cells(rows), self._cells(cols)] = True
        return cells

    def _cells(self, span: slice) -> slice:
        return slice(span.start // self.side, -(-span.stop // self.side))

    def boxes(self, near: NDArray[np.uint16]) -> list[Box]:
        """Rectangles of pixels that hold all places with a weight, none over another."""
        return [self._box(near, rows.start, rows.stop) for rows in _runs(_any(near, axis=1))]

    def boxes_apart(self, near: NDArray[np.uint16]) -> list[Box]:
        """The same, cut along empty rows and columns for as long as any are left."""
        whole = slice(0, self.height_px), slice(0, self.width_px)
        todo, done = [tuple(slice(0, length) for length in near.shape)], list[Box]()
        while todo:
            rows, cols = todo.pop()
            parts = [
                (down, across)
                for down in _runs(_any(near[rows, cols], axis=1), rows.start)
                for across in _runs(_any(near[down, cols], axis=0), cols.start)
            ]
            if parts == [(rows, cols)]:
                down, across = (
                    slice(one.start * self.side, min(one.stop * self.side, side.stop))
                    for one, side in zip((rows, cols), whole, strict=True)
                )
                done.append((down, across))
            else:
                todo += parts
        return done

    def _box(self, near: NDArray[np.uint16], first: int, after: int) -> Box:
        cols = np.flatnonzero(near[first:after].any(axis=0))
        rows = slice(first * self.side, min(after * self.side, self.height_px))
        return rows, slice(
            int(cols[0]) * self.side, min((int(cols[-1]) + 1) * self.side, self.width_px)
        )


def _any(near: NDArray[np.uint16], *, axis: int) -> BoolArray:
    return np.asarray(near.any(axis=axis))


def _runs(marked: BoolArray, start: int = 0) -> list[slice]:
    """Where marks follow one another without a gap; `start` is the number of the first."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], marked, [False]]).astype(int))) + start
    return [slice(*edges[at : at + 2].tolist()) for at in range(0, len(edges), 2)]


def _hull(spans: Iterable[slice]) -> slice:
    """The shortest span that holds all."""
    starts, stops = zip(*((one.start, one.stop) for one in spans), strict=True)
    return slice(min(starts), max(stops))


def cells_of(sheet: Sheet) -> OverCells:
    """The smallest cells of which MOST_CELLS cover a sheet."""
    side = math.ceil(math.sqrt(sheet.height_px * sheet.width_px / MOST_CELLS))
    return OverCells(height_px=sheet.height_px, width_px=sheet.width_px, side=max(1, side))


def weights_near(over: BoolArray, *, fade: float) -> NDArray[np.uint16]:
    """Weights (rows, cols) of cells: WEIGHT_ONE at and beside those that are `over`.

    Parameters
    ----------
    fade : float
        Over so many cells weights come down to 0 around them, without a kink at either end.
    """
    near = np.zeros(over.shape, np.uint16)
    if not over.any():
        return near
    lines = (np.asarray(over.any(axis=axis)) for axis in (1, 0))
    part = tuple(_reach(line, math.ceil(fade) + 2) for line in lines)
    near[part] = _faded(over[part], fade)
    return near


def weights_beside(near: NDArray[np.uint16], kept: BoolArray, *, fade: float) -> NDArray[np.uint16]:
    """The weights, coming down to 0 where cells are kept as they are."""
    if not kept.any():
        return near
    free = WEIGHT_ONE - weights_near(kept, fade=fade).astype(np.int64)
    return np.asarray(near * free // WEIGHT_ONE, dtype=np.uint16)


def _reach(marked: BoolArray, more: int) -> slice:
    at = np.flatnonzero(marked)
    return slice(max(0, int(at[0]) - more), int(at[-1]) + 1 + more)


def _faded(over: BoolArray, fade: float) -> NDArray[np.uint16]:
    """Full weight beside a cell too: between the middles of cells weights are interpolated."""
    from scipy.ndimage import binary_dilation, distance_transform_edt

    full = binary_dilation(over, np.ones((3, 3)))
    if full.all():
        return np.full(over.shape, WEIGHT_ONE, np.uint16)
    share = smoothstep(1 - distance_transform_edt(~full) / max(fade, 1e-9))
    faded: NDArray[np.uint16] = np.rint(WEIGHT_ONE * share).astype(np.uint16)
    return faded
