"""A TIFF written band by band (TIFF 6.0; BigTIFF above 4 GB). Bytes only; files: picture.py."""

import struct
import zlib
from dataclasses import dataclass
from fractions import Fraction
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

_ASCII, _SHORT, _LONG, _RATIONAL, _UNDEFINED, _LONG8 = 2, 3, 4, 5, 7, 16
_DEFLATE, _RGB, _INCH, _DIFFERENCES = 8, 2, 2, 2
_LEVEL = 4
_CLASSIC_BYTES = 2**32 - 2**24
"""Raw size up to which offsets surely fit 32 bits."""
_STRIP_BYTES = 2**18
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


class TiffStream:
    """Writes an 8-bit RGB TIFF, deflated strips, to an open file."""

    def __init__(
        self, file: BinaryIO, *, width_px: int, height_px: int, ppi: float, profile: bytes
    ) -> None:
        self._file, self._width, self._height = file, width_px, height_px
        self._ppi, self._profile = ppi, profile
        self._form = _TIFF if width_px * height_px * 3 < _CLASSIC_BYTES else _BIG
        self._strip_rows = max(1, _STRIP_BYTES // (width_px * 3))
        self._waiting = np.empty((0, width_px, 3), np.uint8)
        self._offsets: list[int] = []
        self._counts: list[int] = []
        file.write(self._form.head + struct.pack(self._form.head_offset, 0) + MARK)

    def write_rows(self, srgb8: NDArray[np.uint8]) -> None:
        """Append rows, (rows, width, 3)."""
        rows = np.concatenate([self._waiting, srgb8])
        whole = len(rows) - len(rows) % self._strip_rows
        for start in range(0, whole, self._strip_rows):
            self._strip(rows[start : start + self._strip_rows])
        self._waiting = rows[whole:].copy()

    def finish(self) -> None:
        """Write what is left, the directory and its place in the header."""
        if len(self._waiting):
            self._strip(self._waiting)
        place = self._directory()
        self._file.seek(len(self._form.head))
        self._file.write(struct.pack(self._form.head_offset, place))

    def _strip(self, rows: NDArray[np.uint8]) -> None:
        differences = rows.copy()
        differences[:, 1:] -= rows[:, :-1]
        packed = zlib.compress(differences.tobytes(), _LEVEL)
        self._offsets.append(self._put(packed))
        self._counts.append(len(packed))

    def _put(self, data: bytes) -> int:
        """Write bytes at an even place; that place."""
        if self._file.tell() % 2:
            self._file.write(b"\0")
        place = self._file.tell()
        self._file.write(data)
        return place

    def _directory(self) -> int:
        offset_type = self._form.offset_type
        ppi = Fraction(self._ppi).limit_denominator(1000)
        resolution = struct.pack("<II", ppi.numerator, ppi.denominator)
        entries = (
            self._entry(256, _LONG, self._width),
            self._entry(257, _LONG, self._height),
            self._entry(258, _SHORT, 8, 8, 8),
            self._entry(259, _SHORT, _DEFLATE),
            self._entry(262, _SHORT, _RGB),
            self._entry(273, offset_type, *self._offsets),
            self._entry(277, _SHORT, 3),
            self._entry(278, _LONG, self._strip_rows),
            self._entry(279, offset_type, *self._counts),
            self._packed(282, _RATIONAL, 1, resolution),
            self._packed(283, _RATIONAL, 1, resolution),
            self._entry(284, _SHORT, 1),
            self._entry(296, _SHORT, _INCH),
            self._packed(305, _ASCII, len(MARK), MARK),
            self._entry(317, _SHORT, _DIFFERENCES),
            self._packed(34675, _UNDEFINED, len(self._profile), self._profile),
        )
        end = struct.pack(self._form.offset, 0)
        count = struct.pack(self._form.count, len(entries))
        return self._put(count + b"".join(entries) + end)

    def _entry(self, tag: int, kind: int, *values: int) -> bytes:
        letter = {_SHORT: "H", _LONG: "I", _LONG8: "Q"}[kind]
        return self._packed(tag, kind, len(values), struct.pack(f"<{len(values)}{letter}", *values))

    def _packed(self, tag: int, kind: int, count: int, data: bytes) -> bytes:
        """One entry of the directory; values that do not fit in it are written before it."""
        room = struct.calcsize(self._form.offset)
        if len(data) > room:
            data = struct.pack(self._form.offset, self._put(data))
        return struct.pack(self._form.entry, tag, kind, count) + data.ljust(room, b"\0")
