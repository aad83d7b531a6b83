"""Room for decoded rows: memory for few of them, a nameless file in a folder above that.

Scratch files have no name, so a program that is killed leaves nothing behind. How bytes are put
there is in space.py.
"""

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from inkmix.base.errors import PassingFault, PlateError
from inkmix.plates.files.limits import MAX_IN_MEMORY_BYTES
from inkmix.plates.files.raster import label
from inkmix.plates.files.scratch.space import (
    FULL,
    FileSpace,
    MemorySpace,
    Space,
    clear_stale,
    nameless_file,
)

_WORTH_SAYING_BYTES = 2**25
"""Less room than this comes and goes without a word."""


def _silent(sentence: str) -> None:
    """Announce nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScratchRoom:
    """Where scratch files go, and who is told.

    Parameters
    ----------
    folder : Path or None
        For scratch files; it need not exist yet. None for the system's temporary folder.
    announce : callable of str
        Told once for each file that needs much room or memory.
    """

    folder: Path | None = None
    announce: Callable[[str], None] = _silent

    def space(self, count: int, *, path: Path) -> Space:
        """Room for `count` bytes out of the file `path`.

        Raises
        ------
        PlateError
            If the disk has too little room, or no file can be made there.
        """
        if count <= MAX_IN_MEMORY_BYTES:
            return MemorySpace(count)
        if shutil.disk_usage(self._home()).free < count:
            raise self._full(path, count)
        space = self._file_space(path, count)
        if count >= _WORTH_SAYING_BYTES:
            self.announce(f"{path.name}: {_mb(count)} of scratch space is used in {self._name}")
        return space

    def spare(self, count: int, *, leaving: int) -> Space | None:
        """Room for `count` bytes that can be done without, in a file and without a word.

        None where the disk would be left with fewer bytes than `leaving`, or no file can be made.
        """
        try:
            if shutil.disk_usage(self._home()).free < count + leaving:
                return None
            return self._file_space(self._home(), count)
        except (OSError, PlateError):
            return None

    def tell_memory(self, count: int, *, path: Path) -> None:
        """Announce that a file is unpacked whole, if that takes much memory."""
        if count >= _WORTH_SAYING_BYTES:
            self.announce(f"{path.name}: {_mb(count)} of memory are used to unpack it in one piece")

    def _full(self, path: Path, count: int) -> PlateError:
        """The error for a disk without room."""
        other = "choose another output folder"
        if self.folder is None:
            other = "name a folder with space in the environment variable TMPDIR"
        return PlateError(
            PassingFault(
                where=label(path),
                found=f"needs {_mb(count)} of scratch space in {self._name}",
                expected=f"{_mb(shutil.disk_usage(self._home()).free)} are free",
                do=f"free some, or {other}",
            )
        )

    def _home(self) -> Path:
        """The folder, or the nearest one above it that is there already."""
        folder = self.folder or Path(tempfile.gettempdir())
        return next((each for each in (folder, *folder.parents) if each.is_dir()), Path())

    @property
    def _name(self) -> str:
        return "the temporary folder" if self.folder is None else f"{label(self.folder)}/"

    def _file_space(self, path: Path, count: int) -> FileSpace:
        clear_stale(self._home())
        try:
            file = nameless_file(self._home(), count)
        except OSError as error:
            if error.errno in FULL:
                raise self._full(path, count) from error
            found = (
                f"needs scratch space, which is not available in {self._name} ({error.strerror})"
            )
            do = "check permissions and free space there"
            raise PlateError(PassingFault(where=label(path), found=found, do=do)) from error
        return FileSpace(file, partial(self._full, path, count))


def _mb(count: int) -> str:
    return f"{round(count / 1e6)} MB"


TEMPORARY = ScratchRoom()
"""The system's temporary folder; nobody is told."""
