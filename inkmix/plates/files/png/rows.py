"""Rows of a PNG in order, a band at a time: neither the packed nor the unpacked picture is held.

The zlib stream gives filtered lines. A band of them, led by the line above it, is made into a small
PNG of its own, unpacked without compression, so that the decoder undoes the filters. What a file
has to say before its pixels is in png.py.
"""

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.png.interlacing import woven_rows
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.spool import Block, RowFormat
from inkmix.plates.files.sniff import PNG_SIGNATURE
from inkmix.plates.files.source import SourceFile, damaged
from inkmix.plates.files.tiff.strip_rows import CutShortError, inflated

_BLOCK_BYTES = 2**18
"""Five plates of grain take 23 MB in all with this, 86 MB with a megabyte, at the same speed."""
_SPARE_BYTES = 15
_LAST_FILTER = 4
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
        Rows come in seven passes (Adam7), woven in interlacing.py.
    pieces : sequence of (int, int)
        Offset and count of the content of each IDAT chunk.
    room : ScratchRoom
        For the passes of an interlaced picture.
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
        stream = _Stream(self.source, inflated(self._packed()))
        if self.is_interlaced:
            bands = partial(self._bands, stream)
            space = partial(self.room.space, path=self.source.path)
            yield from woven_rows(self.format, self.height_px, bands=bands, new_space=space)
        else:
            row = 0
            for band in self._bands(stream, self.format, self.height_px):
                yield Block(row=row, lines=band)
                row += len(band)
        stream.finish(self.format.row_bytes)

    def _bands(self, stream: "_Stream", form: RowFormat, count: int) -> Iterator[NDArray[np.uint8]]:
        """Bytes of rows, a band at a time, in native byte order."""
        above = np.zeros(form.row_bytes, np.uint8)
        for lines in stream.lines(1 + form.row_bytes, count):
            if lines[:, 0].max() > _LAST_FILTER:
                raise damaged(self.source.path, "it cannot be unpacked")
            band = self._unfiltered(lines, above, form)
            yield band
            above = _in_file_order(band[-1], form.bits)

    def _packed(self) -> Iterator[bytes]:
        """The zlib stream in pieces of _BLOCK_BYTES or less; small chunks come together."""
        first, count = 0, len(self.pieces)
        ends = self.pieces.sum(axis=1)
        while first < count:
            start = int(self.pieces[first, 0])
            last = int(np.searchsorted(ends, start + _BLOCK_BYTES, side="right"))
            if last <= first:
                count_bytes = int(self.pieces[first, 1])
                yield from self.source.pieces(start, count_bytes, most=_BLOCK_BYTES)
                last = first + 1
            else:
                data = self.source.read(start, int(ends[last - 1]) - start)
                spans = self.pieces[first:last] - [start, 0]
                yield b"".join(data[place : place + size] for place, size in spans)
            first = last

    def _unfiltered(
        self, lines: NDArray[np.uint8], above: NDArray[np.uint8], form: RowFormat
    ) -> NDArray[np.uint8]:
        """Bytes of rows, (rows, row_bytes), in native byte order."""
        if not lines[:, 0].any():  # filter 0 throughout: nothing was done
            return _native(lines[:, 1:], form.bits)
        led = np.concatenate([np.concatenate([[np.uint8(0)], above])[np.newaxis], lines])
        if form.bits < 8:  # filters work on bytes, whatever these hold
            form = RowFormat(width_px=form.row_bytes, channels=1, bits=8)
        try:
            pixels = imagecodecs.png_decode(small_png(led, form))
        except Exception as error:  # the decoder raises its own kinds
            raise damaged(self.source.path, "it cannot be unpacked") from error
        return form.lines(pixels[1:])


class _Stream:
    """Filtered lines out of the zlib stream, each behind the number of its filter."""

    def __init__(self, source: SourceFile, blocks: Iterator[bytes]) -> None:
        self._source, self._blocks = source, blocks
        self._rest = b""

    def lines(self, line_bytes: int, count: int) -> Iterator[NDArray[np.uint8]]:
        """The next lines, (rows, line_bytes), a block at a time; `count` in all."""
        missing = count
        while missing:
            self._fill(min(missing * line_bytes, max(_BLOCK_BYTES, line_bytes)))
            ready = min(missing, len(self._rest) // line_bytes)
            if not ready:
                at = f"row {count - missing} of {count}"
                raise damaged(self._source.path, f"its rows end early, at {at}")
            lines = np.frombuffer(self._rest, np.uint8, ready * line_bytes)
            yield lines.reshape(ready, line_bytes)
            self._rest, missing = self._rest[ready * line_bytes :], missing - ready

    def finish(self, row_bytes: int) -> None:
        """Read on to the check sum behind the last row.

        A few bytes more do no harm, a row more says that width or bits are not as declared.
        """
        most = max(row_bytes, _SPARE_BYTES)
        self._fill(most + 1)
        if len(self._rest) > most:
            raise damaged(self._source.path, "it holds more than its rows")

    def _fill(self, count: int) -> None:
        """Have so many bytes, fewer only where the stream ends."""
        parts, size = [self._rest], len(self._rest)
        try:
            while size < count:
                parts.append(next(self._blocks))
                size += len(parts[-1])
        except StopIteration:
            pass
        except CutShortError:
            pass  # no matter if all rows are there
        except zlib.error as error:
            raise damaged(self._source.path, "it cannot be unpacked") from error
        self._rest = b"".join(parts)


def small_png(lines: NDArray[np.uint8], rows: RowFormat) -> bytes:
    """A PNG of filtered lines (rows, 1 + row_bytes), stored without compression."""
    size = rows.width_px.to_bytes(4) + len(lines).to_bytes(4)
    head = size + bytes([rows.bits, _COLOURS[rows.channels], 0, 0, 0])
    data = zlib.compress(lines.data, 0)
    chunks = ((b"IHDR", head), (b"IDAT", data), (b"IEND", b""))
    return PNG_SIGNATURE + b"".join(part for chunk in chunks for part in _chunk(*chunk))


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
