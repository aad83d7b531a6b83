"""One night area darkened, searched for or by a recipe."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.words import lightness, percent
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, PASS, UNSURE, Finding, Remedy
from inkmix.checks.mending.mender import MADE_OF_DOTS, Again, Mended, Spoiling
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.mending.recipe import NightRecipe, Unfit, Wanted
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.night.counts import NightCounts
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.remedies import (
    CurveRemedy,
    changeable,
    curve_remedy,
    night_again,
    remedy_of,
    sparing_remedy,
)
from inkmix.checks.trials.trials import Guard, Trials
from inkmix.checks.window import Box


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightMender:
    """A night area; `result` is that of the plates as they are.

    `papers` gives further papers with the same inks on them; it is asked where no curve is enough.
    """

    check: NightCheck
    result: NightResult
    papers: Callable[[], Sequence[OtherPaper]] = tuple

    @property
    def name(self) -> str:
        """Of the area."""
        return self.check.name

    @property
    def is_wanted(self) -> bool:
        """Whether it is too light, or may be."""
        return self.result.outcome.verdict in (FAIL, UNSURE)

    def leaving(self, waived: Sequence[Finding]) -> "NightMender | None":
        """None where the area is accepted as it is."""
        return None if any(one.name == self.name for one in waived) else self

    def found(self, trials: Trials, *, may_spoil: bool) -> Mended | Spoiling | None:
        """The gentlest curves, on what earlier corrections leave.

        None where the area is within its limit and only the expected error stands against it, but
        no curve can change that: the same would be found again and again.
        """
        guard = self._guard(trials)
        check = self.check
        if may_spoil:
            found: CurveRemedy | Remedy | None = curve_remedy(check, guard.result, trials)
        else:
            found = sparing_remedy(check, guard.result, trials)
        if isinstance(found, Remedy):
            return Spoiling(name=self.name, remedy=found)
        if found is None or not (found.is_sure or self._is_too_light(guard)):
            return None
        made = found.remedy.correction
        assert isinstance(made, NightCorrection)
        return self._mended(found.remedy, made, found.counts)

    def _is_too_light(self, guard: Guard) -> bool:
        limit_L = self.check.lightest_L
        return limit_L is not None and guard.result.outcome.value_L > limit_L

    def why_not(self, trials: Trials) -> str:
        """Of the area as earlier corrections leave it."""
        guard, check = self._guard(trials), self.check
        outcome = guard.result.outcome
        if check.lightest_L is None or outcome.verdict not in (FAIL, UNSURE):
            return ""
        doubt = why_not(check.condition, np.array(outcome.involved_pct))
        if doubt and not self._is_too_light(guard):
            return f"it is dark enough as predicted, though {doubt}; measure the inks"
        if not self._is_too_light(guard):
            return (
                f"it is only just within the limit: the prediction may be off by "
                f"{lightness(outcome.error_L)}, and no curve of these plates makes that sure; "
                "measure the inks, for then the expected error is smaller"
            )
        if not changeable(check, trials):
            return f"{MADE_OF_DOTS}; export them before screening"
        return f"no curve of these plates is enough. {' '.join(self._beyond(trials))}".rstrip(".")

    def _beyond(self, trials: Trials) -> Iterator[str]:
        """What would be."""
        for remedy in remedies_beyond(
            self.check.condition,
            ink_limit_pct=trials.ground.ink_limit_pct,
            lightest_L=self.check.lightest_L,
            papers=self.papers(),
            printed_from=trials.ground.printed_from,
        ):
            yield remedy.sentence

    def again(self, recipe: NightRecipe, trials: Trials) -> Again:
        """The curves of the recipe, tried on all pixels."""
        guard = self._guard(trials)
        if self.check.lightest_L is None or guard.result.outcome.verdict == PASS:
            return Again(mended=None)
        others = tuple(self._others(recipe.wanted, trials.ground.ink_limit_pct))
        made = night_again(recipe, self.check, guard.result, trials)
        if isinstance(made, Unfit):
            return Again(mended=None, misfits=(_unfit_words(made),), others=others)
        trial = trials.run_correction(made, [_box(made)])
        outcome = trial.nights[self.name]
        remedy = remedy_of(
            made,
            self.check,
            trial,
            pixels=guard.result.counts.pixels,
            do=f"Darken the pale parts of {self.name} by the curves of the recipe.",
        )
        misfits = () if outcome.verdict != FAIL else (self._too_light(outcome.value_L),)
        mended = self._mended(remedy, made, trial.counts)
        return Again(mended=mended, misfits=misfits, others=others)

    def _others(self, wanted: Wanted, ink_limit_pct: float | None) -> Iterator[str]:
        """What the book asks otherwise than when the recipe was made."""
        then_L, now_L = wanted.allowed_L, self.check.lightest_L
        asked = f"{self.name}: the recipe was made for"
        if wanted.share_pct != self.check.share_pct:
            share = percent(self.check.share_pct)
            yield f"{asked} {percent(wanted.share_pct)} of the area, and the book asks {share} now."
        if then_L is not None and then_L != now_L:
            yield f"{asked} {lightness(then_L)}, and the book allows {lightness(now_L)} now."
        if wanted.ink_limit_pct != ink_limit_pct:
            then, now = (
                "no ink limit" if limit is None else f"an ink limit of {percent(limit)}"
                for limit in (wanted.ink_limit_pct, ink_limit_pct)
            )
            yield f"{asked} {then}, and the book gives {now} now."

    def _guard(self, trials: Trials) -> Guard:
        """The area as it is by now."""
        return next(one for one in trials.guards if one.check.name == self.name)

    def _mended(
        self, remedy: Remedy, made: NightCorrection, counts: Mapping[str, NightCounts]
    ) -> Mended:
        return Mended(
            name=self.name,
            counts=counts,
            remedy=remedy,
            correction=made,
            boxes=(_box(made),),
            inks=tuple(curve.plate for curve in made.curves),
            recipe=made.recipe,
        )

    def _too_light(self, value_L: float) -> str:
        assert self.check.lightest_L is not None
        return (
            f"{self.name}: with the curves of the recipe it comes down to {lightness(value_L)} "
            f"only, and {lightness(self.check.lightest_L)} is allowed; mend it anew, without "
            "--again."
        )


def _box(made: NightCorrection) -> Box:
    return made.cells.rows, made.cells.cols


def _unfit_words(unfit: Unfit) -> str:
    if unfit.is_empty:
        return f"{unfit.area}: its mask shows no pixel any more."
    names = ", ".join(unfit.plates)
    return f"{unfit.area}: {names} cannot be changed any more: missing, or made of dots by now."
