"""Sums over square blocks of pixels, for reduced pictures. The twins are in overview.py."""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop

_TILE = 2048  # columns whose running sums stay in the first cache


@loop
def block_sums(plane: Any, first_row: int, factor: int, sums: Any) -> None:
    """Add a plane (rows, cols) of whole numbers below 2^16 to `sums` (block rows, block cols).

    The first row of `sums` holds the block that row `first_row` of the sheet lies in; the plane
    starts with a block along a row. A block has fewer than 65536 rows.
    """
    tile = factor * max(1, _TILE // factor)
    column = np.zeros(tile, np.uint32)
    rows, cols = plane.shape
    for left in range(0, cols, tile):
        right = min(left + tile, cols)
        start, block = 0, 0
        while start < rows:
            stop = min(start + factor - (first_row + start) % factor, rows)
            _add_rows(plane[start:stop, left:right], column)
            _move(column[: right - left], factor, sums[block, left // factor :])
            start, block = stop, block + 1


@inner
def _add_rows(lines: Any, column: Any) -> None:
    """Add rows (n, cols) to the sums of columns; four at once, to touch the sums less."""
    rows, cols = lines.shape
    whole = rows - rows % 4
    for row in range(0, whole, 4):
        first, second, third, fourth = lines[row], lines[row + 1], lines[row + 2], lines[row + 3]
        for at in range(cols):
            pair = np.uint32(first[at]) + np.uint32(second[at])
            column[at] += np.uint32(pair + np.uint32(third[at]) + np.uint32(fourth[at]))
    for row in range(whole, rows):
        line = lines[row]
        for at in range(cols):
            column[at] += np.uint32(line[at])


@inner
def _move(column: Any, factor: int, sums: Any) -> None:
    """Add sums of columns to those of their blocks, and clear them."""
    for block in range(-(-column.shape[0] // factor)):
        start = block * factor
        total = np.int64(0)
        for at in range(start, min(start + factor, column.shape[0])):
            total += np.int64(column[at])
        sums[block] += total
    column[:] = 0


@loop
def block_sums_of_colour(srgb8: Any, linear: Any, first_row: int, factor: int, sums: Any) -> None:
    """Add `linear[srgb8]` (rows, cols, 3) to `sums` (block rows, block cols, 3); see block_sums.

    `linear` is (256,) of numbers below 2^16.
    """
    top = first_row // factor
    for row in range(srgb8.shape[0]):
        into = sums[(first_row + row) // factor - top]
        line = srgb8[row]
        for block in range(into.shape[0]):
            red = green = blue = np.int64(0)
            for at in range(block * factor, min((block + 1) * factor, line.shape[0])):
                red += np.int64(linear[line[at, 0]])
                green += np.int64(linear[line[at, 1]])
                blue += np.int64(linear[line[at, 2]])
            into[block, 0] += red
            into[block, 1] += green
            into[block, 2] += blue


@loop
def together(planes: Any, bare: Any, full_on_bare: Any, products: Any, full_from: int) -> None:
    """Add joint counts of pixels (I, n) of uint8 to (I,), (I,) and (I, I) of int64.

    `bare`: pixels where no other plate has ink; `full_on_bare`: those of them where this plate has
    `full_from` or more; `products`: sums of products.
    """
    plates, length = planes.shape
    for start in range(0, length, _TILE):
        some = planes[:, start : min(start + _TILE, length)]
        inked = _inked(some)
        for plate in range(plates):
            line, alone, full = some[plate], 0, 0
            for at in range(line.shape[0]):
                is_alone = inked[at] == (line[at] > 0)
                alone += is_alone
                full += is_alone & (line[at] >= full_from)
            bare[plate] += alone
            full_on_bare[plate] += full
            for other in range(plate, plates):
                product = _product(line, some[other])
                products[plate, other] += product
                if other != plate:
                    products[other, plate] += product


@inner
def _inked(planes: Any) -> Any:
    """Plates with ink in each pixel."""
    inked = np.zeros(planes.shape[1], np.uint8)
    for plate in range(planes.shape[0]):
        line = planes[plate]
        for at in range(line.shape[0]):
            inked[at] += np.uint8(line[at] > 0)
    return inked


@inner
def _product(first: Any, second: Any) -> Any:
    """Sum of products of at most _TILE pixels of 8 bits: far below 2^32."""
    total = np.uint32(0)
    for at in range(first.shape[0]):
        total = np.uint32(total + np.uint32(first[at]) * np.uint32(second[at]))
    return np.int64(total)
