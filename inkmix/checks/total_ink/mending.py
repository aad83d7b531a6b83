"""Ink taken off a whole sheet, searched for or by a recipe."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from inkmix.base.arrays import BoolArray, IntArray
from inkmix.base.ordered_threads import in_order
from inkmix.base.words import percent
from inkmix.checks.check import Ground
from inkmix.checks.finding import Finding
from inkmix.checks.mending.ink_off import (
    InkOff,
    InkOffCorrection,
    InkOffGround,
    ink_off_correction,
    ink_off_ground,
)
from inkmix.checks.mending.ink_off_near import cells_of
from inkmix.checks.mending.mender import MADE_OF_DOTS, Again, Mended
from inkmix.checks.total_ink.check import TotalInkResult
from inkmix.checks.total_ink.remedies import chosen_correction, whole_remedy
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box, bands_of, full_scale, steps_at_most


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkMender:
    """Total ink of a sheet; `result` is that of its plates as they are."""

    result: TotalInkResult
    spread: Ground
    kept: BoolArray | None = None
    """Cells of places that somebody accepts as they are."""

    @property
    def name(self) -> str:
        """One correction serves the whole sheet."""
        return ""

    @property
    def is_wanted(self) -> bool:
        """Whether anything is over the limit."""
        return bool(self.result.over.any())

    def leaving(self, waived: Sequence[Finding]) -> "InkMender | None":
        """Ink stays on the places that are accepted; None where nothing else is over the limit."""
        over, cells = self.result.over, cells_of(self.spread.sheet)
        kept = cells.of_boxes(_boxes(waived))
        if any(one.rows_px is None for one in waived):  # what has no place lies beside all others
            kept |= over & ~cells.of_boxes(_boxes(self.result.findings))
        return replace(self, kept=kept) if (over & ~kept).any() else None

    def found(self, trials: Trials, *, may_spoil: bool) -> Mended | None:
        """The correction that spoils no night, on what earlier ones leave."""
        result, ground = self._now(trials), ink_off_ground(self.spread, trials.source.read)
        correction = chosen_correction(result, ground, trials, self.kept)
        if correction is None:
            return None
        return self._mended(correction, ground, trials)

    def why_not(self, trials: Trials) -> str:
        """Only ink of plates that are made of dots cannot come off."""
        if not ink_off_ground(self.spread, trials.source.read).has_dots:
            return ""
        over = self._now(trials).over
        if self.kept is not None:
            over = over & ~self.kept
        if not over.any():
            return ""
        return f"{MADE_OF_DOTS} where too much ink is left; export them before screening"

    def again(self, recipe: InkOff, trials: Trials) -> Again:
        """As wanted then, to the limit as it is now."""
        result, misfits = self._now(trials), []
        limit_pct = result.facts.limit_pct
        if limit_pct is None:
            return Again(mended=None, misfits=("The book gives no ink limit any more.",))
        if limit_pct != recipe.limit_pct:
            misfits = [
                f"The ink limit was {percent(recipe.limit_pct)} and is {percent(limit_pct)} now; "
                "ink comes off to the limit of now."
            ]
        ground = ink_off_ground(self.spread, trials.source.read)
        wanted = replace(recipe, limit_pct=limit_pct)
        correction = ink_off_correction(wanted, ground, result.over, kept=self.kept)
        mended = None if correction is None else self._mended(correction, ground, trials)
        return Again(mended=mended, misfits=tuple(misfits))

    def _mended(
        self, correction: InkOffCorrection, ground: InkOffGround, trials: Trials
    ) -> Mended | None:
        """The correction with what it does; None where no plate gives anything."""
        remedy = whole_remedy(correction, ground, trials)
        if remedy is None:
            return None
        return Mended(
            name=self.name,
            remedy=remedy,
            correction=correction,
            boxes=correction.boxes,
            inks=tuple(step.plate for step in remedy.steps),
            recipe=correction.wanted,
        )

    def _now(self, trials: Trials) -> TotalInkResult:
        """What is over the limit after earlier corrections; looked at only where they reach."""
        limit_pct, cells = self.result.facts.limit_pct, cells_of(self.spread.sheet)
        if limit_pct is None or not trials.changed:
            return self.result
        over, most_pct = self.result.over.copy(), self.result.facts.max_pct

        def part(box: Box) -> tuple[IntArray, float]:
            planes, total = trials.source.read(*box)
            full = full_scale(planes)
            above = total > steps_at_most(limit_pct, full)
            marked = cells.marked(above, rows=box[0], cols=box[1])
            return marked, float(total.max()) * 100 / full

        for marked, pct in in_order(part, bands_of(trials.changed)):
            over.flat[marked] = True
            most_pct = max(most_pct, pct)
        return replace(self.result, over=over, facts=replace(self.result.facts, max_pct=most_pct))


def _boxes(findings: Sequence[Finding]) -> Iterator[Box]:
    """Where findings lie that have a place."""
    for one in findings:
        if one.rows_px is not None and one.cols_px is not None:
            yield slice(*one.rows_px), slice(*one.cols_px)
