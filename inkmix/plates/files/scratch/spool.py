"""Rows that come in order once, and are wanted by windows in any order and more than once.

They are written to scratch space as far as somebody has asked, so windows from top to bottom are
served on the way. What the bytes of a row mean is in RowFormat; where rows come from is not known.
"""

import math
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import PlateError
from inkmix.plates.files.raster import Samples
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.space import Space
from inkmix.plates.files.source import SourceFile, damaged


@dataclass(frozen=True, slots=True, kw_only=True)
class RowFormat:
    """How numbers lie in a row of bytes: channels side by side, native byte order, bits packed."""

    width_px: int
    channels: int
    bits: int

    @property
    def row_bytes(self) -> int:
        """Bytes of a row."""
        return math.ceil(self.width_px * self.channels * self.bits / 8)

    def numbers(self, lines: NDArray[np.uint8]) -> Samples:
        """(rows, cols, channels) out of (rows, row_bytes)."""
        if self.bits < 8:
            flat: Samples = self._apart(lines)[:, : self.width_px * self.channels]
        else:
            flat = lines.view(np.uint16) if self.bits == 16 else lines
        return flat.reshape(len(lines), self.width_px, self.channels)

    def _apart(self, lines: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Numbers of less than a byte, the first in the high bits, and those that fill a row up."""
        if self.bits == 1:
            return np.unpackbits(lines, axis=1)
        apart = lines[..., np.newaxis] >> self._shifts & np.uint8(2**self.bits - 1)
        return apart.reshape(len(lines), -1)

    @property
    def _shifts(self) -> NDArray[np.uint8]:
        return np.arange(8 - self.bits, -1, -self.bits, dtype=np.uint8)

    def channel(self, lines: NDArray[np.uint8], cols: slice, channel: int) -> Samples:
        """One channel of some columns, (rows, cols), contiguous."""
        return cast(Samples, np.ascontiguousarray(self.numbers(lines)[:, cols, channel]))

    def lines(self, numbers: NDArray[Any]) -> NDArray[np.uint8]:
        """(rows, row_bytes) out of (rows, cols, channels); cols may be those of a part."""
        flat = np.ascontiguousarray(numbers).reshape(len(numbers), -1)
        if self.bits >= 8:
            return flat.view(np.uint8)
        if self.bits == 1:
            return np.packbits(flat, axis=1)
        a_byte = 8 // self.bits
        whole = np.pad(flat, ((0, 0), (0, -flat.shape[1] % a_byte)))
        placed = whole.reshape(len(flat), -1, a_byte) << self._shifts
        packed: NDArray[np.uint8] = np.bitwise_or.reduce(placed, axis=-1).astype(np.uint8)
        return packed


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Rows, or parts of rows from a byte on; of parts, the rightmost comes last."""

    row: int
    left_byte: int = 0
    lines: NDArray[np.uint8]


class RowSpool:
    """Rows of one file in scratch space, filled as far as they were asked for.

    Memory: that of one block, and up to MAX_IN_MEMORY_BYTES where all rows fit in that.
    """

    def __init__(
        self, source: SourceFile, blocks: Iterator[Block], *, rows: int, row_bytes: int
    ) -> None:
        self._source, self._blocks = source, blocks
        self._rows, self._row_bytes = rows, row_bytes
        self._lock = threading.Lock()
        self._space: Space | None = None
        self._failure: PlateError | None = None
        self._ready = 0

    def read(self, first: int, stop: int, *, room: ScratchRoom) -> NDArray[np.uint8]:
        """Rows, (stop - first, row_bytes).

        Raises
        ------
        PlateError
            If the file is damaged or was changed, or there is no scratch space.
        """
        self._source.check()
        space = self._filled(stop, room)
        out = np.empty((stop - first, self._row_bytes), np.uint8)
        space.read_into(first * self._row_bytes, out)
        return out

    def _filled(self, stop: int, room: ScratchRoom) -> Space:
        if self._space is not None and self._failure is None and self._ready >= stop:
            return self._space  # without waiting for a thread that unpacks rows below
        with self._lock:
            if self._failure is not None:
                raise PlateError(self._failure.faults)
            try:
                if self._space is None:
                    count = self._rows * self._row_bytes
                    self._space = room.space(count, path=self._source.path)
                while self._ready < stop:
                    self._take(self._space)
                if self._ready == self._rows:
                    next(self._blocks, None)  # a check sum may stand behind the last row
            except PlateError as error:
                self._failure = error
                raise
            return self._space

    def _take(self, space: Space) -> None:
        block = next(self._blocks, None)
        if block is None:
            raise damaged(self._source.path, "its packed data end early")
        rows, count = block.lines.shape
        place = block.row * self._row_bytes + block.left_byte
        if count == self._row_bytes:
            space.write(place, block.lines)
        else:
            for number, line in enumerate(block.lines):
                space.write(place + number * self._row_bytes, line)
        if block.left_byte + count == self._row_bytes:
            self._ready = block.row + rows
