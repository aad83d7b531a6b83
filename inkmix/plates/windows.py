"""Windows: rectangles of all plates of a set, in the set's pixels. Geometry only."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

_SIDE_MULTIPLE = 16
"""Windows narrower than the sheet have sides that pictures in tiles can be cut along."""
_STRIP_EXCESS = 2
"""Windows hold a whole strip of every plate where that makes them no more times too large."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Rows and columns that are worked on at once."""

    rows: slice
    cols: slice

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, cols)."""
        return self.rows.stop - self.rows.start, self.cols.stop - self.cols.start


@dataclass(frozen=True, slots=True, kw_only=True)
class WindowGrid:
    """A sheet cut into windows of one size, smaller ones at its right and lower edge."""

    height_px: int
    width_px: int
    rows: int
    cols: int

    def __iter__(self) -> Iterator[Window]:
        """In raster order: a band from left to right, then the next."""
        for row in range(0, self.height_px, self.rows):
            for col in range(0, self.width_px, self.cols):
                yield Window(
                    rows=slice(row, min(row + self.rows, self.height_px)),
                    cols=slice(col, min(col + self.cols, self.width_px)),
                )


def window_grid(
    height_px: int,
    width_px: int,
    *,
    segment_rows: int,
    segment_cols: int | None,
    window_px: int,
) -> WindowGrid:
    """Windows of at most about `window_px`, aligned to how plates are stored.

    Parameters
    ----------
    segment_rows : int
        Rows of the strips or tiles.
    segment_cols : int or None
        Columns of the tiles; None for strips.
    """
    is_tall = segment_rows * width_px > window_px
    if segment_cols is not None and is_tall and segment_rows * _SIDE_MULTIPLE <= window_px:
        rows = _multiple(segment_rows, _SIDE_MULTIPLE)
        across = max(1, window_px // (rows * segment_cols))
        cols = _multiple(across * segment_cols, _SIDE_MULTIPLE)
        return WindowGrid(height_px=height_px, width_px=width_px, rows=rows, cols=cols)
    rows = max(1, window_px // width_px)
    if segment_rows <= rows:
        rows -= rows % segment_rows
    elif segment_rows * width_px <= _STRIP_EXCESS * window_px:
        rows = segment_rows
    else:
        rows = next(part for part in range(rows, 0, -1) if segment_rows % part == 0)
    return WindowGrid(height_px=height_px, width_px=width_px, rows=rows, cols=width_px)


def scaled(span: slice, factor: int) -> slice:
    """The same span in pixels that are `factor` times finer."""
    return slice(span.start * factor, span.stop * factor)


def widened(span: slice, halo: int) -> slice:
    """The span with a halo on both sides; it may leave the plate."""
    return slice(span.start - halo, span.stop + halo)


def common_rows(rows_per_segment: tuple[int, ...], *, limit: int) -> int:
    """Rows that all segments divide, where that is at most `limit`; else the most rows of one."""
    common = math.lcm(*rows_per_segment) if rows_per_segment else 1
    return common if common <= limit else max(rows_per_segment)


def _multiple(length: int, of: int) -> int:
    """The length, made longer to a whole multiple."""
    return -(-length // of) * of
