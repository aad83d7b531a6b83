"""Plates of a form as the book has its own: size, resolution, names, polarity, double hits.

Of the book's plates no more than one header is read.
"""

from dataclasses import dataclass
from pathlib import PurePosixPath

from inkmix.base.errors import Fault, InkmixError, UsageError
from inkmix.base.words import number, size_of
from inkmix.book.meant.plates import look_into
from inkmix.book.meant.sources import spread_sources
from inkmix.book.paths import fill
from inkmix.book.values import Book
from inkmix.export.forms.drawing import size_px
from inkmix.export.forms.write import FormPlate
from inkmix.jobs.ranges import FORM_SHEET_MM
from inkmix.plates.files.raster import RasterFacts
from inkmix.plates.plate import open_raster
from inkmix.sheet.geometry import MM_PER_INCH

SPREAD = "testform"
LEAST_PPI, COARSE_PPI, UNKNOWN_PPI = 150.0, 300.0, 600.0
"""Below the first, type and lines of a form cannot be read, and the second is taken; the third
where there is no plate."""
A4_MM = (297.0, 210.0)
MOST_PX = 500_000_000
"""Of a plate: a square metre at 560 ppi."""
LIGHT_IS_INK = "light is ink"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormSheet:
    """The sheet that a form is for; the bleed is on every edge of it."""

    width_mm: float
    height_mm: float
    bleed_mm: float
    ppi: float
    notes: tuple[str, ...]


def form_sheet(book: Book, sheet_mm: tuple[float, float] | None) -> FormSheet:
    """The sheet as told, else that of the strip, else that of the plates, else A4.

    Raises
    ------
    UsageError
        For a size out of range, or more pixels than a plate can have.
    """
    facts = _facts_of_plates(book)
    ppi, notes = _resolution(book, facts)
    bleed_mm = 0.0
    if sheet_mm is not None:
        for side in sheet_mm:
            FORM_SHEET_MM.refuse(side)
        width, height = sheet_mm
    elif book.strip is not None:
        (width, height), bleed_mm = book.strip.sheet_mm, book.strip.bleed_mm
    elif facts is not None:
        width, height = (side / facts_ppi(book, facts) * MM_PER_INCH for side in facts_px(facts))
    else:
        width, height = A4_MM
        notes = (*notes, "The book has neither strip nor plates yet: the form is for A4")
    sheet = FormSheet(width_mm=width, height_mm=height, bleed_mm=bleed_mm, ppi=ppi, notes=notes)
    refuse_pixels(sheet.width_mm, sheet.height_mm, ppi=ppi)
    return sheet


def refuse_pixels(width_mm: float, height_mm: float, *, ppi: float) -> None:
    """Refuse a plate of more pixels than one can have."""
    width, height = size_px(width_mm, height_mm, ppi=ppi)
    if width * height > MOST_PX:
        raise UsageError(
            Fault(
                where="--sheet",
                found=f"{size_of(width_mm, height_mm, 'mm', digits=0)} at {number(ppi)} ppi are "
                f"{size_of(width, height, 'px')}",
                expected=f"a form has at most {MOST_PX // 10**6} million",
                do="name a smaller sheet: a form needs no more than A4 or the edge of a sheet",
            )
        )


def facts_px(facts: RasterFacts) -> tuple[int, int]:
    """Width and height of a plate."""
    return facts.width_px, facts.height_px


def facts_ppi(book: Book, facts: RasterFacts) -> float:
    """Resolution of a plate, as its file or the book says."""
    return facts.ppi or book.plates.ppi or UNKNOWN_PPI


def form_plates(book: Book) -> tuple[FormPlate, ...]:
    """A plate for each ink that has one of its own, named by the book's pattern."""
    names = book.ink_names
    return tuple(
        FormPlate(
            ink=names.index(ink.name),
            file=_file(book.plates.pattern, ink.name),
            light_is_ink=ink.polarity == LIGHT_IS_INK,
        )
        for ink in book.inks
        if ink.plate is None
    )


def owners(book: Book) -> tuple[int, ...]:
    """For each ink the number of the ink whose plate it prints."""
    names = book.ink_names
    return tuple(names.index(ink.plate or ink.name) for ink in book.inks)


def is_one_file(book: Book) -> bool:
    """Whether the book keeps several inks in one file."""
    return "{ink}" not in book.plates.pattern


def _file(pattern: str, ink: str) -> str:
    """The path of a plate; where the book has one file for all inks, a file in its place."""
    if "{ink}" not in pattern:
        path = PurePosixPath(pattern)
        pattern = str(path.with_name(f"{path.stem}-{{ink}}.tif"))
    return fill(pattern, spread=SPREAD, ink=ink)


def _resolution(book: Book, facts: RasterFacts | None) -> tuple[float, tuple[str, ...]]:
    """Resolution of the form, and what has to be said of it."""
    if facts is None:
        ppi = book.plates.ppi or UNKNOWN_PPI
        note = f"No plates are there yet: those of the form have {number(ppi)} ppi"
        return max(ppi, LEAST_PPI), (note,)
    ppi = facts_ppi(book, facts)
    if ppi >= LEAST_PPI:
        return ppi, ()
    note = f"The book's plates have {number(ppi)} ppi, too few for type and lines: the form has"
    return COARSE_PPI, (f"{note} {number(COARSE_PPI)}",)


def _facts_of_plates(book: Book) -> RasterFacts | None:
    """What the first plate says of itself; None where none is there or can be read."""
    try:
        spread = look_into(book).spreads[0]
        sources = spread_sources(book, spread)
        source = next((one for one in sources.values() if one is not None), None)
        return None if source is None else open_raster(source.path, page=source.page).facts
    except InkmixError:  # a form is made before there are plates, and of a book with bad ones
        return None
