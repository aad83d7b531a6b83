"""Named tones: what was meant against what will print, and tones that will look alike.

One finding for each tone that does not pass, with the nearest mix that the inks allow. The
reference picture of the whole is compared in `reference`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import difference, mix, opening
from inkmix.book.meant.tones import intended_lab, intended_words
from inkmix.book.values import NamedTone
from inkmix.checks.confidence import judge_de00, why_not
from inkmix.checks.finding import FAIL, NOT_READY, PASS, UNSURE, Finding
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00, NAMED_TONES, ToneFacts, TonePair
from inkmix.checks.tones.remedies import tone_remedy
from inkmix.colour.colorimetry import (
    delta_e00,
    lab_to_xyz100,
    xyz100_to_srgb8,
)
from inkmix.press.condition import PressCondition

CLEARLY_APART_DE00 = 10.0
CLOSE_DE00 = 5.0
"""Tones meant CLEARLY_APART that come closer than CLOSE are named as well."""

_NO_LAB = (np.nan, np.nan, np.nan)

Triple = tuple[float, float, float]
Triple8 = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class TonesResult:
    """Facts of all tones in their order, pairs that look alike, findings that need a look."""

    facts: tuple[ToneFacts, ...]
    pairs: tuple[TonePair, ...]
    findings: tuple[Finding, ...]


def check_tones(
    condition: PressCondition, tones: Sequence[NamedTone], *, ink_limit_pct: float | None
) -> TonesResult:
    """Judge every named tone under one press condition."""
    return _judged(_Asked(condition, repr(tones), ink_limit_pct, tuple(tones)))


@dataclass(frozen=True, slots=True)
class _Asked:
    """Tones to judge; alike where the condition is the same and the tones read alike."""

    condition: PressCondition
    words: str
    ink_limit_pct: float | None
    tones: tuple[NamedTone, ...] = field(compare=False)


@lru_cache(maxsize=4)
def _judged(asked: _Asked) -> TonesResult:
    """No plate is asked, so that the next spread of a book gets the same answer."""
    condition = asked.condition
    facts = tone_facts(condition, asked.tones)
    findings = tuple(
        _finding(condition, fact, asked.ink_limit_pct) for fact in facts if fact.verdict != PASS
    )
    return TonesResult(facts=facts, pairs=pairs_alike(facts), findings=findings)


def tone_facts(condition: PressCondition, tones: Sequence[NamedTone]) -> tuple[ToneFacts, ...]:
    """What will print of every named tone, and the verdict, without remedies."""
    return tuple(_facts(condition, tone) for tone in tones)


def tone_vector(condition: PressCondition, tone: NamedTone) -> FloatArray:
    """Tone values (I,) of a named tone in lay-down order."""
    return np.array([tone.mix_pct.get(ink.name, 0.0) for ink in condition.inks], dtype=np.float64)


def pairs_alike(facts: Sequence[ToneFacts]) -> tuple[TonePair, ...]:
    """Pairs that will be hard to tell apart, in the order of the tones."""
    meant = np.array([fact.intended_lab or _NO_LAB for fact in facts], dtype=np.float64)
    printed = np.array([fact.predicted_lab for fact in facts], dtype=np.float64)
    return tuple(
        TonePair(
            first=facts[first].name,
            second=facts[second].name,
            intended_de00=None if np.isnan(intended) else float(intended),
            predicted_de00=float(predicted),
        )
        for first in range(len(facts) - 1)
        for second, intended, predicted in _alike(first, meant, printed)
    )


def _alike(
    first: int, meant: FloatArray, printed: FloatArray
) -> Iterator[tuple[int, np.float64, np.float64]]:
    """Later tones that look like this one: how far apart they were meant to be, and are."""
    intended = delta_e00(meant[first], meant[first + 1 :])  # NaN where nobody said
    predicted = delta_e00(printed[first], printed[first + 1 :])
    close = np.where(intended >= CLEARLY_APART_DE00, CLOSE_DE00, HARD_TO_TELL_DE00)
    for after in np.flatnonzero(predicted < close):
        yield first + 1 + int(after), intended[after], predicted[after]


def _facts(condition: PressCondition, tone: NamedTone) -> ToneFacts:
    vector = tone_vector(condition, tone)
    meant = intended_lab(tone, condition.paper)
    lab = condition.lab(vector)
    de00 = None if meant is None else float(delta_e00(meant, lab))
    error = float(condition.expected_error(vector).de00)
    srgb8, is_out = _srgb8(lab)
    return ToneFacts(
        name=tone.name,
        verdict=judge_de00(condition, vector, de00=de00, tolerance_de00=tone.tolerance_de00),
        mix_pct=dict(tone.mix_pct),
        intended=intended_words(tone),
        intended_lab=meant,
        intended_srgb8=None if meant is None else _srgb8(np.array(meant))[0],
        predicted_lab=_triple(lab),
        predicted_srgb8=srgb8,
        out_of_srgb=is_out,
        total_ink_pct=float(vector.sum()),
        de00=de00,
        tolerance_de00=tone.tolerance_de00,
        error_de00=error,
    )


def _srgb8(lab: FloatArray) -> tuple[Triple8, bool]:
    """Nearest sRGB (each channel cut to 0-255), and whether it had to be cut."""
    srgb8, outside = xyz100_to_srgb8(lab_to_xyz100(lab))
    red, green, blue = srgb8.tolist()
    return (red, green, blue), bool(outside)


def _triple(values: FloatArray) -> Triple:
    first, second, third = values.tolist()
    return first, second, third


def _finding(condition: PressCondition, fact: ToneFacts, ink_limit_pct: float | None) -> Finding:
    vector = np.array([fact.mix_pct.get(ink.name, 0.0) for ink in condition.inks])
    judged = fact.verdict in (FAIL, UNSURE)
    remedy = tone_remedy(condition, fact, ink_limit_pct=ink_limit_pct) if judged else None
    return Finding(
        check=NAMED_TONES,
        name=fact.name,
        verdict=fact.verdict,
        sentence=_sentence(fact, why_not(condition, vector)),
        unit="dE00",
        value=fact.de00,
        limit=fact.tolerance_de00,
        error=fact.error_de00,
        remedies=() if remedy is None else (remedy,),
    )


def _sentence(fact: ToneFacts, doubt: str) -> str:
    name = f"{opening(fact.name)} ({mix(fact.mix_pct)})"
    if fact.de00 is None:
        return f"{name}: the book does not say what colour it should be."
    away = difference(fact.de00, beside=fact.tolerance_de00)
    off = f"{name} prints {away} from its intended colour"
    if fact.tolerance_de00 is None:
        return f"{off}; no tolerance is given."
    allowed = f"the tolerance is {difference(fact.tolerance_de00)}"
    if fact.verdict == FAIL:
        return f"{off}, {allowed}."
    if fact.verdict == NOT_READY:
        return f"{off}, {allowed}; nothing can be promised: {doubt}."
    if abs(fact.de00 - fact.tolerance_de00) <= fact.error_de00:
        can_be = f"the prediction may be off by {difference(fact.error_de00)}"
        return f"{off}, {allowed}; too close to call: {can_be}."
    return f"{off}, {allowed}; nothing can be promised: {doubt}."
