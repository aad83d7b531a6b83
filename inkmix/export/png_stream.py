"""A PNG written band by band (PNG, third edition). Bytes only; files are in picture.py.

Bands are packed apart from one another, by any thread, and put together in order: each is a run of
whole deflate blocks (RFC 1951), the check sum of all is made from theirs (RFC 1950).
"""

import struct
import zlib
from dataclasses import dataclass
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.export.shape import PictureShape

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_COLOURS = {1: 0, 3: 2}
"""Grey and RGB, by channels."""
_LEVEL = 4
"""Level 6 takes 2.4 times the time of level 4 for files 1 % smaller (a grainy photograph)."""
_ZLIB_HEAD = b"\x78\x5e"
_RAW = -15  # window bits: deflate blocks without head and check sum
_SUB, _UP = 1, 2
_INCH_M = 0.0254
_ADLER_BASE = 65521
MARK = b"tEXtSoftware\0inkmix"
"""By which a PNG written here is known; it stands in its first bytes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PngBand:
    """Some rows, filtered and packed; `adler` and `length` are of the bytes before packing."""

    packed: bytes
    adler: int
    length: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PngPart:
    """A block narrower than the picture."""

    pixels: NDArray[Any]
    is_last: bool


class PngStream:
    """Writes an RGB or grey PNG of 8 or 16 bits to an open file.

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
        width_px, height_px = shape.width_px, shape.height_px
        per_metre = round(ppi / _INCH_M)
        form = (shape.bits, _COLOURS[shape.channels], 0, 0, 0)
        file.write(_SIGNATURE + chunk(b"IHDR", struct.pack(">II5B", width_px, height_px, *form)))
        file.write(chunk(MARK[:4], MARK[4:]))
        if description:
            file.write(chunk(b"tEXt", b"Description\0" + description.encode("ascii")))
        if profile:
            file.write(chunk(b"iCCP", b"sRGB\0\0" + zlib.compress(profile)))
        file.write(chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)))
        self._file, self._pixels = file, PngPixels(file, width_px=width_px)

    def pack(self, pixels: NDArray[Any], *, row: int, col: int) -> "PngBand | PngPart":
        """A block (rows, cols, channels) for `append`; any thread may ask."""
        return self._pixels.pack(pixels, col=col)

    def append(self, packed: "PngBand | PngPart") -> None:
        """Write the next block in raster order."""
        self._pixels.append(packed)

    def finish(self) -> None:
        """Write the end."""
        self._pixels.finish()
        self._file.write(chunk(b"IEND", b""))


class PngPixels:
    """The pixels of a PNG: all its IDAT chunks, written from where the file stands."""

    def __init__(self, file: BinaryIO, *, width_px: int) -> None:
        self._file, self._width_px, self._adler = file, width_px, 1
        self._parts: list[NDArray[Any]] = []
        file.write(chunk(b"IDAT", _ZLIB_HEAD))

    def pack(self, pixels: NDArray[Any], *, col: int) -> "PngBand | PngPart":
        """A block (rows, cols, channels) of 8 or 16 bits for `append`; any thread may ask."""
        if pixels.shape[1] == self._width_px:
            return _band(pixels)
        return PngPart(pixels=pixels, is_last=col + pixels.shape[1] == self._width_px)

    def append(self, packed: "PngBand | PngPart") -> None:
        """Write the next block in raster order; parts of a band wait for its last."""
        if isinstance(packed, PngPart):
            self._parts.append(packed.pixels)
            if not packed.is_last:
                return
            packed = _band(np.concatenate(self._parts, axis=1))
            self._parts.clear()
        self._adler = adler_of_both(self._adler, packed.adler, packed.length)
        self._file.write(chunk(b"IDAT", packed.packed))

    def finish(self) -> None:
        """Write what ends them."""
        last = zlib.compressobj(_LEVEL, zlib.DEFLATED, _RAW).flush()
        self._file.write(chunk(b"IDAT", last + struct.pack(">I", self._adler)))


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk with its length and check sum."""
    check = zlib.crc32(data, zlib.crc32(kind))
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)


def _band(pixels: NDArray[Any]) -> PngBand:
    """Rows over the whole width, filtered and packed; 16 bits go high byte first."""
    step = pixels.shape[2] * pixels.itemsize
    if pixels.itemsize > 1:
        pixels = pixels.astype(">u2").view(np.uint8)
    lines = pixels.reshape(len(pixels), -1)
    filtered = np.empty((len(lines), lines.shape[1] + 1), np.uint8)
    filtered[:, 0] = _UP
    filtered[0, 0] = _SUB  # what lies above is not known here
    filtered[0, 1 : 1 + step] = lines[0, :step]
    np.subtract(lines[0, step:], lines[0, :-step], out=filtered[0, 1 + step :])
    np.subtract(lines[1:], lines[:-1], out=filtered[1:, 1:])
    packer = zlib.compressobj(_LEVEL, zlib.DEFLATED, _RAW)
    packed = packer.compress(filtered.data) + packer.flush(zlib.Z_FULL_FLUSH)
    return PngBand(packed=packed, adler=zlib.adler32(filtered.data), length=filtered.size)


def adler_of_both(first: int, second: int, second_length: int) -> int:
    """Adler-32 of two byte strings behind one another, from that of each (RFC 1950, section 9).

    >>> import zlib
    >>> adler_of_both(zlib.adler32(b"night"), zlib.adler32(b" ferry"), 6) == zlib.adler32(
    ...     b"night ferry"
    ... )
    True
    """
    low = (first & 0xFFFF) + (second & 0xFFFF) - 1
    high = (first >> 16) + (second >> 16) + second_length * ((first & 0xFFFF) - 1)
    return (high % _ADLER_BASE) << 16 | low % _ADLER_BASE
