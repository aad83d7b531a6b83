"""Counting loops under a night mask; their twin is in checks/night/pixels.py."""

from typing import Any

import numpy as np

from inkmix.base.kernels.counts import RUN, is_flat
from inkmix.base.kernels.jit import inner, loop

_CHUNK = 1024  # pixels whose buffers stay in the first cache
_FLUSH_PX = (1 << 24, 1 << 16)  # so many numbers of 8 and 16 bits fit into 32 bits of a sum


@loop
def count(planes: Any, lightness: Any, mask: Any, counts: Any, extent: Any, limit: int) -> int:
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
            if pending + marked > _FLUSH_PX[planes.itemsize - 1]:
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
    even, odd, whole = lanes[0], lanes[1], level.shape[0] - level.shape[0] % RUN
    for start in range(0, whole, RUN):
        run = level[start : start + RUN]
        if is_flat(run):
            even[run[0]] += np.uint32(RUN)
            continue
        for at in range(0, RUN, 2):
            even[run[at]] += np.uint32(1)
            odd[run[at + 1]] += np.uint32(1)
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
    even, odd, whole = sums[0], sums[1], level.shape[0] - level.shape[0] % RUN
    for start in range(0, whole, RUN):
        run, words = level[start : start + RUN], word[start : start + RUN]
        if is_flat(run):
            total = np.uint64(0)
            for at in range(RUN):
                total += words[at]
            even[run[0] >> np.uint16(6)] += total
            continue
        for at in range(0, RUN, 2):
            even[run[at] >> np.uint16(6)] += words[at]
            odd[run[at + 1] >> np.uint16(6)] += words[at + 1]
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
