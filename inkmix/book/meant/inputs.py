"""Which files of a book's folder decide the answer about a spread, and which one a key names.

Names only; nothing is opened.
"""

from collections.abc import Iterator
from itertools import chain
from pathlib import Path

from inkmix.book.keys import paths_in
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.paths import fill, filled_inside
from inkmix.book.values import Book, spreads_of


def input_files(book: Book, found: SpreadFiles) -> tuple[Path, ...]:
    """Every file of the book's folder that decides the answer, each once, there or not.

    Plates, what sections of checks name where they hold for the spread, measurements of paper, inks
    and overprints. Not among them: the book itself, whose values count, and what is shipped with
    inkmix. Files that came for a spread change what is found, not these.
    """
    book = book.for_spread(found.name)
    return tuple(dict.fromkeys((*plate_files(found), *named_files(book, found.name))))


def plate_files(found: SpreadFiles) -> tuple[Path, ...]:
    """The files of its plates, one an ink."""
    return tuple(path for path in found.files.values() if path is not None)


def named_files(book: Book, spread: str) -> tuple[Path, ...]:
    """Files that the book names for one spread, plates left aside; `book` as it holds for it."""
    return tuple(_named(book, spread))


def spread_file(book: Book, text: str, spread: str, *, key: str) -> Path:
    """A picture that the book names, for one spread; `key` is the key that names it.

    Raises
    ------
    BookError
        Where the path leaves the book's folder.
    """
    return filled_inside(book.folder, text, where=f"{book.path.name}: {key}", spread=spread)


def _named(book: Book, spread: str) -> Iterator[Path]:
    """Files that the book names, for one spread."""
    lists = (said if isinstance(said, tuple) else (said,) for said in book.sections.values())
    for table in (*chain.from_iterable(lists), book.paper, *book.inks, book.press):
        if spread in (spreads_of(table) or (spread,)):
            yield from (book.folder / fill(text, spread=spread) for text in paths_in(table))
