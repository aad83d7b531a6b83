"""Which files of a book's folder decide the answer about a spread, and which one a key names.

Names only; nothing is opened.
"""

from collections.abc import Iterator
from pathlib import Path

from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.paths import fill, filled_inside
from inkmix.book.values import Book


def input_files(book: Book, found: SpreadFiles) -> tuple[Path, ...]:
    """Every file of the book's folder that decides the answer, each once, there or not.

    Plates, masks of the night areas that hold for the spread, the reference picture, measurements
    of paper, inks and overprints. Not among them: the book itself, whose values count, and what
    is shipped with inkmix. Files that came for a spread change what is found, not these.
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
    masks = [night.mask for night in book.nights if not night.spreads or spread in night.spreads]
    measured = (book.paper.measurements, *(ink.measurements for ink in book.inks))
    for text in (*masks, book.reference, *measured, book.press.overprints):
        if text is not None:
            yield book.folder / fill(text, spread=spread)
