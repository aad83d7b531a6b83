"""Which files of a book's folder decide the answer about a spread, and which one a key names.

Names only; nothing is opened.
"""

from collections.abc import Iterator
from pathlib import Path

from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.meant.strays import named_paths
from inkmix.book.paths import fill, filled_inside
from inkmix.book.values import Book


def input_files(book: Book, found: SpreadFiles) -> tuple[Path, ...]:
    """Every file of the book's folder that decides the answer, each once, there or not.

    Plates, what sections of checks name where they hold for the spread, measurements of paper, inks
    and overprints. Not among them: the book itself, whose values count, and what is shipped with
    inkmix. Files that came for a spread change what is found, not these.
    """
    return tuple(dict.fromkeys((*plate_files(found), *named_files(book, found.name))))


def plate_files(found: SpreadFiles) -> tuple[Path, ...]:
    """The files of its plates, one an ink."""
    return tuple(path for path in found.files.values() if path is not None)


def named_files(book: Book, spread: str) -> tuple[Path, ...]:
    """Files that the book names for one spread, plates left aside.

    Whatever a key holds that is declared a path, be it in a table inside another.
    """
    book = book.for_spread(spread)
    paths = named_paths(book)
    return tuple(book.folder / text for path in paths for text in _filled(path, book, spread))


def spread_file(book: Book, text: str, spread: str, *, key: str) -> Path:
    """A picture that the book names, for one spread; `key` is the key that names it.

    Raises
    ------
    BookError
        Where the path leaves the book's folder.
    """
    return filled_inside(book.folder, text, where=f"{book.path.name}: {key}", spread=spread)


def _filled(path: str, book: Book, spread: str) -> Iterator[str]:
    """A path of the book as it is for a spread, for each ink where it is of an ink."""
    for ink in book.ink_names if "{ink}" in path else ("",):
        yield fill(path, spread=spread, ink=ink)
