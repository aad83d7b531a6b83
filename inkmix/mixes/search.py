"""One nearest or darkest mix under the ink limit, for the remedies that checks put forward.

The exact model is asked, never the table. One search serves all: a coarse lattice over the whole
space, then steps of halving size from the best nodes, single plates up and down and one plate
against another, so that it can walk along the ink limit; the last steps try all plates at once.
No randomness: same inks, same mix.
"""

import math
from collections.abc import Callable, Sequence
from itertools import permutations, product

import numpy as np
import numpy.typing as npt

from inkmix.arrays import FloatArray
from inkmix.colorimetry import delta_e00
from inkmix.errors import Fault, UsageError
from inkmix.mixes.values import Mix, mix_of
from inkmix.press.condition import PressCondition

LATTICE_NODES = {1: 21, 2: 21, 3: 11, 4: 7, 5: 5, 6: 4, 7: 3, 8: 3}
"""Nodes along each plate: 20 to 6600 mixes, enough to meet every valley of the difference."""

STARTS = 24
POLISHED = 3
_FIRST_STEP_PCT = 16
_INK_WEIGHT = 1e-4  # dE00 a point of ink is worth: decides between equals only

Score = Callable[[FloatArray], FloatArray]


def nearest_mix(
    condition: PressCondition,
    lab: npt.ArrayLike,
    *,
    ink_limit_pct: float | None,
    inks: Sequence[str] | None = None,
    step_pct: int = 1,
) -> Mix:
    """The mix whose predicted colour is nearest by dE00.

    Parameters
    ----------
    lab : (3,) array_like
        Looked for, D50, absolute.
    ink_limit_pct : float or None
        Greatest total ink; None for no limit.
    inks : sequence of str or None
        Names that may be used; None for all.
    step_pct : int
        Tone values are multiples of it.

    Raises
    ------
    UsageError
        If an ink is not of this condition.
    """
    target = np.asarray(lab, dtype=np.float64)
    columns = _columns(condition, inks)

    def score(tone_pct: FloatArray) -> FloatArray:
        ink = _INK_WEIGHT * tone_pct.sum(axis=-1)
        return np.asarray(delta_e00(condition.lab(tone_pct), target) + ink)

    tone = _search(
        score, inks=len(condition.inks), columns=columns, limit=ink_limit_pct, step_pct=step_pct
    )
    return mix_of(condition, tone, target)


def darkest_mix(
    condition: PressCondition, *, ink_limit_pct: float | None, inks: Sequence[str] | None = None
) -> Mix:
    """The mix of least L*; among equally dark ones the one with least ink."""

    def score(tone_pct: FloatArray) -> FloatArray:
        return condition.lab(tone_pct)[..., 0]

    tone = _search(
        score,
        inks=len(condition.inks),
        columns=_columns(condition, inks),
        limit=ink_limit_pct,
        step_pct=1,
    )
    return mix_of(condition, tone, None)


def _columns(condition: PressCondition, inks: Sequence[str] | None) -> list[int]:
    names = [ink.name for ink in condition.inks]
    unknown = [name for name in inks or () if name not in names]
    if unknown:
        raise UsageError(
            Fault(
                where="mix",
                found=f"no ink named {', '.join(unknown)}",
                expected=f"the inks are {', '.join(names)}",
            )
        )
    return [k for k, name in enumerate(names) if inks is None or name in inks]


def _search(
    score: Score, *, inks: int, columns: list[int], limit: float | None, step_pct: int
) -> FloatArray:
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


def _lattice(inks: int, columns: list[int], step_pct: int) -> FloatArray:
    nodes = np.linspace(0, 100, LATTICE_NODES.get(len(columns), 3))
    nodes = np.unique(np.floor(nodes / step_pct) * step_pct)
    grid = np.stack(np.meshgrid(*[nodes] * len(columns), indexing="ij"), axis=-1)
    lattice = np.zeros((grid.size // len(columns), inks))
    lattice[:, columns] = grid.reshape(-1, len(columns))
    return lattice


def _moves(inks: int, columns: list[int]) -> FloatArray:
    """Standing still, each plate up or down, and each plate up while another goes down."""
    unit = np.eye(inks)
    moves = [np.zeros(inks)]
    moves += [sign * unit[k] for k in columns for sign in (1, -1)]
    moves += [unit[a] - unit[b] for a, b in permutations(columns, 2)]
    return np.array(moves)


def _all_moves(inks: int, columns: list[int]) -> FloatArray:
    """Every plate up, down or kept, in all combinations; standing still comes first."""
    combined = np.array(list(product((0, 1, -1), repeat=len(columns))), dtype=np.float64)
    moves = np.zeros((len(combined), inks))
    moves[:, columns] = combined
    return moves


def _descend(score: Score, tones: FloatArray, moves: FloatArray, *, limit: float) -> FloatArray:
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


def _first(score: Score, tones: FloatArray) -> FloatArray:
    """The best row; among equals that with least ink, then the first."""
    order = np.lexsort((*tones.T[::-1], tones.sum(axis=1), score(tones).round(9)))
    best: FloatArray = tones[order[0]]
    return best
