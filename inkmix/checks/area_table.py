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

_AXIS_BITS = 21
_PLACE_BITS = 2 * _AXIS_BITS
_LAST_PLACE = (1 << _PLACE_BITS) - 1
MAX_SIDE_PX = 1 << _AXIS_BITS
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
    sums : (A, 1 + K) ndarray of int64
        Pixels, then the sum of each weight plane.
    """

    extent: Counts
    peak: Counts
    sums: Counts

    def __len__(self) -> int:
        return len(self.peak)

    @property
    def pixels(self) -> Counts:
        """Size of each area."""
        return self.sums[:, 0]

    @property
    def values(self) -> Counts:
        """Highest value of each area."""
        return self.peak >> _PLACE_BITS

    def rows_where(self, rows: NDArray[Any]) -> "AreaTable":
        """The rows of a mask or of an index array."""
        return AreaTable(extent=self.extent[rows], peak=self.peak[rows], sums=self.sums[rows])

    def followed_by(self, other: "AreaTable") -> "AreaTable":
        """Both tables in one."""
        return AreaTable(
            extent=np.concatenate((self.extent, other.extent)),
            peak=np.concatenate((self.peak, other.peak)),
            sums=np.concatenate((self.sums, other.sums)),
        )

    def fields(self) -> Iterator[dict[str, Any]]:
        """Each row as plain values."""
        for extent, peak, sums in zip(
            self.extent.tolist(), self.peak.tolist(), self.sums.tolist(), strict=True
        ):
            place = _LAST_PLACE - (peak & _LAST_PLACE)
            yield {
                "pixels": sums[0],
                "rows": slice(extent[0], -extent[2]),
                "cols": slice(extent[1], -extent[3]),
                "value": peak >> _PLACE_BITS,
                "peak": (place >> _AXIS_BITS, place & (MAX_SIDE_PX - 1)),
                "sums": tuple(sums[1:]),
            }


def no_areas(planes: int) -> AreaTable:
    """A table without rows."""
    return AreaTable(
        extent=np.empty((0, 4), dtype=np.int64),
        peak=np.empty(0, dtype=np.int64),
        sums=np.empty((0, 1 + planes), dtype=np.int64),
    )


def table_of_labels(
    labels: NDArray[np.int32],
    count: int,
    values: NDArray[np.integer],
    weights: NDArray[np.integer],
    *,
    corner: tuple[int, int],
) -> AreaTable:
    """One row for each label 1..count of a window whose first pixel is `corner`."""
    if count == 0:
        return no_areas(len(weights))
    row, col = np.nonzero(labels)
    number = labels[row, col].astype(np.int64) - 1
    inside = values[row, col].astype(np.int64)
    planes = [plane[row, col] for plane in weights]
    row, col = row + corner[0], col + corner[1]
    ones = np.ones(len(number), dtype=np.int64)
    sums = [_add(number, column, count) for column in (ones, *planes)]
    edges = [_lowest(number, column, count) for column in (row, col, -row - 1, -col - 1)]
    return AreaTable(
        extent=np.stack(edges, axis=1),
        peak=_highest(number, peak_key(inside, row, col), count),
        sums=np.stack(sums, axis=1),
    )


def group_areas(table: AreaTable, groups: Counts) -> AreaTable:
    """Areas of the same group joined into one row; groups are numbered from 0."""
    count = int(groups.max(initial=-1)) + 1
    sums = np.zeros((count, table.sums.shape[1]), dtype=np.int64)
    np.add.at(sums, groups, table.sums)
    extent = np.full((count, 4), np.iinfo(np.int64).max)
    np.minimum.at(extent, groups, table.extent)
    return AreaTable(extent=extent, peak=_highest(groups, table.peak, count), sums=sums)


def peak_key(value: Counts, row: Counts, col: Counts) -> Counts:
    """Value and place in one number: the greater is the higher value, then the earlier pixel."""
    place = (row.astype(np.int64) << _AXIS_BITS) | col
    return (value.astype(np.int64) << _PLACE_BITS) | (_LAST_PLACE - place)


def peak_of(key: int) -> tuple[int, int, int]:
    """Value, row and column of a key."""
    place = _LAST_PLACE - (key & _LAST_PLACE)
    return key >> _PLACE_BITS, place >> _AXIS_BITS, place & (MAX_SIDE_PX - 1)


def _add(number: Counts, column: NDArray[np.integer], count: int) -> Counts:
    sums = np.zeros(count, dtype=np.int64)
    np.add.at(sums, number, column.astype(np.int64))
    return sums


def _lowest(number: Counts, column: Counts, count: int) -> Counts:
    lowest = np.full(count, np.iinfo(np.int64).max)
    np.minimum.at(lowest, number, column)
    return lowest


def _highest(number: Counts, column: Counts, count: int) -> Counts:
    highest = np.full(count, np.iinfo(np.int64).min)
    np.maximum.at(highest, number, column)
    return highest
