"""Total ink against the ink limit: what is counted, and what is said about it.

Counts only: the sum of tone values needs no press model, so nothing here is ever unsure. Remedies
are added by `remedies`.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from inkmix.base.arrays import BoolArray, IntArray
from inkmix.base.words import area as area_words
from inkmix.base.words import count as counted
from inkmix.base.words import opening, percent
from inkmix.book.values import GUESS
from inkmix.checks.areas.finder import BY_VALUE, MARKS, Area, AreaFinder, Areas, AreasPart
from inkmix.checks.areas.shape import shape_of
from inkmix.checks.areas.table import peak_key, peak_of
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_READY, PASS, Finding
from inkmix.checks.mending.ink_off_near import OverCells, cells_of
from inkmix.checks.total_ink.counts import (
    BANDS,
    NO_LIMIT_STEPS,
    InkCounts,
    count_ink,
    ink_sum,
)
from inkmix.checks.total_ink.facts import BAND_PCT, TOTAL_INK, TotalInkFacts
from inkmix.checks.window import CheckedWindow, Counts, steps_at_most
from inkmix.checks.wording import allowed_ink
from inkmix.sheet.geometry import Sheet
from inkmix.sheet.places import place_name

MIN_AREA_MM2 = 1.0
"""Smaller areas are specks: a hair or a grain of dust, common practice without a source."""

SHOWN_AREAS = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TotalInkPart:
    """Counts of some windows, all of one depth (`full` steps are 100 %; 0 before the first).

    `peak` packs the highest total ink and its first place; `bands` counts pixels in bars of
    BAND_PCT; `areas` are those over the limit; `over` numbers the cells that have such pixels, for
    each window.
    """

    full: int
    peak: int
    bands: Counts
    areas: AreasPart
    over: tuple[IntArray, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalInkResult:
    """Facts, the findings, worst place first, and in which cells of the sheet they lie."""

    facts: TotalInkFacts
    findings: tuple[Finding, ...]
    over: BoolArray = field(repr=False, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalInkCheck:
    """The check of one sheet: `limit_pct` None where nobody gave an ink limit."""

    sheet: Sheet
    limit_pct: float | None
    whose: str
    min_area_mm2: float = MIN_AREA_MM2

    @property
    def finder(self) -> AreaFinder:
        """How the areas over the limit are found."""
        min_px = max(1, int(np.ceil(self.min_area_mm2 * self.sheet.px_per_mm**2)))
        return AreaFinder(min_px=min_px, order=BY_VALUE)

    @property
    def _clears(self) -> str:
        """The verdict where nothing is over the limit."""
        return NOT_READY if self.whose == GUESS else PASS

    @property
    def cells(self) -> OverCells:
        """The cells of the sheet by which places over the limit are told."""
        return cells_of(self.sheet)

    @property
    def _allowed(self) -> str:
        return allowed_ink(self.limit_pct, self.whose)

    def start(self) -> TotalInkPart:
        """The part that has seen nothing."""
        bands = np.zeros(BANDS, dtype=np.int64)
        return TotalInkPart(full=0, peak=-1, bands=bands, areas=self.finder.start())

    def update(self, part: TotalInkPart, window: CheckedWindow) -> TotalInkPart:
        """The part with one more window, which lies below or right of what it covers."""
        return self.merge(part, self.part(window))

    def part(self, window: CheckedWindow) -> TotalInkPart:
        """Counts of one window; may be asked of several threads at once."""
        limit = NO_LIMIT_STEPS
        if self.limit_pct is not None:
            limit = steps_at_most(self.limit_pct, window.full)
        counted = count_ink(window.planes, limit=limit)
        box = {"rows": window.rows, "cols": window.cols}
        part = TotalInkPart(
            full=window.full,
            peak=_peak(counted, window),
            bands=counted.bands,
            areas=self.finder.bare(**box),
        )
        if not counted.over_px:  # next to no work
            return part
        total = ink_sum(window.planes)
        over = total > limit
        areas = self.finder.part(over, total, **box)
        return replace(part, areas=areas, over=(self.cells.marked(over, **box),))

    def merge(self, first: TotalInkPart, second: TotalInkPart) -> TotalInkPart:
        """Counts of both parts, which together make a rectangle."""
        return TotalInkPart(
            full=first.full or second.full,
            peak=max(first.peak, second.peak),
            bands=first.bands + second.bands,
            areas=self.finder.merge(first.areas, second.areas),
            over=first.over + second.over,
        )

    def finish(self, part: TotalInkPart) -> TotalInkResult:
        """What the counts say, worst place first."""
        areas, over = self.finder.finish(part.areas), self.cells.map_of(part.over)
        findings = self._findings(part, areas, over)
        facts = self._facts(part, areas, verdict=findings[0].verdict)
        return TotalInkResult(facts=facts, findings=findings, over=over)

    def _facts(self, part: TotalInkPart, areas: Areas, *, verdict: str) -> TotalInkFacts:
        pixels = int(part.bands.sum())
        over_px = areas.area_px + areas.speck_px
        last = int(np.flatnonzero(part.bands).max(initial=0))
        return TotalInkFacts(
            verdict=verdict,
            limit_pct=self.limit_pct,
            whose=self.whose,
            max_pct=100 * peak_of(part.peak)[0] / part.full,
            over_area_mm2=self.sheet.area_mm2(over_px),
            over_area_pct=100 * over_px / pixels,
            areas=areas.areas,
            specks=areas.specks,
            min_area_mm2=self.min_area_mm2,
            histogram=tuple(
                (float(BAND_PCT * band), 100 * int(count) / pixels)
                for band, count in enumerate(part.bands[: last + 1])
            ),
        )

    def _findings(self, part: TotalInkPart, areas: Areas, over: BoolArray) -> tuple[Finding, ...]:
        if self.limit_pct is None or not (areas.areas or areas.specks):
            return (self._whole(part),)
        shown = areas.worst[:SHOWN_AREAS]
        found = [
            replace(
                self._area(area, number + 1, part.full),
                shape=shape_of(self.sheet, self.cells, over, [(area.rows, area.cols)]),
            )
            for number, area in enumerate(shown)
        ]
        if areas.areas > len(shown):
            found.append(self._further(areas, len(shown)))
        if areas.specks:
            found.append(self._specks(areas))
        return tuple(found)

    def _whole(self, part: TotalInkPart) -> Finding:
        """The one finding where nothing is over the limit, or there is none."""
        value, row, col = peak_of(part.peak)
        rows, cols = slice(row, row + 1), slice(col, col + 1)
        pct = 100 * value / part.full
        reached = percent(pct, beside=self.limit_pct)
        return Finding(
            check=TOTAL_INK,
            name="whole sheet",
            verdict=NO_LIMIT if self.limit_pct is None else self._clears,
            sentence=f"Total ink reaches at most {reached}; {self._allowed}.",
            unit="%",
            value=pct,
            limit=self.limit_pct,
            error=0.0,
            whose=self.whose,
            place=self.sheet.place_of(rows, cols),
            rows_px=(row, row + 1),
            cols_px=(col, col + 1),
        )

    def _area(self, area: Area, number: int, full: int) -> Finding:
        pct = 100 * area.value / full
        place = self.sheet.place_of(area.rows, area.cols)
        finding = self._over(f"area {number}", area.pixels, mark=area.mark)
        where = f"{place_name(place)}: " if place.panels else ""
        words = f"{where}total ink reaches {percent(pct, beside=self.limit_pct)}"
        return replace(
            finding,
            sentence=f"{opening(words)}; {self._allowed}.",
            value=pct,
            place=place,
            rows_px=(area.rows.start, area.rows.stop),
            cols_px=(area.cols.start, area.cols.stop),
        )

    def _further(self, areas: Areas, shown: int) -> Finding:
        pixels = areas.area_px - sum(area.pixels for area in areas.worst[:shown])
        mark = areas.area_mark - sum(area.mark for area in areas.worst[:shown])
        finding = self._over("further areas", pixels, mark=mark)
        count = areas.areas - shown
        sentence = (
            f"{counted(count, 'further area')} over the ink limit, together "
            f"{area_words(finding.area_mm2)}."
        )
        return replace(finding, sentence=sentence)

    def _specks(self, areas: Areas) -> Finding:
        """Specks fail only where together they are as large as an area that counts."""
        finding = self._over("specks", areas.speck_px, mark=areas.speck_mark)
        fails = self.sheet.area_mm2(areas.speck_px) >= self.min_area_mm2
        sentence = (
            f"{counted(areas.specks, 'speck')} over the ink limit, each smaller than "
            f"{area_words(self.min_area_mm2)}, together {area_words(finding.area_mm2)}"
            f"{'.' if fails else ': too little to matter.'}"
        )
        return replace(finding, sentence=sentence, verdict=FAIL if fails else self._clears)

    def _over(self, name: str, pixels: int, *, mark: int) -> Finding:
        """What all findings about pixels over the limit share."""
        return Finding(
            check=TOTAL_INK,
            name=name,
            verdict=FAIL,
            sentence="",
            unit="%",
            limit=self.limit_pct,
            error=0.0,
            whose=self.whose,
            area_mm2=self.sheet.area_mm2(pixels),
            area_pct=100 * pixels / (self.sheet.width_px * self.sheet.height_px),
            pixels_state=f"{mark % MARKS:016x}",
        )


def _peak(counted: InkCounts, window: CheckedWindow) -> int:
    """Highest total ink of a window and its place on the sheet in one number."""
    row, col = counted.place
    value, rows, cols = np.array([[counted.highest], [row], [col]], dtype=np.int64)
    return int(peak_key(value, rows + window.rows.start, cols + window.cols.start)[0])
