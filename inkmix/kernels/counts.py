"""Counting loops: histograms of plates, total ink of pixels, what lies under a night mask.

Everything is added to arrays that the caller owns, in integers. What is counted and why is told
where a loop is called, beside a NumPy twin of the same bits: plates/tally.py, checks/ink_counts.py
and checks/night_counts.py.
"""

from typing import Any

import numpy as np

from inkmix.kernels.jit import inner, loop

_RUN = 64  # pixels that are looked at together: artwork has many that are all alike
_CHUNK = 1024  # pixels whose buffers stay in the first cache
_NIGHT_FLUSH_PX = 1 << 16  # so many 16-bit numbers fit into 32 bits of a sum


@inner
def _is_flat(values: Any) -> bool:
    """Whether all of _RUN values are the same."""
    first, differing = values[0], np.uint8(0)
    for at in range(_RUN):  # a constant length and 8 bits: a few vector instructions
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
    whole = length - length % _RUN
    for start in range(0, whole, _RUN):
        run = values[start : start + _RUN]
        if _is_flat(run):
            first[run[0]] += np.uint32(_RUN)
            continue
        for at in range(0, _RUN, 4):
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
    """Sums of 16-bit planes to whole tenths of full ink, in place."""
    for at in range(sums.shape[0]):
        sums[at] = sums[at] * 10 // 65535


@inner
def _first(values: Any, wanted: int) -> int:
    """Index of the first element that has the wanted value."""
    at = 0
    while values[at] != wanted:
        at += 1
    return at


@loop
def night(planes: Any, lightness: Any, mask: Any, counts: Any, extent: Any, limit: int) -> int:
    """Count the masked pixels of a window; how many of them are lighter than `limit`.

    `counts` is (levels, mixes): a row (32768,) of int64 by lightness, and (512, I) of int64, the
    sums of planes for each 64 levels. `extent` (4,) of int64 becomes first row, first column, row
    behind the last, column behind the last; it starts as (rows, cols, 0, 0).
    """
    levels, mixes = counts
    plates, rows, cols = planes.shape
    words = (plates + 1) // 2
    lanes = np.zeros((2, levels.shape[0] + 1), np.uint32)
    sums = np.zeros((words, 2, mixes.shape[0] + 1), np.uint64)
    level, word = np.empty(_CHUNK, np.uint16), np.empty(_CHUNK, np.uint64)
    pending = too_light = 0
    for row in range(rows):
        for start in range(0, cols, _CHUNK):
            stop = min(start + _CHUNK, cols)
            inside = mask[row, start:stop]
            marked = _set_in(inside)
            if marked == 0:
                continue
            if pending + marked > _NIGHT_FLUSH_PX:
                _unpack(sums, mixes)
                pending = 0
            pending += marked
            _widen(extent, inside, row, start)
            too_light += _levels_of(lightness[row, start:stop], inside, limit, level)
            _count_levels(level[: stop - start], lanes)
            for plane in range(0, plates, 2):
                _pack(planes[plane : plane + 2, row, start:stop], word)
                _add_words(level[: stop - start], word, sums[plane // 2])
    _unpack(sums, mixes)
    for at in range(levels.shape[0]):
        levels[at] += np.int64(lanes[0, at]) + np.int64(lanes[1, at])
    return too_light


@inner
def _set_in(inside: Any) -> int:
    count = 0
    for at in range(inside.shape[0]):
        count += inside[at]
    return count


@inner
def _widen(extent: Any, inside: Any, row: int, start: int) -> None:
    """Take a stretch of a row with masked pixels into the extent."""
    extent[0], extent[2] = min(extent[0], row), row + 1
    first = 0
    while start + first < extent[1] and not inside[first]:
        first += 1
    extent[1] = min(extent[1], start + first)
    last = inside.shape[0]
    while start + last > extent[3] and not inside[last - 1]:
        last -= 1
    extent[3] = max(extent[3], start + last)


@inner
def _levels_of(lightness: Any, inside: Any, limit: int, level: Any) -> int:
    """Level of each pixel, 0 or more; those outside the mask go to the place behind the last."""
    too_light = 0
    for at in range(lightness.shape[0]):
        light = lightness[at]
        too_light += inside[at] & (light > limit)
        level[at] = max(light, 0) if inside[at] else 32768
    return too_light


@inner
def _count_levels(level: Any, lanes: Any) -> None:
    """Count levels; even and odd pixels apart, so that none waits on the last."""
    even, odd, whole = lanes[0], lanes[1], level.shape[0] & ~1
    for at in range(0, whole, 2):
        even[level[at]] += np.uint32(1)
        odd[level[at + 1]] += np.uint32(1)
    for at in range(whole, level.shape[0]):
        even[level[at]] += np.uint32(1)


@inner
def _pack(lines: Any, word: Any) -> None:
    """One or two planes of a stretch (1 or 2, n) into the halves of words (n,)."""
    first, last = lines[0], lines[lines.shape[0] - 1]
    if lines.shape[0] == 1:
        for at in range(first.shape[0]):
            word[at] = first[at]
        return
    for at in range(first.shape[0]):
        word[at] = np.uint64(first[at]) | (np.uint64(last[at]) << np.uint64(32))


@inner
def _add_words(level: Any, word: Any, sums: Any) -> None:
    """Add words to the sums (2, mixes) of their levels; even and odd pixels apart."""
    even, odd, whole = sums[0], sums[1], level.shape[0] & ~1
    for at in range(0, whole, 2):
        even[level[at] >> np.uint16(6)] += word[at]
        odd[level[at + 1] >> np.uint16(6)] += word[at + 1]
    for at in range(whole, level.shape[0]):
        even[level[at] >> np.uint16(6)] += word[at]


@inner
def _unpack(sums: Any, mixes: Any) -> None:
    """Move the sums in words to the sums of planes, and clear them."""
    for mix in range(mixes.shape[0]):
        for plane in range(mixes.shape[1]):
            for lane in range(2):
                word = sums[plane // 2, lane, mix]
                half = word >> np.uint64(32) if plane % 2 else word & np.uint64(0xFFFFFFFF)
                mixes[mix, plane] += np.int64(half)
    sums[:] = 0
