"""The seven passes of an interlaced PNG, woven into rows from top to bottom.

Rows of the picture need all passes, and these follow one another in the file. So they go to scratch
room first, and rows come out of that, a band at a time: what is held is a band, however large the
picture is. Clauses are those of the PNG specification, third edition.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.scratch.space import Space
from inkmix.plates.files.scratch.spool import Block, RowFormat

_GRID = 8
_BAND_BYTES = 2**18
# First row and column of each pass, and steps down and to the right (8.1).
_ADAM7 = (
    (0, 0, 8, 8),
    (0, 4, 8, 8),
    (4, 0, 8, 4),
    (0, 2, 4, 4),
    (2, 0, 4, 2),
    (0, 1, 2, 2),
    (1, 0, 2, 1),
)

Bands = Callable[[RowFormat, int], Iterator[NDArray[np.uint8]]]
"""Gives the lines of the next pass in bands: (format, rows)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pass:
    """One pass: which pixels of the picture it has, and where its lines lie in scratch space."""

    top: int
    left: int
    down: int
    right: int
    rows: int
    format: RowFormat
    place: int

    @property
    def bytes(self) -> int:
        return self.rows * self.format.row_bytes


def woven_rows(
    form: RowFormat, height_px: int, *, bands: Bands, new_space: Callable[[int], Space]
) -> Iterator[Block]:
    """Rows of the picture in order; `new_space` gives scratch space for so many bytes."""
    passes = _passes(form, height_px)
    space = new_space(passes[-1].place + passes[-1].bytes)
    for one in passes:
        place = one.place
        for lines in bands(one.format, one.rows):
            space.write(place, lines)
            place += lines.nbytes
    step = _GRID * max(1, _BAND_BYTES // (_GRID * form.row_bytes))
    for top in range(0, height_px, step):
        stop = min(top + step, height_px)
        yield Block(row=top, lines=_woven(form, passes, space, top=top, stop=stop))


def _passes(form: RowFormat, height_px: int) -> list[_Pass]:
    """The passes that have pixels; a small picture lacks some (8.1)."""
    passes: list[_Pass] = []
    place = 0
    for top, left, down, right in _ADAM7:
        rows, cols = -(-(height_px - top) // down), -(-(form.width_px - left) // right)
        if rows <= 0 or cols <= 0:
            continue
        lines = RowFormat(width_px=cols, channels=form.channels, bits=form.bits)
        passes.append(
            _Pass(top=top, left=left, down=down, right=right, rows=rows, format=lines, place=place)
        )
        place += passes[-1].bytes
    return passes


def _woven(
    form: RowFormat, passes: list[_Pass], space: Space, *, top: int, stop: int
) -> NDArray[np.uint8]:
    """Lines of the picture from `top`, a multiple of 8, to `stop`."""
    dtype = np.uint16 if form.bits == 16 else np.uint8
    numbers = np.empty((stop - top, form.width_px, form.channels), dtype)
    for one in passes:
        first, last = top // one.down, -(-(stop - one.top) // one.down)
        if last <= first:
            continue
        lines = np.empty((last - first, one.format.row_bytes), np.uint8)
        space.read_into(one.place + first * one.format.row_bytes, lines)
        numbers[one.top :: one.down, one.left :: one.right] = one.format.numbers(lines)
    return form.lines(numbers)
