"""Mixes spread over the whole constraints with their colours: where every search begins.

Asked for once a condition; thousands of colours then look up where to begin. Nodes lie in the order
of their sets of inks. Nothing is refined here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product
from typing import Protocol

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray, read_only
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.constraints import Constraints
from inkmix.press.condition import PressCondition

NODES = {1: 21, 2: 9, 3: 6, 4: 4, 5: 3}
"""Nodes along each ink of a set, from its smallest dot to its solid; larger sets have these two."""

STARTS = 4
"""Nodes of a set from which a search begins: more than three inks mix one colour in many ways."""

_FEW_STARTS = 2
ONE_WAY = 2
"""So many inks mix a colour in one way; a third may be what the other two make, as a black is."""

_FAR = 12.0  # of `place`: more than a cell
FARTHER, WORTH = 1.25, 9.0
"""A set is searched where its best node lies at most so many times as far as the best of all, and
so much more, in the measure of `place`: a cell is twice as wide, and far colours are ranked ill."""


class Model(Protocol):
    """What predicts the colours of mixes, of one set of inks or of many."""

    def lab(self, tone_pct: FloatArray, of_set: IntArray) -> FloatArray:
        """Lab (N, 3) of tone values (N, I), each of its set (N,)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnePress:
    """All inks of one press condition, whatever set is asked for."""

    condition: PressCondition

    def lab(self, tone_pct: FloatArray, of_set: IntArray) -> FloatArray:
        """Lab (N, 3) of tone values (N, I)."""
        return self.condition.lab(tone_pct)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Starts:
    """Where a search begins, R rows; columns as in `relax.Rows`."""

    tone_pct: FloatArray
    held: BoolArray
    of_set: IntArray
    wish: IntArray
    rivals: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Mixes and their colours.

    Parameters
    ----------
    sets : (S, I) array of bool
        Inks of each set.
    first : (S + 1,) array of int
        Where the nodes of each set begin, and the end.
    tone_pct : (M, I) array
    lab, place : (M, 3) array
        Predicted colours, and the same as `place` puts them.
    """

    sets: BoolArray
    first: IntArray
    tone_pct: FloatArray
    lab: FloatArray
    place: FloatArray

    def starts(self, lab: FloatArray) -> Starts:
        """Where to begin for colours (T, 3), if the best mix of any set is looked for.

        The nearest nodes of every set that may hold it.
        """
        apart = self._apart(lab)
        nearest = self.best_nodes(apart, STARTS)
        distance = np.take_along_axis(apart, nearest[:, :, 0], axis=1)
        worth = distance <= FARTHER * distance.min(axis=1, keepdims=True) + WORTH
        colour, of_set = np.nonzero(worth)
        node = nearest[colour, of_set]
        keep = np.ones_like(node, dtype=np.bool_)
        keep[:, 1:] = np.diff(node, axis=1) != 0
        keep[:, _FEW_STARTS:] &= self.sets[of_set].sum(axis=1)[:, None] > ONE_WAY
        row, rank = np.nonzero(keep)
        return self._starts(node[row, rank], of_set[row], colour[row], rivals=colour[row])

    def starts_of_each(self, score: FloatArray, count: int) -> Starts:
        """Where to begin if the best mix of each set is looked for, for scores (T, M) of nodes.

        The `count` nodes of each set that score least.
        """
        nodes = self.best_nodes(score, count)
        wish, of_set, _ = np.indices(nodes.shape).reshape(3, -1)
        fresh = np.diff(nodes, axis=2, prepend=-1).ravel() != 0
        rivals = wish * len(self.sets) + of_set
        chosen = nodes.ravel()[fresh], of_set[fresh], wish[fresh]
        return self._starts(*chosen, rivals=rivals[fresh])

    def _starts(
        self, node: IntArray, of_set: IntArray, wish: IntArray, *, rivals: IntArray
    ) -> Starts:
        return Starts(
            tone_pct=self.tone_pct[node],
            held=self.sets[of_set],
            of_set=of_set,
            wish=wish,
            rivals=rivals,
        )

    def _apart(self, lab: FloatArray) -> FloatArray:
        """How far the nodes are from colours (T, 3), (T, M): by `place`, and by dE00 where far."""
        apart = self.distances(lab)
        for k in np.flatnonzero(apart.min(axis=1) > _FAR):
            apart[k] = delta_e00(self.lab, lab[k])
        return apart

    def apart_where_near(self, lab: FloatArray, count: int) -> FloatArray:
        """dE00 (T, M) of some nodes of each set, the `count` nearest by `place`; else infinite."""
        nodes = self.best_nodes(self.distances(lab), count).reshape(len(lab), -1)
        apart = np.full((len(lab), len(self.lab)), np.inf)
        np.put_along_axis(apart, nodes, delta_e00(self.lab[nodes], lab[:, None]), axis=1)
        return apart

    def distances(self, lab: FloatArray) -> FloatArray:
        """How far the nodes are from colours (T, 3), (T, M), by `place`."""
        looked_for = place(lab)
        square = (self.place**2).sum(axis=1) - 2 * looked_for @ self.place.T
        square += (looked_for**2).sum(axis=1)[:, None]
        return np.asarray(np.sqrt(np.maximum(square, 0)), dtype=np.float64)

    def best_nodes(self, score: FloatArray, most: int) -> IntArray:
        """Nodes (T, S, most) of least score (T, M) in each set, the best first.

        The last ones are the same again where a set has fewer.
        """
        counts = np.diff(self.first)
        if (counts == counts[0]).all():  # all at once
            by_set = score.reshape(len(score), len(counts), -1)
            return _least(by_set, most) + self.first[:-1, None]
        parts = [score[:, begin:end] for begin, end in pairwise(self.first.tolist())]
        return np.stack([_least(p, most) for p in parts], axis=1) + self.first[:-1, None]


def _least(score: FloatArray, most: int) -> IntArray:
    """Places (..., most) of the least scores (..., N), the least first."""
    count = min(most, score.shape[-1])
    found = np.argpartition(score, count - 1, axis=-1)[..., :count]
    order = np.argsort(np.take_along_axis(score, found, axis=-1), axis=-1, kind="stable")
    places = np.take_along_axis(found, order, axis=-1)
    last = np.repeat(places[..., -1:], most - count, axis=-1)
    return np.concatenate([places, last], axis=-1)


def place(lab: FloatArray) -> FloatArray:
    """Colours (..., 3) where straight distances rank nearly as dE00: chroma counts less far out."""
    chroma = np.maximum(np.hypot(lab[..., 1], lab[..., 2]), 1e-6)
    shrunk = np.log1p(0.045 * chroma) / (0.045 * chroma)
    return np.stack([lab[..., 0], lab[..., 1] * shrunk, lab[..., 2] * shrunk], axis=-1)


def lattice_of(condition: PressCondition, constraints: Constraints, sets: BoolArray) -> Lattice:
    """The lattice of these sets of inks (S, I) of a condition, within constraints."""
    key = (condition, constraints.floor_pct, constraints.limit_pct, sets.shape[1], sets.tobytes())
    return _lattice(*key)


@lru_cache(maxsize=4)
def _lattice(
    condition: PressCondition, floor_pct: float, limit_pct: float, inks: int, packed: bytes
) -> Lattice:
    sets = np.frombuffer(packed, dtype=np.bool_).reshape(-1, inks)
    nodes = [
        nodes_of(
            held, floor_pct=floor_pct, limit_pct=limit_pct, along=NODES.get(int(held.sum()), 2)
        )
        for held in sets
    ]
    return lattice_over(OnePress(condition=condition), sets, nodes)


def lattice_over(model: Model, sets: BoolArray, nodes: Sequence[FloatArray]) -> Lattice:
    """The lattice of these nodes (M, I) of each set (S, I) of a model."""
    tones, counts = np.concatenate(nodes), [len(part) for part in nodes]
    lab = model.lab(tones, np.repeat(np.arange(len(sets)), counts))
    return Lattice(
        sets=sets,
        first=np.cumsum([0, *counts]),
        tone_pct=read_only(tones),
        lab=read_only(lab),
        place=read_only(place(lab)),
    )


def nodes_of(held: BoolArray, *, floor_pct: float, limit_pct: float, along: int) -> FloatArray:
    """Mixes (M, I) of one set, so many tone values along each ink.

    Those over the ink limit are drawn in towards its smallest dots.
    """
    size = int(held.sum())
    values = np.linspace(floor_pct, 100, along)
    grid = np.array(list(product(values, repeat=size))).reshape(along**size, size)
    spare = limit_pct - size * floor_pct
    over = (grid - floor_pct).sum(axis=1)
    share = np.where(over > spare, spare / np.maximum(over, 1e-9), 1.0)
    drawn_in = floor_pct + share[:, None] * (grid - floor_pct)
    nodes = np.zeros((len(grid), len(held)))
    nodes[:, held] = drawn_in
    return np.unique(nodes, axis=0)
