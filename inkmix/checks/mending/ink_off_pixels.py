"""Taking ink off the pixels of a window, in whole steps of the plates.

A pixel loses what a table says for its total, faded by the weight of its place, so that none stays
over the limit. Which plates give it is told at the nodes of a lattice of mixes and interpolated
between them over simplices, as colours are (press/table/lookup.py), so that neighbouring mixes
lose nearly the same. A plate gives no more than it has; what it lacks, the others give by their
shares, and in the end by what they have left.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, IntArray
from inkmix.base.loops import are_compiled
from inkmix.checks.window import Planes, full_scale

SHARE_ONE = 1 << 12
"""What the shares of a node add up to, each counted as often as its plate prints."""
WEIGHT_ONE = 1 << 8
"""Weight of a place where all is taken off that is to be."""

_Totals = NDArray[np.int32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkOffTables:
    """What is taken off, from where, and from which plates; all integers.

    Parameters
    ----------
    plates, hits : (P,) int64 ndarray
        Planes that give ink, and how often each is printed.
    grid : int
        Nodes of the lattice along each of the P axes, evenly spaced in tone value.
    limit, knee : int
        In steps: the highest total allowed, and the highest that is left as it is.
    excess : (sums,) int32 ndarray
        What is taken off each total, in steps.
    near : (rows, cols) uint16 ndarray
        Weights of square cells of the sheet, 0 to WEIGHT_ONE.
    side : int
        Side of a cell in pixels.
    shares : (grid ** P, P) int32 ndarray
        Shares in what is taken, of SHARE_ONE; the last plate varies fastest.
    """

    plates: IntArray
    hits: IntArray
    grid: int
    limit: int
    knee: int
    excess: NDArray[np.int32]
    near: NDArray[np.uint16]
    side: int
    shares: NDArray[np.int32]


def take_off(
    planes: Planes, total: _Totals, tables: InkOffTables, *, rows: slice, cols: slice
) -> None:
    """Take ink off planes (I, rows, cols) in place; `total` (rows, cols) is the ink before."""
    if are_compiled():
        from inkmix.base.kernels import ink_off

        scale = _scale(planes, tables, rows, cols)
        args = tables.plates, tables.hits, scale, tables.excess, tables.near, tables.shares
        ink_off.take_off(planes, total, *args)
        return
    at, weights = _picked(total, tables, rows, cols)
    sums = total[at].astype(np.int64)
    faded = tables.excess[sums] * weights + WEIGHT_ONE // 2 >> 8
    take = np.maximum(faded, sums - tables.limit)
    tones = _tones(planes, tables, at)
    corners, shares_of = _corners(tones, tables.grid, full_scale(planes))
    shares = np.zeros_like(tones)
    for corner, part in zip(corners, shares_of, strict=True):
        shares += part * tables.shares[corner].T
    taken = _poured(take, tones, tables.hits, shares)
    for plate, less in zip(tables.plates, taken, strict=True):
        planes[plate][at] -= less.astype(planes.dtype)


def mark_nodes(
    seen: NDArray[np.uint8],
    planes: Planes,
    total: _Totals,
    tables: InkOffTables,
    *,
    rows: slice,
    cols: slice,
) -> None:
    """Set `seen` (grid ** P,) to 1 for nodes whose shares `take_off` would ask for."""
    if are_compiled():
        from inkmix.base.kernels import ink_off

        scale = _scale(planes, tables, rows, cols)
        ink_off.mark_nodes(
            np.ascontiguousarray(planes), total, tables.plates, scale, tables.near, seen
        )
        return
    at, _ = _picked(total, tables, rows, cols)
    tones = _tones(planes, tables, at)
    inked = tones.any(axis=0)
    corners, weights = _corners(tones[:, inked], tables.grid, full_scale(planes))
    for corner, weight in zip(corners, weights, strict=True):
        seen[corner[weight > 0]] = 1


def _scale(planes: Planes, tables: InkOffTables, rows: slice, cols: slice) -> tuple[int, ...]:
    full, limits = full_scale(planes), (tables.limit, tables.knee)
    return rows.start, cols.start, full, *limits, tables.grid, tables.side


def _picked(
    total: _Totals, tables: InkOffTables, rows: slice, cols: slice
) -> tuple[BoolArray, IntArray]:
    """Pixels (rows, cols) over the knee at places with a weight, and these weights (N,)."""
    over = total > tables.knee
    row, col = np.nonzero(over)
    weights = _weights(tables, row + rows.start, col + cols.start)
    over[over] = weights > 0
    return over, weights[weights > 0]


def _weights(tables: InkOffTables, row: IntArray, col: IntArray) -> IntArray:
    """Weights (N,) of pixels, along straight lines between the middles of cells."""
    near, unit = tables.near.astype(np.int64), 2 * tables.side
    down = np.clip(2 * row + 1 - tables.side, 0, unit * (near.shape[0] - 1))
    right = np.clip(2 * col + 1 - tables.side, 0, unit * (near.shape[1] - 1))
    (above, lower), (beside, further) = np.divmod(down, unit), np.divmod(right, unit)
    below = np.minimum(above + 1, near.shape[0] - 1)
    beyond = np.minimum(beside + 1, near.shape[1] - 1)
    upper_line = near[above, beside] * (unit - further) + near[above, beyond] * further
    lower_line = near[below, beside] * (unit - further) + near[below, beyond] * further
    return np.asarray((upper_line * (unit - lower) + lower_line * lower) // unit**2)


def _tones(planes: Planes, tables: InkOffTables, at: BoolArray) -> IntArray:
    return np.stack([planes[plate][at] for plate in tables.plates]).astype(np.int64)


def _corners(tones: IntArray, grid: int, full: int) -> tuple[list[IntArray], list[IntArray]]:
    """P + 1 nodes (N,) of the simplex around mixes (P, N), and weights that make `full`."""
    plates = len(tones)
    place = tones * (grid - 1)
    below = np.minimum(place // full, grid - 2)
    strides = grid ** np.arange(plates - 1, -1, -1, dtype=np.int64)
    fractions = place - below * full
    order = np.argsort(-fractions, axis=0, kind="stable")
    fractions = np.take_along_axis(fractions, order, axis=0)
    corners, weights = [strides @ below], []
    above = np.full(tones.shape[1], full, np.int64)
    for at in range(plates):
        weights.append(above - fractions[at])
        corners.append(corners[-1] + strides[order[at]])
        above = fractions[at]
    return corners, [*weights, above]


def _poured(take: IntArray, tones: IntArray, hits: IntArray, shares: IntArray) -> IntArray:
    """What each plate gives (P, N): by its share, then the others, the last steps one by one."""
    left, taken = take.copy(), np.zeros_like(tones)
    for _ in range(len(tones)):
        whole = hits @ shares
        fills = (shares > 0) & (left * shares >= tones * whole)
        taken[fills], shares[fills] = tones[fills], 0
        left -= hits @ (tones * fills)
    empty = hits @ shares == 0
    shares[:, empty] = (tones - taken)[:, empty]
    whole = np.maximum(hits @ shares, 1)
    part, rest = np.divmod(np.maximum(left, 0) * shares, whole)
    taken += part
    left -= hits @ part
    _last_steps(left, taken, tones=tones, hits=hits, rest=rest, whole=whole)
    return taken


def _last_steps(left: IntArray, taken: IntArray, *, whole: IntArray, **by: Any) -> None:
    """Take what rounding has left, a step at a time, from the plate that was rounded most."""
    tones, hits, rest = by["tones"], by["hits"], by["rest"]
    while True:
        able = taken < tones
        at = np.flatnonzero((left > 0) & able.any(axis=0))
        if not len(at):
            return
        lowest = np.iinfo(np.int64).min
        giver = np.argmax(np.where(able[:, at], rest[:, at], lowest), axis=0)
        taken[giver, at] += 1
        rest[giver, at] -= whole[at]
        left[at] -= hits[giver]
