"""What is given out to a worker, and what comes back: values that travel between machines."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from inkmix.base.errors import Fault
from inkmix.batch.digests import FileRead
from inkmix.batch.program import program_digest
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book

RUN_NAME = "run"
"""What a run holds locked in its folder for as long as it lives."""
UNREADABLE_CODE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A spread to check.

    Parameters
    ----------
    book : Book
        As it holds for this spread.
    to : Path
        Folder of the book's reports.
    checks : tuple of str
        Names of the checks to run.
    program : str
        Digest of the program that asks.
    """

    book: Book
    found: SpreadFiles
    to: Path
    checks: tuple[str, ...]
    program: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of a task: the key of what was written, or a preview, or faults.

    Parameters
    ----------
    key : str
        Beside faults: as long as the spread has this key, they stay; empty where they may pass.
    record : str
        SHA-256, hex, of the record that was written.
    read : mapping of Path to FileRead
        Inputs that the worker read.
    preview : bytes
        JPEG.
    exit_code : int
        That of the faults.
    """

    name: str
    key: str = ""
    record: str = ""
    read: Mapping[Path, FileRead] = field(default_factory=dict, repr=False)
    preview: bytes = field(default=b"", repr=False)
    faults: tuple[Fault, ...] = ()
    exit_code: int = 0


def task_for(book: Book, found: SpreadFiles, to: Path, *, checks: tuple[str, ...]) -> Task:
    """The task of checking a spread, asked from here."""
    return Task(book=book, found=found, to=to, checks=checks, program=program_digest())


def lost(name: str, fault: Fault) -> Outcome:
    """A spread of which nothing can be said."""
    return Outcome(name=name, faults=(fault,), exit_code=UNREADABLE_CODE)
