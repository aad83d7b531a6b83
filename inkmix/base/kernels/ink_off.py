"""Taking ink off pixels, and which nodes of a lattice of mixes they need for it.

Whole numbers only. The twins are in checks/mending/ink_off_pixels.py, which tells what is done.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop


@loop
def take_off(
    planes: Any, total: Any, plates: Any, hits: Any, scale: Any, excess: Any, near: Any, shares: Any
) -> None:
    """Take ink off planes (I, rows, cols) in place; `total` (rows, cols) is the ink before.

    Parameters
    ----------
    plates, hits : (P,) int64 ndarray
        Planes that give ink, and how often each prints.
    scale : tuple of int
        First row and column of the window, full scale, limit, knee, nodes an axis, cell's side.
    excess : (sums,) int32 ndarray
        What is taken off each total.
    near : (rows, cols) uint16 ndarray
        Weights of cells, 0-256.
    shares : (nodes, P) int32 ndarray
    """
    top, left, full, limit, knee, grid, side = scale
    count = len(plates)
    tone, before = np.zeros(count, np.int64), np.zeros(count, np.int64)
    taken = np.zeros(count, np.int64)
    corners, weights = np.empty(count + 1, np.int64), np.empty(count + 1, np.int64)
    share, rest = np.empty(count, np.int64), np.empty(count, np.int64)
    done = np.int64(-1)
    for row in range(total.shape[0]):
        for col in range(total.shape[1]):
            sum_here = np.int64(total[row, col])
            if sum_here <= knee:
                continue
            weight = _weight(near, top + row, left + col, side)
            if weight == 0:
                continue
            take = max((excess[sum_here] * weight + 128) >> 8, sum_here - limit)
            if take <= 0:
                continue
            is_same = take == done
            for at in range(count):
                tone[at] = planes[plates[at], row, col]
                is_same &= tone[at] == before[at]
            if not is_same:
                _corners(tone, full, grid, corners, weights)
                _share(corners, weights, shares, share)
                _pour(take, tone, hits, share, rest, taken)
                before[:], done = tone, take
            for at in range(count):
                planes[plates[at], row, col] = tone[at] - taken[at]


@loop
def mark_nodes(planes: Any, total: Any, plates: Any, scale: Any, near: Any, seen: Any) -> None:
    """Set `seen` (nodes,) to 1 for nodes that `take_off` would ask for."""
    top, left, full, _, knee, grid, side = scale
    count = len(plates)
    tone = np.zeros(count, np.int64)
    corners, weights = np.empty(count + 1, np.int64), np.empty(count + 1, np.int64)
    for row in range(total.shape[0]):
        for col in range(total.shape[1]):
            if total[row, col] <= knee or _weight(near, top + row, left + col, side) == 0:
                continue
            is_same = True
            for at in range(count):
                value = np.int64(planes[plates[at], row, col])
                is_same &= value == tone[at]
                tone[at] = value
            if is_same:
                continue
            _corners(tone, full, grid, corners, weights)
            for at in range(count + 1):
                if weights[at] > 0:
                    seen[corners[at]] = 1


@inner
def _weight(near: Any, row: int, col: int, side: int) -> Any:
    """Weight at a pixel, 0-256, along straight lines between the middles of cells."""
    unit = 2 * side
    down = min(max(2 * row + 1 - side, 0), unit * (near.shape[0] - 1))
    right = min(max(2 * col + 1 - side, 0), unit * (near.shape[1] - 1))
    above, beside = down // unit, right // unit
    below, beyond = min(above + 1, near.shape[0] - 1), min(beside + 1, near.shape[1] - 1)
    lower, further = down - above * unit, right - beside * unit
    upper_line = near[above, beside] * (unit - further) + near[above, beyond] * further
    lower_line = near[below, beside] * (unit - further) + near[below, beyond] * further
    return (upper_line * (unit - lower) + lower_line * lower) // (unit * unit)


@inner
def _corners(tone: Any, full: int, grid: int, corners: Any, weights: Any) -> None:
    """Corners of the simplex around a mix, and their weights, which add up to `full`."""
    count = tone.shape[0]
    corner, stride = np.int64(0), np.int64(1)
    for at in range(count - 1, -1, -1):
        place = tone[at] * (grid - 1)
        below = min(place // full, grid - 2)
        corner += below * stride
        weights[at], corners[at] = place - below * full, stride
        stride *= grid
    for end in range(1, count):
        for at in range(end, 0, -1):
            if weights[at] > weights[at - 1]:
                weights[at], weights[at - 1] = weights[at - 1], weights[at]
                corners[at], corners[at - 1] = corners[at - 1], corners[at]
    above = np.int64(full)
    for at in range(count):
        fraction, step = weights[at], corners[at]
        weights[at], corners[at] = above - fraction, corner
        corner, above = corner + step, fraction
    weights[count], corners[count] = above, corner


@inner
def _share(corners: Any, weights: Any, shares: Any, share: Any) -> None:
    share[:] = 0
    for corner in range(corners.shape[0]):
        if weights[corner] > 0:
            for at in range(share.shape[0]):
                share[at] += weights[corner] * shares[corners[corner], at]


@inner
def _pour(take: int, tone: Any, hits: Any, share: Any, rest: Any, taken: Any) -> None:
    """Take from each plate by its share; what an empty one lacks, the others give."""
    count, left = tone.shape[0], np.int64(take)
    taken[:] = 0
    for _ in range(count):
        whole, before, fills = _whole(share, hits), left, False
        for at in range(count):
            if share[at] > 0 and before * share[at] >= tone[at] * whole:
                taken[at], share[at], fills = tone[at], 0, True
                left -= hits[at] * tone[at]
        if not fills:
            break
    if _whole(share, hits) == 0:
        share[:] = tone - taken
    whole, before = max(_whole(share, hits), 1), left
    for at in range(count):
        part = before * share[at] // whole if before > 0 else np.int64(0)
        rest[at] = before * share[at] - part * whole
        taken[at] += part
        left -= hits[at] * part
    while left > 0:
        giver = -1
        for at in range(count):
            if taken[at] < tone[at] and (giver < 0 or rest[at] > rest[giver]):
                giver = at
        if giver < 0:
            break
        taken[giver] += 1
        rest[giver] -= whole
        left -= hits[giver]


@inner
def _whole(share: Any, hits: Any) -> Any:
    whole = np.int64(0)
    for at in range(share.shape[0]):
        whole += share[at] * hits[at]
    return whole
