"""Where in its files the plate of each ink of a spread lies.

No pixels are read here; a header where a channel is asked for by name, bytes where copies are.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from inkmix.base.errors import Fault, PlateError
from inkmix.base.names import same_name
from inkmix.book.meant.double_hits import Paths, own_files
from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.paths import outside_fault
from inkmix.book.values import Book, InkSpec
from inkmix.plates.files.snapshots import file_digest
from inkmix.plates.found.listing import printable
from inkmix.plates.plate import PlateSource, open_raster

Sources = Mapping[str, PlateSource | None]


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
    if faults := tuple(_copy_faults(book, found.files)):
        raise PlateError(faults)
    own = {
        ink.name: _source(book, ink, found.files[ink.name]) for ink in book.inks if not ink.plate
    }
    return {ink.name: _hit(own[ink.plate or ink.name], ink) for ink in book.inks}


def _outside(book: Book, found: SpreadFiles) -> Iterator[Fault]:
    for path in dict.fromkeys(path for path in found.files.values() if path is not None):
        text = printable(path.relative_to(book.folder).as_posix())
        if fault := outside_fault(path, folder=book.folder, where=text):
            yield fault


def _copy_faults(book: Book, files: Paths) -> Iterator[Fault]:
    """Files of inks that print another's plate, and are no copies of it."""
    for ink, owner, path in own_files(book, files):
        first = files[owner]
        if first is None or file_digest(path) != file_digest(first):
            yield Fault(
                where=path.relative_to(book.folder).as_posix(),
                found=f"is not a copy of the plate of {owner}",
                expected=f"the book says that {ink} prints the plate of {owner}",
                do=f"take plate out of the ink {ink}, or remove the file",
            )


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
