"""A plate file as it was when it was opened first; that it stays so while it is read is held here.

Every reader comes back to its file many times. A file that was replaced, cut or written to in
between would give a picture of two halves, so each return compares it with the first sight of it.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from inkmix.errors import PlateError
from inkmix.plates.raster import opened_file, out_of_reach, refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceFile:
    """A file and how it was found: device, inode, size in bytes, time of change in ns."""

    path: Path
    device: int
    inode: int
    size: int
    changed_ns: int

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

    def check(self) -> None:
        """Raise PlateError if the file is gone or is not what it was; nothing is read."""
        try:
            now = self.path.stat()
        except OSError as error:
            raise out_of_reach(self.path, error) from error
        self._compare(now)

    def _compare(self, now: os.stat_result) -> None:
        if (now.st_dev, now.st_ino, now.st_size, now.st_mtime_ns) != (
            self.device,
            self.inode,
            self.size,
            self.changed_ns,
        ):
            raise refusal(
                self.path,
                "was changed while it was read",
                "it has to stay as it is until all is done",
                "start again when the files are at rest",
            )


def source_of(path: Path) -> SourceFile:
    """The file as it is now.

    Raises
    ------
    PlateError
        If it cannot be opened.
    """
    with opened_file(path) as file:
        found = os.fstat(file.fileno())
    return SourceFile(
        path=path,
        device=found.st_dev,
        inode=found.st_ino,
        size=found.st_size,
        changed_ns=found.st_mtime_ns,
    )


def damaged(path: Path, how: str) -> PlateError:
    """The error for a file whose data are spoiled."""
    return refusal(path, f"is damaged: {how}", "a whole file is needed", "export or copy it again")
