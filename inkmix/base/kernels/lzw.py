"""Unpacking LZW as TIFF has it (TIFF 6.0, section 13), fast where strings are short, as in grain.

Every string of the table already stands in what was unpacked, one byte longer than the string
before, so the table holds places and lengths only. Its twin of the same bytes is the decoder of
imagecodecs, called in plates/files/tiff/unpack.py.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import loop

LITERALS = 256
"""Bytes that `room` begins with: each value once."""
SPARE = 8
"""Bytes that `room` ends with, as four are written at a time."""
PADDING = 3
"""Bytes behind the packed data, as codes are read from three at a time."""
ENTRIES = 4098
"""Length of the table's arrays."""

_CLEAR, _END, _MOST = 256, 257, 4096
_FEW = 24


@loop
def unpack(packed: Any, room: Any, places: Any, lengths: Any) -> int:
    """How many bytes were unpacked behind the literals of `room`; -1 where the stream is odd.

    `packed` is uint8 and ends with PADDING; `room` is uint8, LITERALS + bytes wanted + SPARE;
    `places` and `lengths` are int32 of ENTRIES and hold nothing before.
    """
    for value in range(LITERALS):
        room[value], places[value], lengths[value] = value, value, 1
    end, total = room.shape[0] - SPARE, (packed.shape[0] - PADDING) * 8
    if total < 16 or packed[0] != 0x80 or packed[1] >= 0x80:
        return -1
    done, bit = LITERALS, 0
    width, mask, entries, grows = 9, 511, _END, 511
    last: Any = 0
    last_length: Any = 0
    while done < end and bit + width <= total:
        at = bit >> 3
        word = (
            (np.int64(packed[at]) << 16)
            | (np.int64(packed[at + 1]) << 8)
            | np.int64(packed[at + 2])
        )
        code = (word >> (24 - width - (bit & 7))) & mask
        bit += width
        if code >> 1 == _CLEAR >> 1:
            if code == _END:
                break
            width, mask, entries, grows = 9, 511, _END, 511
            continue
        if code > entries or entries > _MOST:
            return -1
        # The first code after a Clear writes an entry that nobody asks for, in the place of _END.
        places[entries], lengths[entries] = last, last_length + 1
        entries += 1
        place: Any = np.int64(places[code])
        length: Any = np.int64(lengths[code])
        room[done] = room[place]  # byte by byte, as a string may run into what it writes
        room[done + 1] = room[place + 1]
        room[done + 2] = room[place + 2]
        room[done + 3] = room[place + 3]
        if length > 4:
            length = min(length, end - done)
            if length < _FEW or done - place < length:
                for step in range(4, length):
                    room[done + step] = room[place + step]
            else:
                room[done + 4 : done + length] = room[place + 4 : place + length]
        last, last_length = done, length
        done += length
        if entries >= grows and width < 12:
            width, mask, grows = width + 1, 2 * mask + 1, 2 * grows + 1
    return int(min(done, end) - LITERALS)
