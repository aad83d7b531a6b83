"""Connected areas of a picture that is seen window by window.

Pixels touching at a side or a corner belong together. A part covers one rectangle and remembers
which areas still touch its four edges; two parts that share an edge merge into one. Areas that
cannot grow any more are settled at once: small ones (specks) are only counted, of the others the
worst are kept, so memory grows with the edge of the sheet and not with its noise. Everything is
an integer; ties go to the first pixel in raster order.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.areas.edges import Outline, bare_edges, groups_across, join
from inkmix.checks.areas.labels import areas_in
from inkmix.checks.areas.table import AreaTable, group_areas, no_areas
from inkmix.checks.window import Mask

KEPT_AREAS = 200
"""Areas kept in full; the rest is counted only. A report shows far fewer."""

MARKS = 1 << 64
"""So many marks there are; sums of them wrap."""

BY_VALUE = "highest value first"
BY_SIZE = "largest first"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settled:
    """Areas that no longer grow: counts of all, and a table of the worst.

    Marks are sums that wrap at 64 bits.
    """

    worst: AreaTable
    areas: int = 0
    area_px: int = 0
    area_mark: int = 0
    specks: int = 0
    speck_px: int = 0
    speck_mark: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AreasPart:
    """The areas of one rectangle; those in `open` touch its edges and may still grow."""

    outline: Outline
    open: AreaTable
    settled: Settled

    @property
    def is_empty(self) -> bool:
        """Whether nothing was seen yet."""
        rows, cols, _ = self.outline
        return rows[0] == rows[1] or cols[0] == cols[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """One connected area.

    Parameters
    ----------
    pixels : int
        Its size.
    rows, cols : slice
        Bounding box.
    mark : int
        Which pixels it has and what they hold, 64 bits: as good as a digest.
    value : int
        Highest value in it.
    peak : (int, int)
        Row and column of the first pixel in raster order that has this value.
    """

    pixels: int
    mark: int
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
    area_mark: int
    specks: int
    speck_px: int
    speck_mark: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaFinder:
    """How areas are found: the least size in pixels, which are worst."""

    min_px: int
    order: str
    kept: int = KEPT_AREAS

    def start(self) -> AreasPart:
        """The part that has seen nothing."""
        return self.bare(rows=slice(0, 0), cols=slice(0, 0))

    def bare(self, *, rows: slice, cols: slice) -> AreasPart:
        """The part of a window without an area."""
        shape = (rows.stop - rows.start, cols.stop - cols.start)
        outline = Outline((rows.start, rows.stop), (cols.start, cols.stop), bare_edges(shape))
        return AreasPart(outline=outline, open=no_areas(), settled=Settled(worst=no_areas()))

    def part(
        self,
        mask: Mask,
        values: NDArray[np.integer],
        *,
        rows: slice,
        cols: slice,
    ) -> AreasPart:
        """Areas of one window: `mask` (rows, cols) with `values` (rows, cols), not negative."""
        bare = self.bare(rows=rows, cols=cols)
        if not mask.any():
            return bare
        table, edges = areas_in(mask, values, corner=(rows.start, cols.start))
        return self._settle(bare.outline._replace(edges=edges), table, bare.settled)

    def merge(self, first: AreasPart, second: AreasPart) -> AreasPart:
        """The part of both rectangles; the second lies below the first or right of it.

        Raises
        ------
        ValueError
            If the two do not make one rectangle.
        """
        if first.is_empty or second.is_empty:
            return second if first.is_empty else first
        rows, cols, edges = second.outline
        moved = Outline(rows, cols, edges.moved(len(first.open)))
        outline, seam = join(first.outline, moved)
        if not len(first.open) and not len(second.open):
            settled = self._both(first.settled, second.settled)
            return AreasPart(outline=outline, open=first.open, settled=settled)
        table = first.open.followed_by(second.open)
        groups = groups_across(seam, len(table))
        outline = outline._replace(edges=outline.edges.renumbered(groups))
        settled = self._both(first.settled, second.settled)
        return self._settle(outline, group_areas(table, groups), settled)

    def finish(self, part: AreasPart) -> Areas:
        """Every area, the edges of the sheet taken as the end."""
        settled = self._absorb(part.settled, part.open)
        return Areas(
            worst=tuple(Area(**fields) for fields in settled.worst.fields()),
            areas=settled.areas,
            area_px=settled.area_px,
            area_mark=settled.area_mark,
            specks=settled.specks,
            speck_px=settled.speck_px,
            speck_mark=settled.speck_mark,
        )

    def _settle(self, outline: Outline, table: AreaTable, settled: Settled) -> AreasPart:
        """The part, the areas that touch no edge moved out of the open table."""
        is_open = np.zeros(len(table) + 1, dtype=bool)  # the last one stands for -1
        for edge in outline.edges:
            is_open[edge] = True
        is_open = is_open[:-1]
        edges = outline.edges.renumbered(np.cumsum(is_open) - 1)
        return AreasPart(
            outline=outline._replace(edges=edges),
            open=table.rows_where(is_open),
            settled=self._absorb(settled, table.rows_where(~is_open)),
        )

    def _absorb(self, settled: Settled, table: AreaTable) -> Settled:
        small = table.pixels < self.min_px
        large = table.rows_where(~small)
        return Settled(
            worst=self._worst(settled.worst.followed_by(large)),
            areas=settled.areas + len(large),
            area_px=settled.area_px + int(large.pixels.sum()),
            area_mark=(settled.area_mark + int(large.marks.sum())) % MARKS,
            specks=settled.specks + int(small.sum()),
            speck_px=settled.speck_px + int(table.pixels[small].sum()),
            speck_mark=(settled.speck_mark + int(table.marks[small].sum())) % MARKS,
        )

    def _both(self, first: Settled, second: Settled) -> Settled:
        if not second.areas and not second.specks:
            return first
        return Settled(
            worst=self._worst(first.worst.followed_by(second.worst)),
            areas=first.areas + second.areas,
            area_px=first.area_px + second.area_px,
            area_mark=(first.area_mark + second.area_mark) % MARKS,
            specks=first.specks + second.specks,
            speck_px=first.speck_px + second.speck_px,
            speck_mark=(first.speck_mark + second.speck_mark) % MARKS,
        )

    def _worst(self, table: AreaTable) -> AreaTable:
        by_size = self.order == BY_SIZE
        keys = (table.pixels, table.values) if by_size else (table.values, table.pixels)
        order = np.lexsort((-table.peak, -keys[1], -keys[0]))
        return table.rows_where(order[: self.kept])
