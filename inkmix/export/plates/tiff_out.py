"""Bytes of a TIFF behind one another: values, pieces of the source, directories.

What they mean and which are written is told in tiff_copy.py.
"""

import os
from collections.abc import Iterable, Sequence
from operator import itemgetter
from typing import BinaryIO

from inkmix.base.errors import Fault, OutputError
from inkmix.export.plates.directories import Form
from inkmix.plates.files.raster import label
from inkmix.plates.files.source import SourceFile, damaged

_PIECE_BYTES = 2**20
_LONG = 4
Written = tuple[int, int, int, bytes]
"""An entry to be written: tag, type, count, and its values or their place."""


class TiffOut:
    """Writes to an open file, in the form of the source.

    Parameters
    ----------
    file : BinaryIO
        To write to.
    source : SourceFile
        Where pieces are copied from.
    form : Form
        Of the source and of the copy.
    """

    def __init__(self, file: BinaryIO, source: SourceFile, form: Form) -> None:
        self._file, self._source, self._form = file, source, form
        self._moved: dict[tuple[int, int], int] = {}
        file.write(form.head + form.packed(form.offset, 0))

    def begin_with(self, place: int) -> None:
        """Say in the head where the first directory is."""
        self.link(len(self._form.head), place)

    def put(self, pieces: Iterable[bytes]) -> int:
        """Write bytes at an even place; that place."""
        if self._file.tell() % 2:
            self._file.write(b"\0")
        place = self._file.tell()
        for piece in pieces:
            self._file.write(piece)
        if self._file.tell() > self._form.most_bytes:
            raise self._too_large()
        return place

    def move(self, place: int, count: int) -> int:
        """Copy bytes of the source, once; their new place. Nothing stays nothing."""
        if not count:
            return 0
        if place < 0 or count < 0 or place + count > self._source.size:
            raise damaged(self._source.path, "strips or tiles of a page lie outside of it")
        key = (place, count)
        if key not in self._moved:
            self._moved[key] = self.put(self._source.pieces(place, count, most=_PIECE_BYTES))
        return self._moved[key]

    def copied(self, code: int, kind: int, count: int, *, place: int, size: int) -> Written:
        """An entry whose values are bytes of the source."""
        if size <= self._form.room:
            return code, kind, count, self._source.read(place, size)
        new = self.put(self._source.pieces(place, size, most=_PIECE_BYTES))
        return code, kind, count, self._form.packed(self._form.offset, new)

    def stored(self, code: int, kind: int, count: int, data: bytes) -> Written:
        """An entry; values that do not fit in it are written now."""
        if len(data) > self._form.room:
            data = self._form.packed(self._form.offset, self.put((data,)))
        return code, kind, count, data

    def places(self, code: int, values: Sequence[int]) -> Written:
        """An entry of places or lengths in the file."""
        form = self._form
        data = form.packed(f"{len(values)}{form.offset}", *values)
        return self.stored(code, form.offset_kind, len(values), data)

    def long(self, code: int, value: int) -> Written:
        """An entry of one whole number."""
        return self.stored(code, _LONG, 1, self._form.packed("I", value))

    def put_directory(self, written: Sequence[Written]) -> tuple[int, int]:
        """Write a directory; its place, and where the place of the next one is to stand."""
        form = self._form
        body = form.packed(form.count, len(written))
        for code, kind, count, data in sorted(written, key=itemgetter(0)):
            body += form.packed("HH" + form.offset, code, kind, count)
            body += data.ljust(form.room, b"\0")
        place = self.put((body, form.packed(form.offset, 0)))
        return place, place + len(body)

    def link(self, at: int, place: int) -> None:
        """Write a place into what is written already."""
        self._file.seek(at)
        self._file.write(self._form.packed(self._form.offset, place))
        self._file.seek(0, os.SEEK_END)

    def _too_large(self) -> OutputError:
        return OutputError(
            Fault(
                where=label(self._source.path),
                found="its copy would be larger than 4 GB",
                expected="a TIFF of this kind cannot be",
                do="export the plate as BigTIFF, or packed with LZW or deflate",
            )
        )
