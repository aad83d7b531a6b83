"""The tone finder: where on a spread each named tone is used, and what it looks like there.

Made of counts by windows (`points`); they are integers, so windows may be cut anywhere.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.checks.areas.finder import BY_SIZE, AreaFinder
from inkmix.checks.tones.facts import ToneFacts
from inkmix.checks.tones.near import (
    NEAR_DE00,
    Labels,
    Triple,
    same_mixes,
    shown_lab,
    within_de00,
)
from inkmix.checks.tones.points import Grid, Points, count_points, grid_of
from inkmix.checks.uses import ColourUse
from inkmix.checks.window import CheckedWindow, Counts
from inkmix.colour.colorimetry import (
    delta_e00,
    encode_srgb1,
    lab_to_xyz100,
    srgb1_to_xyz100,
    xyz100_to_lab,
    xyz100_to_triple8,
)
from inkmix.plates.overview import LINEAR_ONE
from inkmix.sheet.geometry import Place, Sheet

CELL_SHARE = 1 / 8
"""A cell belongs to a tone that holds this share of its points; single points are texture."""

MOST_PLACES = 3

LARGE_PCT = 25.0
"""Of the sheet: a wide tolerance that takes in more of it has caught another colour, unless that
lies near the mix."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UsesPart:
    """Points of some windows.

    Parameters
    ----------
    cells : tuple of ((N,), (N,)) int64 ndarrays
        For each window, numbers of cell and tone in one, and how many points they have there.
    sums : (T, 3 + I) int64 ndarray
        Of each tone's points, linear light in parts of LINEAR_ONE and ink amounts in steps.
    full : int
        Steps that make 100 %; 0 while nothing was counted.
    """

    cells: tuple[tuple[Counts, Counts], ...]
    sums: Counts
    full: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """What was found: a use for each tone, and the cells (rows, cols) of those used, by key."""

    uses: tuple[ColourUse, ...]
    cells: Mapping[str, BoolArray]


NOTHING_FOUND = Found(uses=(), cells={})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToneFinder:
    """Where the tones of a spread are used.

    Parameters
    ----------
    labels : (2**(3 * BITS),) uint16 ndarray
        Which tone a colour is near to, from `near`.
    min_area_mm2 : float
        Smaller areas are specks.
    """

    facts: tuple[ToneFacts, ...]
    inks: tuple[str, ...]
    labels: Labels
    sheet: Sheet
    min_area_mm2: float

    @property
    def grid(self) -> Grid:
        """Points and cells of the sheet."""
        return grid_of(self.sheet)

    def start(self) -> UsesPart:
        """The part that has seen nothing."""
        sums = np.zeros((len(self.facts), 3 + len(self.inks)), np.int64)
        return UsesPart(cells=(), sums=sums, full=0)

    def part(self, window: CheckedWindow) -> UsesPart:
        """Points of one window; any thread may ask."""
        points = count_points(window, self.grid, self.labels, tones=len(self.facts))
        return UsesPart(cells=_sparse(points, self.grid), sums=points.sums, full=window.full)

    def merge(self, first: UsesPart, second: UsesPart) -> UsesPart:
        """Points of both."""
        return UsesPart(
            cells=first.cells + second.cells,
            sums=first.sums + second.sums,
            full=first.full or second.full,
        )

    def finish(self, part: UsesPart) -> Found:
        """Each tone in turn; one at a time is held as a map."""
        in_cell = self.grid.points_in()
        uses, cells, same = [], {}, same_mixes(self.facts)
        for number, fact in enumerate(self.facts):
            points = self._points_of(number, part)
            is_of_it = points >= np.maximum(1, np.ceil(CELL_SHARE * in_cell))
            areas, places = self._areas(is_of_it)
            use = (
                self._use(fact, int(points.sum()), part.sums[number], part.full) if areas else None
            )
            if use is None or _is_another_colour(use):
                uses.append(_unused(fact, same_mix_as=same.get(fact.name, "")))
                continue
            uses.append(replace(use, areas=areas, places=places, picture=_key(fact)))
            cells[_key(fact)] = is_of_it
        return Found(uses=tuple(uses), cells=cells)

    def _points_of(self, number: int, part: UsesPart) -> Counts:
        """Points of a tone in each cell, (rows, cols)."""
        points = np.zeros(math.prod(self.grid.shape), np.int64)
        for numbers, counts in part.cells:
            is_of_it = numbers % len(self.facts) == number
            points[numbers[is_of_it] // len(self.facts)] += counts[is_of_it]
        return points.reshape(self.grid.shape)

    def _use(self, fact: ToneFacts, seen: int, sums: Counts, full: int) -> ColourUse:
        """What the points of a tone say, but for where they lie."""
        grid, sheet = self.grid, self.sheet
        lab = _lab(sums[:3] / (seen * LINEAR_ONE), fact)
        tones = (100 * sums[3:] / (seen * full)).tolist()
        points = -(-grid.height_px // grid.step) * -(-grid.width_px // grid.step)
        share = seen / points
        return replace(
            _unused(fact),
            area_mm2=share * sheet.area_mm2(sheet.height_px * sheet.width_px),
            area_pct=100 * share,
            mean_tone_pct=dict(zip(self.inks, tones, strict=True)),
            lab=lab,
            srgb8=xyz100_to_triple8(lab_to_xyz100(lab)),
            from_mix_de00=_apart(lab, fact.predicted_lab),
            from_intended_de00=_apart(lab, fact.intended_lab),
        )

    def _areas(self, is_of_it: BoolArray) -> tuple[int, tuple[Place, ...]]:
        """How many areas are no specks, and where the largest lie."""
        cell_mm2 = (self.grid.side / self.sheet.px_per_mm) ** 2
        finder = AreaFinder(min_px=math.ceil(self.min_area_mm2 / cell_mm2), order=BY_SIZE)
        rows, cols = (slice(0, length) for length in is_of_it.shape)
        values = np.zeros(is_of_it.shape, np.int32)
        found = finder.finish(finder.part(is_of_it, values, rows=rows, cols=cols))
        largest = found.worst[:MOST_PLACES]
        return found.areas, tuple(self._place(area.rows, area.cols) for area in largest)

    def _place(self, rows: slice, cols: slice) -> Place:
        side, sheet = self.grid.side, self.sheet
        return sheet.place_of(
            slice(rows.start * side, min(rows.stop * side, sheet.height_px)),
            slice(cols.start * side, min(cols.stop * side, sheet.width_px)),
        )


def _sparse(points: Points, grid: Grid) -> tuple[tuple[Counts, Counts], ...]:
    """Cell and tone in one number, of those that have points, and how many."""
    row, col, tone = np.nonzero(points.cells)
    if not len(row):
        return ()
    cell = (row + points.corner[0]) * grid.shape[1] + col + points.corner[1]
    return ((cell * points.cells.shape[2] + tone, points.cells[row, col, tone]),)


def _is_another_colour(use: ColourUse) -> bool:
    """Whether what was found is not the tone, but something else at the rim of its neighbourhood.

    Its mean lies outside what was searched, or most of the sheet is plainly another colour.
    """
    apart = use.from_mix_de00 or 0.0
    return apart > use.within_de00 or (use.area_pct > LARGE_PCT and apart > NEAR_DE00)


def _key(fact: ToneFacts) -> str:
    """Of the picture of its uses."""
    return f"use of {fact.name}"


def _unused(fact: ToneFacts, *, same_mix_as: str = "") -> ColourUse:
    """What is said of a tone that no area shows."""
    return ColourUse(
        name=fact.name,
        within_de00=within_de00(fact),
        area_mm2=0.0,
        area_pct=0.0,
        areas=0,
        places=(),
        mean_tone_pct={},
        lab=None,
        srgb8=None,
        from_mix_de00=None,
        from_intended_de00=None,
        out_of_srgb=fact.out_of_srgb,
        limit_de00=fact.tolerance_de00,
        same_mix_as=same_mix_as,
    )


def _lab(linear: FloatArray, fact: ToneFacts) -> Triple:
    """Lab of a mean colour of pixels.

    Where the mix lies outside sRGB, so do its pixels, and all are cut: the step from the one to the
    others is what counts.
    """
    of_pixels = xyz100_to_lab(srgb1_to_xyz100(encode_srgb1(linear)))
    L, a, b = (of_pixels - shown_lab(fact) + fact.predicted_lab).tolist()
    return L, a, b


def _apart(lab: Triple, other: Triple | None) -> float | None:
    return None if other is None else float(delta_e00(lab, other))
