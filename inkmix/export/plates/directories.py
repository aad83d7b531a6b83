"""The directories of a TIFF as they lie in its file: entries and where their values are.

Arithmetic of TIFF 6.0, section 2, and of BigTIFF; whether a plate may be like that is judged by its
reader. Nothing is written here.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.source import SourceFile, damaged

_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_SIZES |= {16: 8, 17: 8, 18: 8}
_WHOLE = {1: "u1", 3: "u2", 4: "u4", 13: "u4", 16: "u8", 18: "u8"}
_BIG, _CLASSIC = 43, 42


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """What differs between TIFF and BigTIFF, and between the byte orders ("<" or ">")."""

    order: str
    is_big: bool

    @property
    def head(self) -> bytes:
        """The first bytes, up to the place of the first directory."""
        letters = b"II" if self.order == "<" else b"MM"
        if self.is_big:
            return letters + self.packed("HHH", _BIG, 8, 0)
        return letters + self.packed("H", _CLASSIC)

    @property
    def offset(self) -> str:
        """Format of a place in the file."""
        return "Q" if self.is_big else "I"

    @property
    def count(self) -> str:
        """Format of the number of entries."""
        return "Q" if self.is_big else "H"

    @property
    def offset_kind(self) -> int:
        """Type of a place in the file: LONG8 or LONG."""
        return 16 if self.is_big else 4

    @property
    def room(self) -> int:
        """Bytes of a value that stands in its entry."""
        return 8 if self.is_big else 4

    @property
    def most_bytes(self) -> int:
        """Size that a file cannot pass."""
        return 2**64 - 1 if self.is_big else 2**32 - 1

    def packed(self, formats: str, *values: int) -> bytes:
        """Numbers in the byte order of the file."""
        return struct.pack(self.order + formats, *values)

    def unpacked(self, formats: str, data: bytes) -> tuple[int, ...]:
        """Numbers out of bytes."""
        return struct.unpack(self.order + formats, data)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One tag: its type, the count of its values, and where in the file these are."""

    code: int
    kind: int
    count: int
    place: int

    @property
    def size(self) -> int:
        """Bytes of its values; 0 where there is no such type."""
        return _SIZES.get(self.kind, 0) * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class Directory:
    """A page, or what a page refers to: its entries, and where the next one is (0: none)."""

    entries: tuple[Entry, ...]
    following: int

    def get(self, code: int) -> Entry | None:
        """The first entry of a tag."""
        return next((entry for entry in self.entries if entry.code == code), None)


def form_of(source: SourceFile) -> Form:
    """The form of a TIFF."""
    data = source.read(0, 4)
    order = "<" if data[:2] == b"II" else ">"
    (version,) = struct.unpack(order + "H", data[2:4])
    return Form(order=order, is_big=version == _BIG)


def first_directory(source: SourceFile, form: Form) -> int:
    """Where the first directory is."""
    size = struct.calcsize(form.offset)
    return form.unpacked(form.offset, source.read(len(form.head), size))[0]


def directory_at(source: SourceFile, form: Form, place: int) -> Directory:
    """The directory that begins at a place.

    Raises
    ------
    PlateError
        If the file ends within it.
    """
    head = struct.calcsize("<" + form.count)
    size = 4 + 2 * form.room  # code, type, count and value
    (count,) = form.unpacked(form.count, _all(source, place, head))
    if place + head + count * size > source.size:
        raise damaged(source.path, "a directory ends early")
    data = _all(source, place + head, count * size + form.room)
    entries = tuple(_entries(form, data, count=count, size=size, place=place + head))
    return Directory(entries=entries, following=form.unpacked(form.offset, data[-form.room :])[0])


def whole_numbers(source: SourceFile, form: Form, entry: Entry | None) -> NDArray[np.int64]:
    """Values of an entry of whole numbers; none where it is missing or holds other values."""
    if entry is None or entry.kind not in _WHOLE or not is_inside(source, entry):
        return np.zeros(0, np.int64)
    data = source.read(entry.place, entry.size)
    return np.frombuffer(data, form.order + _WHOLE[entry.kind]).astype(np.int64)


def is_inside(source: SourceFile, entry: Entry) -> bool:
    """Whether the values of an entry are of a type that there is, and lie in the file."""
    return entry.kind in _SIZES and entry.place + entry.size <= source.size


def _entries(form: Form, data: bytes, *, count: int, size: int, place: int) -> Iterator[Entry]:
    for start in range(0, count * size, size):
        code, kind = form.unpacked("HH", data[start : start + 4])
        (values,) = form.unpacked(form.offset, data[start + 4 : start + 4 + form.room])
        inline = start + 4 + form.room
        at = place + inline
        if _SIZES.get(kind, 0) * values > form.room:
            (at,) = form.unpacked(form.offset, data[inline : inline + form.room])
        yield Entry(code=code, kind=kind, count=values, place=at)


def _all(source: SourceFile, place: int, count: int) -> bytes:
    data = source.read(place, count)
    if len(data) < count:
        raise damaged(source.path, "a directory ends early")
    return data
