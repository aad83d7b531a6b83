"""Least squares by damped steps: no model of the press is known here, numbers only.

References
----------
Levenberg 1944, Quart. Appl. Math. 2, 164-168; Marquardt 1963, J. SIAM 11, 431-441.
"""

from collections.abc import Callable

import numpy as np

from inkmix.base.arrays import FloatArray

Misses = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""What values (V,) miss, (M,), and by how much that changes with each of them, (M, V)."""

# Of the damping: where it starts, what it is divided by after a step that gained, else times what.
_START, _EASED_BY, _RAISED_BY = 1e-3, 8, 4


def least_squares(
    start: FloatArray,
    misses: Misses,
    *,
    steps: int,
    share: float,
    gain: float = 0.0,
    allowed: Callable[[FloatArray], FloatArray] = np.asarray,
) -> FloatArray:
    """Values (V,) that miss least, as far as so many steps lead.

    Parameters
    ----------
    share, gain : float
        A step that gains less than this share of the squares that are left, and this, is the last.
    allowed : callable
        Brings values back to those that may be.
    """
    values, damping = start, _START
    missed, slopes = misses(values)
    for _ in range(steps):
        normal = slopes.T @ slopes
        normal += damping * np.diag(np.diag(normal))
        trial = allowed(values - np.linalg.solve(normal, slopes.T @ missed))
        now, there = misses(trial)
        gained = missed @ missed - now @ now
        if gained > 0:
            values, missed, slopes, damping = trial, now, there, damping / _EASED_BY
            if gained < share * (now @ now) + gain:
                break
        else:
            damping *= _RAISED_BY
    return values
