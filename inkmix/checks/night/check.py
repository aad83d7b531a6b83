"""Night: whether a masked area is as dark as it must be, and where it is not.

One finding a night area. What the counts mean is decided in `night_counts`; what could be done
about it is tried in `remedies_night`.
"""

import math
from dataclasses import dataclass, replace
from hashlib import sha256

import numpy as np

from inkmix.base.arrays import IntArray
from inkmix.checks.areas.finder import BY_SIZE, Area, AreaFinder, Areas, AreasPart
from inkmix.checks.areas.shape import shape_of
from inkmix.checks.finding import Finding, Shape, Spot
from inkmix.checks.mending.ink_off_near import cells_of
from inkmix.checks.night.counts import (
    UNCOUNTED,
    NightCounts,
    NightOutcome,
    judge_night,
    no_counts,
)
from inkmix.checks.night.facts import NIGHT, NightFacts
from inkmix.checks.night.pixels import NO_LIMIT_LEVEL, NightPixels, count_night_pixels
from inkmix.checks.night.words import density_above_paper, night_sentence
from inkmix.checks.window import CheckedWindow, Counts, Mask
from inkmix.press.condition import PressCondition
from inkmix.press.table.lookup import LIGHTNESS_SCALE
from inkmix.sheet.geometry import Sheet

MIN_AREA_MM2 = 1.0
SHOWN_SPOTS = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightPart:
    """Some windows of a night area: counts, the areas that are too light, the mask's extent.

    `extent` is (first row, first column, -row behind the last, -column behind the last); `cells`
    numbers the cells of the sheet that hold pixels that are too light, for each window.
    """

    counts: NightCounts
    too_light: AreasPart
    extent: tuple[int, int, int, int]
    cells: tuple[IntArray, ...] = ()


_NOWHERE = (1 << 30,) * 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightResult:
    """Facts, the one finding, and what remedies start from."""

    facts: NightFacts
    finding: Finding
    outcome: NightOutcome
    counts: NightCounts
    box: tuple[slice, slice] | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightCheck:
    """The check of one night area.

    Parameters
    ----------
    name : str
    mask_words : str
        How the area is given, in words.
    lightest_L : float or None
        Lightest L* allowed, absolute; None where no limit is given.
    share_pct : float
        Share of the area that must reach it, above 0 to 100.
    """

    sheet: Sheet
    condition: PressCondition
    name: str
    mask_words: str
    lightest_L: float | None
    share_pct: float
    min_area_mm2: float = MIN_AREA_MM2

    @property
    def finder(self) -> AreaFinder:
        """How the areas that are too light are found."""
        min_px = max(1, math.ceil(self.min_area_mm2 * self.sheet.px_per_mm**2))
        return AreaFinder(min_px=min_px, order=BY_SIZE)

    def start(self) -> NightPart:
        """The part that has seen nothing."""
        counts = no_counts(len(self.condition.inks))
        return NightPart(counts=counts, too_light=self.finder.start(), extent=_NOWHERE)

    def update(self, part: NightPart, window: CheckedWindow, mask: Mask) -> NightPart:
        """The part with one more window, which lies below or right of what it covers."""
        return self.merge(part, self.part(window, mask))

    def part(self, window: CheckedWindow, mask: Mask) -> NightPart:
        """Counts of one window under its mask (rows, cols); several threads may ask at once."""
        counted = count_night_pixels(
            window.planes, window.lightness, mask, limit=self.lightest_level
        )
        part = NightPart(
            counts=NightCounts(levels=counted.levels, mixes=counted.mixes, full=window.full),
            too_light=self.finder.bare(rows=window.rows, cols=window.cols),
            extent=_extent(counted, window),
        )
        return self._with_areas(part, window, mask) if counted.too_light_px else part

    @property
    def lightest_level(self) -> int:
        """Lightest level of L* allowed."""
        limit = math.inf if self.lightest_L is None else self.lightest_L
        return math.floor(min(limit * LIGHTNESS_SCALE, NO_LIMIT_LEVEL))

    def _with_areas(self, part: NightPart, window: CheckedWindow, mask: Mask) -> NightPart:
        """The part with the areas of its window that are too light, and their cells."""
        too_light = mask & (window.lightness > self.lightest_level)
        box = {"rows": window.rows, "cols": window.cols}
        return replace(
            part,
            too_light=self.finder.part(too_light, window.lightness, **box),
            cells=(cells_of(self.sheet).marked(too_light, **box),),
        )

    def merge(self, first: NightPart, second: NightPart) -> NightPart:
        """Counts of both parts, which together make a rectangle."""
        top, left, bottom, right = map(min, first.extent, second.extent)
        return NightPart(
            counts=first.counts.plus(second.counts),
            too_light=self.finder.merge(first.too_light, second.too_light),
            extent=(top, left, bottom, right),
            cells=first.cells + second.cells,
        )

    def judge(self, counts: NightCounts) -> NightOutcome:
        """The outcome of counts: of this area, or of the same area after a remedy."""
        if counts.pixels == 0:
            return UNCOUNTED
        return judge_night(
            counts, self.condition, lightest_L=self.lightest_L, share_pct=self.share_pct
        )

    def finish(self, part: NightPart) -> NightResult:
        """What the counts say."""
        outcome = self.judge(part.counts)
        areas = self.finder.finish(part.too_light)
        top, left, bottom, right = part.extent
        box = None if part.extent == _NOWHERE else (slice(top, -bottom), slice(left, -right))
        return NightResult(
            facts=self._facts(part.counts, outcome),
            finding=replace(
                self._finding(part.counts, outcome, areas, box), shape=self._shape(part, areas)
            ),
            outcome=outcome,
            counts=part.counts,
            box=box,
        )

    def recounted(self, result: NightResult, counts: NightCounts) -> NightResult:
        """A result with the counts of the same area after a correction.

        Its finding stays as it was: where the pale places lie was not looked for.
        """
        outcome = self.judge(counts)
        return replace(result, facts=self._facts(counts, outcome), outcome=outcome, counts=counts)

    def _facts(self, counts: NightCounts, outcome: NightOutcome) -> NightFacts:
        is_empty = counts.pixels == 0
        return NightFacts(
            name=self.name,
            verdict=outcome.verdict,
            mask=self.mask_words,
            area_mm2=self.sheet.area_mm2(counts.pixels),
            lightest_L=self.lightest_L,
            share_pct=self.share_pct,
            reached_pct=outcome.reached_pct,
            value_L=None if is_empty else outcome.value_L,
            value_density=None
            if is_empty
            else density_above_paper(self.condition, outcome.value_L),
            error_L=None if is_empty else outcome.error_L,
            median_L=None if is_empty else counts.quantile_level(50) / LIGHTNESS_SCALE,
            darkest_L=None if is_empty else counts.quantile_level(0) / LIGHTNESS_SCALE,
            histogram=_histogram(counts),
        )

    def _finding(
        self,
        counts: NightCounts,
        outcome: NightOutcome,
        areas: Areas,
        box: tuple[slice, slice] | None,
    ) -> Finding:
        is_empty = counts.pixels == 0
        spots = tuple(self._spot(area) for area in areas.worst[:SHOWN_SPOTS])
        where = (areas.worst[0].rows, areas.worst[0].cols) if spots else box
        too_light_px = areas.area_px + areas.speck_px
        return Finding(
            check=NIGHT,
            name=self.name,
            verdict=outcome.verdict,
            sentence=night_sentence(
                self.name,
                outcome,
                spots,
                condition=self.condition,
                lightest_L=self.lightest_L,
                share_pct=self.share_pct,
            ),
            unit="L*",
            value=None if is_empty else outcome.value_L,
            limit=self.lightest_L,
            error=None if is_empty else outcome.error_L,
            place=self.sheet.place_of(*where) if where else None,
            rows_px=(where[0].start, where[0].stop) if where else None,
            cols_px=(where[1].start, where[1].stop) if where else None,
            area_mm2=self.sheet.area_mm2(too_light_px),
            area_pct=None if is_empty else 100 * too_light_px / counts.pixels,
            pixels_state=_state(counts, box),
            spots=spots,
        )

    def _shape(self, part: NightPart, areas: Areas) -> Shape | None:
        cells = cells_of(self.sheet)
        boxes = [(area.rows, area.cols) for area in areas.worst[:SHOWN_SPOTS]]
        return shape_of(self.sheet, cells, cells.map_of(part.cells), boxes) if boxes else None

    def _spot(self, area: Area) -> Spot:
        return Spot(
            place=self.sheet.place_of(area.rows, area.cols),
            rows_px=(area.rows.start, area.rows.stop),
            cols_px=(area.cols.start, area.cols.stop),
            value=area.value / LIGHTNESS_SCALE,
            area_mm2=self.sheet.area_mm2(area.pixels),
        )


def _state(counts: NightCounts, box: tuple[slice, slice] | None) -> str:
    """Digits that stay the same as long as the plates in the area do, on any machine.

    They hold the sum of each plate over the area, its size and its place: sums of millions of
    pixels do not stay the same by chance, and cost nothing more.
    """
    place = [] if box is None else [int(at) for span in box for at in (span.start, span.stop)]
    held = counts.mixes.sum(axis=0).tolist(), counts.pixels, counts.full, place
    return sha256(repr(held).encode()).hexdigest()[:16]


def _extent(counted: NightPixels, window: CheckedWindow) -> tuple[int, int, int, int]:
    if counted.rows.stop == 0:
        return _NOWHERE
    top, left = window.rows.start, window.cols.start
    return (
        counted.rows.start + top,
        counted.cols.start + left,
        -counted.rows.stop - top,
        -counted.cols.stop - left,
    )


def _histogram(counts: NightCounts) -> tuple[tuple[float, float], ...]:
    bars: Counts = counts.levels.reshape(-1, LIGHTNESS_SCALE).sum(axis=1)
    seen = np.flatnonzero(bars)
    if len(seen) == 0:
        return ()
    return tuple(
        (float(bar), 100 * int(bars[bar]) / counts.pixels) for bar in range(seen[0], seen[-1] + 1)
    )
