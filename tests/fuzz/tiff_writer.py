"""TIFF files written by hand from a list of tags, so that each can be spoilt by itself.

Layout: header, strips or tiles, values that are too long for their tag, directory (TIFF 6.0,
section 2; BigTIFF has wider numbers in the same places).
"""

import io
import struct
from dataclasses import dataclass, field

import imagecodecs
import numpy as np
from numpy.typing import NDArray
from PIL import Image

BYTE, ASCII, SHORT, LONG, RATIONAL, SBYTE, UNDEFINED, SSHORT, SLONG, LONG8 = (
    1, 2, 3, 4, 5, 6, 7, 8, 9, 16,
)  # fmt: skip
_FORMS = {1: "B", 2: "B", 3: "H", 4: "I", 5: "I", 6: "b", 7: "B", 8: "h", 9: "i", 16: "Q"}
_WIDTH, _LENGTH, _BITS, _COMPRESSION, _PHOTOMETRIC, _FILL = 256, 257, 258, 259, 262, 266
_OFFSETS, _SAMPLES, _ROWS, _COUNTS, _X, _Y, _PLANAR, _UNIT = 273, 277, 278, 279, 282, 283, 284, 296
_PREDICTOR, _TILE_W, _TILE_L, _TILE_OFFSETS, _TILE_COUNTS = 317, 322, 323, 324, 325
_INK_SET, _INK_NAMES, _INKS, _EXTRA, _PROFILE = 332, 333, 334, 338, 34675


@dataclass(slots=True, kw_only=True)
class Tag:
    """One entry of a directory; `count` stands in the file in place of the true one if told."""

    code: int
    kind: int
    values: list[int]
    count: int | None = None


@dataclass(slots=True, kw_only=True)
class TiffDocument:
    """A picture as tags and packed strips or tiles; offsets are filled in when it is written."""

    tags: list[Tag]
    segments: list[bytes]
    byteorder: str = "<"
    big: bool = False
    pages: int = 1
    after: list[str] = field(default_factory=list)

    def tag(self, code: int) -> Tag | None:
        """The first tag of a code."""
        return next((tag for tag in self.tags if tag.code == code), None)


def tiff_document(
    pixels: NDArray,
    *,
    bits: int,
    photometric: int,
    compression: int = 1,
    predictor: int = 1,
    rows: int = 8,
    tile: tuple[int, int] | None = None,
    planar: bool = False,
    byteorder: str = "<",
    big: bool = False,
    fill_order: int = 1,
    ppi: int | None = 300,
    extra: tuple[int, ...] = (),
    names: tuple[str, ...] = (),
    profile: bytes = b"",
) -> TiffDocument:
    """A sound picture of (rows, cols, channels)."""
    height, width, samples = pixels.shape
    planes = [pixels[..., k : k + 1] for k in range(samples)] if planar else [pixels]
    parts = [part for plane in planes for part in _parts(plane, rows, tile)]
    packing = (bits, compression, predictor, byteorder, fill_order)
    segments = [_packed(part, *packing) for part in parts]
    tags = [
        Tag(code=_WIDTH, kind=SHORT, values=[width]),
        Tag(code=_LENGTH, kind=SHORT, values=[height]),
        Tag(code=_BITS, kind=SHORT, values=[bits] * samples),
        Tag(code=_COMPRESSION, kind=SHORT, values=[compression]),
        Tag(code=_PHOTOMETRIC, kind=SHORT, values=[photometric]),
        Tag(code=_SAMPLES, kind=SHORT, values=[samples]),
        Tag(code=_PLANAR, kind=SHORT, values=[2 if planar else 1]),
        *_place_tags(rows, tile, len(segments)),
    ]
    optional = {
        _FILL: (SHORT, [fill_order] if fill_order != 1 else []),
        _X: (RATIONAL, [ppi, 1] if ppi else []),
        _Y: (RATIONAL, [ppi, 1] if ppi else []),
        _UNIT: (SHORT, [2] if ppi else []),
        _PREDICTOR: (SHORT, [predictor] if predictor != 1 else []),
        _INK_SET: (SHORT, [2] if names else []),
        _INK_NAMES: (ASCII, list(b"".join(name.encode() + b"\0" for name in names))),
        _INKS: (SHORT, [len(names)] if names else []),
        _EXTRA: (SHORT, list(extra)),
        _PROFILE: (UNDEFINED, list(profile)),
    }
    tags += [Tag(code=code, kind=kind, values=v) for code, (kind, v) in optional.items() if v]
    tags.sort(key=lambda tag: tag.code)
    return TiffDocument(tags=tags, segments=segments, byteorder=byteorder, big=big)


def _place_tags(rows: int, tile: tuple[int, int] | None, count: int) -> list[Tag]:
    if tile is None:
        return [
            Tag(code=_OFFSETS, kind=LONG, values=[0] * count),
            Tag(code=_ROWS, kind=SHORT, values=[rows]),
            Tag(code=_COUNTS, kind=LONG, values=[0] * count),
        ]
    return [
        Tag(code=_TILE_W, kind=SHORT, values=[tile[1]]),
        Tag(code=_TILE_L, kind=SHORT, values=[tile[0]]),
        Tag(code=_TILE_OFFSETS, kind=LONG, values=[0] * count),
        Tag(code=_TILE_COUNTS, kind=LONG, values=[0] * count),
    ]


def _parts(plane: NDArray, rows: int, tile: tuple[int, int] | None) -> list[NDArray]:
    height, width, _ = plane.shape
    if tile is None:
        return [plane[top : top + rows] for top in range(0, height, rows)]
    down, across = -(-height // tile[0]) * tile[0], -(-width // tile[1]) * tile[1]
    whole = np.pad(plane, ((0, down - height), (0, across - width), (0, 0)))
    return [
        whole[top : top + tile[0], left : left + tile[1]]
        for top in range(0, down, tile[0])
        for left in range(0, across, tile[1])
    ]


def _packed(part: NDArray, bits: int, compression: int, predictor: int, order: str, fill: int):
    rows, cols, channels = part.shape
    if compression == 4:
        return _group4(part[..., 0])
    if predictor == 2:
        part = np.concatenate((part[:, :1], part[:, 1:] - part[:, :-1]), axis=1)
    if bits == 1:
        raw = np.packbits(part.reshape(rows, cols * channels), axis=1).tobytes()
    else:
        raw = part.astype(f"{order}u{bits // 8}").tobytes()
    if fill == 2:
        raw = bytes(int(f"{byte:08b}"[::-1], 2) for byte in raw)
    return _PACKERS[compression](raw)


def _group4(bits: NDArray) -> bytes:
    """Packed by the TIFF library that Pillow brings; no other at hand writes T.6."""
    out = io.BytesIO()
    picture = Image.fromarray(bits.astype(bool))
    picture.save(out, "TIFF", compression="group4", tiffinfo={_ROWS: len(bits)})
    out.seek(0)
    with Image.open(out) as written:
        tags = written.tag_v2
        (start,), (count,) = tags[_OFFSETS], tags[_COUNTS]
    return out.getvalue()[start : start + count]


_PACKERS = {
    1: bytes,
    5: lambda raw: bytes(imagecodecs.lzw_encode(raw)),
    8: lambda raw: bytes(imagecodecs.zlib_encode(raw)),
    32773: lambda raw: bytes(imagecodecs.packbits_encode(raw)),
    32946: lambda raw: bytes(imagecodecs.zlib_encode(raw)),
    50000: lambda raw: bytes(imagecodecs.zstd_encode(raw)),
}


def tiff_bytes(document: TiffDocument) -> bytes:
    """The file; places and sizes of strips go into tags that still have as many values."""
    order, big = document.byteorder, document.big
    out = bytearray(b"II" if order == "<" else b"MM")
    out += struct.pack(f"{order}HHHQ", 43, 8, 0, 0) if big else struct.pack(f"{order}HI", 42, 0)
    link = len(out) - (8 if big else 4)
    _place_segments(out, document)
    for _ in range(document.pages):
        at = len(out) + len(out) % 2
        out += bytes(at - len(out))
        table, link_in_table = _directory(document, at)
        struct.pack_into(f"{order}{'Q' if big else 'I'}", out, link, at)
        out += table
        link = at + link_in_table
    return bytes(out)


def _place_segments(out: bytearray, document: TiffDocument) -> None:
    offsets = document.tag(_OFFSETS) or document.tag(_TILE_OFFSETS)
    counts = document.tag(_COUNTS) or document.tag(_TILE_COUNTS)
    for index, segment in enumerate(document.segments):
        for tag, value in ((offsets, len(out)), (counts, len(segment))):
            if tag is not None and index < len(tag.values) and tag.values[index] == 0:
                tag.values[index] = value
        out += segment


def _directory(document: TiffDocument, at: int) -> tuple[bytes, int]:
    """A directory with the values that do not fit into it behind, and where its link stands."""
    order, big = document.byteorder, document.big
    word, head = ("Q", "Q") if big else ("I", "H")
    entry = f"{order}HH{word}"
    size = struct.calcsize(f"{order}{word}")
    table = bytearray(struct.pack(f"{order}{head}", len(document.tags)))
    after = at + len(table) + len(document.tags) * (4 + 2 * size) + size
    values = bytearray()
    for tag in document.tags:
        data = _value_bytes(tag, order)
        count = len(tag.values) // (2 if tag.kind == RATIONAL else 1)
        count = (count if tag.count is None else tag.count) & (2 ** (8 * size) - 1)
        table += struct.pack(entry, tag.code & 65535, tag.kind & 65535, count)
        if len(data) <= size:
            table += data.ljust(size, b"\0")
        else:
            table += struct.pack(f"{order}{word}", after + len(values))
            values += data
    return bytes(table) + bytes(size) + bytes(values), len(table)


def _value_bytes(tag: Tag, order: str) -> bytes:
    form = _FORMS.get(tag.kind, "I")
    mask = 2 ** (8 * struct.calcsize(form)) - 1
    unsigned = form.upper()
    values = [value & mask for value in tag.values]
    return struct.pack(f"{order}{len(values)}{unsigned}", *values)
