"""Rectangles out of the strips or tiles of a TIFF page; only those that a rectangle touches.

The readers here are alike: `read(rows, cols, sample)` gives the numbers of one channel. Which one
serves a page is chosen in `page_reader`, by how large its strips are and how they are packed.
"""

import math
from collections.abc import Callable
from functools import partial
from typing import Any, BinaryIO, Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import thread_count
from inkmix.base.words import size_of
from inkmix.plates.files.limits import MAX_HELD_PX, MAX_SEGMENT_PX
from inkmix.plates.files.raster import Samples, refusal
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.source import SourceFile
from inkmix.plates.files.tiff.layout import Layout
from inkmix.plates.files.tiff.long_strips import PlainReader, SpoolReader
from inkmix.plates.files.tiff.segment_cache import KeptSegments
from inkmix.plates.files.tiff.strip_rows import is_streamed
from inkmix.plates.files.tiff.unpack import Unpacker


class Reader(Protocol):
    """Gives rectangles of one channel."""

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols)."""


def page_reader(
    source: SourceFile, layout: Layout, *, general: Callable[..., Any], room: ScratchRoom
) -> Reader:
    """The reader that fits how a page is stored; `general` is the library's own decoder."""
    unpacker = Unpacker(source=source, layout=layout, general=general)
    if layout.segment_px <= MAX_SEGMENT_PX:
        return SegmentReader(unpacker, room)
    if layout.is_plain:
        return PlainReader(unpacker)
    if layout.segment_px > MAX_HELD_PX and not is_streamed(layout):
        raise refusal(
            source.path,
            f"holds {size_of(layout.segment_cols, layout.segment_rows, 'px')} in one packed piece",
            f"pieces packed like that are read up to {MAX_HELD_PX // 10**6} million pixels",
            "export with strips or tiles",
        )
    return SpoolReader(unpacker, room)


class SegmentReader:
    """Unpacks strips or tiles when they are touched; several threads may read at once.

    Segments of one channel that a window holds whole are unpacked for it alone. What a window only
    cuts, and what holds other channels too, is kept: the segments under the windows that are on
    their way at once, in scratch space above MAX_IN_MEMORY_BYTES. So memory is at most that, and a
    packed and an unpacked segment of MAX_SEGMENT_PX numbers for each thread, whatever the width
    and the number of inks.
    """

    def __init__(self, unpacker: Unpacker, room: ScratchRoom) -> None:
        layout = unpacker.layout
        self._unpacker, self._layout = unpacker, layout
        slot_bytes = math.prod(layout.segment_shape(0)) * np.dtype(layout.dtype).itemsize
        self._kept = KeptSegments(slot_bytes, partial(room.space, path=unpacker.source.path))

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        layout = self._layout
        out = np.empty((rows.stop - rows.start, cols.stop - cols.start), layout.dtype)
        is_whole = layout.shape[3] == 1 and _covers(layout, rows, cols)
        touched = tuple(layout.touched(rows, cols, sample))
        if not is_whole:
            self._kept.have(_worth_keeping(layout, rows, len(touched)))
        with self._unpacker.source.opened() as file:
            take = self._whole if is_whole else self._cut
            for index, top, left in touched:
                take(file, index, out, corner=(top - rows.start, left - cols.start), sample=sample)
        return out

    def _whole(
        self, file: BinaryIO, index: int, out: Samples, *, corner: tuple[int, int], sample: int
    ) -> None:
        """A segment into the window that holds it whole."""
        rows, cols, _ = self._layout.segment_shape(index)
        place = out[corner[0] :, corner[1] :][:rows, :cols]
        if place.shape == (rows, cols) and place.flags.c_contiguous:
            self._fill(file, place[..., np.newaxis], index)
            return
        segment = self._segment(index)
        self._fill(file, segment, index)
        place[:] = segment[: place.shape[0], : place.shape[1], 0]

    def _cut(
        self, file: BinaryIO, index: int, out: Samples, *, corner: tuple[int, int], sample: int
    ) -> None:
        """The part of a segment that a window touches."""
        row, col = corner
        top, stop = self._layout.rows_of(index)
        part = slice(max(-row, 0), min(len(out) - row, stop - top))
        kept = self._kept.rows(
            self._segment(index), index, rows=part, fill=partial(self._fill, file)
        )
        channel = 0 if self._layout.planar else sample
        left, right = max(col, 0), min(col + kept.shape[1], out.shape[1])
        place = out[row + part.start : row + part.stop, left:right]
        place[:] = kept[:, left - col : right - col, channel]

    def _fill(self, file: BinaryIO, out: NDArray[Any], index: int) -> None:
        layout, count = self._layout, self._layout.byte_counts[index]
        file.seek(layout.offsets[index])
        if layout.is_bytes and out.nbytes <= count:
            if file.readinto(out.data) < out.nbytes:  # type: ignore[attr-defined]
                raise self._unpacker.fault(index, "ends early")
            return
        self._unpacker.into(out, file.read(count), index)

    def _segment(self, index: int) -> NDArray[Any]:
        segment: NDArray[Any] = np.empty(self._layout.segment_shape(index), self._layout.dtype)
        return segment


def _covers(layout: Layout, rows: slice, cols: slice) -> bool:
    """Whether a window is made of whole segments."""
    sides = (
        (rows, layout.segment_rows, layout.height_px),
        (cols, layout.segment_cols, layout.width_px),
    )
    return all(
        span.start % step == 0 and (span.stop % step == 0 or span.stop == size)
        for span, step, size in sides
    )


def _worth_keeping(layout: Layout, rows: slice, touched: int) -> int:
    """How many segments lie under windows like this one, as many as are on their way at once."""
    windows = thread_count() + 1
    if _covers(layout, rows, slice(0, layout.width_px)):
        return windows * touched * layout.shape[0]
    # As many rows of segments as so many windows touch wherever they start.
    down: int = (windows * (rows.stop - rows.start) - 2) // layout.segment_rows + 2
    return min(down, layout.down) * layout.across * layout.shape[0]
