"""The best mix of every set of inks for every wish: many in a batch, one of one as the least.

A lattice says where to begin, steps downhill lead on in any tone values (relax.py), and the allowed
ones beside their end are tried (settle.py). Whoever looks for the best mix of any set, and not of
each, puts the same parts together for that (nearest.py, darkest.py).
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.mixes.constraints import Constraints
from inkmix.mixes.goals import Darkness, Nearness
from inkmix.mixes.lattice import Lattice, Model
from inkmix.mixes.relax import Rows, begun, relaxed
from inkmix.mixes.settle import descended, exchanges, settled, small_moves

_STARTS = 8  # nodes of a set; many inks mix a colour in many ways
_TRIED = 3  # of these, brought to the end
_NEAR_NODES, _FEW_ROUNDS = 4, 2  # where about how near is enough
_DARK_SIZES = (16, 8, 4, 2, 1)  # of moves, in steps
_SIZES = (32, 16, 8, 4)  # the first of a colour: far ones have more than one valley
_LAST_SIZES = (2, 1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Best:
    """The best mixes found.

    Parameters
    ----------
    tone_pct : (T, S, I) array
        Of each wish by each set.
    left : (T, S) array
    """

    tone_pct: FloatArray
    left: FloatArray


def nearest_of_each(
    model: Model, constraints: Constraints, goal: Nearness, lattice: Lattice, apart: FloatArray
) -> Best:
    """The nearest allowed mix of each set to each target; `apart` (T, M) tells nodes from targets.

    No single step, and no steps of up to three inks together, come nearer.
    """
    rows = relaxed(model, constraints, goal, lattice.starts_of_each(apart, _STARTS))
    places, left = settled(constraints, rows)
    some = _first_of_rivals(rows.rivals, left, _TRIED)
    rows = rows.part(some)
    places, _ = descended(
        constraints, rows, places[some], moves=exchanges(constraints), sizes=_SIZES
    )
    places, left = descended(
        constraints, rows, places, moves=small_moves(constraints), sizes=_LAST_SIZES
    )
    return _best(constraints, rows, places, left, lattice)


def near_of_each(
    model: Model,
    constraints: Constraints,
    goal: Nearness,
    lattice: Lattice,
) -> FloatArray:
    """About how near (T, S) each set comes: by one short search each, in any step."""
    starts = lattice.starts_of_each(lattice.apart_where_near(goal.targets, _NEAR_NODES), 1)
    left = relaxed(model, constraints, goal, starts, rounds=_FEW_ROUNDS).left
    return left.reshape(len(goal.targets), len(lattice.sets))


def darkest_of_each(
    model: Model, constraints: Constraints, goal: Darkness, lattice: Lattice
) -> Best:
    """The darkest allowed mix of each set, as the one wish."""
    score = goal.of_lab(lattice.lab)
    rows = begun(model, goal, lattice.starts_of_each(score[None], _STARTS))
    places, left = darkened(constraints, rows)
    return _best(constraints, rows, places, left, lattice)


def darkened(constraints: Constraints, rows: Rows) -> tuple[IntArray, FloatArray]:
    """Places in the ladder (R, I) after moves downhill from rows, and what is left (R,)."""
    places = np.searchsorted(constraints.ladder, rows.tone_pct + 1e-6, side="right") - 1
    sizes = tuple(size for size in _DARK_SIZES if size <= max(1, len(constraints.ladder) // 6))
    return descended(constraints, rows, places, moves=exchanges(constraints), sizes=sizes)


def _first_of_rivals(rivals: IntArray, left: FloatArray, most: int) -> IntArray:
    """Rows in their order: the `most` of each number of rivals (R,) that leave least (R,)."""
    order = np.lexsort((left, rivals))
    first = np.flatnonzero(np.diff(rivals[order], prepend=-1))
    rank = np.arange(len(order)) - np.repeat(first, np.diff(first, append=len(order)))
    return np.sort(order[rank < most])


def _best(
    constraints: Constraints, rows: Rows, places: IntArray, left: FloatArray, lattice: Lattice
) -> Best:
    """The best row of each wish and set."""
    best = _first_of_rivals(rows.rivals, left, 1)
    shape = -1, len(lattice.sets)
    return Best(
        tone_pct=constraints.ladder[places[best]].reshape(*shape, constraints.inks),
        left=left[best].reshape(shape),
    )
