"""Remedies for a night area that is too light: which plates to raise, by how much.

Plans come from `night_plans`; here they are tried on the pixels, and only what was tried is said.
Where nothing done to these plates is enough, `beyond` says what would.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.words import lightness, listing, percent, points
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, LOWER, PASS, RAISE, UNSURE, Finding, Remedy, Spot, Step
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.night.counts import NightOutcome
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.plans import NightPlanner, RankedPlan, least_amount, planner
from inkmix.checks.trials.tally import Trial, trimmed
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box
from inkmix.sheet.geometry import Place
from inkmix.sheet.places import place

TRIED_PLANS = 3
"""Plans that are tried on the pixels, the gentlest first."""

_LOCAL = 0.7  # a place that is nearly the whole area is not worth telling apart


def night_remedies(
    check: NightCheck,
    result: NightResult,
    trials: Trials,
    *,
    papers: Callable[[], Sequence[OtherPaper]] = tuple,
) -> tuple[Remedy, ...]:
    """Remedies for one night area that fails or is unsure; none where nothing is to be done.

    `papers` gives further papers with the same inks on them; it is asked where no plan is enough.
    """
    verdict = result.finding.verdict
    if check.lightest_L is None or verdict not in (FAIL, UNSURE) or result.outcome.clears:
        return ()
    attempts = _attempts(check, result, trials)
    sure = _first(attempt.best(margin=True) for attempt in attempts)
    if sure is not None:
        return (sure,)
    close = _first(attempt.best(margin=False) for attempt in attempts)
    beyond = remedies_beyond(
        check.condition,
        ink_limit_pct=trials.ground.ink_limit_pct,
        lightest_L=check.lightest_L,
        papers=papers(),
    )
    return beyond if close is None else (close, *beyond)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Attempt:
    """The search for one night area, inside `box`; `place` None: the whole area lies in it."""

    check: NightCheck
    box: Box
    place: Place | None
    plans: NightPlanner
    trials: Trials

    def best(self, *, margin: bool) -> Remedy | None:
        """The gentlest plan that does on the pixels, with the least amount that does."""
        for ranked in self.plans.ranked(margin=margin)[:TRIED_PLANS]:
            found = self._least(ranked, margin)
            if found is not None:
                return found
        return None

    def _least(self, ranked: RankedPlan, margin: bool) -> Remedy | None:
        def does(amount: int) -> Remedy | None:
            return self._try(ranked.plan.floors(amount), margin)

        found = least_amount(does, guess=ranked.amount)
        return None if found is None else found[1]

    def _try(self, floors: dict[int, float], margin: bool) -> Remedy | None:
        """The remedy if it is dark enough and within the ink limit on the pixels."""
        raises, lowers = self._steps(floors)
        trial = self.trials.run((*raises, *lowers), *self.box)
        outcome = trial.nights[self.check.name]
        is_dark = outcome.clears if margin else outcome.value_L <= self.plans.lightest_L
        if trial.left_over_px or not is_dark or self.trials.spoilt_by(trial):
            return None
        kept = trimmed(lowers, trial, self.trials.ground.plates)
        return self._remedy(raises, kept, outcome, trial)

    def _steps(self, floors: dict[int, float]) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
        plates, area = self.trials.ground.plates, self.check.name
        raises = tuple(
            Step(plate=plates[k], operation=RAISE, amount_pct=floor, place=self.place, area=area)
            for k, floor in sorted(floors.items())
        )
        lowers = tuple(
            Step(plate=plates[k], operation=LOWER, amount_pct=100.0, place=self.place, area=area)
            for k in self.plans.palest_first(floors)
        )
        return raises, lowers

    def _remedy(
        self,
        raises: tuple[Step, ...],
        lowers: tuple[Step, ...],
        outcome: NightOutcome,
        trial: Trial,
    ) -> Remedy:
        assert outcome.reached_pct is not None
        where = "" if self.place is None else f" ({place(self.place)})"
        sentence = (
            f"Raise {_raise_words(raises)} in {self.check.name}{where}{_lower_words(lowers)}: "
            f"{percent(outcome.reached_pct)} of it is then dark enough "
            f"({lightness(outcome.value_L, beside=self.plans.lightest_L)}){self._doubt(outcome)}."
        )
        return Remedy(
            sentence=sentence,
            steps=(*raises, *lowers),
            reaches_L=outcome.value_L,
            reaches_total_pct=trial.max_total_pct,
            solves=outcome.verdict == PASS,
        )

    def _doubt(self, outcome: NightOutcome) -> str:
        if not outcome.clears:
            return f", but only just: the prediction may be off by {lightness(outcome.error_L)}"
        if outcome.verdict != PASS:
            return f", though {why_not(self.check.condition, np.array(outcome.involved_pct))}"
        return ""


def _first(remedies: Iterable[Remedy | None]) -> Remedy | None:
    return next((remedy for remedy in remedies if remedy is not None), None)


def _attempts(check: NightCheck, result: NightResult, trials: Trials) -> list[_Attempt]:
    """First where it is too light, if that can be enough, then the whole area.

    A raise spares nothing, stars and lamps neither, so it is kept to where it is needed.
    """
    assert check.lightest_L is not None
    assert result.box is not None  # an area that fails has pixels
    plans = planner(
        check.condition,
        result.counts,
        lightest_L=check.lightest_L,
        share_pct=check.share_pct,
        ink_limit_pct=trials.ground.ink_limit_pct,
    )
    pale = pale_box(result.finding, share_pct=check.share_pct)
    boxes = [result.box]
    if pale is not None and _size(pale) < _LOCAL * _size(result.box):
        boxes.insert(0, pale)
    return [
        _Attempt(
            check=check,
            box=box,
            place=None if box is result.box else check.sheet.place_of(*box),
            plans=plans,
            trials=trials,
        )
        for box in boxes
    ]


def pale_box(finding: Finding, *, share_pct: float) -> Box | None:
    """Rectangle around the fewest patches of which the rest is small enough to be allowed.

    None where the patches that a finding names leave too much.
    """
    if not finding.area_pct or not finding.area_mm2:
        return None
    area_mm2 = 100 * finding.area_mm2 / finding.area_pct
    left_mm2 = finding.area_mm2
    for count, spot in enumerate(finding.spots, start=1):
        left_mm2 -= spot.area_mm2
        if left_mm2 <= (100 - share_pct) / 100 * area_mm2:
            return _around(finding.spots[:count])
    return None


def _around(spots: Sequence[Spot]) -> Box:
    rows = [edge for spot in spots for edge in spot.rows_px]
    cols = [edge for spot in spots for edge in spot.cols_px]
    return slice(min(rows), max(rows)), slice(min(cols), max(cols))


def _size(box: Box) -> int:
    rows, cols = box
    return int((rows.stop - rows.start) * (cols.stop - cols.start))


def _raise_words(raises: Sequence[Step]) -> str:
    return listing([f"{s.plate} to at least {percent(s.amount_pct)}" for s in raises])


def _lower_words(lowers: Sequence[Step]) -> str:
    if not lowers:
        return ""
    less = listing([f"{s.plate} by up to {points(s.amount_pct)}" for s in lowers])
    return f", and lower {less} where that goes over the ink limit"
