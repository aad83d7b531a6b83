"""SHA-256 of input files, each read once for as long as it stays as it was found.

A file counts as the same while its place, size and times are: every change sets the time of change,
which nobody can set otherwise. Clocks of file systems are coarse, though, so what was changed just
before it was read is read again: a later change might bear the same time.
"""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import file_digest
from pathlib import Path
from types import MappingProxyType

from inkmix.errors import Fault, PlateError
from inkmix.inputs import opened_input

ABSENT = "absent"
REST_S = 3  # the coarsest clock, that of memory cards, has steps of 2 s

State = tuple[int, ...] | None
"""Device, inode, size, times of content and of change in ns; None where there is no file."""

_TIMES = slice(3, 5)
_NS = 1_000_000_000


def state_of(path: Path) -> State:
    """How a file is found now."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns, found.st_ctime_ns


@dataclass(frozen=True, slots=True)
class FileRead:
    """A file as it was found and read: its state, and SHA-256 in hex."""

    state: tuple[int, ...]
    digest: str


@dataclass(slots=True, kw_only=True, eq=False)
class FileDigests:
    """Digests of files, and what is known of them; threads may ask at once."""

    _known: dict[Path, FileRead] = field(default_factory=dict)

    @property
    def known(self) -> Mapping[Path, FileRead]:
        """Every file that need not be read again while it is found like this."""
        return MappingProxyType(self._known)

    def learn(self, known: Mapping[Path, FileRead]) -> None:
        """Take over what somebody else read."""
        self._known.update(known)

    def of(self, path: Path, *, name: str) -> str:
        """SHA-256, hex; ABSENT for a file that is not there. `name` is for who reads an error.

        Raises
        ------
        PlateError
            If it cannot be read.
        """
        found, known = state_of(path), self._known.get(path)
        if known is not None and known.state == found:
            return known.digest
        rested = found is not None and _rested(found)
        digest = _read(path, name)
        if found is not None and rested and found == state_of(path):
            self._known[path] = FileRead(found, digest)
        return digest


def _rested(state: tuple[int, ...]) -> bool:
    """Whether any change from now on would show."""
    return max(state[_TIMES]) < time.time_ns() - REST_S * _NS


def _read(path: Path, name: str) -> str:
    try:
        return _digest(path)
    except FileNotFoundError:
        return ABSENT
    except OSError as error:
        found = f"cannot be read ({error.strerror or error})"
        do = "give the right to read it, or bring it back"
        raise PlateError(Fault(where=name, found=found, do=do)) from error


def _digest(path: Path) -> str:
    with opened_input(path) as file:
        return file_digest(file, "sha256").hexdigest()
