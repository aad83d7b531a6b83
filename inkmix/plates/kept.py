"""Pixels of a set kept aside in scratch space, for those who want them again.

Unpacking and computing them again costs more than a scratch file; where there is no room for one
they are computed again, with the same result.
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

import numpy as np

from inkmix.base.errors import PlateError
from inkmix.plates.files.raster import Samples
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.space import Space

Box = tuple[slice, slice]


class KeptPlanes:
    """Planes of rectangles, row by row as they come; any thread may put and ask.

    Parameters
    ----------
    boxes : sequence of (rows, cols)
        Rows are kept that come in their whole width.
    """

    def __init__(
        self, boxes: Sequence[Box], space: Space, *, planes: int, dtype: np.dtype[Any]
    ) -> None:
        self._boxes, self._space = tuple(boxes), space
        self._planes, self._dtype = planes, dtype
        self._item_bytes: int = dtype.itemsize
        sizes = [bytes_of([box], planes, self._dtype) for box in boxes]
        self._starts: list[int] = [sum(sizes[:number]) for number in range(len(sizes))]
        self._there = [np.zeros(rows.stop - rows.start, np.bool_) for rows, _ in boxes]

    def put(self, planes: Samples, *, rows: slice, cols: slice) -> None:
        """Keep planes (I, rows, cols), as far as they hold rows of the rectangles as wholes."""
        for number, (down, right) in self._parts(rows, cols):
            box_rows, box_cols = self._boxes[number]
            if right != box_cols:
                continue
            some = planes[:, _within(down, rows), _within(right, cols)]
            with suppress(PlateError):  # the disk is full: they are computed again
                for index, plane in enumerate(some):
                    place = self._place(number, index, down.start, right.start)
                    self._space.write(place, np.ascontiguousarray(plane))
                self._there[number][_within(down, box_rows)] = True

    def over(self, planes: Samples, *, rows: slice, cols: slice) -> Samples | None:
        """Planes (I, rows, cols) with what is kept in place; None where any of it is missing."""
        parts = list(self._parts(rows, cols))
        if not all(self._has(number, down) for number, (down, _) in parts):
            return None
        done = planes.copy()
        for number, (down, right) in parts:
            at = _within(down, rows), _within(right, cols)
            done[:, *at] = self._read(number, down, right)
        return done

    def whole(self, *, rows: slice, cols: slice) -> Samples | None:
        """The planes (I, rows, cols) of a part of one of the rectangles, where they are kept."""
        for number, (down, right) in self._parts(rows, cols):
            if (down, right) == (rows, cols) and self._has(number, rows):
                return self._read(number, rows, cols)
        return None

    def _parts(self, rows: slice, cols: slice) -> Iterator[tuple[int, Box]]:
        """Number of each rectangle that a window touches, and what they share."""
        for number, box in enumerate(self._boxes):
            down, right = (
                slice(max(a.start, b.start), min(a.stop, b.stop))
                for a, b in zip(box, (rows, cols), strict=True)
            )
            if down.start < down.stop and right.start < right.stop:
                yield number, (down, right)

    def _has(self, number: int, rows: slice) -> bool:
        return bool(self._there[number][_within(rows, self._boxes[number][0])].all())

    def _read(self, number: int, rows: slice, cols: slice) -> Samples:
        """A part of a rectangle, (I, rows, cols): no more is read than that."""
        shape = (self._planes, rows.stop - rows.start, cols.stop - cols.start)
        planes: Samples = np.empty(shape, self._dtype)
        is_wide = cols == self._boxes[number][1]
        for index, plane in enumerate(planes):
            for place, part in enumerate([plane] if is_wide else plane, rows.start):
                self._space.read_into(self._place(number, index, place, cols.start), part)
        return planes

    def _place(self, number: int, plane: int, row: int, col: int) -> int:
        """The byte at which a pixel of a plane lies."""
        rows, cols = self._boxes[number]
        line = plane * (rows.stop - rows.start) + row - rows.start
        pixel: int = line * (cols.stop - cols.start) + col - cols.start
        return self._starts[number] + pixel * self._item_bytes


def bytes_of(boxes: Sequence[Box], planes: int, dtype: np.dtype[Any]) -> int:
    """What planes of rectangles take."""
    pixels = sum((rows.stop - rows.start) * (cols.stop - cols.start) for rows, cols in boxes)
    count: int = pixels * planes * dtype.itemsize
    return count


def _within(part: slice, whole: slice) -> slice:
    """A part of a span, counted from its beginning."""
    return slice(part.start - whole.start, part.stop - whole.start)


def kept_planes(
    boxes: Sequence[Box], room: ScratchRoom, *, planes: int, full: int, leaving: int
) -> KeptPlanes | None:
    """Nothing kept yet of so many planes; None where fewer bytes than `leaving` would stay free.

    Parameters
    ----------
    full : int
        Ink amount of 100 %: 255 or 65535.
    """
    dtype = dtype_of(full)
    space = room.spare(bytes_of(boxes, planes, dtype), leaving=leaving)
    return None if space is None else KeptPlanes(boxes, space, planes=planes, dtype=dtype)


def dtype_of(full: int) -> np.dtype[Any]:
    """Of ink amounts up to that of 100 %."""
    return np.dtype(np.uint8 if full == 255 else np.uint16)
