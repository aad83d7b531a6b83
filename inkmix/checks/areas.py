"""Connected areas of a picture that is seen window by window.

Pixels touching at a side or a corner belong together. A part covers one rectangle and remembers
which areas still touch its four edges; two parts that share an edge merge into one. Areas that
cannot grow any more are settled at once: small ones (specks) are only counted, of the others the
worst are kept, so memory grows with the edge of the sheet and not with its noise. Everything is
an integer; ties go to the first pixel in raster order.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from inkmix.checks.area_table import AreaTable, group_areas, no_areas, table_of_labels
from inkmix.checks.window import Counts, Mask

KEPT_AREAS = 200
"""Areas kept in full; the rest is counted only. A report shows far fewer."""

BY_VALUE = "highest value first"
BY_SIZE = "largest first"

_EIGHT_NEIGHBOURS = np.ones((3, 3), dtype=np.int8)


class Edges(NamedTuple):
    """Row of the open table along each edge of a part, -1 where there is no area."""

    top: Counts
    bottom: Counts
    left: Counts
    right: Counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """Areas that no longer grow: counts of all, and a table of the worst."""

    worst: AreaTable
    areas: int = 0
    area_px: int = 0
    specks: int = 0
    speck_px: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreasPart:
    """The areas of one rectangle, half-open ranges of rows and columns; empty before the first."""

    rows: tuple[int, int]
    cols: tuple[int, int]
    open: AreaTable
    edges: Edges
    settled: Settled

    @property
    def is_empty(self) -> bool:
        """Whether nothing was seen yet."""
        return self.rows[0] == self.rows[1] or self.cols[0] == self.cols[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """One connected area.

    Parameters
    ----------
    pixels : int
        Its size.
    rows, cols : slice
        Bounding box.
    value : int
        Highest value in it.
    peak : (int, int)
        Row and column of the first pixel in raster order that has this value.
    """

    pixels: int
    rows: slice
    cols: slice
    value: int
    peak: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Areas:
    """All areas of a picture: the worst in full, the others and the specks as counts."""

    worst: tuple[Area, ...]
    areas: int
    area_px: int
    specks: int
    speck_px: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaFinder:
    """How areas are found: the least size in pixels, which are worst."""

    min_px: int
    order: str
    kept: int = KEPT_AREAS

    def start(self) -> AreasPart:
        """The part that has seen nothing."""
        nothing = np.empty(0, dtype=np.int64)
        return AreasPart(
            rows=(0, 0),
            cols=(0, 0),
            open=no_areas(),
            edges=Edges(nothing, nothing, nothing, nothing),
            settled=Settled(worst=no_areas()),
        )

    def part(
        self,
        mask: Mask,
        values: NDArray[np.integer],
        *,
        rows: slice,
        cols: slice,
    ) -> AreasPart:
        """Areas of one window: `mask` (rows, cols) with `values` (rows, cols), not negative."""
        labels = np.zeros(mask.shape, dtype=np.int32)
        count = label(mask, structure=_EIGHT_NEIGHBOURS, output=labels) if mask.any() else 0
        table = table_of_labels(labels, count, values, corner=(rows.start, cols.start))
        ids = labels.astype(np.int64) - 1
        return self._settle(
            AreasPart(
                rows=(rows.start, rows.stop),
                cols=(cols.start, cols.stop),
                open=table,
                edges=Edges(ids[0], ids[-1], ids[:, 0], ids[:, -1]),
                settled=Settled(worst=no_areas()),
            )
        )

    def merge(self, first: AreasPart, second: AreasPart) -> AreasPart:
        """The part of both rectangles; the second lies below the first or right of it.

        Raises
        ------
        ValueError
            If the two do not make one rectangle.
        """
        if first.is_empty or second.is_empty:
            return second if first.is_empty else first
        moved = Edges(*(np.where(e < 0, -1, e + len(first.open)) for e in second.edges))
        seam, edges, rows, cols = _join(first, second, moved)
        table = first.open.followed_by(second.open)
        groups = _groups(seam, len(table))
        merged = AreasPart(
            rows=rows,
            cols=cols,
            open=group_areas(table, groups),
            edges=Edges(*(_renumber(edge, groups) for edge in edges)),
            settled=self._both(first.settled, second.settled),
        )
        return self._settle(merged)

    def finish(self, part: AreasPart) -> Areas:
        """Every area, the edges of the sheet taken as the end."""
        settled = self._absorb(part.settled, part.open)
        return Areas(
            worst=tuple(Area(**fields) for fields in settled.worst.fields()),
            areas=settled.areas,
            area_px=settled.area_px,
            specks=settled.specks,
            speck_px=settled.speck_px,
        )

    def _settle(self, part: AreasPart) -> AreasPart:
        """Move the areas that touch no edge out of the open table."""
        is_open = np.zeros(len(part.open) + 1, dtype=bool)  # the last one stands for -1
        for edge in part.edges:
            is_open[edge] = True
        is_open = is_open[:-1]
        numbers = np.cumsum(is_open) - 1
        return AreasPart(
            rows=part.rows,
            cols=part.cols,
            open=part.open.rows_where(is_open),
            edges=Edges(*(_renumber(edge, numbers) for edge in part.edges)),
            settled=self._absorb(part.settled, part.open.rows_where(~is_open)),
        )

    def _absorb(self, settled: Settled, table: AreaTable) -> Settled:
        small = table.pixels < self.min_px
        large = table.rows_where(~small)
        return Settled(
            worst=self._worst(settled.worst.followed_by(large)),
            areas=settled.areas + len(large),
            area_px=settled.area_px + int(large.pixels.sum()),
            specks=settled.specks + int(small.sum()),
            speck_px=settled.speck_px + int(table.pixels[small].sum()),
        )

    def _both(self, first: Settled, second: Settled) -> Settled:
        return Settled(
            worst=self._worst(first.worst.followed_by(second.worst)),
            areas=first.areas + second.areas,
            area_px=first.area_px + second.area_px,
            specks=first.specks + second.specks,
            speck_px=first.speck_px + second.speck_px,
        )

    def _worst(self, table: AreaTable) -> AreaTable:
        by_size = self.order == BY_SIZE
        keys = (table.pixels, table.values) if by_size else (table.values, table.pixels)
        order = np.lexsort((-table.peak, -keys[1], -keys[0]))
        return table.rows_where(order[: self.kept])


def _join(
    first: AreasPart, second: AreasPart, moved: Edges
) -> tuple[tuple[Counts, Counts], Edges, tuple[int, int], tuple[int, int]]:
    """Seam, outer edges, rows and columns of two neighbouring parts."""
    if first.cols == second.cols and first.rows[1] == second.rows[0]:
        left = np.concatenate((first.edges.left, moved.left))
        right = np.concatenate((first.edges.right, moved.right))
        edges = Edges(first.edges.top, moved.bottom, left, right)
        seam = (first.edges.bottom, moved.top)
        return seam, edges, (first.rows[0], second.rows[1]), first.cols
    if first.rows == second.rows and first.cols[1] == second.cols[0]:
        top = np.concatenate((first.edges.top, moved.top))
        bottom = np.concatenate((first.edges.bottom, moved.bottom))
        edges = Edges(top, bottom, first.edges.left, moved.right)
        seam = (first.edges.right, moved.left)
        return seam, edges, first.rows, (first.cols[0], second.cols[1])
    raise ValueError(
        f"rows {first.rows}, columns {first.cols} and rows {second.rows}, columns "
        f"{second.cols} do not make one rectangle"
    )


def _groups(seam: tuple[Counts, Counts], count: int) -> Counts:
    """Number of the joined area for each of `count` areas, from what touches across the seam."""
    ones, others = seam
    pairs = [
        (ones, others),
        (ones[1:], others[:-1]),
        (ones[:-1], others[1:]),
    ]
    a = np.concatenate([pair[0] for pair in pairs])
    b = np.concatenate([pair[1] for pair in pairs])
    both = (a >= 0) & (b >= 0)
    links = coo_array((np.ones(int(both.sum()), dtype=bool), (a[both], b[both])), (count, count))
    groups: Counts = connected_components(links, directed=False)[1].astype(np.int64)
    return groups


def _renumber(edge: Counts, numbers: Counts) -> Counts:
    """Rows of an edge after the open table was renumbered; -1 stays."""
    renumbered: Counts = np.append(numbers, -1)[edge]
    return renumbered
