"""Remedies for total ink: which plates to lower where it exceeds the limit, by how many points.

Splits of the excess over the plates are ranked by the change of the predicted colour at the mean
mix of the place, then tried on the pixels. A split that lets a night area fail is passed over.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations_with_replacement

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import difference, listing, percent, points
from inkmix.checks.finding import FAIL, LOWER, Finding, Remedy, Step
from inkmix.checks.trials.tally import Trial, trimmed
from inkmix.checks.trials.trials import Excess, Trials
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import PressCondition

SPLIT = 4
"""Parts into which the excess is divided among plates."""

TRIED_SPLITS = 3
_Span = tuple[int, int] | None
_Place = tuple[_Span, _Span]
_PLATE_COST_DE00 = 0.25  # one plate more to retouch must be worth this much colour


def with_ink_remedies(
    findings: Sequence[Finding], condition: PressCondition, trials: Trials
) -> tuple[Finding, ...]:
    """The findings of the total ink check, each that fails with its remedy.

    Plates that are screened already cannot be lowered by points and are left alone.
    """
    tried: dict[_Place, tuple[Remedy, ...]] = {}
    for finding in findings:
        place = finding.rows_px, finding.cols_px
        if finding.verdict == FAIL and place not in tried:
            tried[place] = _Lowering(finding, condition, trials).remedies()
    return tuple(
        replace(finding, remedies=tried[finding.rows_px, finding.cols_px])
        if finding.verdict == FAIL
        else finding
        for finding in findings
    )


class _Lowering:
    """The search for one place over the ink limit; without a place, the whole sheet."""

    def __init__(self, finding: Finding, condition: PressCondition, trials: Trials) -> None:
        sheet = trials.ground.sheet
        self.finding = finding
        self.condition = condition
        self.trials = trials
        self.rows = slice(*(finding.rows_px or (0, sheet.height_px)))
        self.cols = slice(*(finding.cols_px or (0, sheet.width_px)))
        self.usable = [k for k, ink in enumerate(condition.inks) if not ink.is_screened]

    def remedies(self) -> tuple[Remedy, ...]:
        """The split that changes colour least and spoils no night, else the best with a word."""
        excess = self.trials.excess(self.rows, self.cols)
        if excess is None or not self.usable:
            return ()
        spoiling: list[Remedy] = []
        for shares in self._splits(excess)[:TRIED_SPLITS]:
            steps, trial = self._tried(shares, excess)
            remedy = self._remedy(steps, trial, excess)
            if remedy.solves:
                return (remedy,)
            spoiling.append(remedy)
        return tuple(spoiling[:1])

    def _splits(self, excess: Excess) -> list[FloatArray]:
        """Shares (I,) of the excess, best first, no two of the same plates."""
        parts = combinations_with_replacement(self.usable, SPLIT)
        eye = np.eye(len(self.condition.inks)) / SPLIT
        shares = np.array([eye[list(part)].sum(axis=0) for part in parts])
        possible = (shares * excess.mean_pct <= excess.mix_pct + 1e-9).all(axis=1)
        shares = shares[possible] if possible.any() else shares
        plates = (shares > 0).sum(axis=1)
        costs = self._change_de00(excess, shares * excess.mean_pct)
        costs = costs + _PLATE_COST_DE00 * (plates - 1)
        best: dict[tuple[bool, ...], FloatArray] = {}
        for k in np.argsort(costs, kind="stable"):
            best.setdefault(tuple((shares[k] > 0).tolist()), shares[k])
        return list(best.values())

    def _change_de00(self, excess: Excess, taken_pct: FloatArray) -> FloatArray:
        """Change of the mean mix's colour when points (..., I) are taken away."""
        left = np.maximum(excess.mix_pct - taken_pct, 0.0)
        return delta_e00(self.condition.lab(excess.mix_pct), self.condition.lab(left))

    def _tried(self, shares: FloatArray, excess: Excess) -> tuple[tuple[Step, ...], Trial]:
        """Steps that bring every pixel to the limit: the split, or more where it is not enough."""
        order = np.argsort(-shares, kind="stable").tolist()
        chosen = [k for k in order if shares[k] > 0]
        steps = [self._step(k, float(np.ceil(shares[k] * excess.most_pct))) for k in chosen]
        trial = self.trials.run(steps, self.rows, self.cols, nights=self.trials.passed)
        if trial.over_px:
            rest = [k for k in self._gentlest(excess) if k not in chosen]
            steps = [self._step(k, 100.0) for k in (*chosen, *rest)]
            trial = self.trials.run(steps, self.rows, self.cols, nights=self.trials.passed)
        return trimmed(steps, trial, self.trials.ground.plates), trial

    def _gentlest(self, excess: Excess) -> list[int]:
        """Plates by what taking the excess from each alone does to the colour."""
        taken = excess.mean_pct * np.eye(len(self.condition.inks))[self.usable]
        order = np.argsort(self._change_de00(excess, taken), kind="stable")
        return [self.usable[k] for k in order]

    def _step(self, plate: int, amount_pct: float) -> Step:
        return Step(
            plate=self.trials.ground.plates[plate],
            operation=LOWER,
            amount_pct=min(amount_pct, 100.0),
            place=self.finding.place,
        )

    def _remedy(self, steps: tuple[Step, ...], trial: Trial, excess: Excess) -> Remedy:
        spoilt = self.trials.spoilt_by(trial)
        change = float(self._change_de00(excess, trial.mean_taken_pct))
        plates = listing([f"{s.plate} by up to {points(s.amount_pct)}" for s in steps])
        end = f", but then {listing(spoilt)} is no longer dark enough" if spoilt else ""
        limit = self.trials.ground.ink_limit_pct
        reached = percent(trial.max_total_pct, beside=limit)
        return Remedy(
            sentence=(
                f"Lower {plates} where total ink is over the limit: it then reaches "
                f"{reached}, and the colour there changes by about {difference(change)}{end}."
            ),
            steps=steps,
            reaches_de00=change,
            reaches_total_pct=trial.max_total_pct,
            solves=trial.over_px == 0 and not spoilt,
        )
