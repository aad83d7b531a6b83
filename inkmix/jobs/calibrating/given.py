"""What a calibration is given: readings of a form by an instrument, or a photograph of it."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from inkmix.base.errors import Fault, MeasurementError, UsageError
from inkmix.base.inputs import input_digest, read_input
from inkmix.base.quoting import listed
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.values import Book
from inkmix.colour.measured.table import MeasurementTable, unknown_conditions
from inkmix.colour.measured.tokens import MAX_BYTES
from inkmix.jobs.calibrating.photograph import Photographed, read_photograph
from inkmix.jobs.calibrating.placed_form import PlacedForm, read_placed_form
from inkmix.press.calibration.form_list import with_tones_of_form
from inkmix.press.calibration.press_file import CAMERA, Origin
from inkmix.press.calibration.readings import Readings, readings_of
from inkmix.press.swatches.files import read_measurements, read_patch_list

FORM_LIST = "testform.txt"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Given:
    """Readings, where they come from, and the photograph that they were read off, if one was."""

    readings: Readings
    origin: Origin
    photograph: Photographed | None = None


def given_by(
    book: Book, measurements: Sequence[Path], photo: Path | None, *, form: Path | None
) -> Given:
    """Readings of a book's form: by an instrument in some files, or by a camera in one.

    Raises
    ------
    UsageError
        Both, or neither; a book that prints an ink twice; a photograph without its form.
    MeasurementError, PictureError
        What cannot be used.
    """
    _refuse_not_one(measurements, photo)
    _refuse_hits(book)
    if photo is not None:
        return _by_camera(book, photo, form)
    tables = [read_measurements(path) for path in measurements]
    if form is not None:
        patches = _list_of(form)
        tables = [with_tones_of_form(table, patches) for table in tables]
    _refuse_wet(tables)
    readings = readings_of(tables, book.ink_names)
    return Given(readings=readings, origin=_origin(book, measurements, tables))


def by_itself(book: Book, names: Sequence[str]) -> Book:
    """The book with some inks, in their order, and nothing that anybody read off a print."""
    by_name = {ink.name: ink for ink in book.inks}
    return replace(
        book,
        inks=tuple(by_name[name] for name in names),
        measured=(),
        press=replace(book.press, condition=None, overprints=None),
    )


def _refuse_not_one(measurements: Sequence[Path], photo: Path | None) -> None:
    """Refuse readings and a photograph, or neither."""
    if measurements and photo is not None:
        raise UsageError(
            Fault(
                where="photo",
                found="is given together with measurements",
                expected="what an instrument reads counts more than what a camera sees",
                do="leave the photograph out",
            )
        )
    if not measurements and photo is None:
        do = "name the file of the readings, or a photograph of the form"
        raise UsageError(Fault(where="measurements", found="no file is named", do=do))


def _by_camera(book: Book, photo: Path, form: Path | None) -> Given:
    """What a photograph tells of a form."""
    if form is None:
        raise UsageError(
            Fault(
                where="photo",
                found="no form is named",
                expected="where each patch lies in the picture is told by testform.json",
                do="name the folder that `inkmix testform` wrote, with --form",
            )
        )
    placed = read_placed_form(form)
    _refuse_other_inks(book, placed)
    seen = read_photograph(photo, placed, resolve_condition(by_itself(book, placed.inks)))
    readings = readings_of([seen.table], book.ink_names)
    readings = replace(readings, notes=(*seen.notes, *readings.notes))
    origin = Origin(
        measurements=photo.name,
        sha256=input_digest(photo),
        book=book.title,
        conditions=("a camera read it, beside the paper as the book has it",),
        read_by=CAMERA,
    )
    return Given(readings=readings, origin=origin, photograph=seen)


def _refuse_other_inks(book: Book, form: PlacedForm) -> None:
    others = [name for name in form.inks if name not in book.ink_names]
    if others:
        raise MeasurementError(
            Fault(
                where=form.source,
                found=f"a form of {listed(form.inks)}",
                expected=f"the book's inks are {listed(book.ink_names)}",
                do="name the folder of this book's form, with --form",
            )
        )


def _list_of(form: Path) -> MeasurementTable:
    """The list of patches of a form: in its folder, or beside the file that is named."""
    return read_patch_list(form / FORM_LIST if form.is_dir() else form.with_suffix(".txt"))


def _refuse_hits(book: Book) -> None:
    hits = [ink.name for ink in book.inks if ink.hit_of is not None or ink.plate is not None]
    if hits:
        raise UsageError(
            Fault(
                where=book.path.name,
                found=f"prints an ink twice ({listed(hits)})",
                expected="a form tells of each ink by itself",
                do="print and calibrate the form from a copy of the book without the second hit; "
                "the book with both hits can name the same press-condition file",
            )
        )


def _refuse_wet(tables: Sequence[MeasurementTable]) -> None:
    wet = [table.source for table in tables if table.conditions.ink == "wet"]
    if wet:
        raise MeasurementError(
            Fault(
                where=name,
                found="its ink was wet",
                expected="ink reads darker until it has dried, a day or more",
                do="read the dry sheet; a colour or two of a wet print go into the book by "
                "[[measured]] with wet = true",
            )
            for name in wet
        )


def _origin(book: Book, paths: Sequence[Path], tables: Sequence[MeasurementTable]) -> Origin:
    digest = hashlib.sha256()
    for path in paths:
        digest.update(read_input(path, most_bytes=MAX_BYTES))
    said = [one.descriptor or one.originator for one in tables]
    return Origin(
        measurements=listed([path.name for path in paths]),
        sha256=digest.hexdigest(),
        says=listed([text for text in dict.fromkeys(said) if text]),
        book=book.title,
        conditions=tuple(_conditions(tables)),
    )


def _conditions(tables: Sequence[MeasurementTable]) -> Iterator[str]:
    for table in tables:
        told = table.conditions
        parts = [told.mode, told.illuminant, told.ink]
        parts += [f"over {told.backing}"] if told.backing else []
        parts += [f"{told.observer} degree observer"] if told.observer else []
        if any(parts):
            yield f"{table.source}: {', '.join(part for part in parts if part)}"
        yield from (f"{table.source}: {said}" for said in unknown_conditions(table))
