"""Where a job begins: the book of a folder, as it holds for a spread."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from inkmix.base.arguments import names_of, path_of, text_of
from inkmix.base.errors import BookError, Fault, UsageError
from inkmix.base.names import composed
from inkmix.book.meant.plates import find_spread
from inkmix.book.read import read_book as read_book_file
from inkmix.book.values import BOOK_NAME, Book
from inkmix.checks import table
from inkmix.jobs.refusals import refuse_no_book
from inkmix.plates.files.sniff import picture_kind
from inkmix.plates.found.pattern import ENDINGS

PICTURE_ENDINGS = (
    *ENDINGS, ".jpg", ".jpeg", ".webp", ".gif", ".bmp", ".heic", ".avif", ".psd", ".psb", ".ora",
)  # fmt: skip
"""Whoever names such a file means a picture, whatever is in it, and no book."""


def read_book(path: str | Path) -> Book:
    """The book of a folder, or of a book file, with all its values; no plate is opened.

    Parameters
    ----------
    path : path
        A book.toml, or the folder that holds one.

    Raises
    ------
    UsageError
        Where there is none.
    BookError
        With all that is wrong in it.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        assert book.ink_names[0] == "Soot"  # printed first
    """
    path = path_of(path, what="path")
    file = _file(path)
    if not path.exists():
        do = "name the folder of a book, or its book.toml"
        raise UsageError(Fault(where=str(path), found="there is no such file or folder", do=do))
    if not file.exists():
        do = f"write one with `inkmix start {path if path.is_dir() else path.parent}`"
        raise UsageError(Fault(where=str(file), found="there is not a book file", do=do))
    _refuse_plate(file)
    return book_at(file)


def read_other_book(path: str | Path) -> Book:
    """A second book: what is wrong with it is said of its path, for both may be called book.toml.

    Raises
    ------
    InkmixError
        As `read_book`.
    """
    try:
        return read_book(path)
    except BookError as error:
        said = [
            one if one.where.startswith(str(path)) else replace(one, where=f"{path}: {one.where}")
            for one in error.faults
        ]
        raise BookError(said) from None


def book_at(file: Path) -> Book:
    """What a book file says, with the tables that checks bring.

    Raises
    ------
    BookError
        With all that is wrong in it.
    """
    return read_book_file(file, form=table.book_form())


def is_book(path: Path) -> bool:
    """Whether a path is a file, or a folder with a book file in it."""
    return _file(path).exists()


def is_plate(path: Path) -> bool:
    """Whether a path is meant as a plate: by its ending, or by what the file is."""
    if path.is_dir():
        return False
    return path.suffix.lower() in PICTURE_ENDINGS or picture_kind(path) is not None


def book_of_spread(book: Book, spread: str | None) -> Book:
    """The book as it holds for a spread, or by itself where none is named; no plate is opened.

    Raises
    ------
    InkmixError
        If the book says nothing of the spread and its plates are not there.
    """
    refuse_no_book(book)
    if spread is None:
        return book
    name = composed(text_of(spread, what="spread"))  # shells hand out names as the disk has them
    if any(name in override.spreads for override in book.overrides):
        return book.for_spread(name)
    return book.for_spread(find_spread(book, name).name)


def book_as_printed(
    book: Book,
    *,
    spread: str | None = None,
    swaps: Mapping[str, str] = MappingProxyType({}),
    candidates: str | Sequence[str] = (),
) -> Book:
    """The book as it holds for a spread, with inks swapped, each called by what prints.

    For what looks at no plates: overprints, mixes, orders.

    Parameters
    ----------
    spread : str or None
        None: the book by itself.
    swaps : mapping of str to str
        For an ink of the book, another one: a swatch of the book's paper, an ink of `candidates`,
        or "#rrggbb" as a hint.
    candidates : str or sequence of str
        Shade cards, CGATS files, or ink sets in which inks of `swaps` are looked for.

    Raises
    ------
    InkmixError
        As `book_of_spread`, or for a swap that cannot be.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        other = inkmix.book_as_printed(book, swaps={"Rowan": "#c04020"})
        assert other.ink_names == book.ink_names  # a screen colour has no name of its own
    """
    from inkmix.book.meant.swap import named_as_printed  # few need what knows inks
    from inkmix.jobs.candidates import swapped

    names = names_of(candidates, what="candidates")
    done = swapped(book_of_spread(book, spread), swaps, names)
    return named_as_printed(done, swaps) if swaps else done


def _file(path: Path) -> Path:
    return path / BOOK_NAME if path.is_dir() else path


def _refuse_plate(file: Path) -> None:
    """A plate or another picture is no book, and its bytes would make a strange message."""
    if file.suffix.lower() in ENDINGS:
        do = "name the folder of its book; `inkmix predict` also takes plates without one"
        raise UsageError(Fault(where=str(file), found="is not a book file", do=do))
    kind = picture_kind(file)
    if kind is not None or file.suffix.lower() in PICTURE_ENDINGS:
        expected = "a book.toml, or the folder that holds one, is needed"
        do = "name the folder of its book; plates are TIFF or PNG files"
        found = f"is a {kind} file" if kind else "has the name of a picture"
        raise UsageError(Fault(where=str(file), found=found, expected=expected, do=do))
