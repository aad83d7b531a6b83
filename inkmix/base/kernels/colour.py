"""The look-up of colours, compiled: planes of ink amounts to 8-bit sRGB and L*.

The arithmetic is that of `lookup.Lookup.evaluate`, bit for bit. Pixels are worked on in chunks that
stay in the first cache: equal neighbours are found first (most of a drawing is runs of one
colour), then colours seen lately are taken from a small cache, and only what is left is looked up,
each step a plain loop over short arrays. Planes come as a tuple, so that each number of inks is
compiled by itself, its loops unrolled.
"""

from typing import Any

import numpy as np
from numba.cpython.unsafe.tuple import tuple_setitem

from inkmix.base.kernels.jit import inner, loop

CHUNK = 512
CACHE_BITS = 13
_RARE = 2  # a chunk with fewer hits than one in so many lets the next ones go without the cache
_PAUSE = 31  # so many chunks
_SHORT = 4  # runs that are shorter in the mean are written pixel by pixel

_u8: Any = np.uint8
_u64: Any = np.uint64
_i64: Any = np.int64
_SPREAD = _u64(0x9E3779B97F4A7C15)  # 2**64 over the golden ratio
_SLOT_SHIFT = _u64(64 - CACHE_BITS)
_EVEN = _u64(0x0000FFFF0000FFFF)
_FIELD = _u64(0xFFFFFFFF)
_S8, _S15, _S16, _S24, _S32, _S40, _S47, _S48, _S56 = (
    _u64(shift) for shift in (8, 15, 16, 24, 32, 40, 47, 48, 56)
)
_HALF = _u64(1 << 14 | 1 << 46)
_ONE = _i64(1 << 15)
_BITS = _i64(21)  # of a node or a stride: no table has more nodes
_LOW = _i64((1 << 21) - 1)
_BIAS = _i64(1 << 15)


def new_cache() -> Any:
    """Colours seen lately, (slots, 2) uint64: ink amounts, value. One for each thread."""
    cache = np.zeros((1 << CACHE_BITS, 2), np.uint64)
    cache[0, 0] = ~np.uint64(0)  # no ink belongs to slot 0, every ink in full does not
    return cache


@loop
def colours(
    planes: Any, zeros: Any, cells: Any, nodes: Any, cache: Any, srgb: Any, lightness: Any
) -> int:
    """Fill colours of pixels; the number of those outside sRGB by half an 8-bit step or more.

    Parameters
    ----------
    planes : tuple of I (N,) uint8 or uint16 arrays
        Ink amounts.
    zeros : tuple of I int64
        Its length is the number of inks while compiling.
    cells : (I, V) int64 ndarray
        For every plate value: fraction << 42 | stride << 21 | node of the lower corner.
    nodes : (G**I,) uint64 ndarray
        Red, green, blue and L* of every node in 16 bits each from the lowest up, plus 32768.
    cache : (slots, 2) uint64 ndarray
        From `new_cache`, or empty to do without.
    srgb : (3 * N,) uint8 ndarray
    lightness : (N,) int16 ndarray
        Or empty, where nobody asks for it.
    """
    total = planes[0].size
    inks = len(zeros)
    starts = np.empty(CHUNK + 8, np.int64)
    keys = np.empty(CHUNK, np.uint64)
    values = np.empty(CHUNK, np.uint64)
    missed = np.empty(CHUNK, np.int64)
    at = np.empty(CHUNK, np.int64)
    found = np.empty(CHUNK, np.uint64)
    buffers = (
        np.empty((inks, CHUNK), np.int64),
        np.empty((inks + 1, CHUNK), np.int64),
        np.empty((inks + 1, CHUNK), np.int64),
        np.empty(CHUNK, np.uint64),
        np.empty(CHUNK, np.uint64),
    )
    changes = np.zeros(CHUNK + 8, np.uint8)
    words = changes.view(np.uint64)
    eights = srgb[: 24 * (total // 8)].view(np.uint64)
    outside = 0
    pause = 0
    for top in range(0, total, CHUNK):
        count = min(CHUNK, total - top)
        runs = _runs(planes, zeros, top, count, changes, words, starts)
        if cache.shape[0] == 0 or pause > 0:
            pause -= pause > 0
            _look_up(planes, zeros, starts, runs, cells, nodes, buffers, values)
        else:
            misses = _probe(planes, zeros, starts, runs, cache, keys, values, missed)
            if (runs - misses) * _RARE < runs:
                pause = _PAUSE
            for a in range(misses):
                at[_u64(a)] = starts[_u64(missed[_u64(a)])]
            _look_up(planes, zeros, at, misses, cells, nodes, buffers, found)
            _remember(misses, missed, found, keys, values, cache)
        outside += _write(starts, runs, values, found, srgb, eights, lightness)
    return outside


@inner
def _runs(
    planes: Any, zeros: Any, top: int, count: int, changes: Any, words: Any, starts: Any
) -> int:
    """First pixels of runs of one colour in a chunk, and behind them its end."""
    changes[0] = 1
    for a in range(1, count):
        pixel = _u64(top + a)
        differs = False
        for ink in range(len(zeros)):
            differs |= planes[ink][pixel] != planes[ink][pixel - _u64(1)]
        changes[_u64(a)] = differs
    for a in range(count, count + 8):
        changes[_u64(a)] = 0
    runs = 0
    for word in range((count + 7) // 8):
        if words[_u64(word)]:
            for a in range(word * 8, word * 8 + 8):
                starts[_u64(runs)] = top + a
                runs += changes[_u64(a)]
    starts[_u64(runs)] = top + count
    return runs


@inner
def _probe(
    planes: Any,
    zeros: Any,
    starts: Any,
    runs: int,
    cache: Any,
    keys: Any,
    values: Any,
    missed: Any,
) -> int:
    """Values of the colours that the cache holds; how many it does not, and which."""
    misses = 0
    width = _u64(8 * planes[0].itemsize)
    for run in range(runs):
        pixel = _u64(starts[_u64(run)])
        key = _u64(0)
        for ink in range(len(zeros)):
            key = key << width | _u64(planes[ink][pixel])
        slot = (key * _SPREAD) >> _SLOT_SHIFT
        keys[_u64(run)] = key
        values[_u64(run)] = cache[slot, _u64(1)]
        missed[_u64(misses)] = run
        misses += cache[slot, _u64(0)] != key
    return misses


@inner
def _remember(misses: int, missed: Any, found: Any, keys: Any, values: Any, cache: Any) -> None:
    """Put what was looked up in its place among the runs, and into the cache."""
    for a in range(misses):
        run = _u64(missed[_u64(a)])
        key, value = keys[run], found[_u64(a)]
        values[run] = value
        slot = (key * _SPREAD) >> _SLOT_SHIFT
        cache[slot, _u64(0)] = key
        cache[slot, _u64(1)] = value


@inner
def _look_up(
    planes: Any,
    zeros: Any,
    at: Any,
    count: int,
    cells: Any,
    nodes: Any,
    buffers: Any,
    values: Any,
) -> None:
    """Values of the pixels `at`: red, green, blue, outside (8 bits each), L* + 32768."""
    steps, corners, weights, lows, highs = buffers
    _enter(planes, zeros, at, count, cells, steps)
    _walk(zeros, count, steps, corners, weights)
    _fetch(zeros, count, corners, nodes)
    _blend(zeros, count, corners, weights, lows, highs)
    _pack(count, lows, highs, values)


@inner
def _enter(planes: Any, zeros: Any, at: Any, count: int, cells: Any, steps: Any) -> None:
    """Word of each pixel along each ink."""
    for ink in range(len(zeros)):
        plane = planes[ink]
        cell = cells[_u64(ink)]
        words = steps[_u64(ink)]
        for a in range(count):
            words[_u64(a)] = cell[plane[_u64(at[_u64(a)])]]


@inner
def _walk(zeros: Any, count: int, steps: Any, corners: Any, weights: Any) -> None:
    """Corners of the simplex and their weights: along the largest fraction first."""
    inks = len(zeros)
    for a in range(count):
        corner = _i64(0)
        words = zeros
        for ink in range(inks):
            word = steps[_u64(ink), _u64(a)]
            corner += word & _LOW
            words = tuple_setitem(words, ink, word >> _BITS)
        for end in range(inks - 1, 0, -1):
            for ink in range(end):
                one, two = words[ink], words[ink + 1]
                words = tuple_setitem(words, ink, max(one, two))
                words = tuple_setitem(words, ink + 1, min(one, two))
        above = _ONE
        for ink in range(inks):
            fraction = words[ink] >> _BITS
            weights[_u64(ink), _u64(a)] = above - fraction
            corners[_u64(ink), _u64(a)] = corner
            corner += words[ink] & _LOW
            above = fraction
        weights[_u64(inks), _u64(a)] = above
        corners[_u64(inks), _u64(a)] = corner


@inner
def _fetch(zeros: Any, count: int, corners: Any, nodes: Any) -> None:
    """Put the nodes in the place of their numbers: all loads at once, for memory is far."""
    for step in range(len(zeros) + 1):
        for a in range(count):
            node = nodes[_u64(corners[_u64(step), _u64(a)])]
            corners[_u64(step), _u64(a)] = _i64(node)


@inner
def _blend(zeros: Any, count: int, corners: Any, weights: Any, lows: Any, highs: Any) -> None:
    """Weighted sums: two fields of a node at once, each in 32 bits of a word."""
    for a in range(count):
        low = _HALF
        high = _HALF
        for step in range(len(zeros) + 1):
            node = _u64(corners[_u64(step), _u64(a)])
            weight = _u64(weights[_u64(step), _u64(a)])
            low += (node & _EVEN) * weight
            high += ((node >> _S16) & _EVEN) * weight
        lows[_u64(a)] = low
        highs[_u64(a)] = high


@inner
def _pack(count: int, lows: Any, highs: Any, values: Any) -> None:
    """Value of each pixel, rounded to 8 bits and clipped."""
    for a in range(count):
        low = lows[_u64(a)]
        high = highs[_u64(a)]
        red = (_i64((low & _FIELD) >> _S15) - _BIAS + 32) >> 6
        green = (_i64((high & _FIELD) >> _S15) - _BIAS + 32) >> 6
        blue = (_i64(low >> _S47) - _BIAS + 32) >> 6
        red8 = _i64(min(max(red, 0), 255))
        green8 = _i64(min(max(green, 0), 255))
        blue8 = _i64(min(max(blue, 0), 255))
        outside = _i64(red != red8) | _i64(green != green8) | _i64(blue != blue8)
        light = _i64(high >> _S47)
        values[_u64(a)] = red8 | green8 << 8 | blue8 << 16 | outside << 24 | light << 32


@inner
def _write(
    starts: Any, runs: int, values: Any, spread: Any, srgb: Any, eights: Any, lightness: Any
) -> int:
    """Fill every run; the number of pixels outside sRGB."""
    first, stop = starts[0], starts[_u64(runs)]
    outside = 0
    if runs * _SHORT > stop - first:
        _spread(starts, runs, values, spread)
        for a in range(stop - first):
            outside += _i64(spread[_u64(a)] >> _S24) & 1
        _write_pixels(first, stop - first, spread, srgb, lightness)
        return outside
    for run in range(runs):
        start, end, value = starts[_u64(run)], starts[_u64(run + 1)], values[_u64(run)]
        outside += (_i64(value >> _S24) & 1) * (end - start)
        _write_run(start, end, value, srgb, eights)
        if lightness.size:
            light = _i64(value >> _S32) - _BIAS
            for pixel in range(start, end):
                lightness[_u64(pixel)] = light
    return outside


@inner
def _spread(starts: Any, runs: int, values: Any, spread: Any) -> None:
    """The value of each pixel from those of runs."""
    first = starts[0]
    for run in range(runs):
        for pixel in range(starts[_u64(run)], starts[_u64(run + 1)]):
            spread[_u64(pixel - first)] = values[_u64(run)]


@inner
def _write_pixels(first: int, count: int, values: Any, srgb: Any, lightness: Any) -> None:
    for a in range(count):
        value = values[_u64(a)]
        place = 3 * (first + a)
        srgb[_u64(place)] = _u8(value)
        srgb[_u64(place + 1)] = _u8(value >> _S8)
        srgb[_u64(place + 2)] = _u8(value >> _S16)
    if lightness.size:
        for a in range(count):
            lightness[_u64(first + a)] = _i64(values[_u64(a)] >> _S32) - _BIAS


@inner
def _write_run(first: int, stop: int, value: Any, srgb: Any, eights: Any) -> None:
    """Fill one run: eight pixels are three words, where the run reaches so far."""
    colour = value & _u64(0xFFFFFF)
    aligned = (first + 7) // 8
    blocks = stop // 8 - aligned
    if blocks <= 0:
        _write_few(first, stop, colour, srgb)
        return
    _write_few(first, 8 * aligned, colour, srgb)
    one = colour | colour << _S24 | colour << _S48
    two = colour >> _S16 | colour << _S8 | colour << _S32 | colour << _S56
    three = colour >> _S8 | colour << _S16 | colour << _S40
    for word in range(3 * aligned, 3 * (aligned + blocks), 3):
        eights[_u64(word)] = one
        eights[_u64(word + 1)] = two
        eights[_u64(word + 2)] = three
    _write_few(8 * (aligned + blocks), stop, colour, srgb)


@inner
def _write_few(first: int, stop: int, colour: Any, srgb: Any) -> None:
    for pixel in range(first, stop):
        srgb[_u64(3 * pixel)] = _u8(colour)
        srgb[_u64(3 * pixel + 1)] = _u8(colour >> _S8)
        srgb[_u64(3 * pixel + 2)] = _u8(colour >> _S16)
