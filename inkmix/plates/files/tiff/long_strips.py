"""Strips and tiles too large to unpack for one window: rows where they lie, or by way of scratch.

How such a strip becomes rows is in strip_rows.py; ordinary strips and tiles are in segments.py.
"""

from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.raster import Samples
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.spool import RowFormat, RowSpool
from inkmix.plates.files.tiff.strip_rows import StripRows
from inkmix.plates.files.tiff.unpack import Unpacker


class PlainReader:
    """Uncompressed strips of any size: rows are read where they lie in the file.

    Memory: the rows of a window with all channels that lie side by side.
    """

    def __init__(self, unpacker: Unpacker) -> None:
        self._unpacker, self._layout = unpacker, unpacker.layout

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        layout = self._layout
        out = np.empty((rows.stop - rows.start, cols.stop - cols.start), layout.dtype)
        channel = 0 if layout.planar else sample
        with self._unpacker.source.opened() as file:
            for index, top, _ in layout.touched(rows, cols, sample):
                start = max(rows.start, top)
                stop = min(rows.stop, top + layout.segment_rows)
                place = out[start - rows.start : stop - rows.start]
                if self._is_straight(cols):
                    self._read_into(file, place, index, first=start - top)
                    continue
                block = self._rows(file, index, first=start - top, count=stop - start)
                place[:] = block[:, cols, channel]
        return out

    def _is_straight(self, cols: slice) -> bool:
        """Whether rows of the file are rows of a window, byte by byte."""
        layout = self._layout
        is_full = cols.start == 0 and cols.stop == layout.width_px
        return is_full and layout.is_bytes and layout.shape[3] == 1

    def _read_into(self, file: BinaryIO, out: NDArray[Any], index: int, *, first: int) -> None:
        layout = self._layout
        file.seek(layout.offsets[index] + first * layout.row_bytes)
        if file.readinto(out.data) < out.nbytes:  # type: ignore[attr-defined]
            raise self._unpacker.fault(index, "ends early")

    def _rows(self, file: BinaryIO, index: int, *, first: int, count: int) -> NDArray[Any]:
        layout = self._layout
        file.seek(layout.offsets[index] + first * layout.row_bytes)
        data = file.read(count * layout.row_bytes)
        if len(data) < count * layout.row_bytes:
            raise self._unpacker.fault(index, "ends early")
        return layout.unpack_rows(data)


class SpoolReader:
    """Packed strips or tiles too large for a window: rows go to scratch space as they are needed.

    Memory: a few megabytes where `is_streamed`, else one packed and one unpacked strip or tile.
    """

    def __init__(self, unpacker: Unpacker, room: ScratchRoom) -> None:
        layout = unpacker.layout
        planes, self._height_px, width_px, channels = layout.shape
        self._planar, self._room = layout.planar, room
        self._format = RowFormat(width_px=width_px, channels=channels, bits=layout.bits)
        blocks = StripRows(unpacker=unpacker, format=self._format, room=room).blocks()
        self._spool = RowSpool(
            unpacker.source,
            blocks,
            rows=planes * self._height_px,
            row_bytes=self._format.row_bytes,
        )

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers of one channel, (rows, cols)."""
        plane, channel = (sample, 0) if self._planar else (0, sample)
        base = plane * self._height_px
        lines = self._spool.read(base + rows.start, base + rows.stop, room=self._room)
        return self._format.channel(lines, cols, channel)
