"""Plates drawn for tests: files of every kind that is read, and of many that are refused."""

import struct
import zlib
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from numpy.typing import NDArray

from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.plate import FilePlate, PlateSource, open_raster, plate_of

PPI = 200


def open_plate(path: Path, *, ink: str, room: ScratchRoom = TEMPORARY, **told) -> FilePlate:
    """The plate of one ink, from its file; `told` as in PlateSource."""
    source = PlateSource(path=path, **told)
    return plate_of(open_raster(path, page=source.page, room=room), source, ink=ink)


def ramp(rows: int = 61, cols: int = 83) -> NDArray[np.uint8]:
    """All 256 values, none of them symmetric in rows or columns."""
    return ((np.arange(rows)[:, None] * 7 + np.arange(cols)[None, :] * 3) % 256).astype(np.uint8)


def line_work(rows: int = 61, cols: int = 83) -> NDArray[np.bool_]:
    """Rough line work."""
    return np.random.default_rng(5).random((rows, cols)) < 0.3


def write_tiff(path: Path, pixels: NDArray, ppi: float | None = PPI, **options) -> Path:
    """A TIFF; grey and black-is-zero unless told otherwise."""
    options.setdefault("photometric", "minisblack")
    if ppi is not None:
        options.setdefault("resolution", (ppi, ppi))
        options.setdefault("resolutionunit", "INCH")
    tifffile.imwrite(path, pixels, metadata=None, **options)
    return path


def write_png(path: Path, pixels: NDArray, ppi: float | None = PPI, **chunks: bytes) -> Path:
    """A PNG with pHYs and further chunks before the data."""
    data = imagecodecs.png_encode(np.ascontiguousarray(pixels))
    extra = b""
    if ppi is not None:
        per_metre = round(ppi / 0.0254)
        extra += png_chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1))
    extra += b"".join(png_chunk(name.encode(), content) for name, content in chunks.items())
    path.write_bytes(data[:33] + extra + data[33:])
    return path


def write_png_bits(path: Path, bits: NDArray[np.bool_]) -> Path:
    """A 1-bit PNG, packed by hand."""
    rows, cols = bits.shape
    lines = np.packbits(bits, axis=1)
    raw = b"".join(b"\0" + line.tobytes() for line in lines)
    head = struct.pack(">IIBBBBB", cols, rows, 1, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(raw)), (b"IEND", b""))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*chunk) for chunk in chunks))
    return path


def png_chunk(kind: bytes, data: bytes) -> bytes:
    """One chunk with its check sum."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def set_tag(path: Path, tag: int, value: int) -> Path:
    """Overwrite a SHORT or LONG value in the first directory of a little-endian TIFF."""
    data = bytearray(path.read_bytes())
    start = struct.unpack_from("<I", data, 4)[0]
    count = struct.unpack_from("<H", data, start)[0]
    for index in range(count):
        entry = start + 2 + 12 * index
        code, kind = struct.unpack_from("<HH", data, entry)
        if code == tag:
            struct.pack_into("<H" if kind == 3 else "<I", data, entry + 8, value)
            path.write_bytes(bytes(data))
            return path
    raise AssertionError(f"{path} has no tag {tag}")


def write_separated(path: Path, pixels: NDArray, names: tuple[str, ...] = (), **options) -> Path:
    """A TIFF of inks (photometric 5), (rows, cols, inks), or planes first with planarconfig."""
    inks = pixels.shape[0] if options.get("planarconfig") == "separate" else pixels.shape[-1]
    extra = []
    if names:
        text = b"".join(name.encode() + b"\0" for name in names)
        extra = [(332, 3, 1, 2, True), (333, 2, len(text), text, True), (334, 3, 1, inks, True)]
    return write_tiff(path, pixels, photometric="separated", extratags=extra, **options)
