"""Counting colour differences between two pictures, pixel by pixel, in steps of dE00.

Only sums, products, quotients, square roots and tables: these round alike everywhere, so that the
NumPy twin in checks/reference/difference.py, which tells the formula, gives the same bits.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

_CHUNK = 512  # pairs of colours whose numbers stay in the first cache
_BLOCK = 64  # pixels that are looked at together: artwork has many that are all alike


@loop
def count_steps(
    first: Any, second: Any, tables: Any, numbers: Any, histogram: Any, steps_per_de00: float
) -> None:
    """Add the steps of all pairs of pixels to a histogram.

    Parameters
    ----------
    first, second : (3 * N,) uint8 ndarray
        sRGB of the two pictures.
    tables : tuple of ndarray
        Linear light (256,), cube roots (R,), tilts (4 * cells, 6); from `checks.difference`.
    numbers : tuple of ndarray
        Matrices to the ratios of both, (3, 3) each, and the constants, (K,).
    histogram : (bins,) int64 ndarray
    """
    linear, roots, tilts = tables
    ratios_of_first, ratios_of_second, constants = numbers
    room = np.empty((9, _CHUNK))
    at = np.empty(_CHUNK, np.int64)
    lengths = np.empty(_CHUNK, np.int64)
    total = first.size // 3
    pixel = 0
    while pixel < total:
        count, pixel = _gather_pairs(first, second, pixel, total, at, lengths)
        _ratios(first, at, count, linear, ratios_of_first, room[0], room[1], room[2])
        _ratios(second, at, count, linear, ratios_of_second, room[3], room[4], room[5])
        for row in range(6):
            _cube_roots(room[row], count, roots, constants)
        _squares(room, count, constants)
        _count(room, count, lengths, tilts, histogram, steps_per_de00)


@inner
def _gather_pairs(
    first: Any, second: Any, pixel: int, total: int, at: Any, lengths: Any
) -> tuple[int, int]:
    """Runs of equal neighbouring pairs from a pixel on: where, how long; how many, and the end."""
    count = -1
    start = pixel
    while pixel < total:
        same = pixel > start and total - pixel >= _BLOCK
        if same and _is_flat(first, second, pixel):
            lengths[count] += _BLOCK
            pixel += _BLOCK
            continue
        stop = min(pixel + _BLOCK, total)
        if count + 1 + stop - pixel > _CHUNK:
            break
        for index in range(pixel, stop):
            if index > start and _is_same(first, second, index):
                lengths[count] += 1
            else:
                count += 1
                at[count] = index
                lengths[count] = 1
        pixel = stop
    return count + 1, pixel


@inner
def _is_flat(first: Any, second: Any, pixel: int) -> bool:
    """Whether _BLOCK pairs are the same as the one before them."""
    low = 3 * pixel
    here, there = first[low : low + 3 * _BLOCK], second[low : low + 3 * _BLOCK]
    before, there_before = first[low - 3 :], second[low - 3 :]
    differing = np.uint8(0)
    for byte in range(3 * _BLOCK):
        differing |= (here[byte] ^ before[byte]) | (there[byte] ^ there_before[byte])
    return bool(differing == 0)


@inner
def _is_same(first: Any, second: Any, pixel: int) -> bool:
    low = 3 * pixel
    differing = np.uint8(0)
    for byte in range(3):
        differing |= first[low + byte] ^ first[low + byte - 3]
        differing |= second[low + byte] ^ second[low + byte - 3]
    return bool(differing == 0)


@inner
def _ratios(
    srgb: Any, at: Any, count: int, linear: Any, matrix: Any, x_out: Any, y_out: Any, z_out: Any
) -> None:
    """X, Y and Z over those of the white."""
    for index in range(count):
        low = 3 * at[index]
        red, green, blue = linear[srgb[low]], linear[srgb[low + 1]], linear[srgb[low + 2]]
        x_out[index] = matrix[0, 0] * red + matrix[0, 1] * green + matrix[0, 2] * blue
        y_out[index] = matrix[1, 0] * red + matrix[1, 1] * green + matrix[1, 2] * blue
        z_out[index] = matrix[2, 0] * red + matrix[2, 1] * green + matrix[2, 2] * blue


@inner
def _cube_roots(ratios: Any, count: int, roots: Any, constants: Any) -> None:
    """f(t) of CIE 15 in the place of t: two steps after Halley from a near value."""
    knee, slope, offset, per_one = constants[0], constants[1], constants[2], constants[3]
    last = roots.size - 1
    for index in range(count):
        ratio = ratios[index]
        root = roots[min(int(ratio * per_one), last)]
        for _ in range(2):
            cube = root * root * root
            root = (root * (cube + (ratio + ratio))) / ((cube + cube) + ratio)
        ratios[index] = root if ratio > knee else slope * ratio + offset


@inner
def _squares(room: Any, count: int, constants: Any) -> None:
    """Square of dE00 without the tilt (6), what the tilt multiplies (7), place of the hue (8)."""
    far, opposite = constants[4], constants[5]
    for index in range(count):
        fx, fy, fz = room[0, index], room[1, index], room[2, index]
        gx, gy, gz = room[3, index], room[4, index], room[5, index]
        L1, a1, b1 = 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)
        L2, a2, b2 = 116 * gy - 16, 500 * (gx - gy), 200 * (gy - gz)
        mean = (_length(a1, b1) + _length(a2, b2)) * 0.5
        stretch = 1 + 0.5 * (1 - _share_of_far(mean, far))
        a1, a2 = a1 * stretch, a2 * stretch
        C1, C2 = _length(a1, b1), _length(a2, b2)
        half_sine, c, s = _hues(a1, b1, C1, a2, b2, C2, opposite)
        chroma, off = (C1 + C2) * 0.5, (L1 + L2) * 0.5 - 50
        off50 = off * off
        dL = (L2 - L1) / (1 + 0.015 * off50 / np.sqrt(20 + off50))
        dC = (C2 - C1) / (1 + 0.045 * chroma)
        weight = _hue_weight(c, s, constants)
        dH = 2 * np.sqrt(C1 * C2) * half_sine / (1 + 0.015 * chroma * weight)
        room[6, index] = dL * dL + dC * dC + dH * dH
        room[7, index] = 2 * _share_of_far(chroma, far) * dC * dH
        across = c / (abs(c) + abs(s) + 1e-300)
        room[8, index] = 3 + across if s < 0 else 1 - across


@inner
def _length(x: float, y: float) -> float:
    return np.sqrt(x * x + y * y)  # type: ignore[no-any-return]


@inner
def _share_of_far(chroma: float, far: float) -> float:
    chroma2 = chroma * chroma
    chroma7 = chroma2 * chroma2 * chroma2 * chroma
    return np.sqrt(chroma7 / (chroma7 + far))  # type: ignore[no-any-return]


@inner
def _hues(
    a1: float, b1: float, C1: float, a2: float, b2: float, C2: float, opposite: float
) -> tuple[float, float, float]:
    """Sine of half the hue difference, cosine and sine of the mean hue."""
    both, dot, cross = C1 * C2, a1 * a2 + b1 * b2, a1 * b2 - a2 * b1
    up1, up2 = b1 >= 0, b2 >= 0
    ordered = ((a1 > 0) == up1) if up1 == up2 else up1
    later = ordered if abs(cross) <= opposite * both else cross >= 0
    sign, near = 1.0 if later else -1.0, dot >= 0
    x = C2 * a1 + C1 * a2 if near else sign * (C1 * b2 - C2 * b1)
    y = C2 * b1 + C1 * b2 if near else sign * (C2 * a1 - C1 * a2)
    length = _length(x, y)
    length = length if length > 0 else 1.0
    half_sine = (cross if near else sign * length) / (length if near else both + both)
    return half_sine, x / length, y / length


@inner
def _hue_weight(c: float, s: float, constants: Any) -> float:
    """T of equation 15."""
    c30, s30, c6 = constants[6], constants[7], constants[8]
    s6, c63, s63 = constants[9], constants[10], constants[11]
    c2, s2 = c * c - s * s, 2 * (s * c)
    c3, s3 = c2 * c - s2 * s, s2 * c + c2 * s
    c4, s4 = c2 * c2 - s2 * s2, 2 * (s2 * c2)
    turned = 1 - 0.17 * (c * c30 + s * s30) + 0.24 * c2 + 0.32 * (c3 * c6 - s3 * s6)
    return turned - 0.20 * (c4 * c63 + s4 * s63)  # type: ignore[no-any-return]


@inner
def _count(
    room: Any, count: int, lengths: Any, tilts: Any, histogram: Any, steps_per_de00: float
) -> None:
    """Take the tilt off and count the steps."""
    cells = tilts.shape[0] // 4
    for index in range(count):
        place = room[8, index] * cells
        cell = min(int(place), 4 * cells - 1)
        off = place - cell - 0.5
        terms = tilts[cell]
        tilt = terms[4] + off * terms[5]
        tilt = terms[2] + off * (terms[3] + off * tilt)
        tilt = terms[0] + off * (terms[1] + off * tilt)
        square = room[6, index] - tilt * room[7, index]
        de00 = np.sqrt(square if square > 0 else 0.0)
        step = min(int(de00 * steps_per_de00 + 0.5), histogram.size - 1)
        histogram[step] += lengths[index]
