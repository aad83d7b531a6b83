"""Which of several sets of inks is put first: near counts, then few inks, then little ink."""

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray

EQUAL_DE00 = 0.3
"""Mixes are equally near within so much: one percent more of one ink changes a colour by 0.28 in
the median (mixes of the demo's inks), and no press holds a tone to one percent."""

EQUAL_L = 0.3
"""Mixes are equally dark within so much, for the same reason."""


def in_order_of_choice(
    score: FloatArray, held: BoolArray, total_pct: FloatArray, *, equal: float, keep: float
) -> list[int]:
    """Rows of differing sets of inks, best first.

    The first is the one of fewest inks among those whose score is within `equal` of the least; then
    the same of the rest. A set is left out where some or all of its inks score as well.

    Parameters
    ----------
    score : (R,) array
        Of the best mix of each set; the least is best.
    held : (R, I) array of bool
    total_pct : (R,) array
    keep : float
        A score up to this one counts as good enough: no mix beyond it is preferred to one within.
    """
    rest = [int(row) for row in np.argsort(score, kind="stable") if np.isfinite(score[row])]
    inks = held.sum(axis=1)
    chosen: list[int] = []
    while rest:
        least = score[rest[0]]
        most = least + equal
        if least <= keep:
            most = min(most, max(keep, least))
        near = [row for row in rest if score[row] <= most + 1e-12]
        first = min(near, key=lambda row: (inks[row], round(float(score[row]), 3), total_pct[row]))
        rest.remove(first)
        if not any(_says_no_more(score, held, first, before, equal) for before in chosen):
            chosen.append(first)
    return chosen


def _says_no_more(score: FloatArray, held: BoolArray, row: int, before: int, equal: float) -> bool:
    """Whether a row holds all inks of one before, and comes no nearer than that."""
    return bool((held[row] | ~held[before]).all()) and score[row] > score[before] - equal
