"""Where an LZW stream of a TIFF can be cut, so that a huge strip is unpacked piece by piece.

TIFF 6.0, section 13: the stream starts anew at each Clear code, and in between the width of a code
follows from its number alone. So Clear codes are found without unpacking. Bits only; no files.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.tiff.lzw import unpacked_lzw_run

_CLEAR_BITS = 9
_END = 257
# Codes of 9, 10, 11 and 12 bits between two Clear codes: the table holds 258 entries at the start,
# the first code adds none, and codes grow one entry before the width is used up. The last count is
# a few more than the table has room for; writers clear at 4094 entries.
_COUNTS = (254, 512, 1024, 2056)
_WIDTHS = np.repeat(np.array([9, 10, 11, 12]), _COUNTS)
_PLACES = np.concatenate([[0], np.cumsum(_WIDTHS)])
# Without their lowest bit, Clear (256) and end (257) are one number, and one comparison finds both.
_MASKS = ((1 << _WIDTHS - 1) - 1).astype(np.uint32)
_BYTES = [(_PLACES[:-1] + phase) >> 3 for phase in range(8)]
_SHIFTS = [(33 - _WIDTHS - ((_PLACES[:-1] + phase) & 7)).astype(np.uint32) for phase in range(8)]
_MAX_SEGMENT_BITS = int(_PLACES[-1])
_MAX_SEGMENT_BYTES = _MAX_SEGMENT_BITS // 8 + 2
_MAX_STRING_BYTES = len(_WIDTHS) * (len(_WIDTHS) + 1) // 2
_RUN = 2
"""Stretches unpacked at once: at most 15 MB on blank paper, 8 kB on noise."""
_DENSE = 2**20


class UncutLzwError(Exception):
    """The stream cannot be cut: old bit order, no Clear codes, or damage."""


def unpacked_lzw(packed: Iterator[bytes]) -> Iterator[bytes]:
    """Pieces of what an LZW stream holds.

    Memory: a packed piece, and at most 15 MB unpacked.

    Raises
    ------
    UncutLzwError
        Where it has to be unpacked whole or is damaged.
    """
    cutter, stretches, ratio = _Cutter(packed), _RUN, 0.0
    while (run := cutter.run(stretches)) is not None:
        try:
            piece = unpacked_lzw_run(run, most=stretches * _MAX_STRING_BYTES, guess=ratio)
        except Exception as error:  # the decoder's own kinds
            raise UncutLzwError from error
        yield piece
        ratio = len(piece) / len(run)
        stretches = 1 if len(piece) > stretches * _DENSE else _RUN


class _Cutter:
    """Gives the stream in runs of whole stretches, each run starting with a Clear code."""

    def __init__(self, packed: Iterator[bytes]) -> None:
        self._packed = packed
        self._data = b""
        self._words: NDArray[np.uint32] = np.zeros(0, np.uint32)
        self._bit = _CLEAR_BITS
        self._is_last = False
        self._is_done = False
        self._refill(0)
        if len(self._data) < 2 or self._data[0] != 0x80 or self._data[1] & 0x80:
            raise UncutLzwError

    def run(self, stretches: int) -> bytes | None:
        """Some stretches as a stream of their own; None at the end."""
        if self._is_done:
            return None
        self._need(stretches)
        start = stop = self._bit
        width = 0
        for _ in range(stretches):
            stop, width = self._stretch_end(self._bit)
            if self._is_done:
                break
        return self._shifted(start, stop, end_width=width)

    def _need(self, stretches: int) -> None:
        """Have enough bits for so many stretches, unless the stream ends before."""
        bits = stretches * (_MAX_SEGMENT_BITS + 12)
        while not self._is_last and 8 * len(self._data) < self._bit + bits:
            self._refill((self._bit - _CLEAR_BITS) >> 3)

    def _refill(self, drop: int) -> None:
        more = next(self._packed, b"")
        self._is_last = not more
        self._data = self._data[drop:] + more
        self._bit -= 8 * drop
        self._words = _words(self._data)

    def _stretch_end(self, start: int) -> tuple[int, int]:
        """Where the codes of a stretch end, and how wide the next would be; moves on to it."""
        first, phase = start >> 3, start & 7
        count = _codes_in(8 * len(self._data) - start)
        words = self._words[first : first + _MAX_SEGMENT_BYTES].take(_BYTES[phase][:count])
        halves = (words >> _SHIFTS[phase][:count]) & _MASKS[:count]
        found = np.flatnonzero(halves == _END >> 1)
        if not len(found):
            if count == len(_WIDTHS):
                raise UncutLzwError
            self._is_done = True
            return start + int(_PLACES[count]), int(_WIDTHS[count])
        at = int(found[0])
        last_bit = (words[at] >> (_SHIFTS[phase][at] - 1)) & 1
        self._is_done = bool(last_bit == _END & 1)
        self._bit = start + int(_PLACES[at + 1])
        return start + int(_PLACES[at]), int(_WIDTHS[at])

    def _shifted(self, start: int, stop: int, *, end_width: int) -> bytes:
        """Bits from start to stop between a Clear code and an end, from the first bit of a byte."""
        origin = start - _CLEAR_BITS
        count = (stop - origin + 7) >> 3
        words = self._words[origin >> 3 : (origin >> 3) + count]
        run = ((words >> np.uint32(24 - (origin & 7))) & 0xFF).astype(np.uint8)
        run[0] = 0x80
        run[1:2] &= 0x7F
        spare = 8 * count - (stop - origin)
        run[-1] &= 0xFF << spare & 0xFF
        end = _END << (16 + spare - end_width)
        return run[:-1].tobytes() + ((int(run[-1]) << 16) | end).to_bytes(3)


def _words(data: bytes) -> NDArray[np.uint32]:
    """At each byte, the 32 bits that begin there; zeros beyond the end."""
    quarter = len(data) // 4 + 1
    padded = data + bytes(7)
    words = np.empty(4 * quarter, np.uint32)
    for first in range(4):
        words[first::4] = np.frombuffer(padded, ">u4", quarter, first)
    return words


def _codes_in(bits: int) -> int:
    """How many codes of a stretch so many bits hold."""
    if bits >= _MAX_SEGMENT_BITS:
        return len(_WIDTHS)
    return max(0, int(np.searchsorted(_PLACES, bits, side="right")) - 1)
