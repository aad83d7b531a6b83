"""The nearest mix by a search of another kind, as a referee: a dense lattice, then all moves down.

It asks the exact model thousands of times for one colour and knows nothing of smallest dots.
"""

import math
from itertools import permutations, product

import numpy as np

from inkmix.colour.colorimetry import delta_e00

LATTICE_NODES = {1: 21, 2: 21, 3: 11, 4: 7, 5: 5, 6: 4, 7: 3, 8: 3}
"""Nodes along each plate: 20 to 6600 mixes, enough to meet every valley of the difference."""

STARTS = 24
POLISHED = 3
_FIRST_STEP_PCT = 16
_INK_WEIGHT = 1e-4  # dE00 a point of ink is worth: decides between equals only


def nearest_by_descent(condition, lab, *, ink_limit_pct, step_pct=1):
    """Tone values (I,) whose predicted colour is nearest by dE00, and the difference."""
    target = np.asarray(lab, dtype=np.float64)

    def score(tone_pct):
        return delta_e00(condition.lab(tone_pct), target) + _INK_WEIGHT * tone_pct.sum(axis=-1)

    inks = len(condition.inks)
    columns = list(range(inks))
    tone = _search(score, inks=inks, columns=columns, limit=ink_limit_pct, step_pct=step_pct)
    return tone, float(delta_e00(condition.lab(tone), target))


def _search(score, *, inks, columns, limit, step_pct):
    """Tone vector (I,) of the least score, only `columns` above 0, total ink at most `limit`."""
    limit = math.inf if limit is None else limit
    lattice = _lattice(inks, columns, step_pct)
    lattice = lattice[lattice.sum(axis=1) <= limit]
    best = lattice[np.argsort(score(lattice), kind="stable")[:STARTS]]
    step = step_pct * max(1, _FIRST_STEP_PCT // step_pct)
    while step >= step_pct:
        best = _descend(score, best, step * _moves(inks, columns), limit=limit)
        step = step // 2 // step_pct * step_pct
    best = best[np.argsort(score(best), kind="stable")[:POLISHED]]
    return _first(score, _descend(score, best, step_pct * _all_moves(inks, columns), limit=limit))


def _lattice(inks, columns, step_pct):
    nodes = np.linspace(0, 100, LATTICE_NODES.get(len(columns), 3))
    nodes = np.unique(np.floor(nodes / step_pct) * step_pct)
    grid = np.stack(np.meshgrid(*[nodes] * len(columns), indexing="ij"), axis=-1)
    lattice = np.zeros((grid.size // len(columns), inks))
    lattice[:, columns] = grid.reshape(-1, len(columns))
    return lattice


def _moves(inks, columns):
    """Standing still, each plate up or down, and each plate up while another goes down."""
    unit = np.eye(inks)
    moves = [np.zeros(inks)]
    moves += [sign * unit[k] for k in columns for sign in (1, -1)]
    moves += [unit[a] - unit[b] for a, b in permutations(columns, 2)]
    return np.array(moves)


def _all_moves(inks, columns):
    """Every plate up, down or kept, in all combinations; standing still comes first."""
    combined = np.array(list(product((0, 1, -1), repeat=len(columns))), dtype=np.float64)
    moves = np.zeros((len(combined), inks))
    moves[:, columns] = combined
    return moves


def _descend(score, tones, moves, *, limit):
    """Each tone vector (S, I) after moving downhill until no move lowers its score."""
    while True:
        trials = tones[:, None, :] + moves
        allowed = ((trials >= 0) & (trials <= 100)).all(axis=-1) & (trials.sum(axis=-1) <= limit)
        scores = np.full(allowed.shape, math.inf)
        scores[allowed] = score(trials[allowed])
        choice = scores.argmin(axis=1)
        if not choice.any():  # move 0 is standing still, and wins ties
            return tones
        tones = np.unique(trials[np.arange(len(tones)), choice], axis=0)


def _first(score, tones):
    """The best row; among equals that with least ink, then the first."""
    order = np.lexsort((*tones.T[::-1], tones.sum(axis=1), score(tones).round(9)))
    return tones[order[0]]
