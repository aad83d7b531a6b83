"""What would make night darker where nothing done to the plates is enough.

The darkest mix of the inks at hand, a double hit of the black, a dark ink under it, another paper:
each with the L* that the model says it reaches within the ink limit. None of it is tried on pixels,
so none of it claims to solve anything.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from inkmix.base.words import lightness, percent
from inkmix.base.words import mix as mix_words
from inkmix.checks.finding import Remedy
from inkmix.mixes.darkest import darkest_mix
from inkmix.mixes.values import Mix, mix_of
from inkmix.press.condition import PressCondition
from inkmix.press.values import MAX_INKS

SHOWN_PAPERS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OtherPaper:
    """Another paper, by name, with the same inks on it."""

    name: str
    condition: PressCondition
    ink_limit_pct: float | None


def remedies_beyond(
    condition: PressCondition,
    *,
    ink_limit_pct: float | None,
    lightest_L: float | None,
    papers: Sequence[OtherPaper] = (),
) -> tuple[Remedy, ...]:
    """The darkest that can be had now, then what other ways would reach."""
    darkest = _darkest(condition, ink_limit_pct)
    within = "" if ink_limit_pct is None else f" within {percent(ink_limit_pct)} of ink"
    now = _remedy(
        f"The darkest that these inks reach on this paper{within}, in this model, "
        f"is {lightness(darkest.lab[0], beside=lightest_L)} ({mix_words(darkest.tone_pct)})",
        darkest,
        lightest_L,
    )
    names = [ink.name for ink in condition.inks]
    solids_L = condition.lab(100 * np.eye(len(names)))[:, 0]
    order = np.argsort(solids_L, kind="stable").tolist()
    black, *others = [names[k] for k in order]
    ways = [
        *_under_black(condition, black, others, ink_limit_pct),
        *_double_hit(condition, black, ink_limit_pct),
        *_other_papers(papers, darker_than_L=darkest.lab[0]),
    ]
    return (now, *(_remedy(way.text, way.mix, lightest_L) for way in ways))


class _Way(NamedTuple):
    """Something that could be done, in words, and the darkest mix that it would allow."""

    text: str
    mix: Mix


def _under_black(
    condition: PressCondition,
    black: str,
    others: Sequence[str],
    ink_limit_pct: float | None,
) -> list[_Way]:
    """The one other ink that deepens a black most."""
    mixes = [_darkest(condition, ink_limit_pct, inks=(black, other)) for other in others]
    if not mixes:
        return []
    mix = min(mixes, key=lambda mix: mix.lab[0])
    under = {name: pct for name, pct in mix.tone_pct.items() if name != black}
    text = f"Under {black}, {mix_words(under)} would reach {lightness(mix.lab[0])}"
    return [_Way(text, mix)]


def _double_hit(condition: PressCondition, black: str, ink_limit_pct: float | None) -> list[_Way]:
    """The black plate once more, where the table has room for it."""
    if len(condition.inks) >= MAX_INKS:
        return []
    mix = _darkest(condition.double_hit(black), ink_limit_pct)
    text = (
        f"A double hit of {black} (the same plate printed twice) would reach "
        f"{lightness(mix.lab[0])} ({mix_words(mix.tone_pct)})"
    )
    return [_Way(text, mix)]


def _other_papers(papers: Sequence[OtherPaper], *, darker_than_L: float) -> list[_Way]:
    """The paper on which these inks go darkest, and others that beat the one at hand."""
    found = [(_darkest(paper.condition, paper.ink_limit_pct), paper.name) for paper in papers]
    found.sort(key=lambda item: (item[0].lab[0], item[1]))
    return [
        _Way(
            f"On {name} the same inks would reach {lightness(mix.lab[0])} "
            f"({mix_words(mix.tone_pct)})",
            mix,
        )
        for rank, (mix, name) in enumerate(found[:SHOWN_PAPERS])
        if rank == 0 or mix.lab[0] < darker_than_L
    ]


def _darkest(
    condition: PressCondition, ink_limit_pct: float | None, *, inks: tuple[str, ...] | None = None
) -> Mix:
    """The darkest mix without tints that are too faint to print."""
    least = condition.process.min_tone_pct
    if ink_limit_pct is not None and ink_limit_pct < least:  # nothing can be printed
        return mix_of(condition, np.zeros(len(condition.inks)), None)
    return darkest_mix(condition, ink_limit_pct=ink_limit_pct, inks=inks, least_pct=least)


def _remedy(text: str, mix: Mix, lightest_L: float | None) -> Remedy:
    end = ""
    if lightest_L is not None:
        enough = "dark enough" if mix.lab[0] <= lightest_L else "still too light"
        end = f": {enough} for {lightness(lightest_L)}"
    return Remedy(do=f"{text}{end}.", reaches_L=mix.lab[0], reaches_total_pct=mix.total_pct)
