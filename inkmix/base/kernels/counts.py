"""Counting loops: histograms of plates, total ink of pixels.

Everything is added to arrays that the caller owns, in integers. What is counted and why is told
where a loop is called, beside a NumPy twin of the same bits: plates/survey/tally.py and
checks/total_ink/counts.py.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

RUN = 64
"""Pixels that are looked at together: artwork has many that are all alike."""


@inner
def is_flat(values: Any) -> bool:
    """Whether all of RUN values are the same."""
    first, differing = values[0], np.uint8(0)
    for at in range(RUN):  # a constant length and 8 bits: a few vector instructions
        differing = np.uint8(differing | (values[at] != first))
    return bool(differing == 0)


@inner
def _count_row(values: Any, lanes: Any) -> None:
    """Add one row to four rows of counts, which keep equal neighbours from waiting on each other.

    `lanes` is (n, levels), n 4 or 1.
    """
    last = lanes.shape[0] - 1
    first, second = lanes[0], lanes[min(1, last)]
    third, fourth = lanes[min(2, last)], lanes[min(3, last)]
    length = values.shape[0]
    whole = length - length % RUN
    for start in range(0, whole, RUN):
        run = values[start : start + RUN]
        if is_flat(run):
            first[run[0]] += np.uint32(RUN)
            continue
        for at in range(0, RUN, 4):
            first[run[at]] += np.uint32(1)
            second[run[at + 1]] += np.uint32(1)
            third[run[at + 2]] += np.uint32(1)
            fourth[run[at + 3]] += np.uint32(1)
    for at in range(whole, length):
        first[values[at]] += np.uint32(1)


@loop
def histogram(plane: Any, lanes: Any) -> None:
    """Count a plane (rows, cols) of uint8 or uint16 into `lanes` (4 or 1, levels) of uint32."""
    for row in range(plane.shape[0]):
        _count_row(plane[row], lanes)


@loop
def changes(plane: Any) -> int:
    """How often a pixel of a plane (rows, cols) differs from its left neighbour."""
    count = 0
    for row in range(plane.shape[0]):
        values = plane[row]
        for at in range(1, values.shape[0]):
            count += values[at] != values[at - 1]
    return count


@loop
def are_equal(first: Any, second: Any) -> bool:
    """Whether two planes (rows, cols) are the same; looks no further than the first other row."""
    for row in range(first.shape[0]):
        one, other, differing = first[row], second[row], 0
        for at in range(one.shape[0]):
            differing += one[at] != other[at]
        if differing:
            return False
    return True


@inner
def _sum_of(planes: Any, row: int, start: int, out: Any) -> None:
    """Sum of all planes for the pixels of a row from `start` on."""
    stop = start + out.shape[0]
    line = planes[0, row, start:stop]
    for at in range(out.shape[0]):
        out[at] = line[at]
    for plane in range(1, planes.shape[0]):
        line = planes[plane, row, start:stop]
        for at in range(out.shape[0]):
            out[at] += line[at]


@loop
def ink_sum(planes: Any, out: Any) -> None:
    """Sum of planes (I, rows, cols) into `out` (rows, cols) of int32."""
    for row in range(planes.shape[1]):
        _sum_of(planes, row, 0, out[row])


@loop
def total_ink(planes: Any, limit: int, sums: Any, lanes: Any) -> tuple[int, int, int]:
    """Count the sums of planes (I, rows, cols); highest, its first pixel, pixels over `limit`.

    `sums` is a buffer (n,) of uint16 (8-bit planes) or int32 (16-bit) for a piece of a row.
    `lanes` (4, levels) of uint32 counts each sum of 8-bit planes, of 16-bit ones tenths of full.
    """
    highest, place, over = -1, 0, 0
    rows, cols = planes.shape[1], planes.shape[2]
    for row in range(rows):
        for start in range(0, cols, sums.shape[0]):
            some = sums[: min(sums.shape[0], cols - start)]
            _sum_of(planes, row, start, some)
            top = some[0]
            for at in range(some.shape[0]):
                top = max(top, some[at])
            if top > highest:
                highest, place = top, row * cols + start + _first(some, top)
            if top > limit:
                for at in range(some.shape[0]):
                    over += some[at] > limit
            if planes.itemsize == 2:
                _to_bars(some)
            _count_row(some, lanes)
    return highest, place, over


@inner
def _to_bars(sums: Any) -> None:
    """Sums of up to eight 16-bit planes to whole tenths of full ink, in place."""
    for at in range(sums.shape[0]):
        tenths = sums[at] * 10
        sums[at] = (tenths + 1 + (tenths >> 16)) >> 16  # tenths // 65535, without a division


@inner
def _first(values: Any, wanted: int) -> int:
    """Index of the first element that has the wanted value."""
    at = 0
    while values[at] != wanted:
        at += 1
    return at
