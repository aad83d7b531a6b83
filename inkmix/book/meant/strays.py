"""What lies among the plates of a book and is none, and what the book names beside its plates.

Names only; nothing is opened.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path, PurePosixPath

from inkmix.base.listed_files import LIST_NAME, listed_digests
from inkmix.book.keys import keys_of, paths_in
from inkmix.book.values import Book
from inkmix.plates.found.listing import printable
from inkmix.plates.found.pattern import ENDINGS

MOST_TOLD = 10  # one by one; a folder may hold thousands


def named_paths(book: Book) -> tuple[str, ...]:
    """Paths that the book names, plates and overrides left aside; {spread} may stand in them."""
    own = (getattr(book, one.field) for name, one in keys_of(Book).items() if name != "plates")
    return tuple(paths_in((*book.sections.values(), *own)))


def named_by(book: Book) -> Callable[[Path], bool]:
    """Whether a path is the book itself, its schema, or anything that it names on any spread.

    So is what inkmix wrote beside corrected plates, as long as its list is there.
    """
    books = (book, *(override.book for override in book.overrides))
    named = {path for one in books for path in named_paths(one)}
    own = {book.path.name, f"{book.path.stem}.schema.json"}
    texts = (re.escape(path).replace(r"\{spread\}", "[^/]+") for path in sorted(own | named))
    expression = re.compile("|".join(texts), re.IGNORECASE)
    ours = frozenset(_with_folders(listed_digests(book.folder)))
    return lambda path: (
        expression.fullmatch(_label(book, path)) is not None or _label(book, path) in ours
    )


def _with_folders(names: Iterable[str]) -> Iterator[str]:
    """Files of ours and the folders that they lie in."""
    yield from (
        LIST_NAME,
        *(told for name in names for told in (name, str(PurePosixPath(name).parent))),
    )


def stray_notes(book: Book, strays: Sequence[Path]) -> Iterator[str]:
    """A sentence for each file that is no plate though it lies among them; not for very many."""
    for path in strays[:MOST_TOLD]:
        yield f"{printable(_label(book, path))}: {_why(book, path)}; left out"
    if len(strays) > MOST_TOLD:
        yield f"{len(strays) - MOST_TOLD} more files among the plates are no plates; left out"


def _why(book: Book, path: Path) -> str:
    if path.is_dir():
        return "is a folder among the plates, where none is looked for"
    if path.suffix.lower() in ENDINGS:
        return f"is not named as plates are, {book.plates.pattern}"
    return "is no plate (these are TIFF or PNG files)"


def _label(book: Book, path: Path) -> str:
    return path.relative_to(book.folder).as_posix()
