"""Rectangles out of the strips or tiles of a TIFF page; only those that a rectangle touches.

The readers here are alike: `read(rows, cols, sample)` gives the numbers of one channel. Which one
serves a page is chosen in `page_reader`, by how large its strips are and how they are packed.
"""

import threading
import zlib
from collections import OrderedDict
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.limits import MAX_HELD_PX, MAX_SEGMENT_PX, MAX_WINDOW_PX
from inkmix.plates.raster import Samples, opened_file, refusal
from inkmix.plates.scratch import scratch_array
from inkmix.plates.tiff_layout import Layout

_DEFLATE = (8, 32946)
_CHUNK_BYTES = 2**20


class Reader(Protocol):
    """Gives rectangles of one channel."""

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols)."""


def page_reader(path: Path, page: Any, layout: Layout) -> Reader:
    """The reader that fits how a page is stored."""
    if layout.segment_px <= MAX_SEGMENT_PX:
        return SegmentReader(path, page, layout)
    if layout.is_plain:
        return PlainReader(path, layout)
    if layout.width_px * layout.height_px > MAX_HELD_PX:
        raise refusal(
            path,
            f"holds {layout.width_px} x {layout.height_px} px in one packed piece",
            f"such files are read up to {MAX_HELD_PX // 10**6} million pixels",
            "export with strips or tiles",
        )
    return HeldReader(path, page, layout)


class SegmentReader:
    """Decodes strips or tiles when they are touched and keeps the last few."""

    def __init__(self, path: Path, page: Any, layout: Layout) -> None:
        self._path, self._layout, self._decode = path, layout, page.decode
        self._lock = threading.Lock()
        self._kept: OrderedDict[int, NDArray[Any]] = OrderedDict()
        # One window of all channels: the inks of a file are read one after the other.
        window_px = MAX_WINDOW_PX * layout.shape[3]
        self._keep_count = max(layout.across + 1, -(-window_px // layout.segment_px))

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        layout = self._layout
        out = np.empty((rows.stop - rows.start, cols.stop - cols.start), layout.dtype)
        channel = 0 if layout.planar else sample
        with opened_file(self._path) as file:
            for index, top, left in layout.touched(rows, cols, sample):
                segment = self._segment(file, index)[..., channel]
                _paste(out, segment, row=top - rows.start, col=left - cols.start)
        return out

    def _segment(self, file: BinaryIO, index: int) -> NDArray[Any]:
        with self._lock:
            if index in self._kept:
                self._kept.move_to_end(index)
                return self._kept[index]
        segment = decoded(self._path, file, self._decode, self._layout, index)
        with self._lock:
            self._kept[index] = segment
            while len(self._kept) > self._keep_count:
                self._kept.popitem(last=False)
        return segment


class PlainReader:
    """Uncompressed strips of any size: rows are read where they lie in the file."""

    def __init__(self, path: Path, layout: Layout) -> None:
        self._path, self._layout = path, layout

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        layout = self._layout
        out = np.empty((rows.stop - rows.start, cols.stop - cols.start), layout.dtype)
        channel = 0 if layout.planar else sample
        with opened_file(self._path) as file:
            for index, top, _ in layout.touched(rows, cols, sample):
                start = max(rows.start, top)
                stop = min(rows.stop, top + layout.segment_rows)
                block = self._rows(file, index, first=start - top, count=stop - start)
                out[start - rows.start : stop - rows.start] = block[:, cols, channel]
        return out

    def _rows(self, file: BinaryIO, index: int, *, first: int, count: int) -> NDArray[Any]:
        layout = self._layout
        file.seek(layout.offsets[index] + first * layout.row_bytes)
        return layout.unpack_rows(_whole(self._path, file, count * layout.row_bytes))


class HeldReader:
    """Large packed strips: decoded once, row by row where the packing allows, to scratch room."""

    def __init__(self, path: Path, page: Any, layout: Layout) -> None:
        self._path, self._page, self._layout = path, page, layout
        self._lock = threading.Lock()
        self._held: NDArray[Any] | None = None

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        with self._lock:
            if self._held is None:
                self._held = self._decode_all()
        plane, channel = (sample, 0) if self._layout.planar else (0, sample)
        return np.array(self._held[plane, rows, cols, channel])

    def _decode_all(self) -> NDArray[Any]:
        layout = self._layout
        held = scratch_array(layout.shape, layout.dtype)
        whole = (slice(0, layout.height_px), slice(0, layout.width_px))
        with opened_file(self._path) as file:
            for plane in range(layout.shape[0]):
                for index, top, left in layout.touched(*whole, plane):
                    self._fill(held[plane], file, index, top=top, left=left)
        return held

    def _fill(
        self, plane: NDArray[Any], file: BinaryIO, index: int, *, top: int, left: int
    ) -> None:
        if self._layout.compression in _DEFLATE and not self._layout.tiled:
            self._inflate(plane, file, index, top=top)
            return
        segment = decoded(self._path, file, self._page.decode, self._layout, index)
        _paste(plane, segment, row=top, col=left)

    def _inflate(self, plane: NDArray[Any], file: BinaryIO, index: int, *, top: int) -> None:
        layout = self._layout
        stop = min(top + layout.segment_rows, layout.height_px)
        for block in _inflated_rows(self._path, file, layout, index):
            rows = layout.unpack_rows(block)[: stop - top]
            plane[top : top + len(rows)] = layout.unpredicted(rows)
            top += len(rows)
        if top < stop:
            raise _damaged(self._path, "its packed data end early")


def decoded(path: Path, file: BinaryIO, decode: Any, layout: Layout, index: int) -> NDArray[Any]:
    """One strip or tile, (rows, cols, channels)."""
    file.seek(layout.offsets[index])
    data = _whole(path, file, layout.byte_counts[index])
    try:
        segment, _, _ = decode(data, index)
    except Exception as error:  # decoders raise whatever they like on damaged data
        raise _damaged(path, f"strip or tile {index + 1} cannot be unpacked") from error
    result: NDArray[Any] = segment[0]
    return result


def _inflated_rows(path: Path, file: BinaryIO, layout: Layout, index: int) -> Iterator[bytes]:
    """Whole rows of one deflated strip, some at a time."""
    file.seek(layout.offsets[index])
    left, rest, stream = layout.byte_counts[index], b"", zlib.decompressobj()
    while not stream.eof:
        packed = stream.unconsumed_tail or _whole(path, file, min(left, _CHUNK_BYTES))
        left -= 0 if stream.unconsumed_tail else len(packed)
        try:
            unpacked = stream.decompress(packed, _CHUNK_BYTES)
        except zlib.error as error:
            raise _damaged(path, f"strip {index + 1} cannot be unpacked") from error
        if not unpacked and not packed:
            return
        rest += unpacked
        whole = len(rest) - len(rest) % layout.row_bytes
        yield rest[:whole]
        rest = rest[whole:]


def _paste(out: NDArray[Any], segment: NDArray[Any], *, row: int, col: int) -> None:
    """Copy the part of a segment that lies inside `out`; (row, col) is its corner there."""
    top, left = max(row, 0), max(col, 0)
    bottom = min(row + segment.shape[0], out.shape[0])
    right = min(col + segment.shape[1], out.shape[1])
    out[top:bottom, left:right] = segment[top - row : bottom - row, left - col : right - col]


def _whole(path: Path, file: BinaryIO, count: int) -> bytes:
    data = file.read(count)
    if len(data) < count:
        raise _damaged(path, "it ends early")
    return data


def _damaged(path: Path, how: str) -> Exception:
    return refusal(path, f"is damaged: {how}", "a whole file is needed", "export or copy it again")
