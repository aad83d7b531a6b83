"""SHA-256 of input files, and how a file was found: whether it is still the same is told by both.

A run that goes on, looking for changes, remembers what it read: a file of the same size, time and
place is then not read again. A single run remembers nothing, and reads everything.
"""

import os
from dataclasses import dataclass, field
from hashlib import file_digest
from pathlib import Path

from inkmix.errors import Fault, PlateError

ABSENT = "absent"

State = tuple[int, ...] | None
"""Device, inode, size, times of change in ns; None where there is no file."""


def state_of(path: Path) -> State:
    """How a file is found now."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


@dataclass(slots=True, kw_only=True, eq=False)
class FileDigests:
    """Digests of files, read anew each time."""

    def of(self, path: Path, *, name: str) -> str:
        """SHA-256, hex; ABSENT for a file that is not there. `name` is for who reads an error.

        Raises
        ------
        PlateError
            If it cannot be read.
        """
        try:
            return _digest(path)
        except FileNotFoundError:
            return ABSENT
        except OSError as error:
            found = f"cannot be read ({error.strerror or error})"
            do = "give the right to read it, or bring it back"
            raise PlateError(Fault(where=name, found=found, do=do)) from error


@dataclass(slots=True, kw_only=True, eq=False)
class RememberedDigests(FileDigests):
    """The same, for files that are watched: read once for as long as they stay as they were."""

    _known: dict[Path, tuple[State, str]] = field(default_factory=dict)

    def of(self, path: Path, *, name: str) -> str:
        """As in `FileDigests`."""
        seen, known = state_of(path), self._known.get(path)
        if known is not None and known[0] == seen:
            return known[1]
        digest = FileDigests.of(self, path, name=name)
        if seen is not None and seen == state_of(path):  # else it is being written
            self._known[path] = seen, digest
        return digest


def _digest(path: Path) -> str:
    with open(path, "rb", buffering=0, opener=_opener) as file:
        return file_digest(file, "sha256").hexdigest()


def _opener(path: str, flags: int) -> int:
    """Whatever has that name now: a pipe is not waited for."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
