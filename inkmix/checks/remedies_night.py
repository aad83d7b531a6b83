"""Remedies for a night area that is too light: which plates to raise, by how much.

Plans come from `night_plans`; here they are tried on the pixels, and only what was tried is said.
Where nothing done to these plates is enough, `beyond` says what would.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.checks import wording
from inkmix.checks.beyond import OtherPaper, remedies_beyond
from inkmix.checks.doubt import why_not
from inkmix.checks.finding import FAIL, LOWER, PASS, RAISE, UNSURE, Remedy, Step
from inkmix.checks.night import NightCheck, NightResult
from inkmix.checks.night_counts import NightOutcome
from inkmix.checks.night_plans import NightPlanner, RankedPlan, least_amount, planner
from inkmix.checks.tally import Trial
from inkmix.checks.trials import Trials

TRIED_PLANS = 3
"""Plans that are tried on the pixels, the gentlest first."""


def night_remedies(
    check: NightCheck,
    result: NightResult,
    trials: Trials,
    *,
    papers: Sequence[OtherPaper] = (),
) -> tuple[Remedy, ...]:
    """Remedies for one night area that fails or is unsure; none where nothing is to be done.

    `papers` are further papers with the same inks on them.
    """
    verdict = result.finding.verdict
    if check.lightest_L is None or verdict not in (FAIL, UNSURE) or result.outcome.clears:
        return ()
    attempt = _attempt(check, result, trials)
    sure = attempt.best(margin=True)
    if sure is not None:
        return (sure,)
    close = attempt.best(margin=False)
    beyond = remedies_beyond(
        check.condition,
        ink_limit_pct=trials.ground.ink_limit_pct,
        lightest_L=check.lightest_L,
        papers=papers,
    )
    return beyond if close is None else (close, *beyond)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Attempt:
    """The search for one night area, whose mask lies in `box`."""

    check: NightCheck
    box: tuple[slice, slice]
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
        if trial.over_px or not is_dark or self.trials.spoilt_by(trial):
            return None
        kept = trimmed(lowers, trial, self.trials.ground.plates)
        return self._remedy(raises, kept, outcome, trial)

    def _steps(self, floors: dict[int, float]) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
        plates, area = self.trials.ground.plates, self.check.name
        raises = tuple(
            Step(plate=plates[k], operation=RAISE, amount_pct=floor, area=area)
            for k, floor in sorted(floors.items())
        )
        lowers = tuple(
            Step(plate=plates[k], operation=LOWER, amount_pct=100.0, area=area)
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
        sentence = (
            f"Raise {_raise_words(raises)} in {self.check.name}{_lower_words(lowers)}: "
            f"{wording.share(outcome.reached_pct)} of it is then dark enough "
            f"(L* {outcome.value_L:.1f}){self._doubt(outcome)}."
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
            return f", but only just: the prediction can be {outcome.error_L:.1f} off"
        if outcome.verdict != PASS:
            return f", though {why_not(self.check.condition, np.array(outcome.involved_pct))}"
        return ""


def _attempt(check: NightCheck, result: NightResult, trials: Trials) -> _Attempt:
    assert check.lightest_L is not None
    assert result.box is not None  # an area that fails has pixels
    plans = planner(
        check.condition,
        result.counts,
        lightest_L=check.lightest_L,
        share_pct=check.share_pct,
        ink_limit_pct=trials.ground.ink_limit_pct,
    )
    return _Attempt(check=check, box=result.box, plans=plans, trials=trials)


def trimmed(lowers: Sequence[Step], trial: Trial, plates: tuple[str, ...]) -> tuple[Step, ...]:
    """The lowering steps that took anything, each with the most it took, in whole points.

    No pixel needs more, so the trimmed steps do exactly what the untrimmed did.
    """
    taken = dict(zip(plates, np.ceil(trial.most_taken_pct - 1e-9).tolist(), strict=True))
    return tuple(
        Step(
            plate=step.plate,
            operation=LOWER,
            amount_pct=taken[step.plate],
            place=step.place,
            area=step.area,
        )
        for step in lowers
        if taken[step.plate] > 0
    )


def _raise_words(raises: Sequence[Step]) -> str:
    return wording.listing([f"{s.plate} to at least {s.amount_pct:.0f} %" for s in raises])


def _lower_words(lowers: Sequence[Step]) -> str:
    if not lowers:
        return ""
    less = wording.listing([f"{s.plate} by up to {s.amount_pct:.0f} points" for s in lowers])
    return f", and lower {less} where that goes over the ink limit"
