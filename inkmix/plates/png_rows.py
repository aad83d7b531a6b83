"""Rows of a PNG in order, a band at a time: neither the packed nor the unpacked picture is held.

The zlib stream gives filtered lines. A band of them, led by the line above it, is made into a small
PNG of its own, unpacked without compression, so that the decoder undoes the filters. What a file
has to say before its pixels is in png.py.
"""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.plates.raster import Samples
from inkmix.plates.scratch import ScratchRoom
from inkmix.plates.source import SourceFile, damaged
from inkmix.plates.spool import Block, RowFormat
from inkmix.plates.strip_rows import CutShortError, inflated

SIGNATURE = b"\x89PNG\r\n\x1a\n"
_BLOCK_BYTES = 2**18
"""Five plates of grain take 23 MB in all with this, 86 MB with a megabyte, at the same speed."""
_COLOURS = {1: 0, 2: 4, 3: 2, 4: 6}


@dataclass(frozen=True, slots=True, kw_only=True)
class PngData:
    """Where the pixels of a PNG lie in its file, and how.

    Parameters
    ----------
    source : SourceFile
        The file.
    height_px : int
        Rows.
    format : RowFormat
        Width, channels in the file (without tRNS) and bits.
    is_interlaced : bool
        Rows come in seven passes (Adam7), so they cannot be had in order.
    pieces : sequence of (int, int)
        Offset and count of the content of each IDAT chunk.
    room : ScratchRoom
        Told of the memory that an interlaced picture takes.
    """

    source: SourceFile
    height_px: int
    format: RowFormat
    is_interlaced: bool
    pieces: NDArray[np.int64]
    room: ScratchRoom

    def blocks(self) -> Iterator[Block]:
        """All rows, in order.

        Raises
        ------
        PlateError
            If the file is damaged, or was changed.
        """
        if self.is_interlaced:
            count = self.height_px * self.format.row_bytes
            self.room.tell_memory(count, path=self.source.path)
            yield Block(row=0, lines=self.format.lines(self._whole()))
            return
        row, above = 0, np.zeros(self.format.row_bytes, np.uint8)
        for lines in self._filtered():
            band = self._unfiltered(lines, above)
            yield Block(row=row, lines=band)
            row, above = row + len(band), _in_file_order(band[-1], self.format.bits)

    def _filtered(self) -> Iterator[NDArray[np.uint8]]:
        """Lines as they are filtered, each behind the number of its filter, (rows, bytes)."""
        line_bytes = 1 + self.format.row_bytes
        missing, rest = self.height_px, b""
        try:
            for data in inflated(self._packed()):
                if not missing:
                    return
                rest += data
                count = min(missing, len(rest) // line_bytes)
                if not count or (len(rest) < _BLOCK_BYTES and count < missing):
                    continue
                lines = np.frombuffer(rest, np.uint8, count * line_bytes)
                yield lines.reshape(count, line_bytes)
                rest, missing = rest[count * line_bytes :], missing - count
        except zlib.error as error:
            raise damaged(self.source.path, "it cannot be unpacked") from error
        except CutShortError:
            pass  # no matter if all rows are there
        whole = len(rest) // line_bytes if missing else 0
        if whole:
            yield np.frombuffer(rest, np.uint8, whole * line_bytes).reshape(whole, line_bytes)
        if missing > whole:
            row = self.height_px - missing + whole
            raise damaged(self.source.path, f"its rows end early, at row {row} of {self.height_px}")

    def _packed(self) -> Iterator[bytes]:
        """The zlib stream in pieces of _BLOCK_BYTES or less; small chunks come together."""
        first, count = 0, len(self.pieces)
        ends = self.pieces.sum(axis=1)
        while first < count:
            start = int(self.pieces[first, 0])
            last = int(np.searchsorted(ends, start + _BLOCK_BYTES, side="right"))
            if last <= first:
                yield from self._one_chunk(first)
                last = first + 1
            else:
                data = self.source.read(start, int(ends[last - 1]) - start)
                spans = self.pieces[first:last] - [start, 0]
                yield b"".join(data[place : place + size] for place, size in spans)
            first = last

    def _one_chunk(self, number: int) -> Iterator[bytes]:
        """A chunk of more than _BLOCK_BYTES, in pieces."""
        place, left = (int(value) for value in self.pieces[number])
        while left:
            data = self.source.read(place, min(left, _BLOCK_BYTES))
            if not data:
                return
            place, left = place + len(data), left - len(data)
            yield data

    def _unfiltered(self, lines: NDArray[np.uint8], above: NDArray[np.uint8]) -> Any:
        """Bytes of rows, (rows, row_bytes), in native byte order."""
        if not lines[:, 0].any():  # filter 0 throughout: nothing was done
            return _native(lines[:, 1:], self.format.bits)
        led = np.concatenate([np.concatenate([[np.uint8(0)], above])[np.newaxis], lines])
        rows = self.format
        if rows.bits == 1:  # filters work on bytes, whatever these hold
            rows = RowFormat(width_px=rows.row_bytes, channels=1, bits=8)
        try:
            pixels = imagecodecs.png_decode(small_png(led, rows))
        except Exception as error:  # the decoder raises its own kinds
            raise damaged(self.source.path, "it cannot be unpacked") from error
        return rows.lines(pixels[1:])

    def _whole(self) -> Samples:
        """All numbers, (rows, cols, channels)."""
        with self.source.opened() as file:
            packed = file.read()
        try:
            data = imagecodecs.png_decode(packed)
        except Exception as error:  # the decoder raises its own kinds
            raise damaged(self.source.path, "it cannot be unpacked") from error
        pixels: Samples = data.reshape(self.height_px, self.format.width_px, -1)
        pixels = pixels[..., : self.format.channels]  # the decoder adds what tRNS says
        # It also spreads 1 bit to 0 and 255.
        return pixels & np.uint8(1) if self.format.bits == 1 else pixels


def small_png(lines: NDArray[np.uint8], rows: RowFormat) -> bytes:
    """A PNG of filtered lines (rows, 1 + row_bytes), stored without compression."""
    size = rows.width_px.to_bytes(4) + len(lines).to_bytes(4)
    head = size + bytes([rows.bits, _COLOURS[rows.channels], 0, 0, 0])
    data = zlib.compress(lines.data, 0)
    chunks = ((b"IHDR", head), (b"IDAT", data), (b"IEND", b""))
    return SIGNATURE + b"".join(part for chunk in chunks for part in _chunk(*chunk))


def _chunk(kind: bytes, data: bytes) -> tuple[bytes, ...]:
    check = zlib.crc32(data, zlib.crc32(kind))
    return len(data).to_bytes(4), kind, data, check.to_bytes(4)


def _native(lines: NDArray[np.uint8], bits: int) -> NDArray[np.uint8]:
    """Bytes of rows in native order."""
    lines = np.ascontiguousarray(lines)
    return lines.view(">u2").astype(np.uint16).view(np.uint8) if bits == 16 else lines


def _in_file_order(line: NDArray[np.uint8], bits: int) -> NDArray[np.uint8]:
    """Bytes of a row as a PNG has them: 16 bits high byte first."""
    if bits < 16:
        return line
    return line.view(np.uint16).astype(">u2").view(np.uint8)
