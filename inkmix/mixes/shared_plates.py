"""The darkest mix where inks print from one plate, so that they hold the same tone.

Plates are few, so a plain descent by whole per cents is enough: one plate more or less, or one more
and another less, by as much tone or as much ink, in steps that become smaller. It begins at each
plate in turn, filled up with the others.
"""

import math
from collections.abc import Collection, Sequence
from itertools import permutations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.mixes.values import Mix, mix_of
from inkmix.press.condition import PressCondition

_STEPS_PCT = (20.0, 5.0, 1.0)


def darkest_of_plates(
    condition: PressCondition,
    printed_from: Sequence[int],
    *,
    ink_limit_pct: float | None,
    least_pct: float = 0.0,
    plates: Collection[int] | None = None,
) -> Mix:
    """The mix of least L* that plates can hold, to a per cent.

    Parameters
    ----------
    printed_from : sequence of int
        For each ink the first one that prints its plate.
    least_pct : float
        Smallest dot of the process: no tone lies between 0 and it.
    plates : collection of int or None
        Those that may hold ink, each by its first ink; None for all.
    """
    firsts = [k for k in sorted(set(printed_from)) if plates is None or k in plates]
    prints = np.equal.outer(firsts, printed_from).astype(np.float64)  # (plates, inks)
    limit_pct = np.inf if ink_limit_pct is None else ink_limit_pct
    descent = _Descent(condition, prints, limit_pct=limit_pct, least_pct=least_pct)
    found = [descent.from_(first) for first in range(len(firsts))]
    return mix_of(condition, min(found, key=descent.lightness_of) @ prints, None)


class _Descent:
    """Tone values of plates (P,) within the limit, and the way down from them."""

    def __init__(
        self, condition: PressCondition, prints: FloatArray, *, limit_pct: float, least_pct: float
    ) -> None:
        self._condition, self._prints = condition, prints
        self._limit_pct, self._least_pct = limit_pct, least_pct
        self._times = prints.sum(axis=1)  # each plate prints
        one, times = np.eye(len(prints)), prints.sum(axis=1).astype(int).tolist()
        pairs = list(permutations(range(len(prints)), 2))
        even = [one[up] - one[down] for up, down in pairs]
        self._moves = np.array([*one, *-one, *even, *(_as_much(times, *pair) for pair in pairs)])

    def lightness_of(self, tone_pct: FloatArray) -> float:
        """L* of one mix."""
        return float(self._condition.lab(tone_pct @ self._prints)[0])

    def from_(self, first: int) -> FloatArray:
        """The darkest that is reached from one plate as full as may be, then the next."""
        order = [first, *(k for k in range(len(self._prints)) if k != first)]
        tone_pct = np.zeros(len(self._prints))
        for plate in order:
            room_pct = (self._limit_pct - (tone_pct @ self._prints).sum()) / self._times[plate]
            tone_pct[plate] = self._held(min(100.0, np.floor(room_pct)))
        for step_pct in _STEPS_PCT:
            tone_pct = self._down(tone_pct, step_pct)
        return tone_pct

    def _held(self, tone_pct: float) -> float:
        return tone_pct if tone_pct >= self._least_pct else 0.0

    def _down(self, tone_pct: FloatArray, step_pct: float) -> FloatArray:
        best_L = self.lightness_of(tone_pct)
        while True:
            near = np.clip(tone_pct + step_pct * self._moves, 0, 100)
            held = (near == 0) | (near >= self._least_pct)
            near = near[held.all(axis=1) & (near @ self._times <= self._limit_pct)]
            near_L = self._condition.lab(near @ self._prints)[:, 0]
            if not len(near) or near_L.min() >= best_L:
                return tone_pct
            tone_pct, best_L = near[near_L.argmin()], float(near_L.min())


def _as_much(times: Sequence[int], up: int, down: int) -> FloatArray:
    """A move that leaves total ink as it is: a plate that prints twice counts twice."""
    move, common = np.zeros(len(times)), math.gcd(times[up], times[down])
    move[up], move[down] = times[down] // common, -times[up] // common
    return move
