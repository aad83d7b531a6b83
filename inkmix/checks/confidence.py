"""Whether a prediction may carry a `pass`, and in words why not.

A verdict that rests on an ink known only by a screen colour, or on inks and processes outside the
evidence, is never `pass`, however small the expected error; one that rests on what nobody told is
not ready to be judged.
"""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import listing
from inkmix.checks.finding import NO_LIMIT, judge_at_most
from inkmix.press.condition import PressCondition
from inkmix.press.inks import Ink

INVOLVED_PCT = 1.0
"""A verdict rests on an ink from this tone value on; less is haze."""


def may_pass(condition: PressCondition, tone_pct: FloatArray) -> bool:
    """Whether a verdict on the tone values (I,) may be `pass`."""
    doubts = condition.unproven or _hints(condition, tone_pct) or on_guess(condition, tone_pct)
    return not doubts


def on_guess(condition: PressCondition, tone_pct: FloatArray) -> bool:
    """Whether the colour of the tone values (I,) rests on something that nobody told."""
    involved = _involved(condition, tone_pct)
    order = sum(ink.place_guessed for ink in involved) > 1
    known = not (condition.paper.guessed or condition.process.guessed)
    return not known or order or any(ink.guessed for ink in involved)


def judge_on(
    condition: PressCondition,
    tone_pct: FloatArray,
    *,
    value: float,
    limit: float | None,
    error: float,
) -> str:
    """Verdict on a value that rests on the colour of the tone values (I,)."""
    return judge_at_most(
        value,
        limit,
        error=error,
        may_pass=may_pass(condition, tone_pct),
        on_guess=on_guess(condition, tone_pct),
    )


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
    return judge_on(condition, tone_pct, value=de00, limit=tolerance_de00, error=error)


def why_not(condition: PressCondition, tone_pct: FloatArray) -> str:
    """What stands against a `pass`, in words; empty where nothing does."""
    reasons = list(condition.guesses) if on_guess(condition, tone_pct) else []
    reasons += [f"{name} is {only}" for name, only in _hints(condition, tone_pct)]
    if condition.unproven:
        reasons.append(f"the prediction is unproven ({listing(condition.unproven)})")
    return listing(reasons)


def _hints(condition: PressCondition, tone_pct: FloatArray) -> list[tuple[str, str]]:
    """Inks of the mix that nobody measured, and what alone they are known by."""
    names = [ink.name for ink in _involved(condition, tone_pct)]
    only = dict.fromkeys(condition.hints, "known only by a screen colour")
    only |= dict.fromkeys(condition.photographed, "known only by a photograph")
    return [(name, only[name]) for name in names if name in only]


def _involved(condition: PressCondition, tone_pct: FloatArray) -> list[Ink]:
    """Inks that a mix holds more of than haze."""
    amounts = np.asarray(tone_pct, dtype=np.float64).tolist()
    pairs = zip(condition.inks, amounts, strict=True)
    return [ink for ink, amount in pairs if amount >= INVOLVED_PCT]
