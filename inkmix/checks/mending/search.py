"""The tone curves that darken a sample of a night enough and change it least.

Curves of the darkest plates are moved up and down where that lowers a cost: how far the night is
still too light, texture lost, colour lost, neighbours parted, ink over the limit, plates to change.
Each square of the sample is judged with curves that act on it as far as it needs. Every cost is
reckoned from the table of colours that the check itself looks up.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, smoothstep
from inkmix.checks.mending.curve import PLACES_PCT, WEIGHT_BITS, WEIGHT_ONE, ToneCurve, bernstein
from inkmix.checks.window import Planes, full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.table.lookup import LIGHTNESS_SCALE

KEPT_TEXTURE = 0.8
"""Share of the local spread of L* that a correction should keep."""

LEAST_SPREAD_L = 0.05
"""A mean local spread of L* that is less is no texture to see."""

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
_Shape = tuple[float, float, float]  # of a lift: how much, from which tone, over how many points
_Shapes = tuple[_Shape, ...]
_IDLE = (0.0, 0.0, 50.0)
_STARTS: tuple[_Shapes, ...] = (  # of the darkest plate, of the next, of a third
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


Steps = NDArray[np.int32]
Levels = NDArray[np.int16]
"""L* times LIGHTNESS_SCALE."""

Looked = Callable[[Planes], tuple[NDArray[np.uint8], Levels]]
"""Ink amounts (I, N) to sRGB (N, 3) and L* (N,)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Curves, none that is idle, and the texture (0-1) that the sample keeps with them."""

    curves: tuple[ToneCurve, ...]
    texture: float


def find_curves(
    sample: Sample, goal: NightGoal, look: Looked, *, plates: Sequence[tuple[int, str]]
) -> Found:
    """The best curves for some plates (number, name), the darkest first."""
    search = _Search(sample, goal, look, [number for number, _ in plates])
    shapes = search.best()
    heights = [_heights(shape) for shape in shapes]
    curves = tuple(
        ToneCurve(plate=name, heights_pct=tuple(one.tolist()))
        for one, (_, name) in zip(heights, plates, strict=True)
        if one is not None
    )
    return Found(curves=curves, texture=search.texture(shapes))


class _Search:
    """Curves as shapes, one a plate."""

    def __init__(
        self, sample: Sample, goal: NightGoal, look: Looked, numbers: Sequence[int]
    ) -> None:
        self._sample, self._goal, self._look, self._numbers = sample, goal, look, numbers
        self._full, self._tiles = full_scale(sample.planes), len(sample.textured)
        self._amounts = [_Amounts(sample.planes[number], self._full) for number in numbers]
        self._gains = cache(self._gains_of_shape)  # most moves change one plate of three
        self._bounds: dict[_Shapes, float] = {}
        srgb8, level = look(sample.planes)
        self._lab = _lab(srgb8, level)
        self._palest_L = self._of_tiles(level)
        self._spread_L = self._texture(self._lab[0])
        self._apart = self._steps(self._lab)

    def best(self) -> _Shapes:
        """The shapes that steps downhill lead to from the best places to start."""
        starts = [self._start(start) for start in _STARTS]
        costs = [self._bound(shapes, np.inf) for shapes in starts]
        tried = [self._downhill(costs[k], starts[k]) for k in np.argsort(costs)[:_TRIED]]
        return min(tried, key=lambda one: one[0])[1]

    def texture(self, shapes: _Shapes) -> float:
        """Local spread of L* that stays, of what there was."""
        gains = [self._gains(number, shape) for number, shape in enumerate(shapes)]
        weights = self._weights(self._look(self._planes(gains, None))[1])
        return self._kept(self._look(self._planes(gains, weights))[1] / LIGHTNESS_SCALE)

    def _start(self, start: _Shapes) -> _Shapes:
        plates = len(self._numbers)
        return (start + (_IDLE,) * plates)[:plates]

    def _downhill(self, cost: float, shapes: _Shapes) -> tuple[float, _Shapes]:
        """The cost and the shapes where no step is worth it any more."""
        step = _FIRST_STEP
        while step > _LAST_STEP:
            before = cost
            for plate in range(len(shapes)):
                for axis in range(3):
                    cost, shapes = self._moved(cost, shapes, plate, axis=axis, by=step)
            if cost > before - _WORTH:
                step /= 2
        return cost, shapes

    def _moved(
        self, cost: float, shapes: _Shapes, plate: int, *, axis: int, by: float
    ) -> tuple[float, _Shapes]:
        """One curve changed, or else the other way, if that costs less."""
        for change in (by, -by):
            new = _stepped(shapes[plate], axis, change)
            if new == shapes[plate] or (new[0] == 0 and axis > 0):
                continue
            changed = (*shapes[:plate], new, *shapes[plate + 1 :])
            less = self._bound(changed, cost - _WORTH)
            if less < cost - _WORTH:
                return less, changed
        return cost, shapes

    def _bound(self, shapes: _Shapes, least: float) -> float:
        """The cost, or what it is no less than where that is at least `least`; reckoned once."""
        known = self._bounds.get(shapes, -np.inf)
        if known < least:
            known = self._bounds[shapes] = self._cost(shapes, least)
        return known

    def _cost(self, shapes: _Shapes, least: float) -> float:
        """The cost; only a bound of it where that is already `least`."""
        gains = [self._gains(number, shape) for number, shape in enumerate(shapes)]
        full = self._look(self._planes(gains, None))[1]
        missing_L = self._value_L(full) - self._goal.lightest_L
        cost = _TOO_LIGHT * max(0.0, missing_L) + _TOO_WEAK * max(0.0, missing_L + _HEADROOM_L)
        cost += _PLATE * sum(bool(shape[0]) for shape in shapes)
        if cost >= least:
            return cost
        weights = self._weights(full)
        planes = self._planes(gains, weights)
        srgb8, level = self._look(planes)
        cost += _OVER * self._over_pct(planes)
        L = level / LIGHTNESS_SCALE
        cost += _DARKER * float((self._lab[0] - L).mean())
        cost += _TEXTURE * max(0.0, _AIM_TEXTURE - self._kept(L))
        if cost >= least:
            return cost
        lab = _lab(srgb8, level)
        changed = max(1, int(np.count_nonzero(weights)) * len(L) // self._tiles)
        cost += _COLOUR * float(_length((lab - self._lab)[1:]).sum()) / changed
        return cost + _PARTING * max(0.0, self._parted(lab) - _MOST_PARTED)

    def _parted(self, lab: FloatArray) -> float:
        """How much further apart neighbours are than before, at most."""
        return float((self._steps(lab) - self._apart).max(initial=0.0))

    def _steps(self, lab: FloatArray) -> FloatArray:
        """Steps of colour from each pixel of a square to the next."""
        return _length(np.diff(lab.reshape(3, self._tiles, -1), axis=2))

    def _gains_of_shape(self, number: int, shape: _Shape) -> Steps | None:
        """Steps (squares, pixels) that a plate gains where its curve acts fully."""
        heights_pct = _heights(shape)
        if heights_pct is None:
            return None
        return self._amounts[number].gains(heights_pct).reshape(self._tiles, -1)

    def _planes(self, gains: Sequence[Steps | None], weights: Steps | None) -> Planes:
        planes = self._sample.planes.copy()
        for number, gain in zip(self._numbers, gains, strict=True):
            if gain is not None:
                added = (
                    gain
                    if weights is None
                    else np.right_shift(gain * weights + WEIGHT_ONE // 2, WEIGHT_BITS)
                )
                planes[number] += added.ravel().astype(planes.dtype)
        return planes

    def _weights(self, full: Levels) -> Steps:
        """Least weight (squares, 1) of WEIGHT_ONE that each needs, by what full weight makes."""
        palest_L = self._of_tiles(full)
        short = self._palest_L - self._goal.lightest_L
        share = short / np.maximum(self._palest_L - palest_L, np.maximum(short, 1e-9))
        return np.where(short > 0, np.ceil(WEIGHT_ONE * share), 0).astype(np.int32)[:, None]

    def _of_tiles(self, level: Levels) -> FloatArray:
        """L* of each square that the wished share of it does not exceed."""
        by_tile = level.reshape(self._tiles, -1)
        at = max(0, int(np.ceil(self._goal.share * by_tile.shape[1])) - 1)
        return np.asarray(np.partition(by_tile, at, axis=1)[:, at] / LIGHTNESS_SCALE)

    def _value_L(self, level: Levels) -> float:
        at = min(len(level) - 1, int(np.ceil(self._goal.share * len(level))))
        return float(np.partition(level, at)[at]) / LIGHTNESS_SCALE

    def _texture(self, L: FloatArray) -> float:
        return float(L.reshape(self._tiles, -1)[self._sample.textured].std(axis=1).sum())

    def _kept(self, L: FloatArray) -> float:
        textured = int(np.count_nonzero(self._sample.textured))
        is_seen = self._spread_L > LEAST_SPREAD_L * textured
        return self._texture(L) / self._spread_L if is_seen else 1.0

    def _over_pct(self, planes: Planes) -> float:
        if self._goal.ink_limit_pct is None:
            return 0.0
        total, at = planes.sum(axis=0, dtype=np.int32), int(_TAIL * (planes.shape[1] - 1))
        high_pct = float(np.partition(total, at)[at]) * 100 / self._full
        return max(0.0, high_pct - self._goal.ink_limit_pct)


class _Amounts:
    """One plate of a sample: a curve is asked once for each ink amount that it holds."""

    def __init__(self, plane: Planes, full: int) -> None:
        self._values, self._which = np.unique(plane.astype(np.int32), return_inverse=True)
        self._basis, self._full = bernstein(self._values / full), full

    def gains(self, heights_pct: FloatArray) -> Steps:
        """Steps (N,) that each pixel gains by a curve."""
        after = np.rint(self._basis @ (heights_pct * (self._full / 100))).astype(np.int32)
        return np.asarray(np.maximum(after - self._values, 0)[self._which])


def _stepped(shape: _Shape, axis: int, by: float) -> _Shape:
    """A shape with one of its numbers changed, as far as that may go."""
    numbers = list(shape)
    numbers[axis] = min(max(shape[axis] + by, _LEAST_SHAPE[axis]), _MOST_SHAPE[axis])
    lift, start, over = numbers
    return lift, start, over


def _heights(shape: _Shape) -> FloatArray | None:
    """Heights of the curve of a lift; None where it lifts nothing."""
    lift, start, over = shape
    if not lift:
        return None
    places = np.array(PLACES_PCT)
    rising = smoothstep((places - start) / max(over, 1e-9))
    heights = np.minimum(places + lift * rising, 100.0)
    return np.maximum.accumulate(heights)


def _length(of: FloatArray) -> FloatArray:
    """Lengths of vectors whose parts are the first axis."""
    return np.asarray(np.sqrt(np.einsum("k...,k...->...", of, of)))


_LIGHT = np.moveaxis(
    srgb1_to_xyz100(np.eye(3)[:, None] * (np.arange(256)[:, None] / 255)), -1, 1
).copy()  # (3, 3, 256): X, Y, Z of each step of each channel


def _lab(srgb8: NDArray[np.uint8], level: Levels) -> FloatArray:
    """(3, N): L* as looked up, a* and b* of what is shown; light of the three channels adds up."""
    xyz100 = _LIGHT[0].take(srgb8[:, 0], axis=1)
    for channel in (1, 2):
        xyz100 += _LIGHT[channel].take(srgb8[:, channel], axis=1)
    lab = np.ascontiguousarray(xyz100_to_lab(xyz100.T).T)
    lab[0] = level / LIGHTNESS_SCALE
    return lab
