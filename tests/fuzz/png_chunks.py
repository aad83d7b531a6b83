"""PNG files as lists of chunks, so that each can be spoilt by itself (PNG, third edition)."""

import struct
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIGNATURE = b"\x89PNG\r\n\x1a\n"
ADAM7 = (
    (0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2), (1, 0, 2, 1)
)  # fmt: skip
COLOURS = {1: 0, 2: 4, 3: 2, 4: 6}
KNOWN_CRITICAL = (b"IHDR", b"PLTE", b"IDAT", b"IEND")


@dataclass(slots=True)
class Chunk:
    """One chunk; `check` stands in place of the true check sum if told."""

    kind: bytes
    data: bytes
    check: int | None = None

    def written(self) -> bytes:
        """As in the file."""
        check = zlib.crc32(self.kind + self.data) if self.check is None else self.check
        return struct.pack(">I", len(self.data)) + self.kind + self.data + struct.pack(">I", check)


@dataclass(slots=True)
class PngDocument:
    """Chunks in order."""

    chunks: list[Chunk]

    def first(self, kind: bytes) -> Chunk | None:
        """The first chunk of a kind."""
        return next((chunk for chunk in self.chunks if chunk.kind == kind), None)

    def written(self) -> bytes:
        """The file."""
        return SIGNATURE + b"".join(chunk.written() for chunk in self.chunks)


def png_document(
    pixels: NDArray,
    *,
    bits: int,
    interlaced: bool = False,
    filters: int = 0,
    pieces: int = 1,
    ppi: int | None = 300,
    clear: tuple[int, ...] = (),
    profile: bytes = b"",
) -> PngDocument:
    """A sound picture of (rows, cols, channels); `filters` 0-4, or 5 for rows that differ."""
    rows, cols, channels = pixels.shape
    passes = ADAM7 if interlaced else ((0, 0, 1, 1),)
    step = max(1, channels * bits // 8)
    raw = b"".join(
        _filtered(_lines(pixels[top::down, left::right], bits), filters, step)
        for top, left, down, right in passes
        if pixels[top::down, left::right].size
    )
    head = struct.pack(">IIBBBBB", cols, rows, bits, COLOURS[channels], 0, 0, int(interlaced))
    chunks = [Chunk(b"IHDR", head)]
    if profile:
        chunks.append(Chunk(b"iCCP", b"a profile\0\0" + zlib.compress(profile)))
    if ppi:
        per_metre = round(ppi / 0.0254)
        chunks.append(Chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)))
    if clear:
        chunks.append(Chunk(b"tRNS", struct.pack(f">{len(clear)}H", *clear)))
    packed = zlib.compress(raw)
    size = -(-len(packed) // pieces)
    chunks += [Chunk(b"IDAT", packed[at : at + size]) for at in range(0, len(packed), size)]
    return PngDocument([*chunks, Chunk(b"IEND", b"")])


def _lines(pixels: NDArray, bits: int) -> NDArray[np.uint8]:
    flat = np.ascontiguousarray(pixels).reshape(len(pixels), -1)
    if bits == 1:
        return np.packbits(flat, axis=1)
    return flat.astype(f">u{bits // 8}").view(np.uint8)


def _filtered(lines: NDArray[np.uint8], kind: int, step: int) -> bytes:
    """Lines behind the number of their filter (section 9)."""
    padded = np.pad(lines.astype(int), ((1, 0), (step, 0)))
    above, left, corner = padded[:-1, step:], padded[1:, :-step], padded[:-1, :-step]
    estimate = left + above - corner
    far = [abs(estimate - each) for each in (left, above, corner)]
    paeth = np.where(
        (far[0] <= far[1]) & (far[0] <= far[2]), left, np.where(far[1] <= far[2], above, corner)
    )
    guesses = (np.zeros_like(left), left, above, (left + above) // 2, paeth)
    kinds = [row % 5 if kind == 5 else kind for row in range(len(lines))]
    return b"".join(
        bytes([one]) + ((lines[row] - guesses[one][row]) % 256).astype(np.uint8).tobytes()
        for row, one in enumerate(kinds)
    )


def forbidden(document: PngDocument) -> str:
    """The clause that these chunks break and no reader may pass over; empty if none is known."""
    kinds = [chunk.kind for chunk in document.chunks]
    if any(chunk.check is not None for chunk in document.chunks if chunk.kind in KNOWN_CRITICAL):
        return "the check sum of a critical chunk is wrong (13.2)"
    if not kinds or kinds[0] != b"IHDR" or kinds.count(b"IHDR") > 1:
        return "IHDR comes first and once (5.6)"
    if any(not kind[0] & 32 and kind not in KNOWN_CRITICAL for kind in kinds if kind.isalpha()):
        return "a critical chunk is unknown (5.4)"
    head = document.chunks[0].data
    if len(head) == 13 and (head[10] or head[11] or head[12] > 1):
        return "packing, filter or interlace method is unknown (11.2.1)"
    if len(head) == 13 and head[9] in (4, 6) and b"tRNS" in kinds:
        return "tRNS beside alpha (11.3.1.1)"
    return ""
