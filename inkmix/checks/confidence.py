"""Whether a prediction may carry a `pass`, and in words why not.

A verdict that rests on an ink known only by a screen colour, or on inks and processes outside the
evidence, is never `pass`, however small the expected error.
"""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import listing
from inkmix.checks.finding import NO_LIMIT, judge_at_most
from inkmix.press.condition import PressCondition

INVOLVED_PCT = 1.0
"""A verdict rests on an ink from this tone value on; less is haze."""


def may_pass(condition: PressCondition, tone_pct: FloatArray) -> bool:
    """Whether a verdict on the tone values (I,) may be `pass`."""
    return not (condition.unproven or _hints(condition, tone_pct))


def judge_de00(
    condition: PressCondition,
    tone_pct: FloatArray,
    *,
    de00: float | None,
    tolerance_de00: float | None,
) -> str:
    """Verdict on how far the mix (I,) prints from what was meant; `de00` None: nothing was."""
    if de00 is None:
        return NO_LIMIT
    error = float(condition.expected_error(tone_pct).de00)
    sure = may_pass(condition, tone_pct)
    return judge_at_most(de00, tolerance_de00, error=error, may_pass=sure)


def why_not(condition: PressCondition, tone_pct: FloatArray) -> str:
    """What stands against a `pass`, in words; empty where nothing does."""
    hints = _hints(condition, tone_pct)
    reasons = [f"{name} is known only by a screen colour" for name in hints]
    if condition.unproven:
        reasons.append(f"the prediction is unproven ({listing(condition.unproven)})")
    return listing(reasons)


def _hints(condition: PressCondition, tone_pct: FloatArray) -> list[str]:
    """Inks of the mix that are known only by a screen colour."""
    amounts = np.asarray(tone_pct, dtype=np.float64)
    return [
        ink.name
        for ink, amount in zip(condition.inks, amounts.tolist(), strict=True)
        if amount >= INVOLVED_PCT and ink.name in condition.hints
    ]
