"""Reading PNG files as numbers and facts. A PNG is decoded whole, at the first read."""

import threading
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.errors import Fault, PlateError
from inkmix.plates.limits import MAX_HELD_PX, MAX_IN_MEMORY_BYTES
from inkmix.plates.profile import profile_label
from inkmix.plates.raster import RasterFacts, Samples, label, opened_file, refusal
from inkmix.plates.resolution import ppi_of
from inkmix.plates.scratch import scratch_array
from inkmix.plates.tiff_rules import size_faults

_SIGNATURE_BYTES = 8
_MAX_CHUNK = 2**31
_GREY, _RGB, _PALETTE, _GREY_ALPHA, _RGB_ALPHA = 0, 2, 3, 4, 6
_CHANNELS = {_GREY: 1, _RGB: 3, _GREY_ALPHA: 2, _RGB_ALPHA: 4}
_KEPT = (b"IHDR", b"pHYs", b"iCCP", b"tRNS")
_INCH_M = 0.0254
_MAX_PROFILE_BYTES = 2**24


@dataclass(slots=True, kw_only=True)
class PngRaster:
    """One PNG file."""

    facts: RasterFacts
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _held: NDArray[Any] | None = None

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols); 1-bit data as 0 and 1."""
        with self._lock:
            if self._held is None:
                self._held = _decode(self.facts)
        return np.array(self._held[rows, cols, sample])


def open_png(path: Path) -> PngRaster:
    """A grey PNG, or one whose colour is looked at later.

    Raises
    ------
    PlateError
        If it is damaged, a palette picture, too large or of an unusual bit depth.
    """
    chunks = dict(_chunks(path))
    if len(chunks.get(b"IHDR", b"")) != 13 or b"IEND" not in chunks or b"IDAT" not in chunks:
        raise _damaged(path, "parts are missing")
    header = chunks[b"IHDR"]
    width, height = int.from_bytes(header[:4]), int.from_bytes(header[4:8])
    faults = tuple(_faults(label(path), width, height, bits=header[8], colour=header[9]))
    if faults:
        raise PlateError(faults)
    return PngRaster(facts=_facts(path, chunks, width, height))


def _faults(where: str, width: int, height: int, *, bits: int, colour: int) -> Iterator[Fault]:
    yield from size_faults(width, height, where=where)
    if width * height > MAX_HELD_PX:
        limit = f"PNG files are read up to {MAX_HELD_PX // 10**6} million pixels"
        found = f"is {width} x {height} px"
        yield Fault(where=where, found=found, expected=limit, do="export it as TIFF")
    if colour not in _CHANNELS:
        found, do = "is a palette picture (indexed colour)", "export it as greyscale"
        yield Fault(where=where, found=found, expected="a greyscale picture is needed", do=do)
    elif bits not in (1, 8, 16):
        found, do = f"holds {bits} bits a pixel", "export it in 8 or 16 bits"
        yield Fault(where=where, found=found, expected="1, 8 or 16 bits are needed", do=do)


def _facts(path: Path, chunks: dict[bytes, bytes], width: int, height: int) -> RasterFacts:
    bits, colour = chunks[b"IHDR"][8:10]
    samples = _CHANNELS[colour] + (1 if b"tRNS" in chunks else 0)
    ppi, notes = _ppi(path, chunks.get(b"pHYs", b""))
    return RasterFacts(
        path=path,
        format="PNG",
        width_px=width,
        height_px=height,
        samples=samples,
        bits=8 if b"tRNS" in chunks and bits == 1 else bits,
        kind="rgb" if colour in (_RGB, _RGB_ALPHA) else "grey",
        zero_is="black",
        alpha=samples - 1 if samples in (2, 4) else None,
        ppi=ppi,
        profile=profile_label(_profile(chunks.get(b"iCCP", b""))),
        rows_per_segment=1,
        notes=notes,
    )


def _ppi(path: Path, physical: bytes) -> tuple[float | None, tuple[str, ...]]:
    """From pHYs: pixels per unit x and y, unit 1 = metre (PNG, third edition, 11.3.4.3)."""
    if len(physical) != 9 or physical[8] != 1:
        return None, ()
    x, y = int.from_bytes(physical[:4]), int.from_bytes(physical[4:8])
    return ppi_of(path, float(x) or None, float(y) or None, per_inch=_INCH_M)


def _profile(chunk: bytes) -> bytes | None:
    _, found, rest = chunk.partition(b"\0")
    if not found:
        return None
    try:
        return zlib.decompressobj().decompress(rest[1:], _MAX_PROFILE_BYTES)
    except zlib.error:
        return None


def _chunks(path: Path) -> Iterator[tuple[bytes, bytes]]:
    """Kind and, for those of use here, content of each chunk; all are checked for damage."""
    with opened_file(path) as file:
        file.seek(_SIGNATURE_BYTES)
        while head := file.read(8):
            count, kind = int.from_bytes(head[:4]), head[4:]
            if len(head) < 8 or count >= _MAX_CHUNK:
                raise _damaged(path, "it ends early")
            data, check = file.read(count), file.read(4)
            if len(data) < count or len(check) < 4:
                raise _damaged(path, "it ends early")
            if zlib.crc32(kind + data) != int.from_bytes(check):
                raise _damaged(path, "a check sum is wrong")
            yield kind, data if kind in _KEPT else b""
            if kind == b"IEND":
                return


def _decode(facts: RasterFacts) -> NDArray[Any]:
    """All numbers, (rows, cols, channels)."""
    with opened_file(facts.path) as file:
        packed = file.read()
    try:
        data = imagecodecs.png_decode(packed)
    except Exception as error:  # the decoder raises its own kinds
        raise _damaged(facts.path, "it cannot be unpacked") from error
    pixels = data.reshape(facts.height_px, facts.width_px, facts.samples)
    if facts.bits == 1:
        pixels = pixels >> 7  # the decoder spreads 1 bit to 0 and 255
    if pixels.nbytes <= MAX_IN_MEMORY_BYTES:
        return pixels
    held = scratch_array(pixels.shape, pixels.dtype)
    held[:] = pixels
    return held


def _damaged(path: Path, how: str) -> PlateError:
    return refusal(path, f"is damaged: {how}", "a whole file is needed", "export or copy it again")
