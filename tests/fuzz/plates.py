"""Plate files: TIFF and PNG of every kind that is read, tags, chunks, strips, bytes spoilt."""

import random
import struct
import zlib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fuzz.cases import NEGATIVES, NUMBERS, Asked, cut, flipped, moved, weighted
from fuzz.png_chunks import Chunk, PngDocument, forbidden, png_document
from fuzz.tiff_writer import (
    _FORMS,
    LONG,
    Tag,
    TiffDocument,
    tiff_bytes,
    tiff_document,
)

NAME = "plates"
_COMPRESSIONS = {1: 4, 5: 3, 8: 3, 32773: 2, 32946: 1, 50000: 2, 4: 1}
_CODES = (254, 256, 257, 258, 259, 262, 266, 273, 274, 277, 278, 279, 282, 284, 296, 317, 322, 323)
_CODES_MORE = (*_CODES, 324, 325, 332, 333, 334, 336, 338, 339, 34675, 32997, 34665, 330, 65000)


@dataclass(slots=True, kw_only=True)
class PlateDocument:
    """A plate file before it is written: its parts, and what is done to the bytes at last.

    Parameters
    ----------
    bits_changed : bool
        Whether strips may hold twice the rows that their tags say.
    """

    parts: TiffDocument | PngDocument
    on_bytes: list[tuple[str, int]] = field(default_factory=list)
    narrowed: bool = False


def pixels_of(rng: random.Random, channels: int, bits: int) -> NDArray:
    """(rows, cols, channels) of 8 to 64 px a side: noise, a ramp or flat, dark and light in it."""
    rows, cols = rng.randint(1, 64), rng.randint(8, 64)
    top = 2**bits - 1
    noise = np.random.default_rng(rng.getrandbits(32))
    match rng.randrange(3):
        case 0:
            plane = noise.integers(0, top + 1, (rows, cols, 1))
        case 1:
            plane = (np.arange(rows * cols).reshape(rows, cols, 1) * 37) % (top + 1)
        case _:
            plane = np.full((rows, cols, 1), top)
    plane[0, :2] = [[0], [top]]
    dtype = np.uint16 if bits == 16 else np.uint8
    return np.repeat(plane.astype(dtype), channels, axis=2)


def build(rng: random.Random) -> PlateDocument:
    """A sound plate."""
    parts = _tiff(rng) if rng.random() < 0.6 else _png(rng)
    return PlateDocument(parts=parts)


def _tiff(rng: random.Random) -> TiffDocument:
    bits = weighted(rng, {8: 6, 16: 3, 1: 2})
    compression = weighted(rng, _COMPRESSIONS)
    bits = 1 if compression == 4 else bits
    channels = weighted(rng, {1: 6, 2: 1, 3: 1, 4: 1}) if bits != 1 else 1
    pixels = pixels_of(rng, channels, bits)
    inks = ("Soot", "Fjord", "Rowan", "Brass")
    tile = (16, 16) if rng.random() < 0.25 and bits != 1 and compression != 4 else None
    return tiff_document(
        pixels,
        bits=bits,
        photometric={1: rng.choice((0, 1, 1, 1)), 2: 1, 3: 2, 4: 5}[channels],
        compression=compression,
        predictor=2 if bits != 1 and compression in (5, 8, 50000) and rng.random() < 0.4 else 1,
        rows=rng.choice((1, 3, 8, 64, 100)),
        tile=tile,
        planar=channels > 1 and rng.random() < 0.3,
        byteorder=rng.choice("<>"),
        big=rng.random() < 0.15,
        fill_order=2 if bits == 1 and compression == 1 and rng.random() < 0.3 else 1,
        ppi=rng.choice((72, 300, 300, None)),
        extra=(rng.choice((0, 1, 2)),) if channels == 2 else (),
        names=inks if channels == 4 else (),
    )


def _png(rng: random.Random) -> PngDocument:
    bits = weighted(rng, {8: 6, 16: 3, 1: 2})
    channels = weighted(rng, {1: 5, 2: 1, 3: 1, 4: 1}) if bits != 1 else 1
    pixels = pixels_of(rng, channels, bits)
    if channels in (2, 4):
        pixels[..., -1] = 2**bits - 1  # what hides parts of a plate is refused
    return png_document(
        pixels,
        bits=bits,
        interlaced=rng.random() < 0.2,
        filters=rng.randint(0, 5),
        pieces=rng.choice((1, 1, 2, 7)),
        ppi=rng.choice((72, 300, 300, None)),
    )


# --- damages -------------------------------------------------------------------------------------


def bytes_flipped(document: PlateDocument, rng: random.Random) -> None:
    """Bits of the file."""
    document.on_bytes.append(("flip", rng.getrandbits(32)))


def bytes_cut(document: PlateDocument, rng: random.Random) -> None:
    """The end is missing."""
    document.on_bytes.append(("cut", rng.getrandbits(32)))


def bytes_added(document: PlateDocument, rng: random.Random) -> None:
    """Something follows, which harms nobody."""
    document.on_bytes.append(("add", rng.getrandbits(32)))


def field_changed(document: PlateDocument, rng: random.Random) -> None:
    """A number of a tag, or of a header, becomes one where counting goes wrong."""
    parts = document.parts
    if isinstance(parts, TiffDocument):
        if tags := [tag for tag in parts.tags if tag.values]:
            tag = rng.choice(tags)
            tag.values[rng.randrange(len(tag.values))] = rng.choice(NUMBERS)
        return
    if (head := parts.first(b"IHDR")) and len(head.data) == 13:
        at, form = rng.choice(
            ((0, "I"), (4, "I"), (8, "B"), (9, "B"), (10, "B"), (11, "B"), (12, "B"))
        )
        fresh = bytearray(head.data)
        value = rng.choice(NUMBERS) & (2**32 - 1 if form == "I" else 255)
        struct.pack_into(f">{form}", fresh, at, value)
        head.data = bytes(fresh)


def part_moved(document: PlateDocument, rng: random.Random) -> None:
    """A tag or chunk removed, doubled, swapped."""
    parts = document.parts
    moved(parts.tags if isinstance(parts, TiffDocument) else parts.chunks, rng)


def part_new(document: PlateDocument, rng: random.Random) -> None:
    """A tag or chunk that was not there."""
    parts = document.parts
    if isinstance(parts, TiffDocument):
        values = [rng.choice(NUMBERS) for _ in range(rng.choice((1, 1, 2, 4, 40)))]
        fresh = Tag(
            code=rng.choice(_CODES_MORE), kind=rng.choice((*_FORMS, 0, 13, 255)), values=values
        )
        parts.tags.insert(rng.randint(0, len(parts.tags)), fresh)
        return
    kinds = (
        b"tRNS",
        b"PLTE",
        b"gAMA",
        b"sRGB",
        b"iCCP",
        b"eXIf",
        b"tEXt",
        b"ABCD",
        b"abCd",
        b"pHYs",
        b"acTL",
    )
    fresh = Chunk(rng.choice(kinds), rng.randbytes(rng.choice((0, 1, 2, 6, 9, 13, 300))))
    parts.chunks.insert(rng.randint(1, max(1, len(parts.chunks) - 1)), fresh)


def count_changed(document: PlateDocument, rng: random.Random) -> None:
    """A tag says another count of values, or a chunk another check sum."""
    parts = document.parts
    if isinstance(parts, TiffDocument):
        if parts.tags:
            rng.choice(parts.tags).count = rng.choice(NUMBERS)
    else:
        rng.choice(parts.chunks).check = rng.getrandbits(32)


def kind_changed(document: PlateDocument, rng: random.Random) -> None:
    """Values of another kind, signed ones below 0 among them."""
    parts = document.parts
    if isinstance(parts, PngDocument) or not parts.tags:
        field_changed(document, rng)
        return
    tag = rng.choice(parts.tags)
    tag.kind = rng.choice((1, 2, 3, 4, 6, 7, 8, 9, 16))
    if tag.kind in (6, 8, 9) and tag.values and rng.random() < 0.7:
        tag.values[rng.randrange(len(tag.values))] = rng.choice(NEGATIVES)


def segment_changed(document: PlateDocument, rng: random.Random) -> None:
    """Packed data that are spoilt, cut, longer, or somebody else's."""
    parts = document.parts
    if isinstance(parts, TiffDocument):
        at = rng.randrange(len(parts.segments))
        parts.segments[at] = _spoilt(parts.segments[at], rng)
    elif data := [chunk for chunk in parts.chunks if chunk.kind == b"IDAT"]:
        chunk = rng.choice(data)
        chunk.data = _spoilt(chunk.data, rng)


def _spoilt(data: bytes, rng: random.Random) -> bytes:
    match rng.randrange(5):
        case 0:
            return flipped(data, rng)
        case 1:
            return cut(data, rng)
        case 2:
            return data + rng.randbytes(rng.randint(1, 40))
        case 3:
            return zlib.compress(bytes(rng.choice((10, 10_000, 10**7))))
        case _:
            return b""


def bits_halved(document: PlateDocument, rng: random.Random) -> None:
    """16 bits declared as 8: every strip holds twice what its rows need."""
    parts = document.parts
    bits = parts.tag(258) if isinstance(parts, TiffDocument) else None
    if bits is not None and bits.values and set(bits.values) == {16}:
        bits.values = [8] * len(bits.values)
        document.narrowed = True


def tag_missing(document: PlateDocument, rng: random.Random) -> None:
    """A tag that every picture needs is not there."""
    if isinstance(document.parts, TiffDocument):
        code = rng.choice((256, 257, 258, 259, 262, 262, 262, 273, 277, 278, 279))
        document.parts.tags = [tag for tag in document.parts.tags if tag.code != code]
    else:
        part_moved(document, rng)


def pages_more(document: PlateDocument, rng: random.Random) -> None:
    """More directories."""
    if isinstance(document.parts, TiffDocument):
        document.parts.pages = rng.choice((2, 3, 40))


def size_huge(document: PlateDocument, rng: random.Random) -> None:
    """A size that a few bytes cannot hold, or that they do: white packs a thousand times over."""
    parts = document.parts
    side = rng.choice((3000, 20_000, 60_000, 250_000))
    if isinstance(parts, TiffDocument):
        for code in (256, 257):
            if tag := parts.tag(code):
                tag.kind, tag.values = LONG, [side]
        return
    head = parts.first(b"IHDR")
    if head is not None and len(head.data) == 13:
        interlaced = rng.randrange(2)
        head.data = struct.pack(">IIBBBBB", 3000, 1500, 16, 6, 0, 0, interlaced)
        raw = zlib.compress(bytes(3000 * 1500 * 8 + 6000), 9)
        parts.chunks[1:-1] = [Chunk(b"IDAT", raw)]


DAMAGES = (
    *(bytes_flipped, bytes_cut, bytes_added, field_changed, field_changed, part_moved, part_moved),
    *(part_new, part_new, count_changed, kind_changed, segment_changed, segment_changed),
    *(bits_halved, tag_missing, pages_more, size_huge),
)

# --- what is asked -------------------------------------------------------------------------------


def write(document: PlateDocument, folder: Path, rng: random.Random) -> Asked:
    """The file, to be read whole, or predicted from as a loose plate."""
    is_tiff = isinstance(document.parts, TiffDocument)
    name = "Soot.tif" if is_tiff else "Soot.png"
    (folder / name).write_bytes(plate_bytes(document, rng))
    whole = not document.on_bytes
    clause = forbidden(document.parts) if whole and not is_tiff else ""
    unsaid = _unsaid(document) if whole and is_tiff else ""
    if rng.random() < 0.15:
        words = ("predict", name, "--ink", "Soot=night-ferry/Soot", "--to", "out/print.png")
        return Asked(call="command", words=words, forbidden=clause, unsaid=unsaid)
    return Asked(call="plate", words=(name,), forbidden=clause, unsaid=unsaid)


def _unsaid(document: PlateDocument) -> str:
    """What a reader may accept of this TIFF, but not without a word."""
    if not any(tag.code == 262 for tag in document.parts.tags):
        return "no photometric tag: nobody knows whether 0 is black (TIFF 6.0, section 3)"
    bits = document.parts.tag(258)
    if document.narrowed and bits is not None and bits.values[:1] == [8]:
        return "strips hold twice what their rows need"
    return ""


def plate_bytes(document: PlateDocument, rng: random.Random) -> bytes:
    """The file with what is done to its bytes."""
    parts = document.parts
    data = tiff_bytes(parts) if isinstance(parts, TiffDocument) else parts.written()
    for how, seed in document.on_bytes:
        own = random.Random(seed)
        data = {"flip": flipped, "cut": cut, "add": _longer}[how](data, own)
    return data


def _longer(data: bytes, rng: random.Random) -> bytes:
    return data + rng.randbytes(rng.randint(1, 2000))
