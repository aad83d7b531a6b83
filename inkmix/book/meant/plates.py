"""Which plate files a book means, spread by spread.

Names only; nothing is opened.
"""

from dataclasses import dataclass, replace

from inkmix.base.errors import BookError, Fault, PlateError, UsageError
from inkmix.base.names import folded
from inkmix.book.faults import did_you_mean
from inkmix.book.meant.double_hits import copy_notes
from inkmix.book.meant.mentions import mention_faults
from inkmix.book.meant.strays import named_by, stray_notes
from inkmix.book.values import Book
from inkmix.plates.found.listing import printable
from inkmix.plates.found.one_spread import SpreadFiles as SpreadFiles
from inkmix.plates.found.pattern import InkNames
from inkmix.plates.found.spreads import look_for_spreads


@dataclass(frozen=True, slots=True, kw_only=True)
class BookFolder:
    """What lies in a book's folder.

    Parameters
    ----------
    spreads : tuple of SpreadFiles
        In natural order, each with what is wrong with it.
    notes : tuple of str
        What belongs to no spread: files that are nobody's plate.
    strays : tuple of str
        Notes on what lies among the plates and is none.
    """

    spreads: tuple[SpreadFiles, ...]
    notes: tuple[str, ...] = ()
    strays: tuple[str, ...] = ()


def look_into(book: Book) -> BookFolder:
    """The spreads of a book; names only, nothing is opened.

    Raises
    ------
    PlateError
        No plate found.
    BookError
        The book mentions spreads that are not there.
    """
    elsewhere = {
        folded(name): override.book.ink_names
        for override in book.overrides
        for name in override.spreads
    }
    inks = InkNames(usual=book.ink_names, elsewhere=elsewhere)
    found = look_for_spreads(book.folder, book.plates.pattern, inks, named_by(book))
    if found.faults:
        raise PlateError(found.faults)
    names = {spread.name: None for spread in found.spreads}
    if faults := tuple(mention_faults(book, names)):
        raise BookError(faults)
    return BookFolder(
        spreads=tuple(_with_copies(book, spread) for spread in found.spreads),
        notes=found.notes,
        strays=tuple(stray_notes(book, found.strays)),
    )


def book_spreads(book: Book) -> tuple[SpreadFiles, ...]:
    """The spreads of a book, as `look_into` finds them."""
    return look_into(book).spreads


def find_spread(book: Book, name: str) -> SpreadFiles:
    """The files of one spread, with notes on whatever else lies among the plates.

    Raises
    ------
    PlateError, BookError
        As `look_into`.
    UsageError
        There is no such spread.
    """
    here = look_into(book)
    spreads = {spread.name: spread for spread in here.spreads}
    if name not in spreads:
        found, do = "there is none of that name", did_you_mean(name, map(printable, spreads))
        raise UsageError(Fault(where=f"spread {printable(name)}", found=found, do=do))
    return replace(spreads[name], notes=(*spreads[name].notes, *here.strays))


def _with_copies(book: Book, spread: SpreadFiles) -> SpreadFiles:
    copies = copy_notes(book.for_spread(spread.name), spread.files)
    return replace(spread, notes=(*spread.notes, *copies))
