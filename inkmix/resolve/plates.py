"""Which plate files a book means, spread by spread.

No pixels are read here; a header only where a channel is asked for by name.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from inkmix.book.faults import did_you_mean
from inkmix.book.paths import filled_inside, outside_fault
from inkmix.book.values import Book, InkSpec
from inkmix.errors import BookError, Fault, PlateError, UsageError
from inkmix.plates.channels import folded, same_name
from inkmix.plates.find import look_for_spreads
from inkmix.plates.listing import printable
from inkmix.plates.one_spread import SpreadFiles as SpreadFiles
from inkmix.plates.pattern import InkNames
from inkmix.plates.plate import PlateSource, open_raster
from inkmix.resolve.double_hits import copy_faults, copy_notes
from inkmix.resolve.mentions import mention_faults, waiver_notes

Sources = Mapping[str, PlateSource | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class BookFolder:
    """What lies in a book's folder.

    Parameters
    ----------
    spreads : tuple of SpreadFiles
        In natural order, each with what is wrong with it.
    notes : tuple of str
        What belongs to no spread: files that are nobody's plate, waivers that outlived theirs.
    """

    spreads: tuple[SpreadFiles, ...]
    notes: tuple[str, ...] = ()


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
    found = look_for_spreads(book.folder, book.plates.pattern, inks)
    if found.faults:
        raise PlateError(found.faults)
    names = {spread.name: None for spread in found.spreads}
    if faults := tuple(mention_faults(book, names)):
        raise BookError(faults)
    return BookFolder(
        spreads=tuple(_with_copies(book, spread) for spread in found.spreads),
        notes=(*found.notes, *waiver_notes(book, names)),
    )


def book_spreads(book: Book) -> tuple[SpreadFiles, ...]:
    """The spreads of a book, as `look_into` finds them."""
    return look_into(book).spreads


def find_spread(book: Book, name: str) -> SpreadFiles:
    """The files of one spread.

    Raises
    ------
    PlateError, BookError
        As `look_into`.
    UsageError
        There is no such spread.
    """
    spreads = {spread.name: spread for spread in book_spreads(book)}
    if name not in spreads:
        found, do = "there is none of that name", did_you_mean(name, map(printable, spreads))
        raise UsageError(Fault(where=f"spread {printable(name)}", found=found, do=do))
    return spreads[name]


def spread_sources(book: Book, found: SpreadFiles) -> Sources:
    """Where the plate of each ink lies, in lay-down order; None where the spread lacks one.

    Raises
    ------
    PlateError
        With the faults of this spread, and plates that lie outside the book's folder.
    """
    book = book.for_spread(found.name)
    if faults := (*found.faults, *_outside(book, found)):
        raise PlateError(faults)
    if faults := tuple(copy_faults(book, found.files)):
        raise PlateError(faults)
    own = {
        ink.name: _source(book, ink, found.files[ink.name]) for ink in book.inks if not ink.plate
    }
    return {ink.name: _hit(own[ink.plate or ink.name], ink) for ink in book.inks}


def spread_file(book: Book, text: str, spread: str, *, key: str) -> Path:
    """A picture that the book names, for one spread; `key` is the key that names it.

    Raises
    ------
    BookError
        Where the path leaves the book's folder.
    """
    return filled_inside(book.folder, text, where=f"{book.path.name}: {key}", spread=spread)


def _with_copies(book: Book, spread: SpreadFiles) -> SpreadFiles:
    copies = copy_notes(book.for_spread(spread.name), spread.files)
    return replace(spread, notes=(*spread.notes, *copies))


def _outside(book: Book, found: SpreadFiles) -> Iterator[Fault]:
    for path in dict.fromkeys(path for path in found.files.values() if path is not None):
        text = printable(path.relative_to(book.folder).as_posix())
        if fault := outside_fault(path, folder=book.folder, where=text):
            yield fault


def _hit(source: PlateSource | None, ink: InkSpec) -> PlateSource | None:
    """A source that knows of which ink it is a further hit."""
    return None if source is None else replace(source, hit_of=ink.hit_of)


def _source(book: Book, ink: InkSpec, path: Path | None) -> PlateSource | None:
    channels = book.plates.channels
    if path is None or (channels and ink.name not in channels):
        return None
    page = book.plates.page or 1
    channel = channels.index(ink.name) if channels else _channel(ink, path, page=page)
    return PlateSource(path=path, channel=channel, page=page, polarity=ink.polarity)


def _channel(ink: InkSpec, path: Path, *, page: int) -> int | None:
    """Channel from 0 of a book's number from 1 or name."""
    if ink.channel is None or isinstance(ink.channel, int):
        return None if ink.channel is None else ink.channel - 1
    names = open_raster(path, page=page).facts.names
    for index, name in enumerate(names):
        if same_name(name, ink.channel):
            return index
    raise PlateError(
        Fault(
            where=path.name,
            found=f"has no channel {ink.channel}",
            expected=f"its channels are {', '.join(names) or 'not named'}",
            do="name one of them, or give its number from 1",
        )
    )
