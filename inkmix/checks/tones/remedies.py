"""The remedy for a named tone: the nearest mix that can be had, kept as simple as may be.

The mix at hand is mended before others are thought of: first its own inks, then one ink more, then
all. No ink is put forward below the smallest dot of the process. The exact model is asked.
"""

from collections.abc import Iterator

import numpy as np

from inkmix.base.words import difference
from inkmix.base.words import mix as mix_words
from inkmix.checks.confidence import judge_de00
from inkmix.checks.finding import FAIL, MIX, PASS, Remedy, Step
from inkmix.checks.tones.facts import ToneFacts
from inkmix.mixes.nearest import nearest_mixes
from inkmix.mixes.values import Aims, Mix, mix_of
from inkmix.press.condition import PressCondition

_GAIN_DE00 = 0.3  # a new mix must come nearer by more than a step of 1 % can mean


def tone_remedy(
    condition: PressCondition, fact: ToneFacts, *, ink_limit_pct: float | None
) -> Remedy | None:
    """The simplest mix that passes, else the nearest; None where there is nothing to say.

    Where the present mix is as near as any, a word on it only if it fails.
    """
    if fact.intended_lab is None or fact.de00 is None:
        return None
    mix = _best(condition, fact, ink_limit_pct)
    if _de00(mix) > fact.de00 - _GAIN_DE00:
        return _no_nearer(fact) if fact.verdict == FAIL else None
    solves = _passes(condition, mix, fact)
    end = "" if solves else "; nothing these inks can mix comes nearer on this paper"
    return Remedy(
        do=f"Mix {fact.name} as {mix_words(mix.tone_pct)}: "
        f"{difference(_de00(mix), beside=fact.tolerance_de00)} from its intended colour{end}.",
        steps=_steps(mix, fact),
        reaches_L=mix.lab[0],
        reaches_de00=mix.de00,
        reaches_total_pct=mix.total_pct,
        solves=solves,
    )


def _best(condition: PressCondition, fact: ToneFacts, ink_limit_pct: float | None) -> Mix:
    """The nearest mix of the first choice of inks that passes; else the nearest of all."""
    found: list[Mix] = []
    for choices in _choices(condition, fact):
        mixes = [_nearest(condition, fact, ink_limit_pct, inks) for inks in choices]
        passing = [mix for mix in mixes if _passes(condition, mix, fact)]
        if passing:
            return min(passing, key=_de00)
        found += mixes
    return min(found, key=_de00)


def _choices(condition: PressCondition, fact: ToneFacts) -> Iterator[list[tuple[str, ...]]]:
    """Sets of inks: those of the mix, one more, all."""
    names = tuple(ink.name for ink in condition.inks)
    own = tuple(name for name in names if fact.mix_pct.get(name, 0.0) > 0)
    if own:
        yield [own]
    yield [(*own, name) for name in names if name not in own]
    yield [names]


def _nearest(
    condition: PressCondition, fact: ToneFacts, ink_limit_pct: float | None, inks: tuple[str, ...]
) -> Mix:
    """The nearest mix of these inks, no tint too faint to print; fewer inks where equally near."""
    lab, least = fact.intended_lab, condition.process.min_tone_pct
    assert lab is not None
    if ink_limit_pct is not None and ink_limit_pct < least:  # nothing can be printed
        return mix_of(condition, np.zeros(len(condition.inks)), np.array(lab))
    aims = Aims(ink_limit_pct=ink_limit_pct, step_pct=1, least_pct=least, inks=inks)
    return nearest_mixes(condition, lab, aims, most=1)[0]


def _passes(condition: PressCondition, mix: Mix, fact: ToneFacts) -> bool:
    vector = np.array(list(mix.tone_pct.values()))
    verdict = judge_de00(condition, vector, de00=mix.de00, tolerance_de00=fact.tolerance_de00)
    return verdict == PASS


def _de00(mix: Mix) -> float:
    assert mix.de00 is not None  # only the darkest mix has none
    return mix.de00


def _no_nearer(fact: ToneFacts) -> Remedy:
    return Remedy(
        do=f"No mix of these inks comes nearer to {fact.name} on this paper; "
        "choose another aim, another ink or a wider tolerance.",
        reaches_de00=fact.de00,
    )


def _steps(mix: Mix, fact: ToneFacts) -> tuple[Step, ...]:
    """The recipe: every ink it holds, and at 0 those it no longer holds."""
    return tuple(
        Step(plate=name, operation=MIX, amount_pct=pct, area=fact.name)
        for name, pct in mix.tone_pct.items()
        if pct > 0 or fact.mix_pct.get(name, 0.0) > 0
    )
