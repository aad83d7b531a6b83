"""Remedies for a night area that is too light: tone curves that darken it and leave its lights.

A correction is found on cells and a sample of the area (checks/mending/); here it is tried on all
pixels, and only what was tried is said. Where nothing done to these plates is enough,
`other_means` says what would.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property, partial

import numpy as np

from inkmix.base.words import millimetres
from inkmix.checks.confidence import why_not
from inkmix.checks.finding import FAIL, LEAST_TEXTURE_PCT, PASS, UNSURE, CurveStep, Remedy
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.gentlest import farthest_px
from inkmix.checks.mending.glance import Glance, glance_at, squares_of
from inkmix.checks.mending.in_turn import InTurn, corrected, ink_off_after
from inkmix.checks.mending.ink_off import InkOff, InkOffGround
from inkmix.checks.mending.lost_lights import largest_lost
from inkmix.checks.mending.night import (
    NightCorrection,
    correction_again,
    darkest,
    night_correction,
)
from inkmix.checks.mending.recipe import NightRecipe, Unfit, Wanted
from inkmix.checks.mending.view import AreaSource, AreaView, view_of
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.night.counts import NightCounts
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.remedy_words import (
    INK_OFF_AFTER,
    gain_words,
    ink_words,
    loss_words,
    too_bright,
)
from inkmix.checks.trials.tally import Trial
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box, Planes

_TRIES, _SPOILING_TRIES = 4, 2
_MOSTLY_DARK_PCT = 60.0  # of an area that is dark enough: from here on nobody glances first
_DARK_IF_SOLID_PCT = 50.0  # with solids: if less is, no curve is enough
_HOPELESS_PCT = 25.0  # of the texture: what a few squares tell may be off by half of the least
_MORE = 1.5  # times what is missing: darker mixes are less certain
_MORE_L, _MORE_SPOILT_L = 0.1, 1.0  # what spoils a picture is worth no third try
_SPARE = 0.7  # of the room for lights: what fades beside more of them takes some more
_LIGHTNESS_WORTH = 4.0  # where ink comes off a night, darkness is to stay


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
    search = _AreaSearch(check, result, trials)
    too_bright = search.too_bright()
    curves = None if too_bright else search.tried()
    if curves is not None and (curves.is_sure or _is_guessed(check, result)):
        return (curves.remedy,)
    beyond = remedies_beyond(
        check.condition,
        ink_limit_pct=trials.ground.ink_limit_pct,
        lightest_L=check.lightest_L or 0.0,
        papers=papers(),
        printed_from=trials.ground.printed_from,
    )
    first = too_bright if curves is None else curves.remedy
    return beyond if first is None else (first, *beyond)


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveRemedy:
    """Curves for a night area; `is_sure` where they do by the expected error, too.

    `counts` are those of all night areas that they touch, after them, if they were tried alone.
    """

    remedy: Remedy
    is_sure: bool
    counts: Mapping[str, NightCounts]


def curve_remedy(check: NightCheck, result: NightResult, trials: Trials) -> CurveRemedy | None:
    """The gentlest curves that make an area dark enough; None where there are none, or no need.

    Those that do for sure, unless they spoil the picture and others, which only just do, do not.
    What spoils it is tried after that.
    """
    if not _needs_remedy(check, result):
        return None
    return _AreaSearch(check, result, trials).tried()


def sparing_remedy(
    check: NightCheck, result: NightResult, trials: Trials
) -> CurveRemedy | Remedy | None:
    """The same as long as they do not spoil the picture; else what would do that, untried."""
    if not _needs_remedy(check, result):
        return None
    search = _AreaSearch(check, result, trials)
    return search.too_bright() or search.sparing() or search.spoiling()


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

    Its curves act no further than the book asks now.

    Parameters
    ----------
    check, result
        Of the area of this name on these plates.
    """
    if result.box is None:
        return Unfit(area=recipe.area, is_empty=True)
    assert check.lightest_L is not None  # or it would be as dark as is asked
    wanted = recipe.wanted.at_most(allowed_L=check.lightest_L, share_pct=check.share_pct)
    plates = trials.ground.plates
    return correction_again(
        replace(recipe, wanted=wanted),
        _view_of(check, _surrounded(result.box, check, trials), trials, wanted.limit_L),
        trials.source.look,
        plates=[(k, plates[k]) for k in changeable(check, trials)],
        px_per_mm=check.sheet.px_per_mm,
    )


class _AreaSearch:
    """The search for one night area: found on cells and a sample, tried on all pixels."""

    def __init__(self, check: NightCheck, result: NightResult, trials: Trials) -> None:
        assert check.lightest_L is not None
        assert result.box is not None  # an area that fails has pixels
        self._check, self._limit_L, self._trials = check, check.lightest_L, trials
        self._error_L, self._reached_pct = result.outcome.error_L, result.outcome.reached_pct
        self._is_guessed = _is_guessed(check, result)
        self._pixels = result.counts.pixels
        self._box = _surrounded(result.box, check, trials)
        solids = check.condition.lab(100 * np.eye(len(check.condition.inks)))[:, 0]
        plates = trials.ground.plates
        self._plates = [(k, plates[k], float(solids[k])) for k in changeable(check, trials)]
        self._view = cache(partial(_view_of, check, self._box, trials))  # looked at once a limit
        self._correction = cache(self._made_for)

    def tried(self) -> CurveRemedy | None:
        """What spoils nothing; else what does."""
        return self.sparing() or self._first(may_spoil=True)

    def sparing(self) -> CurveRemedy | None:
        """What spoils nothing."""
        return self._first(may_spoil=False)

    def _first(self, *, may_spoil: bool) -> CurveRemedy | None:
        tried = (self.remedy(margin=margin, may_spoil=may_spoil) for margin in self._margins)
        return next((found for found in tried if found is not None), None)

    @property
    def _margins(self) -> tuple[bool, ...]:
        """Whether the expected error is left free: first, where it rests on no guess."""
        return (False,) if self._is_guessed else (True, False)

    def remedy(self, *, margin: bool, may_spoil: bool) -> CurveRemedy | None:
        """The gentlest correction that does on the pixels; with `margin`, by the expected error."""
        target_L, only_just = self._wanted(margin=margin).lightest_L, None
        for _ in range(_SPOILING_TRIES if may_spoil else _TRIES):
            correction = self._correction(self._wanted(margin=margin, lightest_L=target_L))
            if correction is None or not correction.curves:
                break
            if not may_spoil and _spoils(correction):
                break
            trial = self._trials.run_correction(correction, [self._box])
            takes_ink_off = trial.left_over_px > 0
            if takes_ink_off:
                trial = self._trials.run_correction(self._less_ink(correction), [self._box])
            outcome = trial.nights[self._check.name]
            missing_L = outcome.value_L - self._limit_L + (outcome.error_L if margin else 0.0)
            is_sure = margin and outcome.clears
            is_dark = is_sure or outcome.value_L <= self._limit_L
            if is_dark and not trial.left_over_px and not self._trials.spoilt_by(trial):
                found = CurveRemedy(
                    remedy=self._said(correction, trial, takes_ink_off=takes_ink_off),
                    is_sure=is_sure,
                    counts={} if takes_ink_off else trial.counts,
                )
                if is_sure or not margin:
                    return found
                only_just = found if may_spoil else None
            target_L -= _MORE * max(missing_L, 0.0) + (_MORE_SPOILT_L if may_spoil else _MORE_L)
        return only_just

    def spoiling(self) -> Remedy | None:
        """What its first correction that spoils the picture takes, as cells tell; None: none does.

        Nobody tried it: what makes the area dark enough may take more.
        """
        made = (self._correction(self._wanted(margin=margin)) for margin in self._margins)
        for correction in made:
            if correction is not None and correction.curves and _spoils(correction):
                return self._foretold(correction)
        return None

    def _foretold(self, correction: NightCorrection) -> Remedy:
        lights = correction.lights
        return Remedy(
            do="",
            lights_kept=len(lights.kept),
            lights_lost=len(lights.lost),
            lights_lost_at=largest_lost(correction, self._check.sheet),
            share_for_lights_pct=share_for_lights_pct(self._check, correction, pixels=self._pixels),
            texture_pct=100 * correction.texture,
        )

    def too_bright(self) -> Remedy | None:
        """That curves would leave hardly any texture, where a few squares tell so; None elsewhere.

        That is where they would with the expected error left free, and half of it without.
        """
        if self._reached_pct is None or self._reached_pct >= _MOSTLY_DARK_PCT:
            return None
        glances = [glance for margin in self._margins if (glance := self._glance(margin=margin))]
        if not glances or min(one.dark_pct for one in glances) < _DARK_IF_SOLID_PCT:
            return None
        first_pct, last_pct = (100 * glances[at].texture for at in (0, -1))
        if first_pct >= _HOPELESS_PCT or last_pct >= LEAST_TEXTURE_PCT:
            return None
        return Remedy(do=too_bright(self._check.name, first_pct), texture_pct=first_pct)

    def _glance(self, *, margin: bool) -> Glance | None:
        plates = darkest(self._plates)
        if self._squares is None or not plates:
            return None
        wanted, look = self._wanted(margin=margin), self._trials.source.look
        return glance_at(self._squares, wanted, look, plates=plates)

    @cached_property
    def _squares(self) -> Planes | None:
        """A few of the area."""
        return squares_of(_source_of(self._check, self._trials), *self._box)

    def _wanted(self, *, margin: bool, lightest_L: float | None = None) -> Wanted:
        limit_L = self._limit_L - (self._error_L if margin else 0.0)
        return Wanted(
            area=self._check.name,
            limit_L=limit_L,
            lightest_L=limit_L if lightest_L is None else lightest_L,
            share_pct=self._check.share_pct,
            ink_limit_pct=self._trials.ground.ink_limit_pct,
            allowed_L=self._limit_L,
        )

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

    def _made_for(self, wanted: Wanted) -> NightCorrection | None:
        return night_correction(
            self._view(wanted.limit_L),
            wanted,
            self._trials.source.look,
            plates=self._plates,
            px_per_mm=self._check.sheet.px_per_mm,
        )

    def _said(self, correction: NightCorrection, trial: Trial, *, takes_ink_off: bool) -> Remedy:
        steps = tuple(self._step(correction, k) for k in range(len(correction.curves)))
        remedy = remedy_of(
            correction,
            self._check,
            trial,
            pixels=self._pixels,
            do=f"Darken the pale parts of {self._check.name} by smooth tone curves, each "
            f"only as far as it needs: {ink_words(steps)}.{_fading_words(correction, self._check)}",
        )
        return replace(remedy, curves=steps, advice=INK_OFF_AFTER if takes_ink_off else "")

    def _step(self, correction: NightCorrection, k: int) -> CurveStep:
        """A curve, and how much ink it adds at most."""
        curve = correction.curves[k]
        return CurveStep(
            plate=curve.plate,
            area=self._check.name,
            heights_pct=curve.heights_pct,
            most_pct=correction.most_added_pct[k],
        )


def _fading_words(correction: NightCorrection, check: NightCheck) -> str:
    if correction.fade_px is None:
        return ""
    fade = millimetres(correction.fade_px / check.sheet.px_per_mm)
    return f" They fade out over {fade} mm across its border, where the drawing goes on."


def _spoils(correction: NightCorrection) -> bool:
    return bool(correction.lights.lost) or 100 * correction.texture < LEAST_TEXTURE_PCT


def remedy_of(
    correction: NightCorrection, check: NightCheck, trial: Trial, *, do: str, pixels: int
) -> Remedy:
    """What a correction of a night of so many pixels does, as it was tried."""
    outcome = trial.nights[check.name]
    share_pct = None
    if outcome.verdict != FAIL:  # or no share would do
        share_pct = share_for_lights_pct(check, correction, pixels=pixels)
    return Remedy(
        do=do,
        loses=loss_words(check, outcome, correction, share_for_lights_pct=share_pct),
        gains=gain_words(check, outcome, correction),
        fade_mm=None if correction.fade_px is None else correction.fade_px / check.sheet.px_per_mm,
        lights_kept=len(correction.lights.kept),
        lights_lost=len(correction.lights.lost),
        lights_lost_at=largest_lost(correction, check.sheet),
        share_for_lights_pct=share_pct,
        texture_pct=100 * correction.texture,
        reaches_L=outcome.value_L,
        reaches_total_pct=trial.max_total_pct,
        solves=outcome.verdict == PASS,
        correction=correction,
    )


def share_for_lights_pct(
    check: NightCheck, correction: NightCorrection, *, pixels: int
) -> float | None:
    """Share of an area that leaves room for all its lights; None where all stay, or none does."""
    lights = correction.lights
    for_lights = _SPARE * correction.recipe.lights_pct / 100
    if not lights.lost or not for_lights:
        return None
    lights_px = sum(light.pixels for light in (*lights.kept, *lights.lost))
    share_pct = math.floor(100 - 100 * lights_px / (for_lights * pixels))
    return float(share_pct) if 0 < share_pct < check.share_pct else None


def changeable(check: NightCheck, trials: Trials) -> list[int]:
    """Plates that curves can change: those that are not made of dots, and their own."""
    inks = enumerate(check.condition.inks)
    return [k for k, ink in inks if not ink.is_screened and k not in trials.fixed]


def _view_of(check: NightCheck, box: Box, trials: Trials, limit_L: float) -> AreaView:
    return view_of(_source_of(check, trials), *box, lightest_L=limit_L)


def _source_of(check: NightCheck, trials: Trials) -> AreaSource:
    source = trials.source
    return AreaSource(
        read=lambda rows, cols: source.read(rows, cols)[0],
        lightness=source.lightness,
        mask=partial(source.night_mask, check.name),
    )


def _surrounded(box: Box, check: NightCheck, trials: Trials) -> Box:
    """An area with what lies around it."""
    sheet, more = trials.ground.sheet, math.ceil(farthest_px(check.sheet.px_per_mm))
    rows, cols = (
        slice(max(0, side.start - more), min(end, side.stop + more))
        for side, end in zip(box, (sheet.height_px, sheet.width_px), strict=True)
    )
    return rows, cols
