"""Inks that print the plate of another once more: which files that leaves.

Names only; nothing is opened.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path

from inkmix.book.values import Book

Paths = Mapping[str, Path | None]


def copy_notes(book: Book, files: Paths) -> Iterator[str]:
    """What is said about copies that are not needed."""
    for ink, owner, path in own_files(book, files):
        name = path.relative_to(book.folder).as_posix()
        yield f"{name}: a copy of the plate of {owner}, which the book prints for {ink} anyway"


def own_files(book: Book, files: Paths) -> Iterator[tuple[str, str, Path]]:
    """Ink, the ink whose plate it prints, and a file that lies there for it all the same."""
    for ink in book.inks:
        path = files[ink.name]
        if ink.plate is not None and path is not None and path != files[ink.plate]:
            yield ink.name, ink.plate, path
