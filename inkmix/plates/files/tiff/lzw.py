"""LZW strips, tiles and pieces of strips, by the decoder that is quicker for them.

The decoder of imagecodecs is quick where strings are long or there are none; the compiled loop is
where they are short, as in scans with grain: 1.3 to 2 times as quick there, so that a whole check
of 173 million grainy pixels in five plates takes 1.2 times the time without it. Both give the same
bytes, and whatever the loop finds odd goes to the other.
"""

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from inkmix.base import loops

_GRAINY = (0.8, 5.0)
"""Unpacked bytes for a packed one between which strings are short."""


def unpack_lzw(packed: bytes, out: NDArray[np.uint8]) -> int:
    """How many bytes the stream holds, counted to one more than `out`, (n,) contiguous, has room.

    Raises what the decoder raises.
    """
    low, high = _GRAINY
    if low * len(packed) < out.size < high * len(packed) and loops.are_compiled():
        count = _by_loop(packed, out, spare=1)
        if count >= out.size:
            return count
    try:
        room = np.empty(out.size + 1, np.uint8)
        count = len(imagecodecs.lzw_decode(packed, out=room.data))
    except Exception:  # what follows may be what a writer filled up with
        return len(imagecodecs.lzw_decode(packed, out=out.data))
    out[:count] = room[: min(count, out.size)]
    return count


def unpacked_lzw_run(packed: bytes, *, most: int, guess: float) -> bytes:
    """What a stream holds whose size is not known, but is at most `most` bytes.

    `guess` is how many bytes a packed one is expected to give; the loop is tried where that is few.
    """
    low, high = _GRAINY
    room = round(high * len(packed))
    if low < guess < high and room <= most and loops.are_compiled():
        out = np.empty(room, np.uint8)
        count = _by_loop(packed, out)
        if 0 <= count < room:
            return out[:count].tobytes()
    # Memory is taken for the most; pages that are not written to are none.
    return bytes(imagecodecs.lzw_decode(packed, out=most))


def _by_loop(packed: bytes, out: NDArray[np.uint8], *, spare: int = 0) -> int:
    """As many bytes as the stream holds, counted to `spare` more than there is room for."""
    from inkmix.base.kernels import lzw

    room = np.empty(lzw.LITERALS + out.size + spare + lzw.SPARE, np.uint8)
    places, lengths = np.empty((2, lzw.ENTRIES), np.int32)
    padded = np.frombuffer(packed + bytes(lzw.PADDING), np.uint8)
    count = lzw.unpack(padded, room, places, lengths)
    if count > 0:
        inside = min(count, out.size)
        out[:inside] = room[lzw.LITERALS : lzw.LITERALS + inside]
    return count
