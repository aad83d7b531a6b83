"""Reading PNG files as facts and numbers. How rows come out of packed data is in png_rows.py."""

import zlib
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.errors import Fault, PlateError
from inkmix.plates.limits import MAX_HELD_PX
from inkmix.plates.png_rows import SIGNATURE, PngData
from inkmix.plates.profile import MAX_PROFILE_BYTES, profile_in_png, profile_label
from inkmix.plates.raster import RasterFacts, Samples, label, refusal
from inkmix.plates.resolution import ppi_of
from inkmix.plates.scratch import ScratchRoom
from inkmix.plates.source import SourceFile, damaged, source_of
from inkmix.plates.spool import RowFormat, RowSpool
from inkmix.plates.tiff_rules import size_faults

_MAX_CHUNK = 2**31
_GREY, _RGB, _PALETTE, _GREY_ALPHA, _RGB_ALPHA = 0, 2, 3, 4, 6
_CHANNELS = {_GREY: 1, _RGB: 3, _GREY_ALPHA: 2, _RGB_ALPHA: 4}
_KEPT = (b"IHDR", b"pHYs", b"iCCP", b"tRNS")
_INCH_M = 0.0254
_MAX_PIECES = 2**20
"""IDAT chunks of one file; writers use 8 kB and more a chunk."""
_READ_BYTES = 2**20


@dataclass(frozen=True, slots=True, kw_only=True)
class PngRaster:
    """One PNG file. Its rows lie in scratch room as far as they were read."""

    facts: RasterFacts
    format: RowFormat
    spool: RowSpool
    room: ScratchRoom
    clear: tuple[int, ...] | None = None

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols); 1-bit data as 0 and 1."""
        lines = self.spool.read(rows.start, rows.stop, room=self.room)
        if self.clear is None:
            return self.format.channel(lines, cols, sample)
        return self._with_clear(self.format.numbers(lines)[:, cols], sample)

    def _with_clear(self, numbers: Samples, sample: int) -> Samples:
        """A channel of a picture in which one colour is clear (tRNS): alpha is the last one."""
        # A picture of 1 bit is given as one of 8 then, as its alpha has two tones of 8 bits.
        spread = 255 if self.format.bits == 1 else 1
        if sample < self.format.channels:
            plane: Samples = numbers[..., sample] * numbers.dtype.type(spread)
            return plane
        shown = (numbers != np.array(self.clear, numbers.dtype)).any(axis=-1)
        alpha: Samples = shown * numbers.dtype.type(self.facts.top)
        return alpha


def open_png(path: Path, *, room: ScratchRoom) -> PngRaster:
    """A grey PNG, or one whose colour is looked at later; `room` is for its rows.

    Raises
    ------
    PlateError
        If it is damaged, a palette picture, too large or of an unusual bit depth.
    """
    source = source_of(path)
    chunks, pieces = _chunks(source)
    if len(chunks.get(b"IHDR", b"")) != 13 or b"IEND" not in chunks or not len(pieces):
        raise damaged(path, "parts are missing")
    header = chunks[b"IHDR"]
    width, height = int.from_bytes(header[:4]), int.from_bytes(header[4:8])
    faults = tuple(_faults(label(path), width, height, bits=header[8], colour=header[9]))
    if faults:
        raise PlateError(faults)
    form = RowFormat(width_px=width, channels=_CHANNELS[header[9]], bits=header[8])
    data = PngData(
        source=source,
        height_px=height,
        format=form,
        is_interlaced=header[12] != 0,
        pieces=pieces,
        room=room,
    )
    return PngRaster(
        facts=_facts(path, chunks, width, height),
        format=form,
        spool=RowSpool(source, data.blocks(), rows=height, row_bytes=form.row_bytes),
        room=room,
        clear=_clear(chunks.get(b"tRNS"), form),
    )


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
        profile=profile_label(profile_in_png(chunks.get(b"iCCP", b""))),
        rows_per_segment=1,
        notes=notes,
    )


def _ppi(path: Path, physical: bytes) -> tuple[float | None, tuple[str, ...]]:
    """From pHYs: pixels per unit x and y, unit 1 = metre (PNG, third edition, 11.3.4.3)."""
    if len(physical) != 9 or physical[8] != 1:
        return None, ()
    x, y = int.from_bytes(physical[:4]), int.from_bytes(physical[4:8])
    return ppi_of(path, float(x) or None, float(y) or None, per_inch=_INCH_M)


def _clear(chunk: bytes | None, form: RowFormat) -> tuple[int, ...] | None:
    """The colour that is clear, by channel: two bytes each, the low bits count (PNG, 11.3.1.1)."""
    if chunk is None or form.channels not in (1, 3):
        return None
    numbers = np.frombuffer(chunk[: 2 * form.channels].ljust(2 * form.channels, b"\0"), ">u2")
    return tuple(int(number) & (2**form.bits - 1) for number in numbers)


def _chunks(source: SourceFile) -> tuple[dict[bytes, bytes], NDArray[np.int64]]:
    """Content of the chunks of use here, and where pixels lie; all are checked for damage."""
    chunks: dict[bytes, bytes] = {}
    pieces = array("q")
    for kind, place, count, content in _walked(source):
        chunks[kind] = content
        if kind == b"IDAT":
            pieces.extend((place, count))
        if len(pieces) > 2 * _MAX_PIECES:
            found, limit = "lies in millions of pieces", f"{_MAX_PIECES} are read"
            raise refusal(source.path, found, limit, "export it again")
    return chunks, np.array(pieces, np.int64).reshape(-1, 2)


def _walked(source: SourceFile) -> Iterator[tuple[bytes, int, int, bytes]]:
    """Kind, place and length of each chunk, and the content of those of use here."""
    with source.opened() as file:
        file.seek(len(SIGNATURE))
        while head := file.read(8):
            count, kind = int.from_bytes(head[:4]), head[4:]
            if len(head) < 8 or count >= _MAX_CHUNK:
                raise damaged(source.path, "it ends early")
            place, found, content = file.tell(), zlib.crc32(kind), b""
            for part in _parts(source, file, count):
                found = zlib.crc32(part, found)
                content += part if kind in _KEPT and count <= MAX_PROFILE_BYTES else b""
            check = file.read(4)
            if len(check) < 4:
                raise damaged(source.path, "it ends early")
            if found != int.from_bytes(check):
                raise damaged(source.path, "a check sum is wrong")
            yield kind, place, count, content
            if kind == b"IEND":
                return


def _parts(source: SourceFile, file: BinaryIO, count: int) -> Iterator[bytes]:
    """The next bytes of a file, a megabyte at a time."""
    while count:
        part = file.read(min(count, _READ_BYTES))
        if not part:
            raise damaged(source.path, "it ends early")
        count -= len(part)
        yield part
