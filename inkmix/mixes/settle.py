"""Mixes brought to allowed tone values: which steps beside a mix are nearest to its colour.

The slopes rank all combinations of neighbouring steps, the exact model judges the best of them; in
the end no single step, and no two steps of two inks, come nearer.
"""

from collections.abc import Callable
from itertools import permutations, product

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.nearness import away_and_weights
from inkmix.mixes.relax import Rows
from inkmix.mixes.room import Room
from inkmix.press.condition import PressCondition

Score = Callable[[FloatArray, IntArray], FloatArray]
"""What is to be least (N,), of tone values (N, I) that belong to the rows (N,)."""

_JUDGED = 5  # combinations that the exact model judges
_COMBINED = 2**18  # combinations ranked at once
_ALL = 5  # up to so many inks may all take a step at once
_SOME = 3  # of more


def settled(condition: PressCondition, room: Room, rows: Rows) -> tuple[IntArray, FloatArray]:
    """Places in the ladder (R, I) and the dE00 left (R,) for mixes of any tone values."""
    places = np.zeros(rows.tone_pct.shape, dtype=np.int64)
    left = np.full(len(places), np.inf)
    sets, which = np.unique(rows.held, axis=0, return_inverse=True)
    for k, held in enumerate(sets):
        members = np.flatnonzero(which.reshape(-1) == k)
        offsets = _offsets(held)
        for begin in range(0, len(members), max(1, _COMBINED // len(offsets))):
            part = members[begin : begin + max(1, _COMBINED // len(offsets))]
            places[part], left[part] = _best_beside(condition, room, rows, part, offsets)
    return places, left


def _offsets(held: BoolArray) -> IntArray:
    """Combinations (K, I) of a step up, a step down and none, from the steps nearest to a mix."""
    size = int(held.sum())
    offsets = np.zeros((3**size, len(held)), dtype=np.int64)
    offsets[:, held] = np.array(list(product((0, 1, -1), repeat=size))).reshape(3**size, size)
    moved = np.count_nonzero(offsets, axis=1)
    return offsets.compress(moved <= (size if size <= _ALL else _SOME), axis=0)


def _best_beside(
    condition: PressCondition, room: Room, rows: Rows, part: IntArray, offsets: IntArray
) -> tuple[IntArray, FloatArray]:
    """The best of the combinations beside each row of a part whose inks are the same."""
    held, tones = rows.held[part], rows.tone_pct[part]
    between = (room.ladder[:-1] + room.ladder[1:]) / 2
    nearest = np.searchsorted(between, tones)
    trials = np.where(held, np.maximum(nearest, 1), 0)[:, None] + offsets
    allowed = room.holds(trials) & ((trials > 0) == held[:, None]).all(axis=-1)
    values = room.ladder[np.clip(trials, 0, len(room.ladder) - 1)]
    away, weights = away_and_weights(rows.lab[part], rows.target[part])
    slopes = weights @ rows.slopes[part]
    foreseen = away[:, None] + (values - tones[:, None]) @ slopes.transpose(0, 2, 1)
    rank = np.where(allowed, (foreseen**2).sum(axis=-1), np.inf)
    judged = min(_JUDGED, len(offsets))
    best = np.argpartition(rank, judged - 1, axis=1)[:, :judged]
    chosen = np.take_along_axis(trials, best[:, :, None], axis=1)
    fits = np.take_along_axis(allowed, best, axis=1)
    left = np.full(fits.shape, np.inf)
    row = np.nonzero(fits)[0]
    left[fits] = delta_e00(condition.lab(room.ladder[chosen[fits]]), rows.target[part][row])
    first = np.lexsort((*np.moveaxis(chosen, -1, 0)[::-1], left), axis=1)[:, 0]
    at = np.arange(len(part))
    return chosen[at, first], left[at, first]


def descended(
    score: Score, room: Room, places: IntArray, *, held: BoolArray, sizes: tuple[int, ...]
) -> tuple[IntArray, FloatArray]:
    """Places (R, I) after moves downhill until none lowers the score, and their scores (R,).

    Moves are single inks up and down and one ink against another, by each of `sizes` in turn.
    """
    places = places.copy()
    now = score(room.ladder[places], np.arange(len(places)))
    unit = _moves(places.shape[1], room.columns)
    for size in sizes:
        live = np.arange(len(places))
        while len(live):
            live = _moved(score, room, places, now, held=held, moves=size * unit, live=live)
    return places, now


def _moved(
    score: Score,
    room: Room,
    places: IntArray,
    now: FloatArray,
    *,
    held: BoolArray,
    moves: IntArray,
    live: IntArray,
) -> IntArray:
    """The rows of `live` that found a better place, which is put into `places` and `now`."""
    trials = places[live][:, None] + moves
    allowed = room.holds(trials) & ((trials > 0) == held[live][:, None]).all(axis=-1)
    scores = np.full(allowed.shape, np.inf)
    row = live[np.nonzero(allowed)[0]]
    scores[allowed] = score(room.ladder[trials[allowed]], row)
    choice = scores.argmin(axis=1)
    at = np.arange(len(live))
    better = scores[at, choice] < now[live] - 1e-9
    places[live[better]] = trials[at, choice][better]
    now[live[better]] = scores[at, choice][better]
    return np.asarray(live[better], dtype=np.int64)


def _moves(inks: int, columns: tuple[int, ...]) -> IntArray:
    """Each ink up or down, and each up while another goes down."""
    unit = np.eye(inks, dtype=np.int64)
    moves = [sign * unit[k] for k in columns for sign in (1, -1)]
    moves += [unit[a] - unit[b] for a, b in permutations(columns, 2)]
    return np.array(moves).reshape(-1, inks)
