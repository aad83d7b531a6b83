"""Inks that print the plate of another once more: which files that leaves.

Compares the bytes of files; reads no pixels.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path

from inkmix.book.values import Book
from inkmix.errors import Fault
from inkmix.plates.duplicates import file_digest

Paths = Mapping[str, Path | None]


def copy_faults(book: Book, files: Paths) -> Iterator[Fault]:
    """Files of inks that print another's plate, and are no copies of it."""
    for ink, owner, path in _own_files(book, files):
        first = files[owner]
        if first is None or file_digest(path) != file_digest(first):
            yield Fault(
                where=path.relative_to(book.folder).as_posix(),
                found=f"is no copy of the plate of {owner}",
                expected=f"the book says that {ink} prints the plate of {owner}",
                do=f"take plate out of the ink {ink}, or remove the file",
            )


def copy_notes(book: Book, files: Paths) -> Iterator[str]:
    """What is said about copies that are not needed."""
    for ink, owner, path in _own_files(book, files):
        name = path.relative_to(book.folder).as_posix()
        yield f"{name}: a copy of the plate of {owner}, which the book prints for {ink} anyway"


def _own_files(book: Book, files: Paths) -> Iterator[tuple[str, str, Path]]:
    """Ink, the ink whose plate it prints, and a file that lies there for it all the same."""
    for ink in book.inks:
        path = files[ink.name]
        if ink.plate is not None and path is not None and path != files[ink.plate]:
            yield ink.name, ink.plate, path
