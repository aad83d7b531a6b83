"""Smooth curves through points that overshoot nowhere.

Piecewise cubic: between two points the curve stays between them, and it turns only at points. What
the numbers mean is not known here.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MonotoneCurve:
    """Cubics between points; made by `monotone_curve`.

    Parameters
    ----------
    x : (S,) array
        Places of the points, rising.
    powers : (4, S - 1, ...) array
        What each power, 0 to 3, of the distance to the point below adds.
    """

    x: FloatArray
    powers: FloatArray

    def __call__(self, x: FloatArray) -> FloatArray:
        """Values (*N, ...) at places (*N) between the first point and the last."""
        cell = np.clip(np.searchsorted(self.x, x, side="right") - 1, 0, len(self.x) - 2)
        beyond = np.reshape(x - self.x[cell], (*np.shape(x), *(1,) * (self.powers.ndim - 2)))
        power, result = beyond.copy(), self.powers[0].take(cell, axis=0)
        for factor in self.powers[1:]:
            result += factor.take(cell, axis=0) * power
            power *= beyond
        return np.asarray(result)


def monotone_curve(x: FloatArray, y: FloatArray) -> MonotoneCurve:
    """Curve through values (S, ...) at rising places (S,), two or more.

    References
    ----------
    Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17, 238-246; slopes after Fritsch & Butland 1984,
    SIAM J. Sci. Stat. Comput. 5, 300-304, at the ends after Moler, Numerical Computing with MATLAB,
    2004, section 3.6.
    """
    step = np.diff(x).reshape(-1, *(1,) * (y.ndim - 1))
    steepness = np.diff(y, axis=0) / step
    slope = _slopes(step, steepness)
    bend = (slope[:-1] + slope[1:] - 2 * steepness) / step
    powers = y[:-1], slope[:-1], (steepness - slope[:-1]) / step - bend, bend / step
    return MonotoneCurve(x=x, powers=np.stack(powers))


def _slopes(step: FloatArray, steepness: FloatArray) -> FloatArray:
    """Slope at each point (S, ...): none at a turn, else a harmonic mean of what is beside it."""
    if len(steepness) == 1:
        return np.concatenate([steepness, steepness])
    before, after = steepness[:-1], steepness[1:]
    turns = (np.sign(before) != np.sign(after)) | (before == 0)
    nearer, farther = 2 * step[1:] + step[:-1], step[1:] + 2 * step[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):  # at turns, where it does not count
        mean = (nearer / before + farther / after) / (nearer + farther)
        inside = np.where(turns, 0.0, 1 / mean)
    first = _end_slope(step[0], step[1], steepness[0], steepness[1])
    last = _end_slope(step[-1], step[-2], steepness[-1], steepness[-2])
    return np.concatenate([first[None], inside, last[None]])


def _end_slope(
    step: FloatArray, next_step: FloatArray, steepness: FloatArray, next_steepness: FloatArray
) -> FloatArray:
    """Slope (...) at an end, of the parabola through three points unless it overshoots."""
    slope = ((2 * step + next_step) * steepness - step * next_steepness) / (step + next_step)
    turns = np.sign(steepness) != np.sign(next_steepness)
    steep = turns & (np.abs(slope) > 3 * np.abs(steepness))
    slope = np.where(steep, 3 * steepness, slope)
    return np.where(np.sign(slope) != np.sign(steepness), 0.0, slope)
