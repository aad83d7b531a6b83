"""The tone curves that darken a sample of a night enough and change it least.

Curves of the darkest plates are moved up and down where that lowers a cost: how far the night is
still too light, texture lost, colour lost, neighbours parted, ink over the limit, plates to change.
Each square of the sample is judged with curves that act on it as far as it needs. Every cost is
reckoned from the table of colours that the check itself looks up.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.checks.mending.curve import PLACES_PCT, ToneCurve, bernstein
from inkmix.checks.window import Planes, full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab

KEPT_TEXTURE = 0.8
"""Share of the local spread of L* that a correction should keep."""

_AIM_TEXTURE = 0.95  # a sample tells it to some hundredths
_TOO_LIGHT = 10.0  # what one L* too light costs, in dE00
_HEADROOM_L = 2.0  # so much darker where curves act fully: they then fade over less
_TOO_WEAK = 1.0  # one L* of that
_TEXTURE = 60.0  # all texture lost
_COLOUR = 0.4  # one unit of a* and b*, mean where anything changes
_PARTING = 2.0  # one more between neighbours than _MOST_PARTED
_MOST_PARTED = 2.0  # at a border curves act by half
_OVER = 0.4  # one point over the ink limit
_PLATE = 0.4
_DARKER = 0.3  # one L*, mean
_IDLE = (0.0, 0.0, 50.0)
_STARTS = (  # of the darkest plate, of the next, of a third: lift, from which tone, over how much
    ((30, -50, 50),),
    ((30, 25, 40),),
    ((30, 25, 40), (30, 25, 40)),
    ((25, 25, 40), (15, 25, 40), (15, -50, 50)),
    (_IDLE, (40, 25, 40)),
)
_LEAST_SHAPE, _MOST_SHAPE = (0.0, -50.0, 10.0), (100.0, 90.0, 100.0)
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
        Square after square, all of a size.
    textured : (squares,) ndarray of bool
        Squares whose texture counts: those in which no light goes out.
    """

    planes: Planes
    textured: BoolArray


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
    """

    value_L: float
    texture: float
    colour: float
    change: float
    over_pct: float


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
    heights = [heights_of(shape) if shape[0] else None for shape in search.best()]
    curves = tuple(
        ToneCurve(plate=name, heights_pct=tuple(one.tolist()))
        for one, (_, name) in zip(heights, plates, strict=True)
        if one is not None
    )
    return Found(curves=curves, outcome=search.outcome(heights))


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
    heights = [np.array(curve.heights_pct) for curve in curves]
    return Found(curves=curves, outcome=search.outcome(heights))


class _Search:
    """Curves as shapes (3,) of a lift, one a plate."""

    def __init__(
        self, sample: Sample, goal: NightGoal, look: Looked, numbers: Sequence[int]
    ) -> None:
        self._sample, self._goal, self._look, self._numbers = sample, goal, look, numbers
        self._full = full_scale(sample.planes)
        self._bases = [bernstein(sample.planes[number] / self._full) for number in numbers]
        self._tiles = len(sample.textured)
        srgb8, level = look(sample.planes)
        self._L, self._ab = level / 256, _ab(srgb8)
        self._palest = self._of_tiles(self._L)
        self._spread = self._texture(self._L)
        self._apart = self._steps(self._L, self._ab)

    def best(self) -> list[FloatArray]:
        """The shapes that steps downhill lead to from the best places to start."""
        starts = [self._start(start) for start in _STARTS]
        costs = [self._cost(shapes, np.inf) for shapes in starts]
        tried = [self._downhill(costs[k], starts[k]) for k in np.argsort(costs)[:_TRIED]]
        return min(tried, key=lambda one: one[0])[1]

    def _start(self, start: Sequence[Sequence[float]]) -> list[FloatArray]:
        shapes = [np.array(_IDLE) for _ in self._numbers]
        for number, shape in enumerate(start[: len(shapes)]):
            shapes[number] = np.array(shape, dtype=np.float64)
        return shapes

    def _downhill(self, cost: float, shapes: list[FloatArray]) -> tuple[float, list[FloatArray]]:
        """The cost and the shapes where no step is worth it any more."""
        step = _FIRST_STEP
        while step > _LAST_STEP:
            before = cost
            for plate in range(len(shapes)):
                for by in step * np.eye(3):
                    cost, shapes = self._moved(cost, shapes, plate, by)
            if cost > before - _WORTH:
                step /= 2
        return cost, shapes

    def _moved(
        self, cost: float, shapes: list[FloatArray], plate: int, by: FloatArray
    ) -> tuple[float, list[FloatArray]]:
        """One curve changed, or else the other way, if that costs less."""
        for change in (by, -by):
            new = np.clip(shapes[plate] + change, _LEAST_SHAPE, _MOST_SHAPE)
            if (new == shapes[plate]).all() or (new[0] == 0 and not change[0]):
                continue
            changed = [*shapes[:plate], new, *shapes[plate + 1 :]]
            less = self._cost(changed, cost)
            if less < cost - _WORTH:
                return less, changed
        return cost, shapes

    def outcome(self, heights_pct: Sequence[FloatArray | None]) -> Outcome:
        """What curves do; None for a plate that stays."""
        more = self._more(heights_pct)
        full = self._look(self._planes(more, None))[1] / 256
        planes = self._planes(more, self._weights(full))
        srgb8, level = self._look(planes)
        L, ab = level / 256, _ab(srgb8)
        moved = np.hypot(*(ab - self._ab))
        return Outcome(
            value_L=self._value(full),
            texture=self._kept(L),
            colour=float(moved.mean()),
            change=float(np.quantile(np.hypot(moved, L - self._L), 0.99)),
            over_pct=self._over(planes),
        )

    def _cost(self, shapes: Sequence[FloatArray], least: float) -> float:
        """The cost; only a bound of it where that is already above `least`."""
        more = self._more([heights_of(shape) if shape[0] else None for shape in shapes])
        full = self._look(self._planes(more, None))[1] / 256
        missing_L = self._value(full) - self._goal.lightest_L
        cost = _TOO_LIGHT * max(0.0, missing_L) + _TOO_WEAK * max(0.0, missing_L + _HEADROOM_L)
        cost += _PLATE * sum(bool(shape[0]) for shape in shapes)
        if cost >= least:
            return cost
        weights = self._weights(full)
        planes = self._planes(more, weights)
        srgb8, level = self._look(planes)
        L = level / 256
        cost += _TEXTURE * max(0.0, _AIM_TEXTURE - self._kept(L))
        cost += _DARKER * float((self._L - L).mean())
        cost += _OVER * self._over(planes)
        if cost >= least:
            return cost
        ab = _ab(srgb8)
        changed = max(1, int(np.count_nonzero(weights)))
        cost += _COLOUR * float(np.hypot(*(ab - self._ab)).sum()) / changed
        return cost + _PARTING * max(0.0, self._parted(L, ab) - _MOST_PARTED)

    def _parted(self, L: FloatArray, ab: FloatArray) -> float:
        """How much further apart neighbours are than before, at most."""
        after = self._steps(L, ab) - self._apart
        return float(after.max(initial=0.0))

    def _steps(self, L: FloatArray, ab: FloatArray) -> FloatArray:
        """Steps of colour from each pixel of a square to the next."""
        lab = np.stack([L, *ab]).reshape(3, self._tiles, -1)
        return np.asarray(np.sqrt((np.diff(lab, axis=2) ** 2).sum(axis=0)))

    def _more(self, heights_pct: Sequence[FloatArray | None]) -> list[IntArray | None]:
        """Steps (N,) that each plate gains where curves act fully."""
        return [
            None if heights is None else self._gain(number, basis, heights)
            for number, basis, heights in zip(self._numbers, self._bases, heights_pct, strict=True)
        ]

    def _gain(self, number: int, basis: FloatArray, heights_pct: FloatArray) -> IntArray:
        after = np.rint(basis @ (heights_pct * (self._full / 100))).astype(np.int64)
        gain: IntArray = np.maximum(after - self._sample.planes[number], 0)
        return gain

    def _planes(self, more: Sequence[IntArray | None], weights: IntArray | None) -> Planes:
        planes = self._sample.planes.copy()
        for number, gain in zip(self._numbers, more, strict=True):
            if gain is not None:
                added = gain if weights is None else np.right_shift(gain * weights + 128, 8)
                planes[number] += added.astype(planes.dtype)
        return planes

    def _weights(self, full: FloatArray) -> IntArray:
        """Least weight (N,) in 256 steps that each square needs, by what full weight makes."""
        palest = self._of_tiles(full)
        short = self._palest - self._goal.lightest_L
        share = short / np.maximum(self._palest - palest, np.maximum(short, 1e-9))
        weights = np.where(short > 0, np.ceil(256 * share), 0).astype(np.int64)
        return np.repeat(weights, len(self._L) // self._tiles)

    def _of_tiles(self, L: FloatArray) -> FloatArray:
        """L* of each square that the wished share of it does not exceed."""
        by_tile = L.reshape(self._tiles, -1)
        at = max(0, int(np.ceil(self._goal.share * by_tile.shape[1])) - 1)
        return np.asarray(np.partition(by_tile, at, axis=1)[:, at])

    def _value(self, L: FloatArray) -> float:
        at = min(len(L) - 1, int(np.ceil(self._goal.share * len(L))))
        return float(np.partition(L, at)[at])

    def _texture(self, L: FloatArray) -> float:
        return float(L.reshape(self._tiles, -1)[self._sample.textured].std(axis=1).sum())

    def _kept(self, L: FloatArray) -> float:
        return self._texture(L) / self._spread if self._spread > 1e-3 else 1.0

    def _over(self, planes: Planes) -> float:
        if self._goal.ink_limit_pct is None:
            return 0.0
        total, at = planes.sum(axis=0, dtype=np.int32), int(_TAIL * (planes.shape[1] - 1))
        high_pct = float(np.partition(total, at)[at]) * 100 / self._full
        return max(0.0, high_pct - self._goal.ink_limit_pct)


def heights_of(shape: FloatArray) -> FloatArray:
    """Heights of a curve by its lift: how much, from which tone, over how many points."""
    lift, start, over = shape
    places = np.array(PLACES_PCT)
    rising = np.clip((places - start) / max(over, 1e-9), 0, 1)
    heights = np.minimum(places + lift * rising * rising * (3 - 2 * rising), 100.0)
    return np.maximum.accumulate(heights)


_LIGHT = srgb1_to_xyz100(np.eye(3)[:, None] * (np.arange(256)[:, None] / 255))  # of each channel


def _ab(srgb8: NDArray[np.uint8]) -> FloatArray:
    """(2, N) a* and b*; light of the three channels adds up."""
    xyz100 = sum(light[channel] for light, channel in zip(_LIGHT, srgb8.T, strict=True))
    return xyz100_to_lab(xyz100)[..., 1:].T
