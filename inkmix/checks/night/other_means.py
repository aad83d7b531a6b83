"""What would make night darker where nothing done to the plates is enough.

The darkest mix of the inks at hand, a double hit of the black, a dark ink under it, another paper:
each with the L* that the model says it reaches within the ink limit. None of it is tried on pixels,
so none of it claims to solve anything.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from inkmix.base.words import in_words, lightness, percent
from inkmix.base.words import mix as mix_words
from inkmix.checks.finding import Remedy
from inkmix.mixes.darkest import darkest_mix
from inkmix.mixes.shared_plates import darkest_of_plates
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
    printed_from: Sequence[int] = (),
) -> tuple[Remedy, ...]:
    """The darkest that can be had now, then what other ways would reach.

    Parameters
    ----------
    printed_from : sequence of int
        For each ink the first one that prints its plate: inks of one plate hold the same tone,
        whatever is done. Empty where each has its own.
    """
    press = _Press(condition, tuple(printed_from) or tuple(range(len(condition.inks))))
    darkest = press.darkest(ink_limit_pct)
    within = "" if ink_limit_pct is None else f" within {percent(ink_limit_pct)} of ink"
    now = _remedy(
        f"The darkest that these inks reach on this paper{within}, in this model, "
        f"is {lightness(darkest.lab[0], beside=lightest_L)} ({mix_words(darkest.tone_pct)})",
        darkest,
        lightest_L,
    )
    solids_L = condition.lab(100 * np.eye(len(condition.inks)))[:, 0]
    black, *others = sorted(set(press.printed_from), key=lambda k: (solids_L[k], k))
    ways = [
        *_under_black(press, black, others, ink_limit_pct),
        *_double_hit(press, black, ink_limit_pct, darker_than_L=darkest.lab[0]),
        *_other_papers(press, papers, darker_than_L=darkest.lab[0]),
    ]
    return (now, *(_remedy(way.text, way.mix, lightest_L) for way in ways))


@dataclass(frozen=True, slots=True)
class _Press:
    """Inks on a paper, and for each of them the first one that prints its plate."""

    condition: PressCondition
    printed_from: tuple[int, ...]

    def name(self, ink: int) -> str:
        return self.condition.inks[ink].name

    def hits(self, plate: int) -> tuple[str, ...]:
        """Names of all inks that a plate prints."""
        return tuple(self.name(k) for k, of in enumerate(self.printed_from) if of == plate)

    def with_hit(self, plate: int) -> "_Press":
        """A plate printed once more."""
        return _Press(self.condition.double_hit(self.name(plate)), (*self.printed_from, plate))

    def darkest(self, ink_limit_pct: float | None, *, plates: tuple[int, ...] | None = None) -> Mix:
        """The darkest mix without tints that are too faint to print."""
        condition, least = self.condition, self.condition.process.min_tone_pct
        if ink_limit_pct is not None and ink_limit_pct < least:  # nothing can be printed
            return mix_of(condition, np.zeros(len(condition.inks)), None)
        if len(set(self.printed_from)) == len(self.printed_from):
            inks = None if plates is None else tuple(map(self.name, plates))
            return darkest_mix(condition, ink_limit_pct=ink_limit_pct, inks=inks, least_pct=least)
        return darkest_of_plates(
            condition,
            self.printed_from,
            ink_limit_pct=ink_limit_pct,
            least_pct=least,
            plates=plates,
        )


class _Way(NamedTuple):
    """Something that could be done, in words, and the darkest mix that it would allow."""

    text: str
    mix: Mix


def _under_black(
    press: _Press, black: int, others: Sequence[int], ink_limit_pct: float | None
) -> list[_Way]:
    """The plate of one other ink that deepens a black most."""
    mixes = [press.darkest(ink_limit_pct, plates=(black, other)) for other in others]
    if not mixes:
        return []
    mix = min(mixes, key=lambda mix: mix.lab[0])
    under = {name: pct for name, pct in mix.tone_pct.items() if name not in press.hits(black)}
    text = f"Under {press.name(black)}, {mix_words(under)} would reach {lightness(mix.lab[0])}"
    return [_Way(text, mix)]


def _double_hit(
    press: _Press, black: int, ink_limit_pct: float | None, *, darker_than_L: float
) -> list[_Way]:
    """The black plate once more, where that is darker and the table has room for it."""
    if len(press.condition.inks) >= MAX_INKS:
        return []
    hits = len(press.hits(black)) + 1
    mix = press.with_hit(black).darkest(ink_limit_pct)
    if mix.lab[0] >= darker_than_L:
        return []
    again = "A double hit" if hits == 2 else "One hit more"
    text = (
        f"{again} of {press.name(black)} (the same plate printed "
        f"{'twice' if hits == 2 else f'{in_words(hits)} times'}) would reach "
        f"{lightness(mix.lab[0])} ({mix_words(mix.tone_pct)})"
    )
    return [_Way(text, mix)]


def _other_papers(
    press: _Press, papers: Sequence[OtherPaper], *, darker_than_L: float
) -> list[_Way]:
    """The paper on which these inks go darkest, and others that beat the one at hand."""
    found = [
        (_Press(one.condition, press.printed_from).darkest(one.ink_limit_pct), one.name)
        for one in papers
    ]
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


def _remedy(text: str, mix: Mix, lightest_L: float | None) -> Remedy:
    end = ""
    if lightest_L is not None:
        enough = "dark enough" if mix.lab[0] <= lightest_L else "still too light"
        end = f": {enough} for {lightness(lightest_L)}"
    return Remedy(do=f"{text}{end}.", reaches_L=mix.lab[0], reaches_total_pct=mix.total_pct)
