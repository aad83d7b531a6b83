"""The tags of a colour profile, as far as they must be known before the colour library reads it.

It takes memory for as many names and nodes as a tag says that it has, and looks afterwards whether
they are there: 252 bytes can cost 490 MB. What colours a profile makes is found in profile.py.
"""

import math
from collections.abc import Iterator

_HEADER_BYTES = 128
_ENTRY_BYTES = 12
_MOST_TAGS = 100  # the library opens no profile with more
_NAME = b"desc"
_TABLES = (b"A2B0", b"A2B1", b"A2B2")
_FLOAT_TABLES = (b"D2B0", b"D2B1", b"D2B2", b"D2B3")


def has_tables(data: bytes) -> bool:
    """Whether colours go by a table of many inks (ICC.1:2022, 9.2): never the formula of sRGB."""
    return any(name in _TABLES for _, name, _ in _tags(data))


def says_too_much(data: bytes) -> bool:
    """Whether its name or a table needs more bytes than follow: nobody could read that tag."""
    return any(
        _needed_bytes(data, start) > max(0, len(data) - start)
        for _, name, start in _tags(data)
        if name == _NAME or name in _TABLES
    )


def without_float_tables(data: bytes) -> bytes:
    """The same with tables of floating point hidden, so that A2B or the curves count.

    A program may leave them out (ICC.1:2022, 8.10.2, a); their steps are without number.
    """
    hidden = bytearray(data)
    for place, name, _ in _tags(data):
        if name in _FLOAT_TABLES:
            hidden[place : place + len(name)] = name.lower()
    return bytes(hidden)


def _tags(data: bytes) -> Iterator[tuple[int, bytes, int]]:
    """Place of an entry, its name, and where its content starts (ICC.1:2022, 7.3)."""
    first = _HEADER_BYTES + 4
    count = min(_number(data, _HEADER_BYTES, 4), _MOST_TAGS)
    for place in range(first, first + count * _ENTRY_BYTES, _ENTRY_BYTES):
        yield place, data[place : place + 4], _number(data, place + 4, 4)


def _needed_bytes(data: bytes, start: int) -> int:
    """What a tag must have by what it says (ICC.1:2022, 10.10 to 10.12 and 10.15); 0 of others."""
    inputs, outputs, side = (_number(data, start + at, 1) for at in (8, 9, 10))
    nodes: int = outputs * side**inputs
    match data[start : start + 4]:
        case b"mluc":
            return 16 + 12 * _number(data, start + 8, 4)
        case b"mft1":
            return 48 + 256 * (inputs + outputs) + nodes
        case b"mft2":
            steps_in, steps_out = (_number(data, start + at, 2) for at in (48, 50))
            return 52 + 2 * (steps_in * inputs + steps_out * outputs + nodes)
        case b"mAB " if place := _number(data, start + 24, 4):
            grid = start + place
            sides, node_bytes = data[grid : grid + min(inputs, 16)], _number(data, grid + 16, 1)
            return place + 20 + node_bytes * outputs * math.prod(sides)
    return 0


def _number(data: bytes, at: int, size: int) -> int:
    """A number of the file, whose most significant byte comes first; 0 beyond its end."""
    return int.from_bytes(data[at : at + size])
