"""PNG files written by hand: every filter, chunks of any size, interlaced, one clear colour."""

import struct
import zlib
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from plate_files import png_chunk

_COLOURS = {1: 0, 2: 4, 3: 2, 4: 6}
#: First row, first column, row step and column step of each pass (PNG, third edition, section 8).
ADAM7 = (
    (0, 0, 8, 8),
    (0, 4, 8, 8),
    (4, 0, 8, 4),
    (0, 2, 4, 4),
    (2, 0, 4, 2),
    (0, 1, 2, 2),
    (1, 0, 2, 1),
)


def write_png_by_hand(
    path: Path,
    pixels: NDArray,
    *,
    seed: int = 0,
    bits: int = 8,
    chunk_bytes: int = 50,
    clear: tuple[int, ...] = (),
    interlaced: bool = False,
) -> Path:
    """A PNG of (rows, cols, channels) with a filter drawn for each row."""
    rng = np.random.default_rng(seed)
    rows, cols, channels = pixels.shape
    passes = ADAM7 if interlaced else ((0, 0, 1, 1),)
    raw = b"".join(
        _filtered(_bytes(pixels[top::down, left::right], bits), max(1, channels * bits // 8), rng)
        for top, left, down, right in passes
        if pixels[top::down, left::right].size
    )
    head = struct.pack(">IIBBBBB", cols, rows, bits, _COLOURS[channels], 0, 0, interlaced)
    packed = zlib.compress(raw)
    data = [packed[start : start + chunk_bytes] for start in range(0, len(packed), chunk_bytes)]
    chunks = [(b"IHDR", head), *((b"IDAT", part) for part in data), (b"IEND", b"")]
    if clear:
        chunks.insert(1, (b"tRNS", struct.pack(f">{channels}H", *clear)))
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*chunk) for chunk in chunks))
    return path


def _bytes(pixels: NDArray, bits: int) -> NDArray[np.uint8]:
    """Lines as the file has them, (rows, bytes)."""
    flat = np.ascontiguousarray(pixels).reshape(len(pixels), -1)
    if bits == 1:
        return np.packbits(flat, axis=1)
    if bits < 8:
        each = flat[..., np.newaxis] >> np.arange(bits - 1, -1, -1) & 1
        return np.packbits(each.reshape(len(flat), -1).astype(np.uint8), axis=1)
    return flat.astype(f">u{bits // 8}").view(np.uint8)


def _filtered(lines: NDArray[np.uint8], step: int, rng: np.random.Generator) -> bytes:
    """Each line behind the number of its filter (PNG, third edition, section 9)."""
    padded = np.pad(lines.astype(int), ((1, 0), (step, 0)))
    above, left, corner = padded[:-1, step:], padded[1:, :-step], padded[:-1, :-step]
    estimate = left + above - corner
    far = [abs(estimate - each) for each in (left, above, corner)]
    paeth = np.where(
        (far[0] <= far[1]) & (far[0] <= far[2]), left, np.where(far[1] <= far[2], above, corner)
    )
    guesses = (np.zeros_like(left), left, above, (left + above) // 2, paeth)
    kinds = rng.integers(5, size=len(lines))
    return b"".join(
        bytes([kind]) + ((lines[row] - guesses[kind][row]) % 256).astype(np.uint8).tobytes()
        for row, kind in enumerate(kinds)
    )
