"""Which ink of a palette prints which plate: all ways tried, the nearest to what is aimed at taken.

Compares pictures by the mean dE00 of their mixes, on a small table of colours; what is aimed at is
somebody else's choice.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, islice, permutations
from math import perm

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.assigned.plates import MainMixes
from inkmix.mixes.assigned.table import SmallTable

MOST_TRIED = 720
"""All ways of six inks to six plates; of more, only exchanges are tried."""

COLOURS_AT_ONCE = 60_000
TIE_DE00 = 0.2
"""Assignments whose means differ by less are as good."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Assignment:
    """An ink for every plate.

    Parameters
    ----------
    inks : tuple of str
        In the order of the plates.
    de00 : float
        Mean over the picture from what is aimed at.
    """

    inks: tuple[str, ...]
    de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Assigned:
    """The best ways to give a palette's inks to plates.

    Parameters
    ----------
    plates, inks : tuple of str
        Both in lay-down order.
    best : Assignment
    ties : tuple of Assignment
        Others that come as near.
    tried : int
    all_tried : bool
        Else exchanges of two inks from the likeliest way on.
    """

    plates: tuple[str, ...]
    inks: tuple[str, ...]
    best: Assignment
    ties: tuple[Assignment, ...]
    tried: int
    all_tried: bool


def most_mixes(inks: int, plates: int) -> int:
    """Groups of a picture that all ways can be tried on in a second or two."""
    return max(150, min(1500, 150_000 // min(MOST_TRIED, perm(inks, plates))))


def best_assignment(
    table: SmallTable,
    *,
    inks: tuple[str, ...],
    plates: tuple[str, ...],
    mixes: MainMixes,
    aim_lab: FloatArray,
) -> Assigned:
    """The way of giving inks to plates that comes nearest to what is aimed at.

    Every plate gets an ink of its own; inks may be left over. The inks print in their own order
    whatever plates they print.

    Parameters
    ----------
    table : SmallTable
        Of the palette.
    inks, plates : tuple of str
        At least as many inks as plates.
    mixes : MainMixes
        Of the plates.
    aim_lab : (B, 3) array
        What colour each mix should have.
    """
    trial = _Trial(table=table, count=len(inks), mixes=mixes, aim_lab=aim_lab)
    is_small = perm(len(inks), len(plates)) <= MOST_TRIED
    ways = permutations(range(len(inks)), len(plates))
    seen = dict(trial.scored(ways) if is_small else trial.exchanged(len(plates)))
    ranked = sorted((round(score, 4), way) for way, score in seen.items())
    found = [
        Assignment(inks=tuple(inks[ink] for ink in way), de00=score)
        for score, way in ranked
        if score - ranked[0][0] < TIE_DE00
    ]
    return Assigned(
        plates=plates,
        inks=inks,
        best=found[0],
        ties=tuple(found[1:]),
        tried=len(seen),
        all_tried=is_small,
    )


def in_palette(tone_pct: FloatArray, way: tuple[int, ...], *, inks: int) -> FloatArray:
    """Tone values (..., inks) of a palette, where plate k (..., k) is printed by ink way[k]."""
    tones = np.zeros((*tone_pct.shape[:-1], inks))
    tones[..., list(way)] = tone_pct
    return tones


_Way = tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trial:
    table: SmallTable
    count: int
    mixes: MainMixes
    aim_lab: FloatArray

    def scored(self, ways: Iterator[_Way]) -> Iterator[tuple[_Way, float]]:
        """Ways and their mean dE00, several at once."""
        at_once = max(1, COLOURS_AT_ONCE // len(self.mixes.share))
        while some := list(islice(ways, at_once)):
            tones = np.stack([
                in_palette(self.mixes.tone_pct, way, inks=self.count) for way in some
            ])  # fmt: skip
            de00 = delta_e00(self.table.lab_of(tones), self.aim_lab) @ self.mixes.share
            yield from zip(some, de00.tolist(), strict=True)

    def exchanged(self, plates: int) -> Iterator[tuple[_Way, float]]:
        """Ways from the likeliest on, each better than the last by an exchange, and those beside.

        The likeliest gives plates their inks one by one, the fullest plate first.
        """
        way = self._likeliest(plates)
        ((_, best),) = self.scored(iter([way]))
        yield way, best
        while True:
            around = list(self.scored(iter(_exchanges(way, self.count))))
            yield from around
            nearer, score = min(around, key=lambda one: (one[1], one[0]))
            if score >= best:
                return
            way, best = nearer, score

    def _likeliest(self, plates: int) -> _Way:
        fullness = self.mixes.share @ self.mixes.tone_pct
        chosen: dict[int, int] = {}
        for plate in sorted(range(plates), key=lambda k: (-fullness[k], k)):
            free = [ink for ink in range(self.count) if ink not in chosen.values()]
            alone = np.zeros((len(free), *self.mixes.tone_pct.shape[:1], self.count))
            for row, ink in enumerate(free):
                alone[row, :, ink] = self.mixes.tone_pct[:, plate]
            away = delta_e00(self.table.lab_of(alone), self.aim_lab)
            weight = self.mixes.share * self.mixes.tone_pct[:, plate]
            chosen[plate] = free[int((away @ weight).argmin())]
        return tuple(chosen[plate] for plate in range(plates))


def _exchanges(way: _Way, count: int) -> Iterator[_Way]:
    """Ways in which two plates exchange their inks, or one takes an ink that is left over."""
    for first, second in combinations(range(len(way)), 2):
        changed = list(way)
        changed[first], changed[second] = way[second], way[first]
        yield tuple(changed)
    for plate in range(len(way)):
        for ink in range(count):
            if ink not in way:
                yield (*way[:plate], ink, *way[plate + 1 :])
