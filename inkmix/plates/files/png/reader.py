"""Reading PNG files as facts and numbers. How rows come out of packed data is in png_rows.py."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inkmix.base.errors import Fault, PlateError
from inkmix.base.words import listing, size_of
from inkmix.plates.files.limits import MAX_HELD_PX
from inkmix.plates.files.png.chunks import read_chunks
from inkmix.plates.files.png.rows import PngData
from inkmix.plates.files.profile import profile_in_png, profile_label
from inkmix.plates.files.raster import KindFault, RasterFacts, Samples, label
from inkmix.plates.files.resolution import ppi_of
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.spool import RowFormat, RowSpool
from inkmix.plates.files.source import source_of
from inkmix.plates.files.tiff.rules import size_faults

_GREY, _RGB, _PALETTE, _GREY_ALPHA, _RGB_ALPHA = 0, 2, 3, 4, 6
_CHANNELS = {_GREY: 1, _RGB: 3, _GREY_ALPHA: 2, _RGB_ALPHA: 4}
_BITS = {_GREY: (1, 2, 4, 8, 16), _PALETTE: (1, 2, 4, 8)}
_BITS |= dict.fromkeys((_RGB, _GREY_ALPHA, _RGB_ALPHA), (8, 16))
_METHODS, _KNOWN = ("packed", "filtered", "interlaced"), ((0,), (0,), (0, 1))
_INCH_M = 0.0254
_FEW_BITS = (2, 4)
"""Of a pixel; programs pack a plate of up to 16 tones so. It is given in 8 bits, exactly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PngRaster:
    """One PNG file. Its rows lie in scratch space as far as they were read."""

    facts: RasterFacts
    format: RowFormat
    spool: RowSpool
    room: ScratchRoom
    clear: tuple[int, ...] | None = None

    def read(self, rows: slice, cols: slice, sample: int) -> Samples:
        """Numbers in the file, (rows, cols); 1-bit data as 0 and 1, 2 and 4 bits as 8."""
        lines = self.spool.read(rows.start, rows.stop, room=self.room)
        if self.clear is None and self.format.bits in _FEW_BITS:
            few = self.format.channel(lines, cols, sample)
            return few * few.dtype.type(_spread(self.format.bits))
        if self.clear is None:
            return self.format.channel(lines, cols, sample)
        return self._with_clear(self.format.numbers(lines)[:, cols], sample)

    def _with_clear(self, numbers: Samples, sample: int) -> Samples:
        """A channel of a picture in which one colour is clear (tRNS): alpha is the last one."""
        # A picture of 1 bit is given as one of 8 then, as its alpha has two tones of 8 bits.
        spread = _spread(self.format.bits)
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
        If it is damaged, a palette picture or too large.
    """
    source = source_of(path)
    found = read_chunks(source)
    chunks, header = found.content, found.content[b"IHDR"]
    width, height = int.from_bytes(header[:4]), int.from_bytes(header[4:8])
    faults = (*_method_faults(label(path), header), *_faults(label(path), width, height, header))
    if faults:
        raise PlateError(faults)
    form = RowFormat(width_px=width, channels=_CHANNELS[header[9]], bits=header[8])
    data = PngData(
        source=source,
        height_px=height,
        format=form,
        is_interlaced=header[12] != 0,
        pieces=found.pieces,
        room=room,
    )
    return PngRaster(
        facts=_facts(path, chunks, width, height),
        format=form,
        spool=RowSpool(source, data.blocks(), rows=height, row_bytes=form.row_bytes),
        room=room,
        clear=_clear(chunks.get(b"tRNS"), form),
    )


def _method_faults(where: str, header: bytes) -> Iterator[Fault]:
    """Faults of the ways to pack, filter and interlace (11.2.1), and of bits and colour (table 12).

    Clauses are those of PNG, third edition.
    """
    bits, colour, *methods = header[8:]
    do = "export it again as PNG or TIFF"
    for word, method, known in zip(_METHODS, methods, _KNOWN, strict=True):
        if method not in known:
            expected = f"only {listing([str(one) for one in known])} can be read"
            yield Fault(
                where=where, found=f"is {word} by method {method}", expected=expected, do=do
            )
    if bits not in _BITS.get(colour, ()):
        found = f"says it has {bits} bits a channel and colours of type {colour}"
        yield Fault(where=where, found=found, expected="no PNG may have these together", do=do)


def _faults(where: str, width: int, height: int, header: bytes) -> Iterator[Fault]:
    """Faults of what a PNG may be and a plate may not."""
    colour = header[9]
    yield from size_faults(width, height, where=where)
    if width * height > MAX_HELD_PX:
        limit = f"PNG files are read up to {MAX_HELD_PX // 10**6} million pixels"
        found = f"is {size_of(width, height, 'px')}"
        yield KindFault(where=where, found=found, expected=limit, do="export it as TIFF")
    if colour == _PALETTE:
        found, do = "is a palette picture (indexed colour)", "export it as greyscale"
        yield KindFault(where=where, found=found, expected="a greyscale picture is needed", do=do)


def _spread(bits: int) -> int:
    """What numbers of few bits are multiplied by, so that the largest is 255 (13.12)."""
    return 255 // (2**bits - 1) if bits < 8 else 1


def _facts(path: Path, chunks: Mapping[bytes, bytes], width: int, height: int) -> RasterFacts:
    bits, colour = chunks[b"IHDR"][8:10]
    samples = _CHANNELS[colour] + (1 if b"tRNS" in chunks else 0)
    ppi, notes = _ppi(path, chunks.get(b"pHYs", b""))
    return RasterFacts(
        path=path,
        format="PNG",
        width_px=width,
        height_px=height,
        samples=samples,
        bits=8 if bits in _FEW_BITS or (b"tRNS" in chunks and bits == 1) else bits,
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
