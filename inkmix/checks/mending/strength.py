"""How strongly curves act on each lightness of a night: as far as it needs, and in order.

What is lighter than something else stays lighter, or as light: where pale parts come down, what is
darker and would then lie above them comes down too.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, IntArray

STEP_L = 0.5
"""Strengths stand for lightnesses so far apart."""
NEEDS = 32
"""Strengths that are told apart; one more step is what no strength makes dark enough."""

_BINS = round(100 / STEP_L) + 1
_FINE = 64  # weights are looked up so many times in one L*
_SOFT = 1.0  # bins: steps of strength would show as rings in a glow
_POOLED, _SMOOTH_DROP = 3, 2.0  # bins over which neighbours have a say
_MOST_WORTH_L = 1e6
_ROUNDS = 40
_TRIED = np.linspace(0, 1, 5)
_SAMPLED = 20_000
_MAY_TURN_L = 0.7  # darker than what was darker before: nobody sees it
_MANY = 0.005  # of the pixels: what fewer of have does not hold others down


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strengths:
    """Weights 0-1 by lightness.

    Parameters
    ----------
    weights : (6401,) ndarray of float32
        At L* of 0 to 100, a 64th apart.
    """

    weights: NDArray[np.float32]

    def at(self, even_L: NDArray[np.floating]) -> NDArray[np.float32]:
        """Weights of lightnesses of any shape."""
        place = np.rint(even_L * np.float32(_FINE)).astype(np.int32)
        np.clip(place, 0, len(self.weights) - 1, out=place)
        return np.asarray(self.weights[place])


def _strengths(weights: FloatArray) -> Strengths:
    """By weights (bins,), along straight lines between them."""
    fine_L = np.arange(100 * _FINE + 1) / _FINE
    fine = np.interp(fine_L, np.arange(_BINS) * STEP_L, weights)
    return Strengths(weights=fine.astype(np.float32))


class Wants:
    """What pixels (N,) of a night want, gathered by their evened lightness.

    Parameters
    ----------
    even_L : (N,) ndarray
        L* without texture.
    need : (N,) ndarray of int
        Least strength in steps of NEEDS at which each is dark enough; NEEDS + 1 where none is.
    drop : (pixels (n,), weight) -> (n,)
        By how much L* of some of the pixels falls at a weight of 0-1.
    """

    def __init__(
        self, even_L: FloatArray, need: IntArray, drop: Callable[[IntArray, float], FloatArray]
    ) -> None:
        from scipy.ndimage import uniform_filter1d

        bins = np.clip(np.rint(even_L / STEP_L), 0, _BINS - 1).astype(np.int64)
        wanted = np.minimum(need, NEEDS)
        counts = np.bincount(bins * (NEEDS + 1) + wanted, minlength=_BINS * (NEEDS + 1))
        wants = counts.reshape(_BINS, NEEDS + 1).astype(np.float64)
        self._wants = uniform_filter1d(wants, _POOLED, axis=0, mode="constant")
        self._drops = self._drops_of(bins, drop)

    def _drops_of(
        self, bins: IntArray, drop: Callable[[IntArray, float], FloatArray]
    ) -> FloatArray:
        """Mean fall of L* (bins, weights of _TRIED)."""
        from scipy.ndimage import gaussian_filter1d

        some = np.linspace(0, len(bins) - 1, min(len(bins), _SAMPLED)).astype(np.int64)
        counts = np.bincount(bins[some], minlength=_BINS).astype(np.float64)
        sums = [np.bincount(bins[some], drop(some, float(one)), _BINS) for one in _TRIED[1:]]
        fields = gaussian_filter1d(
            np.stack([counts, *sums], axis=1), _SMOOTH_DROP, axis=0, mode="constant"
        )
        means = fields[:, 1:] / np.maximum(fields[:, :1], 1e-9)
        return np.hstack([np.zeros((_BINS, 1)), np.maximum.accumulate(means, axis=1)])

    def strengths(self, *, stray: float, rise: float) -> Strengths:
        """The least that do for all but a share of the pixels of each lightness, and in order.

        Parameters
        ----------
        rise : float
            Share of a difference in lightness that stays at least, 0-1.
        """
        from scipy.ndimage import gaussian_filter1d

        total = self._wants.sum(axis=1)
        weights = self._least(stray * total.sum())
        ordered = self._in_order(weights, total >= _MANY * total.sum(), rise * STEP_L)
        return _strengths(gaussian_filter1d(ordered, _SOFT, mode="nearest"))

    def evened_out_L(self, strengths: Strengths) -> float:
        """By how much the spread of L* without texture becomes less."""
        total = self._wants.sum(axis=1)
        light_L = np.asarray(np.arange(_BINS) * STEP_L, dtype=np.float64)
        weights = strengths.at(light_L)
        after_L = [self._after_L(number, float(one)) for number, one in enumerate(weights)]
        return max(0.0, _spread(light_L, total) - _spread(np.array(after_L), total))

    def _least(self, stray_px: float) -> FloatArray:
        """Weights (bins,) that darken least in sum, with so many pixels that stay too light.

        What a pixel is worth is the same at every lightness, and as little as is enough. Nothing
        gets less than what is darker.
        """
        steps = np.linspace(0, 1, NEEDS + 1)
        total = self._wants.sum(axis=1, keepdims=True)
        darker = total * np.stack([np.interp(steps, _TRIED, drops) for drops in self._drops])
        missed = total - self._wants.cumsum(axis=1)

        def chosen(worth_L: float) -> IntArray:
            return np.maximum.accumulate((darker + worth_L * missed).argmin(axis=1))

        low, high = 0.0, _MOST_WORTH_L
        for _ in range(_ROUNDS):
            worth_L = (low + high) / 2
            left_px = missed[np.arange(_BINS), chosen(worth_L)].sum()
            low, high = (low, worth_L) if left_px <= stray_px else (worth_L, high)
        return np.asarray(chosen(high) / NEEDS)

    def _in_order(
        self, weights: FloatArray, is_many: NDArray[np.bool_], rise_L: float
    ) -> FloatArray:
        """Weights raised where something lighter would become darker.

        Where there are few pixels of a lightness, they raise no others: they get what lies between,
        less where they would become darker than what is darker.
        """
        weights, light_L = weights.copy(), np.arange(_BINS) * STEP_L
        highest_L, lowest_L = np.inf, -np.inf
        for number in range(_BINS - 1, -1, -1):
            if is_many[number]:
                wanted_L = light_L[number] - highest_L - _MAY_TURN_L
                at_least = _weight_for(wanted_L, self._drops[number])
                weights[number] = max(weights[number], at_least)
                highest_L = min(highest_L, self._after_L(number, weights[number]))
            highest_L -= rise_L
        between = np.interp(light_L, light_L[is_many], weights[is_many])
        weights = np.where(is_many, weights, np.maximum(weights, between))
        for number in range(_BINS):
            if is_many[number]:
                lowest_L = max(lowest_L, self._after_L(number, weights[number]))
            else:
                wanted_L = light_L[number] - lowest_L
                at_most = _weight_for(max(0.0, wanted_L), self._drops[number])
                weights[number] = min(weights[number], at_most)
        return weights

    def _after_L(self, number: int, weight: float) -> float:
        return number * STEP_L - float(np.interp(weight, _TRIED, self._drops[number]))


def _spread(values: FloatArray, counts: FloatArray) -> float:
    """Standard deviation of values that are counted so often."""
    shares = counts / max(1e-9, counts.sum())
    return float(np.sqrt(shares @ (values - shares @ values) ** 2))


def _weight_for(drop_L: float, drops: FloatArray) -> float:
    """The weight at which L* falls so far, or 0 or 1."""
    if drop_L <= 0:
        return 0.0
    if drop_L >= drops[-1]:
        return 1.0
    at = int(np.searchsorted(drops, drop_L))
    part = (drop_L - drops[at - 1]) / (drops[at] - drops[at - 1])
    return float(_TRIED[at - 1] + part * (_TRIED[at] - _TRIED[at - 1]))
