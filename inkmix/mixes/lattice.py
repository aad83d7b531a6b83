"""Mixes spread over the whole room with their colours: where every search begins.

Asked for once a condition; thousands of colours then look up where to begin. Nodes lie in the order
of their sets of inks. Nothing is refined here.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray, read_only
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.room import Room
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Mixes and their colours.

    Parameters
    ----------
    sets : (S, I) array of bool
        Sets of inks.
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

    def starts(self, lab: FloatArray) -> tuple[IntArray, IntArray, IntArray]:
        """Where to begin for colours (T, 3): colour, set and node of each of R rows.

        The nearest nodes of every set that may hold the best mix.
        """
        apart = self._apart(lab)
        nearest = np.stack([self._nearest(apart, k) for k in range(len(self.sets))], axis=1)
        distance = np.take_along_axis(apart, nearest[:, :, 0], axis=1)
        worth = distance <= FARTHER * distance.min(axis=1, keepdims=True) + WORTH
        colour, of_set = np.nonzero(worth)
        node = nearest[colour, of_set]
        keep = np.ones_like(node, dtype=np.bool_)
        keep[:, 1:] = np.diff(node, axis=1) != 0
        keep[:, _FEW_STARTS:] &= self.sets[of_set].sum(axis=1)[:, None] > ONE_WAY
        row, rank = np.nonzero(keep)
        return colour[row], of_set[row], node[row, rank]

    def _apart(self, lab: FloatArray) -> FloatArray:
        """How far the nodes are from colours (T, 3), (T, M): by `place`, and by dE00 where far."""
        looked_for = place(lab)
        square = (self.place**2).sum(axis=1) - 2 * looked_for @ self.place.T
        square += (looked_for**2).sum(axis=1)[:, None]
        apart = np.asarray(np.sqrt(np.maximum(square, 0)), dtype=np.float64)
        for k in np.flatnonzero(apart.min(axis=1) > _FAR):
            apart[k] = delta_e00(self.lab, lab[k])
        return apart

    def _nearest(self, apart: FloatArray, of_set: int) -> IntArray:
        """Nodes (T, STARTS) of a set, nearest first; the same again where it has only one."""
        begin, end = self.first[of_set], self.first[of_set + 1]
        part = apart[:, begin:end]
        count = min(STARTS, end - begin)
        found = np.argpartition(part, count - 1, axis=1)[:, :count]
        order = np.argsort(np.take_along_axis(part, found, axis=1), axis=1, kind="stable")
        nearest = begin + np.take_along_axis(found, order, axis=1)
        return np.pad(nearest, ((0, 0), (0, STARTS - count)), mode="edge")


def place(lab: FloatArray) -> FloatArray:
    """Colours (..., 3) where straight distances rank nearly as dE00: chroma counts less far out."""
    chroma = np.maximum(np.hypot(lab[..., 1], lab[..., 2]), 1e-6)
    shrunk = np.log1p(0.045 * chroma) / (0.045 * chroma)
    return np.stack([lab[..., 0], lab[..., 1] * shrunk, lab[..., 2] * shrunk], axis=-1)


def lattice_of(condition: PressCondition, room: Room, sets: BoolArray) -> Lattice:
    """The lattice of these sets of inks (S, I) in a room."""
    key = (condition, room.least_pct, room.limit_pct, sets.shape[1], sets.tobytes())
    return _lattice(*key)


@lru_cache(maxsize=4)
def _lattice(
    condition: PressCondition, least_pct: float, limit_pct: float, inks: int, packed: bytes
) -> Lattice:
    sets = np.frombuffer(packed, dtype=np.bool_).reshape(-1, inks)
    parts = [_nodes(held, least_pct, limit_pct) for held in sets]
    tones = np.concatenate(parts)
    lab = condition.lab(tones)
    return Lattice(
        sets=sets,
        first=np.cumsum([0, *map(len, parts)]),
        tone_pct=read_only(tones),
        lab=read_only(lab),
        place=read_only(place(lab)),
    )


def _nodes(held: BoolArray, least_pct: float, limit_pct: float) -> FloatArray:
    """Mixes (M, I) of one set; those over the ink limit are drawn in towards its smallest dots."""
    size = int(held.sum())
    along = np.linspace(least_pct, 100, NODES.get(size, 2))
    grid = np.array(list(product(along, repeat=size))).reshape(len(along) ** size, size)
    spare = limit_pct - size * least_pct
    over = (grid - least_pct).sum(axis=1)
    share = np.where(over > spare, spare / np.maximum(over, 1e-9), 1.0)
    drawn_in = least_pct + share[:, None] * (grid - least_pct)
    nodes = np.zeros((len(grid), len(held)))
    nodes[:, held] = drawn_in
    return np.unique(nodes, axis=0)
