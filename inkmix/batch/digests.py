"""SHA-256 of input files, each read once for as long as it stays as it was found.

A file counts as the same while its place, size and times are. What was changed just before it was
read is read again: a later change might bear the same time.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from inkmix.base.errors import Fault, PlateError
from inkmix.base.file_state import has_rested, state_of
from inkmix.base.inputs import input_digest

ABSENT = "absent"


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
        rested = found is not None and has_rested(found)
        digest = _read(path, name)
        if found is not None and rested and found == state_of(path):
            self._known[path] = FileRead(found, digest)
        return digest


def _read(path: Path, name: str) -> str:
    try:
        return input_digest(path)
    except FileNotFoundError:
        return ABSENT
    except OSError as error:
        found = f"cannot be read ({error.strerror or error})"
        do = "allow it to be read, or restore it"
        raise PlateError(Fault(where=name, found=found, do=do)) from error
