"""The tone curves that darken a sample of a night enough and change it least.

Curves of the darkest plates are moved up and down where that lowers a cost: how far the night is
still too light, texture lost, colour lost, ink over the limit, plates to change, darkness for
nothing. Every cost is reckoned from the table of colours that the check itself looks up.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.mending.curve import DEGREE, PLACES_PCT, ToneCurve, bernstein
from inkmix.checks.window import Planes, full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab

KEPT_TEXTURE = 0.8
"""Share of the local spread of L* that a correction should keep."""

_AIM_TEXTURE = 0.84  # a sample tells it to some hundredths
_TOO_LIGHT = 10.0  # what one L* too light costs, in dE00
_TEXTURE = 60.0  # all texture lost
_COLOUR = 0.4  # one unit of a* and b*, mean
_OVER = 0.4  # one point over the ink limit
_PLATE = 0.4
_DARKER = 0.3  # one L* of the middle tone
_NEEDLESS = 1.0  # one L* of what is dark enough as it is, mean
_STARTS = (  # lifts of the darkest plate, of the next, of a third
    ((30, 22, 15, 8),),
    ((0, 20, 50, 25),),
    ((0, 20, 50, 25), (15, 11, 8, 4)),
    ((15, 11, 8, 4), (30, 22, 15, 8)),
    ((0, 0, 0, 0), (0, 20, 50, 25)),
)
_TRIED = 2  # of the starts, the best
_FIRST_STEP, _LAST_STEP = 24.0, 1.0
_WORTH = 1e-3
_TAIL = 0.995  # of the pixels that may go over the limit; the rest is taken off


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sample:
    """Pixels of what must become dark.

    Parameters
    ----------
    planes : (I, N) array
    of_tile : (N,) ndarray of int
        The square that each lies in, from 0.
    """

    planes: Planes
    of_tile: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class NightGoal:
    """What is wanted: this share (0-1) of the sample at most so light, within the ink limit."""

    lightest_L: float
    share: float
    ink_limit_pct: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What curves do to a sample.

    Parameters
    ----------
    value_L : float
        L* that the wished share does not exceed.
    texture : float
        Local spread of L* afterwards over that before; 1 where there was none.
    colour : float
        Mean change of a* and b*.
    change : float
        Change of L*, a*, b* that 99 % do not exceed.
    over_pct : float
        Points over the ink limit.
    middle_L : float
        Median L*.
    """

    value_L: float
    texture: float
    colour: float
    change: float
    over_pct: float
    middle_L: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Curves, none of which is idle, and what they do."""

    curves: tuple[ToneCurve, ...]
    outcome: Outcome


Looked = Callable[[Planes], tuple[NDArray[np.uint8], NDArray[np.int16]]]
"""Ink amounts (I, N) to sRGB (N, 3) and L* (N,) times 256."""


def find_curves(
    sample: Sample, goal: NightGoal, look: Looked, *, plates: Sequence[tuple[int, str]]
) -> Found:
    """The best curves for some plates (number, name), the darkest first."""
    search = _Search(sample, goal, look, [number for number, _ in plates])
    lifts = search.best()
    curves = tuple(
        ToneCurve(plate=name, heights_pct=tuple(_heights(lift).tolist()))
        for lift, (_, name) in zip(lifts, plates, strict=True)
        if lift.any()
    )
    return Found(curves=curves, outcome=search.outcome(lifts))


def told_curves(
    sample: Sample,
    goal: NightGoal,
    look: Looked,
    *,
    plates: Sequence[tuple[int, str]],
    curves: tuple[ToneCurve, ...],
) -> Found:
    """What curves that are told do to a sample; one for each of the plates (number, name)."""
    search = _Search(sample, goal, look, [number for number, _ in plates])
    places = np.array(PLACES_PCT[:-1])
    lifts = [np.array(curve.heights_pct[:-1]) - places for curve in curves]
    return Found(curves=curves, outcome=search.outcome(lifts))


class _Search:
    """Curves as lifts (DEGREE,) of their heights above where they stand, one a plate."""

    def __init__(
        self, sample: Sample, goal: NightGoal, look: Looked, numbers: Sequence[int]
    ) -> None:
        self._sample, self._goal, self._look, self._numbers = sample, goal, look, numbers
        self._full = full_scale(sample.planes)
        self._polynomials = bernstein(np.arange(self._full + 1) / self._full)
        self._size = np.bincount(sample.of_tile)
        srgb8, level = look(sample.planes)
        self._L, self._ab = level / 256, _ab(srgb8)
        self._is_dark = goal.lightest_L >= self._L
        self._spread, self._middle_L = self._texture(self._L), float(np.median(self._L))

    def best(self) -> list[FloatArray]:
        """The lifts that steps downhill lead to from the best places to start."""
        starts = [self._start(start) for start in _STARTS]
        costs = [self._cost(lifts, np.inf) for lifts in starts]
        tried = [self._downhill(costs[k], starts[k]) for k in np.argsort(costs)[:_TRIED]]
        return min(tried, key=lambda one: one[0])[1]

    def _start(self, start: Sequence[Sequence[float]]) -> list[FloatArray]:
        lifts = [np.zeros(DEGREE) for _ in self._numbers]
        for number, lift in enumerate(start[: len(lifts)]):
            lifts[number] = np.array(lift, dtype=np.float64)
        return lifts

    def _downhill(self, cost: float, lifts: list[FloatArray]) -> tuple[float, list[FloatArray]]:
        """The cost and the lifts where no step is worth it any more."""
        step = _FIRST_STEP
        while step > _LAST_STEP:
            before = cost
            for plate in range(len(lifts)):
                for by in (_tilted(step), *(step * np.eye(DEGREE))):
                    cost, lifts = self._moved(cost, lifts, plate, by)
            if cost > before - _WORTH:
                step /= 2
        return cost, lifts

    def _moved(
        self, cost: float, lifts: list[FloatArray], plate: int, by: FloatArray
    ) -> tuple[float, list[FloatArray]]:
        """One curve up or else down, if that costs less."""
        for change in (by, -by):
            new = np.clip(lifts[plate] + change, 0, 100)
            if (new == lifts[plate]).all():
                continue
            changed = [*lifts[:plate], new, *lifts[plate + 1 :]]
            less = self._cost(changed, cost)
            if less < cost - _WORTH:
                return less, changed
        return cost, lifts

    def outcome(self, lifts: Sequence[FloatArray]) -> Outcome:
        """What lifts do."""
        planes = self._planes(lifts)
        srgb8, level = self._look(planes)
        L, ab = level / 256, _ab(srgb8)
        moved = np.hypot(*(ab - self._ab))
        return Outcome(
            value_L=self._value(L),
            texture=self._kept(L),
            colour=float(moved.mean()),
            change=float(np.quantile(np.hypot(moved, L - self._L), 0.99)),
            over_pct=self._over(planes),
            middle_L=float(np.median(L)),
        )

    def _cost(self, lifts: Sequence[FloatArray], least: float) -> float:
        """The cost; only a bound of it where that is already above `least`."""
        planes = self._planes(lifts)
        srgb8, level = self._look(planes)
        L = level / 256
        cost = _TOO_LIGHT * max(0.0, self._value(L) - self._goal.lightest_L)
        cost += _TEXTURE * max(0.0, _AIM_TEXTURE - self._kept(L))
        cost += _DARKER * (self._middle_L - float(np.median(L)))
        cost += _NEEDLESS * float((self._L - L)[self._is_dark].sum()) / len(L)
        cost += _OVER * self._over(planes) + _PLATE * sum(bool(lift.any()) for lift in lifts)
        if cost >= least:
            return cost
        return cost + _COLOUR * float(np.hypot(*(_ab(srgb8) - self._ab)).mean())

    def _planes(self, lifts: Sequence[FloatArray]) -> Planes:
        planes = self._sample.planes.copy()
        for number, lift in zip(self._numbers, lifts, strict=True):
            if lift.any():
                planes[number] = self._steps(_heights(lift))[planes[number]]
        return planes

    def _steps(self, heights_pct: FloatArray) -> NDArray[np.int64]:
        """As `ToneCurve.steps`, with the polynomials at hand."""
        after = np.rint(self._polynomials @ (heights_pct * (self._full / 100))).astype(np.int64)
        return np.maximum(after, np.arange(self._full + 1))

    def _value(self, L: FloatArray) -> float:
        at = min(len(L) - 1, int(np.ceil(self._goal.share * len(L))))
        return float(np.partition(L, at)[at])

    def _texture(self, L: FloatArray) -> float:
        mean = np.bincount(self._sample.of_tile, L) / self._size
        square = np.bincount(self._sample.of_tile, L * L) / self._size
        return float(np.sqrt(np.maximum(square - mean * mean, 0)).mean())

    def _kept(self, L: FloatArray) -> float:
        return self._texture(L) / self._spread if self._spread > 1e-3 else 1.0

    def _over(self, planes: Planes) -> float:
        if self._goal.ink_limit_pct is None:
            return 0.0
        total = np.quantile(planes.sum(axis=0, dtype=np.int32), _TAIL) * 100 / self._full
        return max(0.0, float(total) - self._goal.ink_limit_pct)


def _tilted(height: float) -> FloatArray:
    """Lifts that are greatest at no ink and none at full ink."""
    return np.asarray(height * (1 - np.array(PLACES_PCT[:-1]) / 100))


def _heights(lift: FloatArray) -> FloatArray:
    """Heights of a curve by how far they are lifted; they rise, and end at 100 %."""
    heights = np.append(np.array(PLACES_PCT[:-1]) + lift, 100.0)
    return np.minimum(np.maximum.accumulate(heights), 100.0)


_LIGHT = srgb1_to_xyz100(np.eye(3)[:, None] * (np.arange(256)[:, None] / 255))  # of each channel


def _ab(srgb8: NDArray[np.uint8]) -> FloatArray:
    """(2, N) a* and b*; light of the three channels adds up."""
    xyz100 = sum(light[channel] for light, channel in zip(_LIGHT, srgb8.T, strict=True))
    return xyz100_to_lab(xyz100)[..., 1:].T
