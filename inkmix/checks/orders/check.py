"""Which tones and night areas hang on the lay-down order, and what to ask the printer about it.

The book's order is what was predicted. One ink at a time is moved to first or last; of the moves
the one that matters most is told. No verdict is given on an order: the printer decides.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import lightness
from inkmix.checks.confidence import INVOLVED_PCT, may_pass
from inkmix.checks.finding import NO_LIMIT, judge_at_most
from inkmix.checks.night.counts import NightCounts, NightOutcome
from inkmix.checks.orders import words as order_words
from inkmix.checks.orders.facts import NightOrder, ToneOrder
from inkmix.checks.tones.facts import ToneFacts
from inkmix.checks.window import Counts
from inkmix.colour.colorimetry import delta_e00, lab_to_xyz100, xyz100_to_triple8
from inkmix.press.condition import PressCondition
from inkmix.press.other_orders import Move, other_orders

SHOWN_DE00 = 1.0
"""A colour that changes by less is not worth a word: hardly anyone sees it."""

ASK_DE00 = 2.0
"""From here on it is noticed side by side, and worth a question."""

SHOWN_L = 1.0
"""The same for the L* that a night area reaches."""

ASK_L = 2.0
"""From here on it is worth a question."""

_LEAST_MIX = 2  # inks that lie on each other

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A mix whose colour may hang on the order.

    Parameters
    ----------
    fact : ToneFacts or None
        What was judged of it, if it is a named tone.
    """

    name: str
    mix_pct: dict[str, float]
    fact: ToneFacts | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NightAtHand:
    """A night area as it was counted and judged."""

    name: str
    counts: NightCounts
    outcome: NightOutcome
    lightest_L: float | None
    share_pct: float


Movable = Told | NightAtHand
"""What another lay-down order may change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Other:
    """A tone after one move, the verdict by the difference that the move makes."""

    move: Move
    lab: Triple
    de00: float
    verdict: str | None
    changes: bool

    @property
    def ask(self) -> bool:
        """Whether the printer should be asked; by the figure that is shown."""
        return self.changes or round(self.de00, 1) >= ASK_DE00


def tones_told(facts: Sequence[ToneFacts]) -> tuple[Told, ...]:
    """Named tones."""
    return tuple(Told(name=fact.name, mix_pct=dict(fact.mix_pct), fact=fact) for fact in facts)


def is_overprint(told: Told) -> bool:
    """Whether a mix has two or more inks."""
    return sum(pct > 0 for pct in told.mix_pct.values()) >= _LEAST_MIX


def pairs_told(condition: PressCondition) -> tuple[Told, ...]:
    """Solids of every two inks over each other, where no tones are named."""
    names = [ink.name for ink in condition.inks]
    return tuple(
        Told(name=f"{one} + {other}", mix_pct={one: 100.0, other: 100.0})
        for one, other in combinations(names, _LEAST_MIX)
    )


def tone_orders(condition: PressCondition, told: Sequence[Told]) -> tuple[ToneOrder, ...]:
    """What another order would change in mixes, the greatest change first.

    Listed is what changes by SHOWN_DE00 or more, or gets another verdict.
    """
    told = [one for one in told if is_overprint(one)]
    if not told:
        return ()
    orders, names = other_orders(condition), [ink.name for ink in condition.inks]
    tones = np.array([[one.mix_pct.get(name, 0.0) for name in names] for one in told])
    labs, moved = orders.told_lab(tones), orders.moved_lab(tones)
    found = []
    for at, one in enumerate(told):
        others = [
            _other(condition, one, move, tones[at], labs[at], lab)
            for move, lab in zip(orders.moves, moved[:, at], strict=True)
            if tones[at, move.ink] > 0
        ]
        worst = _that_matters(others)
        if worst is not None:
            found.append(_tone_order(one, worst, labs[at], names))
    return tuple(sorted(found, key=lambda one: -one.de00))


def _other(
    condition: PressCondition,
    told: Told,
    move: Move,
    tones: FloatArray,
    lab: FloatArray,
    other: FloatArray,
) -> _Other:
    fact, verdict = told.fact, None
    if fact is not None:
        # The prediction that counts, shifted by what the move does.
        shifted = np.array(fact.predicted_lab) + other - lab
        verdict = _tone_verdict(fact, shifted, may_pass=may_pass(condition, tones))
    return _Other(
        move=move,
        lab=_triple(other),
        de00=float(delta_e00(lab, other)),
        verdict=verdict,
        changes=fact is not None and verdict != fact.verdict,
    )


def _tone_verdict(fact: ToneFacts, lab: FloatArray, *, may_pass: bool) -> str:
    """Verdict on a named tone that prints in another colour (3,), as sure as it was before."""
    if fact.intended_lab is None:
        return NO_LIMIT
    de00 = float(delta_e00(fact.intended_lab, lab))
    return judge_at_most(de00, fact.tolerance_de00, error=fact.error_de00, may_pass=may_pass)


def _that_matters(others: Sequence[_Other]) -> _Other | None:
    """The greatest change; a smaller one that is worth a question where the greatest is not.

    Of equally great ones (to a hundredth) that which passes the fewest inks, which comes first.
    """
    if not others:
        return None
    by_size = sorted(others, key=lambda one: -round(one.de00, 2))
    chosen = next((one for one in by_size if one.ask), by_size[0])
    return chosen if chosen.ask or round(chosen.de00, 1) >= SHOWN_DE00 else None


def _tone_order(told: Told, other: _Other, lab: FloatArray, names: Sequence[str]) -> ToneOrder:
    move, own = other.move, _triple(lab)
    ink = names[move.ink]
    moved = order_words.move_words(ink, move.to, move.ink, len(names))
    verdict = None if told.fact is None else told.fact.verdict
    change = order_words.tone_words(told.name, own, other.lab, other.de00)
    if other.changes:
        change += f" ({other.verdict} instead of {verdict})"
    return ToneOrder(
        name=told.name,
        mix_pct=told.mix_pct,
        ink=ink,
        to=move.to,
        passes=tuple(names[k] for k in move.passes if told.mix_pct.get(names[k], 0.0) > 0),
        lab=own,
        srgb8=xyz100_to_triple8(lab_to_xyz100(own)),
        other_lab=other.lab,
        other_srgb8=xyz100_to_triple8(lab_to_xyz100(other.lab)),
        de00=other.de00,
        verdict=verdict,
        other_verdict=other.verdict,
        ask=other.ask,
        change=change,
        sentence=f"{moved}: {change}",
    )


def night_orders(
    condition: PressCondition, nights: Iterable[NightAtHand]
) -> tuple[NightOrder, ...]:
    """What another order would change in night areas, at most one move for each.

    Listed is what gets another verdict, or reaches an L* that differs by SHOWN_L or more.
    """
    found = (_night_order(condition, night) for night in nights if night.counts.pixels)
    return tuple(one for one in found if one is not None)


def _night_order(condition: PressCondition, night: NightAtHand) -> NightOrder | None:
    orders = other_orders(condition)
    mixes, pixels = night.counts.mean_mixes()
    own, moved = orders.told_lab(mixes)[:, 0], orders.moved_lab(mixes)[..., 0]
    value = _reached(own, pixels, night.share_pct)
    involved = np.array(night.outcome.involved_pct)
    changes = [
        (move, _reached(lightness, pixels, night.share_pct) - value)
        for move, lightness in zip(orders.moves, moved, strict=True)
        if involved[move.ink] >= INVOLVED_PCT
    ]
    by_size = sorted(changes, key=lambda one: -round(abs(one[1]), 2))
    judged = [(move, step, _night_verdict(condition, night, step)) for move, step in by_size]
    changing = [one for one in judged if one[2] != night.outcome.verdict]
    if changing or (judged and abs(judged[0][1]) >= SHOWN_L):
        move, step, verdict = (changing or judged)[0]
        return _told_night(condition, night, move, step=step, verdict=verdict)
    return None


def _reached(lightness: FloatArray, pixels: Counts, share_pct: float) -> float:
    """The L* that a share of the pixels (M,), darkest first, does not exceed."""
    order = np.argsort(lightness)
    rank = share_pct / 100 * pixels.sum()
    at = int(np.searchsorted(np.cumsum(pixels[order]), rank - 1e-9))
    return float(lightness[order][min(at, len(order) - 1)])


def _night_verdict(condition: PressCondition, night: NightAtHand, step: float) -> str:
    outcome = night.outcome
    return judge_at_most(
        outcome.value_L + step,
        night.lightest_L,
        error=outcome.error_L,
        may_pass=may_pass(condition, np.array(outcome.involved_pct)),
    )


def _told_night(
    condition: PressCondition, night: NightAtHand, move: Move, *, step: float, verdict: str
) -> NightOrder:
    names, was = [ink.name for ink in condition.inks], night.outcome
    moved = order_words.move_words(names[move.ink], move.to, move.ink, len(names))
    way = "lighter" if step > 0 else "darker"
    other = lightness(was.value_L + step, beside=was.value_L)
    reaches = f"{other} where the book's order reaches {lightness(was.value_L)}"
    change = f"night {night.name} {way}, {reaches}"
    if verdict != was.verdict:
        change += f" ({verdict} instead of {was.verdict})"
    return NightOrder(
        name=night.name,
        ink=names[move.ink],
        to=move.to,
        passes=tuple(names[k] for k in move.passes if was.involved_pct[k] >= INVOLVED_PCT),
        value_L=was.value_L,
        other_L=was.value_L + step,
        verdict=was.verdict,
        other_verdict=verdict,
        ask=verdict != was.verdict or round(abs(step), 1) >= ASK_L,
        change=change,
        sentence=f"{moved}: {change}",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What to ask the printer about the order, and what hangs on the answer."""

    words: str
    as_told: str
    why: str


def order_questions(
    tones: Sequence[ToneOrder], nights: Sequence[NightOrder], *, inks: Sequence[str]
) -> Iterator[Question]:
    """One question for each ink and end that something worth asking hangs on."""
    every: list[ToneOrder | NightOrder] = [*nights, *tones]
    asked = [one for one in every if one.ask]
    for ink, to in dict.fromkeys((one.ink, one.to) for one in asked):
        mine = [one for one in asked if (one.ink, one.to) == (ink, to)]
        passed = {name for one in mine for name in one.passes}
        others = [name for name in inks if name in passed]
        yield Question(
            words=order_words.question(ink, to, others),
            as_told=", then ".join(name for name in inks if name == ink or name in passed),
            why="; ".join([mine[0].sentence, *(one.change for one in mine[1:])]),
        )


def _triple(values: FloatArray) -> Triple:
    first, second, third = values.tolist()
    return first, second, third
