"""Mixes brought to allowed tone values: which steps beside a mix are nearest to its colour.

The slopes rank all combinations of neighbouring steps, the exact model judges the best of them; in
the end no single step, and no two steps of two inks, come nearer.
"""

from itertools import permutations, product

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.mixes.constraints import Constraints
from inkmix.mixes.relax import Rows

_JUDGED = 5  # combinations that the exact model judges
_COMBINED = 2**18  # combinations ranked at once
_ALL = 5  # up to so many inks may all take a step at once
_SOME = 3  # of more
_TRIED = 2**16  # moves tried at once


def settled(constraints: Constraints, rows: Rows) -> tuple[IntArray, FloatArray]:
    """Places in the ladder (R, I) and what is left (R,) for mixes of any tone values."""
    places = np.zeros(rows.tone_pct.shape, dtype=np.int64)
    left = np.full(len(places), np.inf)
    sets, which = np.unique(rows.held, axis=0, return_inverse=True)
    for k, held in enumerate(sets):
        members = np.flatnonzero(which.reshape(-1) == k)
        offsets = _offsets(held)
        for begin in range(0, len(members), max(1, _COMBINED // len(offsets))):
            part = members[begin : begin + max(1, _COMBINED // len(offsets))]
            places[part], left[part] = _best_beside(constraints, rows, part, offsets)
    return places, left


def _offsets(held: BoolArray) -> IntArray:
    """Combinations (K, I) of a step up, a step down and none, from the steps nearest to a mix."""
    size = int(held.sum())
    offsets = np.zeros((3**size, len(held)), dtype=np.int64)
    offsets[:, held] = np.array(list(product((0, 1, -1), repeat=size))).reshape(3**size, size)
    moved = np.count_nonzero(offsets, axis=1)
    return offsets.compress(moved <= (size if size <= _ALL else _SOME), axis=0)


def _best_beside(
    constraints: Constraints, rows: Rows, part: IntArray, offsets: IntArray
) -> tuple[IntArray, FloatArray]:
    """The best of the combinations beside each row of a part whose inks are the same."""
    held, tones = rows.held[part], rows.tone_pct[part]
    ladder = constraints.ladder
    between = (ladder[:-1] + ladder[1:]) / 2
    nearest = np.maximum(np.searchsorted(between, tones), constraints.lowest_place)
    trials = np.where(held, nearest, 0)[:, None] + offsets
    allowed = constraints.holds(trials, held[:, None])
    values = ladder[np.clip(trials, 0, len(ladder) - 1)]
    away, weights = rows.goal.downhill(rows.lab[part], rows.wish[part])
    slopes = weights @ rows.slopes[part]
    foreseen = away[:, None] + (values - tones[:, None]) @ slopes.transpose(0, 2, 1)
    rank = np.where(allowed, (foreseen**2).sum(axis=-1), np.inf)
    judged = min(_JUDGED, len(offsets))
    best = np.argpartition(rank, judged - 1, axis=1)[:, :judged]
    chosen = np.take_along_axis(trials, best[:, :, None], axis=1)
    fits = np.take_along_axis(allowed, best, axis=1)
    left = np.full(fits.shape, np.inf)
    row = part[np.nonzero(fits)[0]]
    left[fits] = _left(constraints, rows, chosen[fits], row)
    first = np.lexsort((*np.moveaxis(chosen, -1, 0)[::-1], left), axis=1)[:, 0]
    at = np.arange(len(part))
    return chosen[at, first], left[at, first]


def descended(
    constraints: Constraints,
    rows: Rows,
    places: IntArray,
    *,
    moves: IntArray,
    sizes: tuple[int, ...],
) -> tuple[IntArray, FloatArray]:
    """Places (R, I) after moves downhill until none comes nearer, and what is left (R,).

    Parameters
    ----------
    moves : (M, I) array of int
        As `exchanges` or `small_moves` gives them.
    sizes : tuple of int
        Steps of a move, each tried in turn until it leads nowhere.
    """
    places = places.copy()
    left = _left(constraints, rows, places, np.arange(len(places)))
    at_once = max(1, _TRIED // len(moves))
    for size in sizes:
        for begin in range(0, len(places), at_once):
            live = np.arange(begin, min(begin + at_once, len(places)))
            while len(live):
                live = _moved(constraints, rows, places, left, moves=size * moves, live=live)
    return places, left


def exchanges(constraints: Constraints) -> IntArray:
    """Moves (M, I): each ink up or down, and each up while another goes down."""
    unit = np.eye(constraints.inks, dtype=np.int64)
    moves = [sign * unit[k] for k in constraints.columns for sign in (1, -1)]
    moves += [unit[a] - unit[b] for a, b in permutations(constraints.columns, 2)]
    return np.array(moves).reshape(-1, constraints.inks)


def small_moves(constraints: Constraints) -> IntArray:
    """Moves (M, I): up to three inks at once, each up or down."""
    moves = np.array(list(product((0, 1, -1), repeat=constraints.inks)), np.int64)
    count = np.count_nonzero(moves, axis=1)
    return np.asarray(moves[(count > 0) & (count <= _SOME)])


def _left(constraints: Constraints, rows: Rows, places: IntArray, of: IntArray) -> FloatArray:
    """What places (N, I) leave, that belong to rows (N,)."""
    tone_pct = constraints.ladder[places]
    left = rows.goal.left(rows.model.lab(tone_pct, rows.of_set[of]), rows.wish[of])
    return np.asarray(left + rows.goal.ink_worth * tone_pct.sum(axis=1), dtype=np.float64)


def _moved(
    constraints: Constraints,
    rows: Rows,
    places: IntArray,
    left: FloatArray,
    *,
    moves: IntArray,
    live: IntArray,
) -> IntArray:
    """The rows of `live` that found a better place, which is put into `places` and `left`."""
    trials = places[live][:, None] + moves
    allowed = constraints.holds(trials, rows.held[live][:, None])
    now = np.full(allowed.shape, np.inf)
    now[allowed] = _left(constraints, rows, trials[allowed], live[np.nonzero(allowed)[0]])
    choice = now.argmin(axis=1)
    at = np.arange(len(live))
    better = now[at, choice] < left[live] - 1e-9
    places[live[better]] = trials[at, choice][better]
    left[live[better]] = now[at, choice][better]
    return np.asarray(live[better], dtype=np.int64)
