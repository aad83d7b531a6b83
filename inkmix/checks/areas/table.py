"""Tables of connected areas: one row an area, columns that can be joined in any order.

Each column is joined by minimum, maximum or sum of integers only; that is what makes the result
independent of where windows were cut. How areas grow together is the business of `areas`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.window import Counts

AXIS_BITS = 21
"""Bits of a row or column in a key."""
_PLACE_BITS = 2 * AXIS_BITS
_LAST_PLACE = (1 << _PLACE_BITS) - 1
MAX_SIDE_PX = 1 << AXIS_BITS
"""Longest side of a sheet: value (20 bits), row and column share one 63-bit number."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreaTable:
    """Areas as integer columns.

    Parameters
    ----------
    extent : (A, 4) ndarray of int64
        First row, first column, minus the row behind the last, minus the column behind the last;
        joined by minimum.
    peak : (A,) ndarray of int64
        Highest value and, counted backwards, its place, packed so that the maximum of two is the
        higher value and among equal values the earlier pixel.
    pixels : (A,) ndarray of int64
        Size; joined by adding.
    marks : (A,) ndarray of int64
        Which pixels they are and what these hold, as a sum that wraps; joined by adding.
    """

    extent: Counts
    peak: Counts
    pixels: Counts
    marks: Counts

    def __len__(self) -> int:
        return len(self.peak)

    @property
    def values(self) -> Counts:
        """Highest value of each area."""
        return self.peak >> _PLACE_BITS

    def rows_where(self, rows: NDArray[Any]) -> "AreaTable":
        """The rows of a mask or of an index array."""
        return AreaTable(
            extent=self.extent[rows],
            peak=self.peak[rows],
            pixels=self.pixels[rows],
            marks=self.marks[rows],
        )

    def followed_by(self, other: "AreaTable") -> "AreaTable":
        """Both tables in one."""
        return AreaTable(
            extent=np.concatenate((self.extent, other.extent)),
            peak=np.concatenate((self.peak, other.peak)),
            pixels=np.concatenate((self.pixels, other.pixels)),
            marks=np.concatenate((self.marks, other.marks)),
        )

    def fields(self) -> Iterator[dict[str, Any]]:
        """Each row as plain values."""
        columns = (self.extent, self.peak, self.pixels, self.marks)
        rows = zip(*(column.tolist() for column in columns), strict=True)
        for extent, peak, pixels, mark in rows:
            place = _LAST_PLACE - (peak & _LAST_PLACE)
            yield {
                "pixels": pixels,
                "mark": mark % (1 << 64),
                "rows": slice(extent[0], -extent[2]),
                "cols": slice(extent[1], -extent[3]),
                "value": peak >> _PLACE_BITS,
                "peak": (place >> AXIS_BITS, place & (MAX_SIDE_PX - 1)),
            }


def no_areas() -> AreaTable:
    """A table without rows."""
    return AreaTable(
        extent=np.empty((0, 4), dtype=np.int64),
        peak=np.empty(0, dtype=np.int64),
        pixels=np.empty(0, dtype=np.int64),
        marks=np.empty(0, dtype=np.int64),
    )


def table_of_labels(
    labels: NDArray[np.int32],
    count: int,
    values: NDArray[np.integer],
    *,
    corner: tuple[int, int],
) -> AreaTable:
    """One row for each label 1..count of a window whose first pixel is `corner`."""
    if count == 0:
        return no_areas()
    row, col = np.nonzero(labels)
    number = labels[row, col].astype(np.int64) - 1
    inside = values[row, col].astype(np.int64)
    row, col = row + corner[0], col + corner[1]
    edges = [_lowest(number, column, count) for column in (row, col, -row - 1, -col - 1)]
    return AreaTable(
        extent=np.stack(edges, axis=1),
        peak=_highest(number, peak_key(inside, row, col), count),
        pixels=np.bincount(number, minlength=count).astype(np.int64),
        marks=_sums(number, pixel_marks(inside, row, col), count),
    )


def group_areas(table: AreaTable, groups: Counts) -> AreaTable:
    """Areas of the same group joined into one row; groups are numbered from 0."""
    count = int(groups.max(initial=-1)) + 1
    extent = np.full((count, 4), np.iinfo(np.int64).max)
    np.minimum.at(extent, groups, table.extent)
    return AreaTable(
        extent=extent,
        peak=_highest(groups, table.peak, count),
        pixels=_sums(groups, table.pixels, count),
        marks=_sums(groups, table.marks, count),
    )


def pixel_marks(value: Counts, row: Counts, col: Counts) -> Counts:
    """A number for each pixel, (N,) int64, that its place and value decide, and nothing else.

    Sums of them tell areas apart as digests do (common practice: multiply by large odd numbers,
    fold the high bits down), but can be added up in any order.
    """
    place = (row.astype(np.int64) << AXIS_BITS) | col
    mark = ((place << (AXIS_BITS - 1)) | value) * np.int64(0x1E3779B97F4A7C15)
    mark = (mark ^ (mark >> 31)) * np.int64(0x3F58476D1CE4E5B9)
    return np.asarray(mark ^ (mark >> 29))


def peak_key(value: Counts, row: Counts, col: Counts) -> Counts:
    """Value and place in one number: the greater is the higher value, then the earlier pixel."""
    place = (row.astype(np.int64) << AXIS_BITS) | col
    return (value.astype(np.int64) << _PLACE_BITS) | (_LAST_PLACE - place)


def peak_of(key: int) -> tuple[int, int, int]:
    """Value, row and column of a key."""
    place = _LAST_PLACE - (key & _LAST_PLACE)
    return key >> _PLACE_BITS, place >> AXIS_BITS, place & (MAX_SIDE_PX - 1)


def _sums(number: Counts, column: Counts, count: int) -> Counts:
    sums = np.zeros(count, dtype=np.int64)
    np.add.at(sums, number, column)
    return sums


def _lowest(number: Counts, column: Counts, count: int) -> Counts:
    lowest = np.full(count, np.iinfo(np.int64).max)
    np.minimum.at(lowest, number, column)
    return lowest


def _highest(number: Counts, column: Counts, count: int) -> Counts:
    highest = np.full(count, np.iinfo(np.int64).min)
    np.maximum.at(highest, number, column)
    return highest
