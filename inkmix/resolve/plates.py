"""Which plate files a book means, spread by spread, and the geometry of its sheet.

No pixels are read here; a header only where a channel is asked for by name.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from inkmix.book.paths import fill, inside, path_fault
from inkmix.book.values import Book, InkSpec
from inkmix.errors import Fault, PlateError, UsageError
from inkmix.plates.channels import same_name
from inkmix.plates.find import look_for_spreads
from inkmix.plates.mismatch import ExpectedSize
from inkmix.plates.plate import PlateSource, open_raster
from inkmix.resolve.double_hits import copy_faults, copy_notes
from inkmix.resolve.together import all_of
from inkmix.sheet import Sheet, panels_in_a_row

Sources = Mapping[str, PlateSource | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """The plates of each spread by ink, in lay-down order; None where a spread lacks one."""

    sources: Mapping[str, Sources]
    notes: tuple[str, ...] = ()


def resolve_spreads(book: Book, *, only: Collection[str] = ()) -> Spreads:
    """Where the plates of a book's spreads lie.

    Parameters
    ----------
    only : collection of str
        Names of spreads; empty: all.

    Raises
    ------
    PlateError
        No plate found, or a plate that lies outside the book's folder.
    UsageError
        A spread that there is not.
    """
    found = look_for_spreads(book.folder, book.plates.pattern, book.ink_names)
    if found.faults:
        raise PlateError(found.faults)
    unknown = [name for name in only if name not in found.spreads]
    if unknown:
        raise UsageError(_unknown_spread(name, found.spreads) for name in unknown)
    wanted = {name: found.spreads[name] for name in found.spreads if not only or name in only}
    _refuse_outside(book, wanted)
    made = all_of(partial(_sources, book, files) for files in wanted.values())
    copies = [note for files in wanted.values() for note in copy_notes(book, files)]
    sources = dict(zip(wanted, made, strict=True))
    return Spreads(sources=sources, notes=(*found.notes, *copies))


def expected_size(book: Book, spread: str) -> ExpectedSize | None:
    """The size that the book's strip asks of a spread; None where it asks nothing."""
    strip = book.strip
    if strip is None or (strip.sides and spread not in strip.sides):
        return None
    width_mm, height_mm = strip.trim_mm
    return ExpectedSize(trim_width_mm=width_mm, trim_height_mm=height_mm, bleed_mm=strip.bleed_mm)


def resolve_sheet(book: Book, spread: str, *, width_px: int, height_px: int, ppi: float) -> Sheet:
    """Geometry of a spread whose plates have this size."""
    strip = book.strip
    if strip is None or (strip.sides and spread not in strip.sides):
        return Sheet(width_px=width_px, height_px=height_px, ppi=ppi)
    panels = panels_in_a_row(
        strip.panels, width_mm=strip.panel_width_mm, height_mm=strip.panel_height_mm
    )
    return Sheet(
        width_px=width_px, height_px=height_px, ppi=ppi, bleed_mm=strip.bleed_mm, panels=panels
    )


def spread_file(book: Book, text: str, spread: str, *, key: str) -> Path:
    """A picture that the book names, for one spread; `key` is the key that names it.

    Raises
    ------
    BookError
        Where the path leaves the book's folder.
    """
    return inside(book.folder, fill(text, spread=spread), where=f"{book.path.name}: {key}")


def _unknown_spread(name: str, found: Collection[str]) -> Fault:
    known = ", ".join(found)
    return Fault(where=f"spread {name}", found="there is none of that name", do=f"known: {known}")


def _refuse_outside(book: Book, found: Mapping[str, Mapping[str, Path | None]]) -> None:
    paths = {path for files in found.values() for path in files.values() if path is not None}
    faults = []
    for path in sorted(paths):
        text = path.relative_to(book.folder).as_posix()
        fault = path_fault(text, folder=book.folder, where=text, allowed=("spread", "ink"))
        faults += [fault] if fault else []
    if faults:
        raise PlateError(faults)


def _sources(book: Book, files: Mapping[str, Path | None]) -> Sources:
    if faults := tuple(copy_faults(book, files)):
        raise PlateError(faults)
    own = {ink.name: _source(book, ink, files[ink.name]) for ink in book.inks if not ink.plate}
    return {ink.name: _hit(own[ink.plate or ink.name], ink) for ink in book.inks}


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
