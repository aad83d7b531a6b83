"""Remedies for a night area that is too light: tone curves that darken it and leave its lights.

A correction is found on cells and a sample of the area (checks/mending/); here it is tried on all
pixels, and only what was tried is said. Where nothing done to these plates is enough,
`other_means` says what would.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from inkmix.base.words import count, lightness, listing, most_points, percent
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, PASS, UNSURE, CurveStep, Remedy
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.in_turn import InTurn, corrected, ink_off_after
from inkmix.checks.mending.ink_off import InkOff, InkOffGround
from inkmix.checks.mending.night import (
    NightCorrection,
    correction_again,
    night_correction,
)
from inkmix.checks.mending.recipe import NightRecipe, Unfit, Wanted
from inkmix.checks.mending.search import KEPT_TEXTURE
from inkmix.checks.mending.view import AreaSource, AreaView, view_of
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.night.counts import NightOutcome
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.trials.tally import Trial
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box

_TRIES = 4
_MORE = 1.5  # times what is missing: darker mixes are less certain
_MORE_L = 0.1
_SURROUNDINGS_MM = 10.0
_LIGHTNESS_WORTH = 4.0  # where ink comes off a night, darkness is to stay
_INK_OFF_WORDS = "Do the remedy for total ink after it: some of this is then over the ink limit."


def night_remedies(
    check: NightCheck,
    result: NightResult,
    trials: Trials,
    *,
    papers: Callable[[], Sequence[OtherPaper]] = tuple,
) -> tuple[Remedy, ...]:
    """Remedies for one night area that fails or is unsure; none where nothing is to be done.

    `papers` gives further papers with the same inks on them; it is asked where no curve is enough.
    """
    if not _needs_remedy(check, result):
        return ()
    curves = curve_remedy(check, result, trials)
    if curves is not None and (curves.is_sure or _is_guessed(check, result)):
        return (curves.remedy,)
    beyond = remedies_beyond(
        check.condition,
        ink_limit_pct=trials.ground.ink_limit_pct,
        lightest_L=check.lightest_L or 0.0,
        papers=papers(),
    )
    return beyond if curves is None else (curves.remedy, *beyond)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveRemedy:
    """Curves for a night area; `is_sure` where they do by the expected error, too."""

    remedy: Remedy
    is_sure: bool


def curve_remedy(check: NightCheck, result: NightResult, trials: Trials) -> CurveRemedy | None:
    """The gentlest curves that make an area dark enough; None where there are none, or no need.

    Those that do for sure, unless they spoil the picture and others, which only just do, do not.
    """
    if not _needs_remedy(check, result):
        return None
    darkening = _Darkening(check, result, trials)
    sure = None if _is_guessed(check, result) else darkening.remedy(margin=True)
    if sure is not None and not sure.spoils_picture:
        return CurveRemedy(remedy=sure, is_sure=True)
    close = darkening.remedy(margin=False)
    if close is not None and (sure is None or not close.spoils_picture):
        return CurveRemedy(remedy=close, is_sure=False)
    return None if sure is None else CurveRemedy(remedy=sure, is_sure=True)


def _needs_remedy(check: NightCheck, result: NightResult) -> bool:
    outcome = result.outcome
    if check.lightest_L is None or outcome.verdict not in (FAIL, UNSURE) or outcome.clears:
        return False
    # whoever darkens for a guess darkens for nothing
    return outcome.value_L > check.lightest_L or not _is_guessed(check, result)


def _is_guessed(check: NightCheck, result: NightResult) -> bool:
    return bool(why_not(check.condition, np.array(result.outcome.involved_pct)))


def night_again(
    recipe: NightRecipe, check: NightCheck, result: NightResult, trials: Trials
) -> NightCorrection | Unfit:
    """The correction that was made once, on the plates as they are now; nothing is judged.

    Parameters
    ----------
    check, result
        Of the area of this name on these plates.
    """
    if result.box is None:
        return Unfit(area=recipe.area, is_empty=True)
    plates = trials.ground.plates
    return correction_again(
        recipe,
        _view_of(check, _surrounded(result.box, check, trials), trials, recipe.wanted.limit_L),
        trials.source.look,
        plates=[(k, plates[k]) for k in _changeable(check, trials)],
        px_per_mm=check.sheet.px_per_mm,
    )


class _Darkening:
    """The search for one night area."""

    def __init__(self, check: NightCheck, result: NightResult, trials: Trials) -> None:
        assert check.lightest_L is not None
        assert result.box is not None  # an area that fails has pixels
        self._check, self._limit_L, self._trials = check, check.lightest_L, trials
        self._error_L = result.outcome.error_L
        self._box = _surrounded(result.box, check, trials)
        solids = check.condition.lab(100 * np.eye(len(check.condition.inks)))[:, 0]
        plates = trials.ground.plates
        self._plates = [(k, plates[k], float(solids[k])) for k in _changeable(check, trials)]
        self._view = cache(partial(_view_of, check, self._box, trials))  # looked at once a limit

    def remedy(self, *, margin: bool) -> Remedy | None:
        """The gentlest correction that does on the pixels; with `margin`, by the expected error."""
        limit_L = target_L = self._limit_L - (self._error_L if margin else 0.0)
        ink_limit_pct = self._trials.ground.ink_limit_pct
        for _ in range(_TRIES):
            wanted = Wanted(
                area=self._check.name,
                limit_L=limit_L,
                lightest_L=target_L,
                share_pct=self._check.share_pct,
                ink_limit_pct=ink_limit_pct,
            )
            correction = self._correction(wanted)
            if correction is None or not correction.curves:
                return None
            trial = self._trials.run_correction(correction, [self._box])
            takes_ink_off = trial.left_over_px > 0
            if takes_ink_off:
                trial = self._trials.run_correction(self._less_ink(correction), [self._box])
            outcome = trial.nights[self._check.name]
            missing_L = outcome.value_L - self._limit_L + (outcome.error_L if margin else 0.0)
            is_dark = outcome.clears if margin else missing_L <= 0
            if is_dark and not trial.left_over_px and not self._trials.spoilt_by(trial):
                return self._said(correction, outcome, trial, takes_ink_off=takes_ink_off)
            target_L -= _MORE * max(missing_L, 0.0) + _MORE_L
        return None

    def _less_ink(self, correction: NightCorrection) -> Correction:
        """It and then ink off what it leaves over the limit, as the check of total ink would."""
        ground, source = self._trials.ground, self._trials.source
        assert ground.ink_limit_pct is not None
        own = tuple(range(len(ground.plates)))
        less = ink_off_after(
            InkOff(limit_pct=ground.ink_limit_pct, lightness_worth=_LIGHTNESS_WORTH),
            InkOffGround(
                read=corrected(source.read, correction),
                condition=self._check.condition,
                sheet=ground.sheet,
                printed_from=ground.printed_from or own,
            ),
            [self._box],
        )
        return correction if less is None else InTurn(parts=(correction, less))

    def _correction(self, wanted: Wanted) -> NightCorrection | None:
        return night_correction(
            self._view(wanted.limit_L),
            wanted,
            self._trials.source.look,
            plates=self._plates,
            px_per_mm=self._check.sheet.px_per_mm,
        )

    def _said(
        self,
        correction: NightCorrection,
        outcome: NightOutcome,
        trial: Trial,
        *,
        takes_ink_off: bool,
    ) -> Remedy:
        assert outcome.reached_pct is not None
        steps = tuple(self._step(correction, k) for k in range(len(correction.curves)))
        px_per_mm = self._check.sheet.px_per_mm
        dark = lightness(outcome.value_L, beside=self._limit_L)
        sentence = (
            f"Darken the pale parts of {self._check.name} by smooth tone curves, each only as far "
            f"as it needs: {_gain_words(steps)}. {percent(outcome.reached_pct)} of the area is "
            f"then dark enough ({dark}){self._doubt(outcome)}. {_lights_words(correction)}"
            f"{_texture_words(correction)}{_INK_OFF_WORDS if takes_ink_off else ''}"
        )
        return Remedy(
            sentence=sentence.rstrip(),
            curves=steps,
            fade_mm=None if correction.fade_px is None else correction.fade_px / px_per_mm,
            lights_kept=len(correction.lights.kept),
            lights_lost=len(correction.lights.lost),
            texture_pct=100 * correction.texture,
            reaches_L=outcome.value_L,
            reaches_total_pct=trial.max_total_pct,
            solves=outcome.verdict == PASS,
            correction=correction,
        )

    def _step(self, correction: NightCorrection, k: int) -> CurveStep:
        """A curve, and how much ink it adds at most."""
        curve = correction.curves[k]
        return CurveStep(
            plate=curve.plate,
            area=self._check.name,
            heights_pct=curve.heights_pct,
            most_pct=correction.most_added_pct[k],
        )

    def _doubt(self, outcome: NightOutcome) -> str:
        if not outcome.clears:
            return f", but only just: the prediction may be off by {lightness(outcome.error_L)}"
        if outcome.verdict != PASS:
            return f", though {why_not(self._check.condition, np.array(outcome.involved_pct))}"
        return ""


def without_ink_off(sentence: str) -> str:
    """What curves do, without the advice to take ink off after them: where that was done."""
    return sentence.removesuffix(_INK_OFF_WORDS).rstrip()


def _gain_words(steps: Sequence[CurveStep]) -> str:
    """How much ink each plate gains: "up to 45 points more Fjord and 12 more Soot"."""
    first, *others = sorted(steps, key=lambda step: -step.most_pct)
    gains = [f"up to {most_points(first.most_pct)} more {first.plate}"]
    gains += [f"{math.ceil(step.most_pct)} more {step.plate}" for step in others]
    return listing(gains)


def _lights_words(correction: NightCorrection) -> str:
    kept, lost = correction.lights.kept, correction.lights.lost
    said = ""
    if kept:
        said = f"{count(len(kept), 'light')} {'stays' if len(kept) == 1 else 'stay'} as drawn. "
    if lost:
        turn = "turns" if len(lost) == 1 else "turn"
        said += f"{count(len(lost), 'light')} {turn} dark: the share leaves no room for more. "
    return said


def _texture_words(correction: NightCorrection) -> str:
    texture = correction.texture
    if texture >= KEPT_TEXTURE:
        return ""
    return (
        f"Only {percent(100 * texture)} of its texture stays: so near to the darkest that these "
        "inks can print, tones lie close together. "
    )


def _changeable(check: NightCheck, trials: Trials) -> list[int]:
    """Plates that curves can change: those that are not made of dots, and their own."""
    inks = enumerate(check.condition.inks)
    return [k for k, ink in inks if not ink.is_screened and k not in trials.fixed]


def _view_of(check: NightCheck, box: Box, trials: Trials, limit_L: float) -> AreaView:
    source = trials.source
    return view_of(
        AreaSource(
            read=lambda rows, cols: source.read(rows, cols)[0],
            lightness=source.lightness,
            mask=partial(source.night_mask, check.name),
        ),
        *box,
        lightest_L=limit_L,
    )


def _surrounded(box: Box, check: NightCheck, trials: Trials) -> Box:
    """An area with what lies around it."""
    sheet, more = trials.ground.sheet, round(_SURROUNDINGS_MM * check.sheet.px_per_mm)
    rows, cols = (
        slice(max(0, side.start - more), min(end, side.stop + more))
        for side, end in zip(box, (sheet.height_px, sheet.width_px), strict=True)
    )
    return rows, cols
