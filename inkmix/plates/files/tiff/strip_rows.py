"""Huge strips and tiles of a TIFF as blocks of rows, in order, for a spool.

Deflate, LZW and packbits are unpacked as streams: less than a megabyte is held, however large the
strip (of LZW on blank paper up to 15). Other packings, and LZW that cannot be cut, are unpacked
whole, one strip or tile at a time.
"""

import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.spool import Block, RowFormat
from inkmix.plates.files.tiff.layout import Layout
from inkmix.plates.files.tiff.lzw_runs import UncutLzwError, unpacked_lzw
from inkmix.plates.files.tiff.unpack import Unpacker

_PACKED_BYTES = 2**17
_BLOCK_BYTES = 2**18
_PADDING_ROWS = 16
"""At most that many rows of a byte may be what a strip was filled up with."""
Pieces = Iterator[bytes]


class CutShortError(Exception):
    """Packed data that end before their stream does."""


class _SpoiledBitsError(Exception):
    """Not what packbits writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StripRows:
    """All rows of a page, plane after plane.

    Parameters
    ----------
    unpacker : Unpacker
        Knows file and layout, and unpacks whole segments.
    format : RowFormat
        How rows are given.
    room : ScratchRoom
        Told of the memory that unpacking in one piece takes.
    """

    unpacker: Unpacker
    format: RowFormat
    room: ScratchRoom

    def blocks(self) -> Iterator[Block]:
        """Blocks of rows; row 0 of a plane follows the last row of the plane before it."""
        layout = self.unpacker.layout
        per_plane = layout.across * layout.down
        if not is_streamed(layout):
            self._tell()
        for index in range(layout.count):
            base = index // per_plane * layout.height_px
            top, stop = layout.rows_of(index)
            if not is_streamed(layout):
                yield self._whole(index, base=base)
                continue
            for lines in self._streamed(index, count=stop - top):
                yield Block(row=base + top, lines=lines)
                top += len(lines)

    def _whole(self, index: int, *, base: int, skip: int = 0) -> Block:
        layout = self.unpacker.layout
        out = np.empty(layout.segment_shape(index), layout.dtype)
        with self.unpacker.source.opened() as file:
            file.seek(layout.offsets[index])
            packed = file.read(layout.byte_counts[index])
        self.unpacker.into(out, packed, index)
        top, stop = layout.rows_of(index)
        left = index % layout.across * layout.segment_cols
        inside = out[skip : stop - top, : layout.width_px - left]
        left_byte = left * layout.shape[3] * layout.bits // 8
        return Block(row=base + top + skip, left_byte=left_byte, lines=self.format.lines(inside))

    def _streamed(self, index: int, *, count: int) -> Iterator[NDArray[np.uint8]]:
        """Lines of one strip, some at a time, exactly `count` of them."""
        done, found, row_bytes = 0, 0, self.format.row_bytes
        most = max(count, self.unpacker.layout.filled_rows) + _PADDING_ROWS
        try:
            for block in _whole_rows(self._pieces(index), row_bytes):
                lines = block[: count - done]
                # Going on behind the last row: there the check sum is, and some writers fill up.
                found, done = found + len(block), done + len(lines)
                if len(lines):
                    yield self._finished(lines)
                if found > most:
                    break
        except UncutLzwError:
            if done < count:
                self._tell()
                yield self._whole(index, base=0, skip=done).lines
            return
        if done < count:
            raise self.unpacker.fault(index, "ends early")
        if not self.unpacker.layout.may_hold(index, found * row_bytes):
            raise self.unpacker.overlong(index)

    def _tell(self) -> None:
        layout = self.unpacker.layout
        count = layout.segment_px * np.dtype(layout.dtype).itemsize
        self.room.tell_memory(count, path=self.unpacker.source.path)

    def _finished(self, lines: NDArray[np.uint8]) -> NDArray[np.uint8]:
        """Lines in native byte order, without differences; changed in place."""
        layout = self.unpacker.layout
        if layout.bits > 1:
            layout.finish(self.format.numbers(lines))
        return lines

    def _pieces(self, index: int) -> Pieces:
        layout, source = self.unpacker.layout, self.unpacker.source
        place, count = layout.offsets[index], layout.byte_counts[index]
        try:
            packed = source.pieces(place, count, most=_PACKED_BYTES)
            yield from _STREAMS[layout.compression](packed)
        except CutShortError as error:
            raise self.unpacker.fault(index, "ends early") from error
        except (zlib.error, _SpoiledBitsError) as error:
            raise self.unpacker.fault(index, "cannot be unpacked") from error


def is_streamed(layout: Layout) -> bool:
    """Whether rows come out of a strip without holding it."""
    usual = layout.fill_order == 1 and (layout.bits > 1 or layout.predictor == 1)
    return layout.compression in _STREAMS and usual and not layout.tiled


def inflated(packed: Iterator[bytes]) -> Iterator[bytes]:
    """What a zlib stream holds, in blocks; CutShortError or zlib.error where it is spoiled."""
    stream = zlib.decompressobj()
    for data in packed:
        while not stream.eof:
            unpacked = stream.decompress(data, _BLOCK_BYTES)
            data = stream.unconsumed_tail
            if unpacked:
                yield unpacked
            if not data and len(unpacked) < _BLOCK_BYTES:
                break
    if not stream.eof:
        raise CutShortError


def _unpacked_bits(packed: Iterator[bytes]) -> Iterator[bytes]:
    """What a packbits stream holds (TIFF 6.0, section 9); runs are kept whole."""
    rest = b""
    for data in _smaller(packed):
        rest += data
        end = _last_run_end(rest)
        try:
            yield bytes(imagecodecs.packbits_decode(rest[:end]))
        except Exception as error:  # the decoder's own kinds
            raise _SpoiledBitsError from error
        rest = rest[end:]


def _smaller(packed: Iterator[bytes]) -> Iterator[bytes]:
    """Pieces that hold two blocks at most: packbits makes at most 128 bytes of two."""
    size = _BLOCK_BYTES // 32
    for data in packed:
        yield from (data[start : start + size] for start in range(0, len(data), size))


def _last_run_end(data: bytes) -> int:
    """Where the last whole run ends."""
    place, length = 0, len(data)
    while place < length:
        head = data[place]
        after = place + (head + 2 if head < 128 else 2 if head > 128 else 1)
        if after > length:
            break
        place = after
    return place


def _whole_rows(pieces: Pieces, row_bytes: int) -> Iterator[NDArray[np.uint8]]:
    """Pieces joined and cut again into (rows, row_bytes), a block of rows at a time."""
    block = np.empty(max(1, _BLOCK_BYTES // row_bytes) * row_bytes, np.uint8)
    held = 0
    for piece in pieces:
        left = np.frombuffer(piece, np.uint8)
        while len(left):
            count = min(len(left), len(block) - held)
            block[held : held + count] = left[:count]
            held, left = held + count, left[count:]
            if held == len(block):
                yield block.reshape(-1, row_bytes)
                held = 0
    whole = held - held % row_bytes
    if whole:
        yield block[:whole].reshape(-1, row_bytes)


_STREAMS: dict[int, Callable[[Iterator[bytes]], Pieces]] = {
    5: unpacked_lzw,
    8: inflated,
    32946: inflated,
    32773: _unpacked_bits,
}
