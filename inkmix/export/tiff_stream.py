"""A TIFF written band by band (TIFF 6.0; BigTIFF above 4 GB). Bytes only; files: picture.py."""

import struct
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.export.deflated import deflated
from inkmix.export.shape import PictureShape

_ASCII, _SHORT, _LONG, _RATIONAL, _UNDEFINED, _LONG8 = 2, 3, 4, 5, 7, 16
_DEFLATE, _INCH, _DIFFERENCES = 8, 2, 2
_PHOTOMETRIC = {1: 1, 3: 2}
"""0 is black, or RGB, by channels."""
_CLASSIC_BYTES = 2**32 - 2**24
"""Raw size up to which offsets surely fit 32 bits."""
_SEGMENT_BYTES = 2**20
"""Most bytes of a strip before packing, where it has more than one row."""
_TILE_MULTIPLE = 16
"""Sides of tiles are multiples of it (TIFF 6.0, section 15)."""
_MOST_TILE_PX = 512
MARK = b"inkmix\0"
"""The text of the tag Software; it also follows the header, by which a file of ours is known."""


@dataclass(frozen=True, slots=True)
class _Form:
    """What differs between TIFF and BigTIFF."""

    head: bytes
    head_offset: str
    count: str
    entry: str
    offset: str
    offset_type: int


_TIFF = _Form(b"II*\0", "<I", "<H", "<HHI", "<I", _LONG)
_BIG = _Form(b"II+\0\x08\0\0\0", "<Q", "<Q", "<HHQ", "<Q", _LONG8)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Segments:
    """How a picture is cut: strips over its whole width, or tiles."""

    rows: int
    cols: int
    width_px: int
    height_px: int

    @property
    def tiled(self) -> bool:
        return self.cols < self.width_px

    @property
    def across(self) -> int:
        return -(-self.width_px // self.cols)

    @property
    def count(self) -> int:
        return -(-self.height_px // self.rows) * self.across


class TiffStream:
    """Writes an RGB or grey TIFF of 8 or 16 bits, deflated strips or tiles, to an open file.

    `description`, in ASCII, stands in it.
    """

    def __init__(
        self,
        file: BinaryIO,
        *,
        shape: PictureShape,
        ppi: float,
        profile: bytes = b"",
        description: str = "",
    ) -> None:
        self._file, self._shape, self._ppi, self._profile = file, shape, ppi, profile
        self._description = description
        is_small = shape.width_px * shape.height_px * shape.pixel_bytes < _CLASSIC_BYTES
        self._form = _TIFF if is_small else _BIG
        self._segments = _segments(shape)
        self._offsets = [0] * self._segments.count
        self._counts = [0] * self._segments.count
        file.write(self._form.head + struct.pack(self._form.head_offset, 0) + MARK)

    def pack(self, pixels: NDArray[Any], *, row: int, col: int) -> dict[int, bytes]:
        """Packed segments of a block (rows, cols, channels), by number; any thread may ask."""
        segments = self._segments
        first = row // segments.rows * segments.across + col // segments.cols
        packed = {}
        for down, top in enumerate(range(0, pixels.shape[0], segments.rows)):
            for right, left in enumerate(range(0, pixels.shape[1], segments.cols)):
                part = pixels[top : top + segments.rows, left : left + segments.cols]
                packed[first + down * segments.across + right] = self._packed_segment(part)
        return packed

    def _packed_segment(self, part: NDArray[Any]) -> bytes:
        segments, shape = self._segments, self._shape
        rows = segments.rows if segments.tiled else len(part)
        differences = np.zeros((rows, segments.cols, shape.channels), shape.dtype)
        inside = differences[: part.shape[0], : part.shape[1]]
        inside[:, 0] = part[:, 0]
        np.subtract(part[:, 1:], part[:, :-1], out=inside[:, 1:])
        return deflated(differences.astype(f"<u{shape.bits // 8}", copy=False))

    def append(self, packed: dict[int, bytes]) -> None:
        """Write segments; every one of the picture once."""
        for number, data in packed.items():
            self._offsets[number] = self._put(data)
            self._counts[number] = len(data)

    def finish(self) -> None:
        """Write the directory and its place in the header."""
        place = self._directory()
        self._file.seek(len(self._form.head))
        self._file.write(struct.pack(self._form.head_offset, place))

    def _put(self, data: bytes) -> int:
        """Write bytes at an even place; that place."""
        if self._file.tell() % 2:
            self._file.write(b"\0")
        place = self._file.tell()
        self._file.write(data)
        return place

    def _description_entries(self) -> tuple[bytes, ...]:
        if not self._description:
            return ()
        text = self._description.encode("ascii") + b"\0"
        return (self._packed(270, _ASCII, len(text), text),)

    def _strip_entries(self) -> tuple[bytes, ...]:
        samples = self._entry(277, _SHORT, self._shape.channels)
        if self._segments.tiled:
            return (samples,)
        kind = self._form.offset_type
        return (
            self._entry(273, kind, *self._offsets),
            samples,
            self._entry(278, _LONG, self._segments.rows),
            self._entry(279, kind, *self._counts),
        )

    def _tile_entries(self) -> tuple[bytes, ...]:
        if not self._segments.tiled:
            return ()
        kind = self._form.offset_type
        return (
            self._entry(322, _LONG, self._segments.cols),
            self._entry(323, _LONG, self._segments.rows),
            self._entry(324, kind, *self._offsets),
            self._entry(325, kind, *self._counts),
        )

    def _directory(self) -> int:
        ppi = Fraction(self._ppi).limit_denominator(1000)
        resolution = struct.pack("<II", ppi.numerator, ppi.denominator)
        entries = (
            self._entry(256, _LONG, self._segments.width_px),
            self._entry(257, _LONG, self._segments.height_px),
            self._entry(258, _SHORT, *(self._shape.bits,) * self._shape.channels),
            self._entry(259, _SHORT, _DEFLATE),
            self._entry(262, _SHORT, _PHOTOMETRIC[self._shape.channels]),
            *self._description_entries(),
            *self._strip_entries(),
            self._packed(282, _RATIONAL, 1, resolution),
            self._packed(283, _RATIONAL, 1, resolution),
            self._entry(284, _SHORT, 1),
            self._entry(296, _SHORT, _INCH),
            self._packed(305, _ASCII, len(MARK), MARK),
            self._entry(317, _SHORT, _DIFFERENCES),
            *self._tile_entries(),
            *self._profile_entry(),
        )
        end = struct.pack(self._form.offset, 0)
        count = struct.pack(self._form.count, len(entries))
        return self._put(count + b"".join(entries) + end)

    def _profile_entry(self) -> tuple[bytes, ...]:
        profile = self._profile
        return (self._packed(34675, _UNDEFINED, len(profile), profile),) if profile else ()

    def _entry(self, tag: int, kind: int, *values: int) -> bytes:
        letter = {_SHORT: "H", _LONG: "I", _LONG8: "Q"}[kind]
        return self._packed(tag, kind, len(values), struct.pack(f"<{len(values)}{letter}", *values))

    def _packed(self, tag: int, kind: int, count: int, data: bytes) -> bytes:
        """One entry of the directory; values that do not fit in it are written before it."""
        room = struct.calcsize(self._form.offset)
        if len(data) > room:
            data = struct.pack(self._form.offset, self._put(data))
        return struct.pack(self._form.entry, tag, kind, count) + data.ljust(room, b"\0")


def _segments(shape: PictureShape) -> _Segments:
    """Strips or tiles that every block of the picture holds whole."""
    size = {"width_px": shape.width_px, "height_px": shape.height_px}
    if shape.block_cols >= shape.width_px:
        most = max(1, _SEGMENT_BYTES // (shape.pixel_bytes * shape.width_px))
        return _Segments(rows=_divisor(shape.block_rows, most), cols=shape.width_px, **size)
    rows, cols = (_tile_side(side) for side in (shape.block_rows, shape.block_cols))
    return _Segments(rows=rows, cols=cols, **size)


def _divisor(whole: int, most: int) -> int:
    """Largest divisor that is not above `most`."""
    return next(part for part in range(min(whole, most), 0, -1) if whole % part == 0)


def _tile_side(block: int) -> int:
    """Side of tiles that fill a side of blocks."""
    if block % _TILE_MULTIPLE:
        raise ValueError(f"blocks of {block} px cannot be cut into tiles")
    return _TILE_MULTIPLE * _divisor(block // _TILE_MULTIPLE, _MOST_TILE_PX // _TILE_MULTIPLE)
