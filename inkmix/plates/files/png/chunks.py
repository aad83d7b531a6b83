"""The chunks of a PNG in order: their check sums, which may stand where, and where pixels lie.

Clauses are those of the PNG specification, third edition. What chunks mean is in png.py.
"""

import zlib
from array import array
from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PlateError
from inkmix.plates.files.profile import MAX_PROFILE_BYTES
from inkmix.plates.files.raster import label, refusal
from inkmix.plates.files.sniff import PNG_SIGNATURE
from inkmix.plates.files.source import SourceFile, damaged

_MAX_CHUNK = 2**31
_KEPT = (b"IHDR", b"pHYs", b"iCCP", b"tRNS")
_CRITICAL = (b"IHDR", b"PLTE", b"IDAT", b"IEND")
_ONCE = (b"IHDR", b"PLTE", b"tRNS", b"pHYs", b"iCCP")
_MAX_PIECES = 2**20
"""IDAT chunks of one file; writers use 8 kB and more a chunk."""
_READ_BYTES = 2**20
_GREY, _PALETTE, _ALPHA = (0, 4), 3, (4, 6)
_CLEAR_BYTES = {0: 2, 2: 6}
_COLOUR_BYTES = 3
_MOST_COLOURS = 256
_HEADER_BYTES = 13
_AGAIN = "export it again as PNG or TIFF"


@dataclass(frozen=True, slots=True, kw_only=True)
class PngChunks:
    """A PNG file taken apart.

    Parameters
    ----------
    content : mapping of bytes to bytes
        Of the chunks of use here, by kind.
    pieces : (N, 2) array of int64
        Offset and count of the content of each IDAT chunk.
    """

    content: Mapping[bytes, bytes]
    pieces: NDArray[np.int64]


@dataclass(slots=True, kw_only=True)
class _Seen:
    """What stood where: how often each kind that matters came, and what came before what."""

    first: bytes = b""
    last: bytes = b""
    times: Counter[bytes] = field(default_factory=Counter)
    unknown: list[bytes] = field(default_factory=list)
    pixel_runs: int = 0
    late: list[bytes] = field(default_factory=list)
    sizes: dict[bytes, int] = field(default_factory=dict)

    def note(self, kind: bytes, count: int) -> None:
        """Take down one chunk."""
        self.first = self.first or kind
        if kind in _CRITICAL or kind in _ONCE:
            self.times[kind] += 1
            self.sizes[kind] = count
        elif _is_critical(kind) and kind not in self.unknown and not self.unknown[2:]:
            self.unknown.append(kind)
        if kind == b"IDAT" and self.last != kind:
            self.pixel_runs += 1
        if kind in (b"PLTE", b"tRNS") and self.times[b"IDAT"]:
            self.late.append(kind)
        if kind == b"PLTE" and self.times[b"tRNS"]:
            self.late.append(b"tRNS before PLTE")
        self.last = kind


def read_chunks(source: SourceFile) -> PngChunks:
    """All chunks of a file, each looked at for damage.

    Raises
    ------
    PlateError
        If a check sum is wrong, parts are missing, or stand where the specification forbids it.
    """
    content: dict[bytes, bytes] = {}
    pieces, seen = array("q"), _Seen()
    for kind, place, count, data in walked_chunks(source, kept=_KEPT):
        seen.note(kind, count)
        if kind in _KEPT:
            content.setdefault(kind, data)
        if kind == b"IDAT":
            pieces.extend((place, count))
        if len(pieces) > 2 * _MAX_PIECES:
            found, limit = "lies in millions of pieces", f"{_MAX_PIECES} are read"
            raise refusal(source.path, found, limit, "export it again")
    if len(content.get(b"IHDR", b"")) != _HEADER_BYTES or seen.last != b"IEND" or not pieces:
        raise damaged(source.path, "parts are missing")
    where, colour = label(source.path), content[b"IHDR"][9]
    faults = [
        Fault(where=where, found=found, expected=expected, do=_AGAIN)
        for found, expected in (*_order_faults(seen), *_colour_faults(seen, colour))
    ]
    if faults:
        raise PlateError(faults)
    return PngChunks(content=content, pieces=np.array(pieces, np.int64).reshape(-1, 2))


def walked_chunks(
    source: SourceFile, *, kept: Collection[bytes], until: Collection[bytes] = ()
) -> Iterator[tuple[bytes, int, int, bytes]]:
    """Kind, place and length of each chunk, and the content of those that are kept.

    Content of more than MAX_PROFILE_BYTES is left out. The first chunk of a kind in `until`, which
    is not read, and all behind it are left out, too.

    Raises
    ------
    PlateError
        If a check sum is wrong, or a chunk has no name or ends early.
    """
    with source.opened() as file:
        file.seek(len(PNG_SIGNATURE))
        while head := file.read(8):
            count, kind = int.from_bytes(head[:4]), head[4:]
            if len(head) < 8 or count >= _MAX_CHUNK:
                raise damaged(source.path, "it ends early")
            if not (kind.isascii() and kind.isalpha()):  # 5.3
                raise damaged(source.path, "a part has no name")
            if kind in until:
                return
            place, found, content = file.tell(), zlib.crc32(kind), b""
            for part in _parts(source, file, count):
                found = zlib.crc32(part, found)
                content += part if kind in kept and count <= MAX_PROFILE_BYTES else b""
            check = file.read(4)
            if len(check) < 4:
                raise damaged(source.path, "it ends early")
            if found != int.from_bytes(check):
                raise damaged(source.path, "a check sum is wrong")
            yield kind, place, count, content
            if kind == b"IEND":
                return


def _is_critical(kind: bytes) -> bool:
    """By the case of the first letter (5.4): a reader may not pass over such a chunk."""
    return not kind[0] & 0x20


def _order_faults(seen: _Seen) -> Iterator[tuple[str, str]]:
    """Found and expected of what stands in the wrong place (5.6), or should not be there (5.4)."""
    if seen.first != b"IHDR":
        yield "does not begin with its header (IHDR)", "a PNG does"
    for kind in _ONCE:
        if seen.times[kind] > 1:
            found = f"holds {seen.times[kind]} parts {_text(kind)}"
            yield found, "a PNG has one at most, and which of them counts cannot be known"
    for kind in seen.unknown:
        found = f"holds a part {_text(kind)}, which readers must not skip"
        yield found, "it is not known what that means"
    if seen.pixel_runs > 1:
        yield "has other parts between those of its pixels (IDAT)", "these follow one another"
    for kind in dict.fromkeys(seen.late):
        if kind in _ONCE:
            yield f"has its part {_text(kind)} behind its pixels", "that stands before them"
        else:
            yield "has its part tRNS before its palette (PLTE)", "that stands behind it"


def _colour_faults(seen: _Seen, colour: int) -> Iterator[tuple[str, str]]:
    """Found and expected of palette and clear colour beside the kind of colour (11.2.2, 11.3.1)."""
    palette, clear = seen.sizes.get(b"PLTE"), seen.sizes.get(b"tRNS")
    if palette is None and colour == _PALETTE:
        yield "is a palette picture without its palette (PLTE)", "it says what the numbers mean"
    if palette is not None and colour in _GREY:
        yield "is grey and holds a palette (PLTE)", "that is for colour"
    if palette is not None and not _is_palette(palette):
        yield f"holds a palette (PLTE) of {palette} bytes", "it has 3 for each of 1 to 256 colours"
    if clear is None:
        return
    if colour in _ALPHA:
        found = "says twice what is clear, by an alpha channel and by a part tRNS"
        yield found, "a PNG has one or the other, and which of them counts cannot be known"
    elif colour == _PALETTE:
        if clear > (palette or 0) // _COLOUR_BYTES:
            yield "gives transparency (tRNS) for more colours than its palette has", "each has one"
    elif colour in _CLEAR_BYTES and clear != _CLEAR_BYTES[colour]:
        expected = f"{_CLEAR_BYTES[colour]} are needed"
        yield f"says its clear colour (tRNS) in {clear} bytes", expected


def _is_palette(count: int) -> bool:
    return count % _COLOUR_BYTES == 0 and 1 <= count // _COLOUR_BYTES <= _MOST_COLOURS


def _text(kind: bytes) -> str:
    return kind.decode("ascii")


def _parts(source: SourceFile, file: BinaryIO, count: int) -> Iterator[bytes]:
    """The next bytes of a file, a megabyte at a time."""
    while count:
        part = file.read(min(count, _READ_BYTES))
        if not part:
            raise damaged(source.path, "it ends early")
        count -= len(part)
        yield part
