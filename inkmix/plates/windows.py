"""Windows: rectangles of all plates of a set, in the set's pixels. Geometry only."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from inkmix.plates.raster import bands


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Rows and columns that are worked on at once."""

    rows: slice
    cols: slice

    @property
    def shape(self) -> tuple[int, int]:
        """(rows, cols)."""
        return self.rows.stop - self.rows.start, self.cols.stop - self.cols.start


def band_windows(height_px: int, width_px: int, *, segment_rows: int) -> Iterator[Window]:
    """Full-width bands in raster order, at most 2 Mpx, aligned to segments where these fit."""
    for rows in bands(height_px, width_px, rows_multiple=segment_rows):
        yield Window(rows=rows, cols=slice(0, width_px))


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
