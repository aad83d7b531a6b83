"""A plate file as it was when it was opened first; that it stays so while it is read is held here.

Every reader comes back to its file many times. A file that was replaced, cut or written to in
between would give a picture of two halves, so each return compares it with the first sight of it.
What such a look cannot see is held by snapshots.py, for all files of an answer.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from inkmix.base.errors import PlateError
from inkmix.base.file_state import state_in
from inkmix.plates.files.raster import opened_file, out_of_reach, refusal
from inkmix.plates.files.snapshots import changed_fault


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """A file and how it was found; `size` in bytes."""

    path: Path
    size: int
    state: tuple[int, ...]

    @contextmanager
    def opened(self) -> Iterator[BinaryIO]:
        """The file to read from.

        Raises
        ------
        PlateError
            If it cannot be read, or is not what it was, before or after.
        """
        with opened_file(self.path) as file:
            self._compare(os.fstat(file.fileno()))
            try:
                yield file
            finally:  # what looks damaged may be a change
                self._compare(os.fstat(file.fileno()))

    def read(self, offset: int, count: int) -> bytes:
        """Bytes from a place on; fewer only where the file ends."""
        with self.opened() as file:
            file.seek(offset)
            return file.read(count)

    def pieces(self, offset: int, count: int, *, most: int) -> Iterator[bytes]:
        """Bytes from a place on, at most so many at once; fewer in all only where the file ends."""
        while count and (data := self.read(offset, min(count, most))):
            yield data
            offset, count = offset + len(data), count - len(data)

    def check(self) -> None:
        """Raise PlateError if the file is gone or is not what it was; nothing is read."""
        try:
            now = self.path.stat()
        except OSError as error:
            raise out_of_reach(self.path, error) from error
        self._compare(now)

    def _compare(self, now: os.stat_result) -> None:
        if state_in(now) != self.state:
            raise PlateError(changed_fault(self.path))


def source_of(path: Path) -> SourceFile:
    """The file as it is now.

    Raises
    ------
    PlateError
        If it cannot be opened.
    """
    with opened_file(path) as file:
        found = os.fstat(file.fileno())
    return SourceFile(path=path, size=found.st_size, state=state_in(found))


def damaged(path: Path, how: str) -> PlateError:
    """The error for a file whose data are spoiled."""
    return refusal(path, f"is damaged: {how}", "a whole file is needed", "export or copy it again")
