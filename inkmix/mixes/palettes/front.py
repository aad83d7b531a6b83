"""Best compromises: what no other palette beats in everything, few enough to be looked at."""

from collections.abc import Sequence

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.mixes.palettes.measures import MEASURES
from inkmix.mixes.palettes.values import Measured

MOST_IN_FRONT = 12
"""Small sheets that fit beside each other on a page and can be told apart."""

APART_POINTS = 0.5
"""Palettes of the front differ by half a point or more in some measure."""

TIE_POINTS = 0.1
"""Totals that differ by less are as good: 0.2 dE00 in all tones, less than any prediction is sure
of."""


def front_of(ranked: Sequence[Measured], *, most: int = MOST_IN_FRONT) -> tuple[Measured, ...]:
    """The front of palettes that are sorted by their totals, thinned.

    First the best total, then the best in each measure that counts, then by total what differs from
    all of these. A measure without weight is left out.
    """
    if not ranked:
        return ()
    costs = _costs(ranked)
    best = np.flatnonzero(_is_undominated(costs))
    order = [int(best[0]), *(int(best[costs[best, at].argmin()]) for at in range(costs.shape[1]))]
    kept: list[int] = []
    for at in [*order, *(int(row) for row in best)]:
        if len(kept) < most and _is_apart(costs, kept, at):
            kept.append(at)
    return tuple(ranked[at] for at in sorted(kept))


def near_ties(ranked: Sequence[Measured]) -> tuple[Measured, ...]:
    """Palettes as good as the first one, it included."""
    return tuple(m for m in ranked if m.total_points - ranked[0].total_points < TIE_POINTS)


def _costs(ranked: Sequence[Measured]) -> FloatArray:
    """Points (P, M) of the measures that count."""
    names = [name for name in MEASURES if any(m.points.get(name, 0) != 0 for m in ranked)]
    return np.array([[m.points[name] for name in names] for m in ranked]).reshape(len(ranked), -1)


def _is_undominated(costs: FloatArray) -> FloatArray:
    """Where (P,) no other palette is as good in everything and better in something."""
    undominated = [
        not ((costs <= own).all(axis=1) & (costs < own).any(axis=1)).any() for own in costs
    ]
    return np.array(undominated)


def _is_apart(costs: FloatArray, kept: list[int], at: int) -> bool:
    apart = np.abs(costs[kept] - costs[at]).max(axis=1, initial=0.0) >= APART_POINTS
    return bool(apart.all())
