"""Files as they were before any of them was read; that they stayed so is held here.

A reader comes back to its files many times, and a picture of two states of a file is worse than
none. So whoever reads them looks at all of them before and after, and does all again where one was
changed meanwhile: it may have been a backup that touched it, or another export that is done by now.

Bytes are compared too where a change might not show (file_state.py): in what was written just
before, and in everything where the system tells no time of change. Equal bytes alone prove nothing,
for a file may be emptied and filled again with the same, and be read in between.
"""

import errno
import os
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from inkmix.base import file_state
from inkmix.base.errors import ChangedFault, Fault, InkmixError, PlateError
from inkmix.base.file_state import State, has_rested, state_of
from inkmix.base.inputs import input_digest
from inkmix.plates.files.raster import label, out_of_reach

TRIES = 3
PAUSE_S = 0.5  # before another try; who touches many files at once is done by then

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True, kw_only=True)
class FileSnapshot:
    """A file as it was found; its digest, SHA-256 in hex, only where its state might not tell."""

    path: Path
    state: State
    digest: str = ""

    def fault(self) -> Fault | None:
        """What is wrong if it is not what it was."""
        now = state_of(self.path)
        if now is None and self.state is not None:
            gone = FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
            return out_of_reach(self.path, gone).faults[0]
        try:
            is_same = now == self.state and self._has_its_bytes()
        except PlateError as error:  # its bytes cannot be had any more
            return error.faults[0]
        return None if is_same else changed_fault(self.path)

    def _has_its_bytes(self) -> bool:
        return not self.digest or file_digest(self.path) == self.digest


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot:
    """Files that an answer rests on, as they were before it was begun."""

    files: tuple[FileSnapshot, ...] = ()

    def __add__(self, other: "Snapshot") -> "Snapshot":
        return Snapshot(files=(*self.files, *other.files))

    def check(self) -> None:
        """Raise PlateError with every file that is not what it was."""
        faults = [fault for file in self.files if (fault := file.fault()) is not None]
        if faults:
            raise PlateError(faults)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Raise PlateError if a file is not what it was when all is done, or has failed.

        What looks damaged may be a change.
        """
        try:
            yield
        except InkmixError:
            self.check()
            raise
        self.check()


#: Of what rests on no file.
NO_FILES = Snapshot()


def snapshot_of(paths: Iterable[Path]) -> Snapshot:
    """Files as they are now, each once, there or not."""
    return Snapshot(files=tuple(_found(path) for path in dict.fromkeys(paths)))


def file_digest(path: Path) -> str:
    """SHA-256 of a file, hex, read in pieces.

    Raises
    ------
    PlateError
        If it cannot be read.
    """
    try:
        return input_digest(path)
    except OSError as error:
        raise out_of_reach(path, error) from error


def needs_digest(state: State) -> bool:
    """Whether a file in this state could be changed without another state."""
    return state is not None and not (file_state.TELLS_CHANGES and has_rested(state))


def while_at_rest(work: Callable[[], _T], *, tries: int = TRIES) -> _T:
    """What `work` brings; where a file was changed under its hands it is done again.

    Raises
    ------
    InkmixError
        As `work` does; of a change only after so many tries.
    """
    for _ in range(tries - 1):
        try:
            return work()
        except InkmixError as error:
            if not tells_change(error):
                raise
        time.sleep(PAUSE_S)
    return work()


def tells_change(error: InkmixError) -> bool:
    """Whether an error says that a file was changed while it was read."""
    return any(isinstance(fault, ChangedFault) for fault in error.faults)


def changed_fault(path: Path) -> ChangedFault:
    """The fault of a file that is not what it was."""
    return ChangedFault(
        where=label(path),
        found="was changed while it was read",
        expected="it must not change until the run is over",
        do="start again when nothing changes the files",
    )


def _found(path: Path) -> FileSnapshot:
    state, digest = state_of(path), ""
    if needs_digest(state):
        with suppress(PlateError):  # who reads it says why it cannot be read
            digest = file_digest(path)
    return FileSnapshot(path=path, state=state, digest=digest)
