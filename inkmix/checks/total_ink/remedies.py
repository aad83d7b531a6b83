"""Remedies for total ink: ink comes off smoothly, from the plates that change the colour least.

One correction serves the whole sheet. It is tried on the pixels of each place, and only what was
found there is said. Where it would let a night area fail, one that holds lightness more dearly is
tried.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from inkmix.base.arrays import BoolArray
from inkmix.base.words import difference, listing, number, opening, percent, points
from inkmix.checks.finding import FAIL, TAKE_OFF, Change, Finding, Remedy, Step
from inkmix.checks.mending.correction import ChangeMap
from inkmix.checks.mending.ink_off import (
    KNEE_PCT,
    InkOff,
    InkOffCorrection,
    InkOffGround,
    ink_off_correction,
)
from inkmix.checks.mending.ink_off_change import ChangeTally
from inkmix.checks.total_ink.check import TotalInkResult
from inkmix.checks.trials.tally import Trial
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import Box
from inkmix.sheet.geometry import Place

LIGHTNESS_WORTHS = (1.0, 4.0)
"""Tried one after the other, the second only for nights; it costs hue what it saves of darkness."""

_LEAST_KNEE_PCT = 1.0

_Span = tuple[int, int] | None


def with_ink_remedies(
    result: TotalInkResult, ground: InkOffGround, trials: Trials
) -> tuple[Finding, ...]:
    """The findings of the total ink check, each that fails with its remedy.

    Plates that are screened already cannot lose a few points and are left alone.
    """
    correction = chosen_correction(result, ground, trials)
    if correction is None:
        return result.findings
    taking = _TakingOff(ground=ground, trials=trials, correction=correction)
    tried: dict[tuple[_Span, _Span], Remedy | None] = {}
    for finding in result.findings:
        place = finding.rows_px, finding.cols_px
        if finding.verdict == FAIL and place not in tried:
            tried[place] = taking.remedy(*place, place=finding.place)
    return tuple(
        finding
        if (remedy := tried.get((finding.rows_px, finding.cols_px))) is None
        or finding.verdict != FAIL
        else replace(finding, remedies=(remedy,))
        for finding in result.findings
    )


def chosen_correction(
    result: TotalInkResult, ground: InkOffGround, trials: Trials, kept: BoolArray | None = None
) -> InkOffCorrection | None:
    """The correction of a sheet that spoils no night area; the first where every one does.

    None where nothing is over the limit, or no plate can give. Cells that are `kept` stay as they
    are.
    """
    found = _corrections(result, ground, kept)
    first = next(found, None)
    if first is None or not _spoilt(first, ground, trials):
        return first
    return next((other for other in found if not _spoilt(other, ground, trials)), first)


def whole_remedy(
    correction: InkOffCorrection, ground: InkOffGround, trials: Trials
) -> Remedy | None:
    """What a correction does to the whole sheet; None where no plate gives anything."""
    taking = _TakingOff(ground=ground, trials=trials, correction=correction)
    return taking.remedy(rows_px=None, cols_px=None, place=None)


def _corrections(
    result: TotalInkResult, ground: InkOffGround, kept: BoolArray | None
) -> Iterator[InkOffCorrection]:
    """Corrections to choose from; the knee reaches no deeper below the limit than ink above it."""
    limit_pct = result.facts.limit_pct
    if limit_pct is None:
        return
    most_pct = max(result.facts.max_pct - limit_pct, _LEAST_KNEE_PCT)
    for worth in LIGHTNESS_WORTHS:
        wanted = InkOff(
            limit_pct=limit_pct, knee_pct=min(KNEE_PCT, most_pct), lightness_worth=worth
        )
        correction = ink_off_correction(wanted, ground, result.over, kept=kept)
        if correction is not None:
            yield correction


def _spoilt(correction: InkOffCorrection, ground: InkOffGround, trials: Trials) -> tuple[str, ...]:
    """Night areas that passed and would not with a correction; looked at only if it touches any."""
    if not trials.touched(correction.boxes, trials.passed):
        return ()
    trial = trials.run_correction(correction, correction.boxes, nights=trials.passed)
    return trials.spoilt_by(trial)


@dataclass(frozen=True, slots=True, kw_only=True)
class _TakingOff:
    """A correction that is tried at each place over the ink limit."""

    ground: InkOffGround
    trials: Trials
    correction: InkOffCorrection

    def remedy(self, rows_px: _Span, cols_px: _Span, *, place: Place | None) -> Remedy | None:
        """What it does at a place; without one, everywhere.

        None where all ink is that of plates made of dots.
        """
        boxes = self._boxes(rows_px, cols_px)
        change = ChangeTally(*_around(boxes))
        trial = self.trials.run_correction(
            self.correction, boxes, change=change, nights=self.trials.passed
        )
        steps = tuple(self._steps(trial, place))
        if not steps:
            return None
        limit_pct = self.trials.ground.ink_limit_pct
        found = change.change(self.ground.condition.lab)
        figures = Change(
            mean_de00=found.mean,
            p95_de00=found.p95,
            most_de00=found.most,
            cells=ChangeMap(de00=found.de00, row=found.row, col=found.col, side=found.side),
        )
        return Remedy(
            do=f"Take {_amounts(steps)} off where total ink is over {percent(limit_pct)}.",
            loses=self._loss(trial, figures),
            gains=f"Total ink then reaches {percent(trial.max_total_pct, beside=limit_pct)}.",
            steps=steps,
            reaches_total_pct=trial.max_total_pct,
            solves=trial.over_px == 0 and not self.trials.spoilt_by(trial),
            change=figures,
            correction=self.correction,
        )

    def _boxes(self, rows_px: _Span, cols_px: _Span) -> Sequence[Box]:
        if rows_px is None or cols_px is None:
            return self.correction.boxes
        sheet = self.ground.sheet
        more = round(self.correction.wanted.fade_mm * sheet.px_per_mm)
        spans = ((rows_px, sheet.height_px), (cols_px, sheet.width_px))
        rows, cols = (
            slice(max(0, start - more), min(stop + more, side)) for (start, stop), side in spans
        )
        return ((rows, cols),)

    def _steps(self, trial: Trial, place: Place | None) -> Iterator[Step]:
        """A step for each plate that gives ink, those that give most first."""
        most_pct = np.ceil(trial.most_taken_pct - 1e-9)
        for plate in np.argsort(-most_pct, kind="stable").tolist():
            if most_pct[plate] > 0:
                yield Step(
                    plate=self.trials.ground.plates[plate],
                    operation=TAKE_OFF,
                    amount_pct=float(most_pct[plate]),
                    place=place,
                )

    def _loss(self, trial: Trial, change: Change) -> str:
        change_words = (
            f"The colour there changes by {_small(change.mean_de00)} on average, "
            f"{_small(change.most_de00)} at most."
        )
        spoilt = self.trials.spoilt_by(trial)
        if not spoilt:
            return change_words
        are = "is" if len(spoilt) == 1 else "are"
        return f"{change_words} {opening(listing(spoilt))} {are} no longer dark enough."


def _amounts(steps: Sequence[Step]) -> str:
    """How much of each plate: "up to 34 points of Brass and 12 of Fog"."""
    first, *others = steps
    amounts = [f"up to {points(first.amount_pct)} of {first.plate}"]
    return listing(amounts + [f"{number(step.amount_pct)} of {step.plate}" for step in others])


def _small(de00: float) -> str:
    """A change of colour, never "dE00 0" where there is one."""
    return f"less than {difference(0.1)}" if 0 < de00 < 0.05 else difference(de00)


def _around(boxes: Sequence[Box]) -> Box:
    rows, cols = zip(*boxes, strict=True)
    return (
        slice(min(one.start for one in rows), max(one.stop for one in rows)),
        slice(min(one.start for one in cols), max(one.stop for one in cols)),
    )
