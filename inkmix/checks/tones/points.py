"""Points of one window, counted by the named tone that their colour is near to.

Points lie on a grid over the whole sheet, so that no window can move them. What the counts say is
told in `finder`.
"""

import math
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import IntArray
from inkmix.base.loops import are_compiled
from inkmix.checks.tones.near import Labels, place_in
from inkmix.checks.window import CheckedWindow, Counts, as_planes
from inkmix.plates.overview import LINEAR_OF_SRGB8
from inkmix.sheet.geometry import Sheet

SPACING_MM = 0.35
"""From point to point, to the nearest pixel: a drawn line meets some of them."""

MOST_CELLS = 1 << 16
"""Square cells of the sheet by which places are told: some 1 mm on a spread of a book."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Points of a sheet, `step` pixels apart, and square cells of `side` pixels around them."""

    height_px: int
    width_px: int
    step: int
    side: int

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, cols) of cells."""
        return -(-self.height_px // self.side), -(-self.width_px // self.side)

    def points_in(self) -> IntArray:
        """How many points each cell (rows, cols) holds."""
        down, right = (
            np.bincount(np.arange(0, length, self.step) // self.side)
            for length in (self.height_px, self.width_px)
        )
        return np.asarray(np.outer(down, right), dtype=np.int64)


def grid_of(sheet: Sheet) -> Grid:
    """The grid of a sheet: cells that hold as many points along as across."""
    step = max(1, round(SPACING_MM * sheet.px_per_mm))
    side = math.sqrt(sheet.height_px * sheet.width_px / MOST_CELLS)
    return Grid(
        height_px=sheet.height_px,
        width_px=sheet.width_px,
        step=step,
        side=step * max(1, math.ceil(side / step)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Points:
    """Points of one window.

    Parameters
    ----------
    cells : (rows, cols, T) int64 ndarray
        Points of each tone in each cell that the window meets.
    corner : (int, int)
        Row and column of the first of these cells.
    sums : (T, 3 + I) int64 ndarray
        Of each tone's points, linear light in parts of LINEAR_ONE and ink amounts in steps.
    """

    cells: Counts
    corner: tuple[int, int]
    sums: Counts


def count_points(window: CheckedWindow, grid: Grid, labels: Labels, *, tones: int) -> Points:
    """Points of a window that are near to any of the tones."""
    spans, side = (window.rows, window.cols), grid.side
    corner = window.rows.start // side, window.cols.start // side
    shape = [(span.stop - 1) // side + 1 - at for span, at in zip(spans, corner, strict=True)]
    points = Points(
        cells=np.zeros((*shape, tones), np.int64),
        corner=corner,
        sums=np.zeros((tones, 3 + len(window.for_colour)), np.int64),
    )
    count = _compiled if are_compiled() else _plain
    first = [span.start - at * side for span, at in zip(spans, corner, strict=True)]
    count(window, grid, labels, np.array(first, np.int64), points)
    return points


def _plain(
    window: CheckedWindow, grid: Grid, labels: Labels, first: IntArray, points: Points
) -> None:
    assert window.srgb8 is not None
    top, left = (-first % grid.step).tolist()
    grid_points = (slice(top, None, grid.step), slice(left, None, grid.step))
    colours = window.srgb8[grid_points]
    label = labels[place_in(colours)]
    row, col = np.nonzero(label)
    tone = label[row, col].astype(np.int64) - 1
    cell = [(start + at * grid.step) // grid.side for start, at in
            ((first[0] + top, row), (first[1] + left, col))]  # fmt: skip
    np.add.at(points.cells, (*cell, tone), 1)
    amounts = [plane[grid_points][row, col] for plane in window.for_colour]
    light = LINEAR_OF_SRGB8[colours[row, col]]
    for channel, values in enumerate([*light.T, *amounts]):
        np.add.at(points.sums[:, channel], tone, values)


def _compiled(
    window: CheckedWindow, grid: Grid, labels: Labels, first: IntArray, points: Points
) -> None:
    from inkmix.base.kernels.points import count_near

    assert window.srgb8 is not None
    count_near(
        np.ascontiguousarray(window.srgb8),
        as_planes(window.for_colour),
        (labels, LINEAR_OF_SRGB8),
        first,
        grid.step,
        grid.side,
        points.cells,
        points.sums,
    )
