"""The best mixes of many sets of inks: for each aim the nearest one, and the darkest.

Only whole tone values are tried, none between 0 and the smallest dot. The colours met on the way
serve the search alone; what is shown is asked of the press condition again. Compiled loops are in
base/kernels/palette.py, the NumPy twin is here.
"""

from dataclasses import dataclass
from itertools import permutations, product

import numpy as np

from inkmix.base import loops
from inkmix.base.arrays import BoolArray, FloatArray, IntArray, read_only
from inkmix.colour.colorimetry import WHITE_XYZ100, delta_e00, xyz100_to_lab
from inkmix.press.channels import BANDS
from inkmix.press.forward import Spreading
from inkmix.press.halftone import mix, others_share, to_power

INK_WEIGHT = 1e-4
"""dE00 or L* that a point of ink is worth: decides between equals only."""

_MOVED_AT_ONCE = 3  # plates, in a polishing move
_EVEN = 1e-9  # scores that differ by less are equal


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walk:
    """Moves (M, I) of -1, 0 and 1, and their sizes (K,), falling."""

    moves: IntArray
    steps: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """How a search goes.

    Parameters
    ----------
    lattice : (N, I) array of int
        Tone values to begin with, within the ink limit.
    starts : int
        Nodes from which each aim walks downhill.
    walk, polish : Walk
        From each of these nodes, and from the best place found.
    """

    lattice: IntArray
    starts: int
    walk: Walk
    polish: Walk


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aims:
    """What is looked for, beside the darkest mix.

    Parameters
    ----------
    goals : (G, 3) array
        Lab, absolute, D50.
    limit_pct : float
        Most total ink; infinity for no limit.
    least_pct : int
        Smallest tone value above 0.
    """

    goals: FloatArray
    limit_pct: float
    least_pct: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """Best tone values (S, G + 1, I) and their colours (S, G + 1, 3); the last aim is darkness."""

    tone_pct: IntArray
    lab: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sets:
    """Sets of inks and what the model says of them.

    Parameters
    ----------
    members : (S, I) array of int
        Inks of each set in lay-down order, as rows of `covers`.
    spots : (S, I) array of bool
    because : (S, I, I, C) array
        [s, i, j]: how much further ink i spreads because of ink j, where no spot ink is.
    primaries : (S, 2**I, C) array
        Relative reflectance ** (1/n).
    covers : (A, 101, C) array
        Coverage by whole tone values.
    presence : (A,) array
    to_ratio : (C, 3) array
        From relative reflectance to X, Y, Z over those of white.
    n : float
        Yule-Nielsen factor.
    spreading : float
        Strength of it on all other inks alike.
    """

    members: IntArray
    spots: BoolArray
    because: FloatArray
    primaries: FloatArray
    covers: FloatArray
    presence: FloatArray
    to_ratio: FloatArray
    n: float
    spreading: float


def further_of(because: FloatArray | None, inks: int) -> FloatArray:
    """How inks spread because of others, (I, I, C), also where nothing is known of it."""
    return np.zeros((inks, inks, BANDS)) if because is None else because


def aims_of(goals: FloatArray, *, limit_pct: float | None, least_pct: int) -> Aims:
    """Aims for colours (G, 3)."""
    return Aims(
        goals=read_only(goals),
        limit_pct=np.inf if limit_pct is None else float(limit_pct),
        least_pct=least_pct,
    )


def way_of(
    inks: int,
    aims: Aims,
    *,
    nodes: int,
    starts: int,
    steps: tuple[int, ...],
    polish: tuple[int, ...] = (),
) -> Way:
    """A search from an even lattice; fewer starts where the ink limit leaves few nodes."""
    values = np.unique(np.linspace(0, 100, nodes).round().astype(np.int64))
    values = values[(values == 0) | (values >= aims.least_pct)]
    lattice = np.array(list(product(values, repeat=inks)), np.int64)
    lattice = lattice[lattice.sum(axis=1) <= aims.limit_pct]
    return Way(
        lattice=lattice,
        starts=min(starts, len(lattice)),
        walk=Walk(moves=_moves(inks), steps=np.array(steps, np.int64)),
        polish=Walk(moves=_all_moves(inks), steps=np.array(polish, np.int64)),
    )


def _moves(inks: int) -> IntArray:
    """Each plate up or down, and each plate up while another goes down."""
    unit = np.eye(inks, dtype=np.int64)
    single = [sign * unit[ink] for ink in range(inks) for sign in (1, -1)]
    pairs = [unit[one] - unit[other] for one, other in permutations(range(inks), 2)]
    return np.array(single + pairs)


def _all_moves(inks: int) -> IntArray:
    """Every plate up, down or kept, not more than a few at once."""
    moves = np.array(list(product((0, 1, -1), repeat=inks)), np.int64)
    count = np.abs(moves).sum(axis=1)
    return np.asarray(moves[(count > 0) & (count <= _MOVED_AT_ONCE)])


def best_mixes(sets: Sets, aims: Aims, way: Way) -> Found:
    """The best mixes of every set, for every aim and for darkness."""
    shape = len(sets.members), len(aims.goals) + 1
    tones, labs = np.zeros((*shape, sets.members.shape[1]), np.int64), np.empty((*shape, 3))
    if loops.are_compiled():
        from inkmix.base.kernels import palette as kernel

        kernel.best_mixes(
            (sets.members, sets.primaries, sets.because, sets.spots),
            (sets.covers, sets.presence, sets.to_ratio, sets.n, sets.spreading),
            (aims.goals, aims.limit_pct, aims.least_pct, INK_WEIGHT),
            (
                way.lattice,
                way.starts,
                (way.walk.moves, way.walk.steps),
                (way.polish.moves, way.polish.steps),
            ),
            tones,
            labs,
        )
    else:
        for row in range(len(sets.members)):
            one = _OneSet(sets, row)
            tones[row] = _search(one, aims, way)
            labs[row] = one.lab(tones[row])
    return Found(tone_pct=tones, lab=labs)


class _OneSet:
    """Colours of one set of inks, by the functions of the press model."""

    def __init__(self, sets: Sets, row: int) -> None:
        self._covers = sets.covers[sets.members[row]]
        self._spreading = Spreading(
            strength=sets.spreading,
            presence=sets.presence[sets.members[row]],
            because=sets.because[row],
            spots=sets.spots[row],
        )
        self._primaries, self._to_ratio, self._n = sets.primaries[row], sets.to_ratio, sets.n

    def lab(self, tone_pct: IntArray) -> FloatArray:
        """Lab (N, 3) of whole tone values (N, I)."""
        coverage = self._covers[np.arange(len(self._covers))[:, None], tone_pct.T]
        others = others_share(coverage, self._spreading.presence)
        root = mix(self._spreading.grown(coverage, others), self._primaries)
        ratio = to_power(root, self._n) @ self._to_ratio
        return xyz100_to_lab(np.asarray(ratio * WHITE_XYZ100))


def _search(inks: _OneSet, aims: Aims, way: Way) -> IntArray:
    """The best tone values (G + 1, I) of one set."""
    near = _nearness(inks.lab(way.lattice), aims)
    nodes = np.argsort(near, axis=0, kind="stable")[: way.starts].T
    goals = np.repeat(aims.goals, way.starts, axis=0)
    ends, scores = _descend(inks, aims, goals, way.walk, way.lattice[nodes.ravel()])
    scores, ends = scores.reshape(nodes.shape), ends.reshape(*nodes.shape, -1)
    choice = np.zeros(len(nodes), np.int64)
    for start in range(1, way.starts):
        now = np.take_along_axis(scores, choice[:, None], axis=1)[:, 0]
        choice[scores[:, start] < now - _EVEN] = start
    best = ends[np.arange(len(nodes)), choice]
    return _descend(inks, aims, aims.goals, way.polish, best)[0]


def _nearness(lab: FloatArray, aims: Aims) -> FloatArray:
    """How near (N, G + 1) colours are to each aim."""
    return np.column_stack([delta_e00(lab[:, None], aims.goals), lab[:, 0]])


def _descend(
    inks: _OneSet, aims: Aims, goals: FloatArray, walk: Walk, here: IntArray
) -> tuple[IntArray, FloatArray]:
    """Where walks from tone values (N, I) end, all a step at a time, and their scores (N,).

    `goals` (M, 3) are those of the first walks; the others look for darkness.
    """
    here, score = here.copy(), _scores(inks, goals, here)
    for step in walk.steps:
        better = True
        while better:
            better = False
            for move in walk.moves:
                trial, allowed = _moved(here, move, int(step), aims)
                value = np.where(allowed, _scores(inks, goals, trial), np.inf)
                gains = value < score - _EVEN
                better |= bool(gains.any())
                here[gains], score[gains] = trial[gains], value[gains]
    return here, score


def _moved(here: IntArray, move: IntArray, step: int, aims: Aims) -> tuple[IntArray, BoolArray]:
    """Tone values (N, I) after a move, and where (N,) they may be."""
    trial = np.clip(here + step * move, 0, 100)
    too_small = (trial > 0) & (trial < aims.least_pct)
    trial = np.where(too_small, np.where(move < 0, 0, aims.least_pct), trial)
    return trial, (trial != here).any(axis=1) & (trial.sum(axis=1) <= aims.limit_pct)


def _scores(inks: _OneSet, goals: FloatArray, tone_pct: IntArray) -> FloatArray:
    """Scores of tone values (N, I): of the first by their goals (M, 3), of others by darkness."""
    lab, ink = inks.lab(tone_pct), INK_WEIGHT * tone_pct.sum(axis=1)
    near = delta_e00(lab[: len(goals)], goals)
    return np.asarray(np.concatenate([near, lab[len(goals) :, 0]]) + ink)
