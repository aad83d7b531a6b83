"""Writes a test form into a folder: all of it, or nothing."""

import hashlib
import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arguments import path_of
from inkmix.base.errors import Fault, OutputError
from inkmix.base.inputs import input_digest
from inkmix.base.output_files import Output, opened_together, refuse_outputs
from inkmix.book.values import Book
from inkmix.colour.colorimetry import xyz100_to_srgb8
from inkmix.export.forms.drawing import size_px
from inkmix.export.forms.write import picture_of, plate_output, put_plates
from inkmix.export.picture import picture_file
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.testform.make import REPEATS, form_of_book
from inkmix.jobs.testform.plates import form_plates
from inkmix.jobs.testform.values import TestForm
from inkmix.pages.testform.document import JSON_NAME, form_json
from inkmix.pages.testform.document import MARK as JSON_MARK
from inkmix.pages.testform.legend import legend_of, with_greys
from inkmix.pages.testform.list import LIST_NAME, patch_list
from inkmix.pages.testform.list import MARK as LIST_MARK

PICTURE_NAME = "testform.png"
PICTURE_PPI = 300.0
MOST_PICTURE_PX = 40_000_000
"""Of the picture, which is for the screen."""


def write_testform(
    book: Book,
    folder: str | Path,
    *,
    sheet_mm: tuple[float, float] | None = None,
    seed: int | None = None,
    repeats: int = REPEATS,
    small: int | None = None,
    replace: bool = False,
) -> TestForm:
    """Write plates, picture, list of patches and testform.json of a test form; the form.

    Parameters
    ----------
    folder : path
        Made where it is missing. A file that inkmix did not write is never replaced.
    sheet_mm : (width, height) or None
        Of the plates, 20-2000 mm each; None: those of the book's strip, else of its plates, else
        A4.
    seed : int or None
        Of a random order of the patches; None: patches of a kind stand together.
    repeats : int
        How often paper, solids and some mixes are printed, 1-6.
    small : {10, 20, 40} or None
        A strip for the edge of a sheet: paper, ramps and so many patches beside them.
    replace : bool
        Whether another form in the folder goes. It may be printed, and what is read off it is
        understood by its list alone.

    Raises
    ------
    UsageError
        A value out of range, or a sheet that is too small.
    OutputError
        A file that inkmix did not write is there, or another form that is not to be replaced; or
        the folder is the book's own.
    InkmixError
        Where the book's inks cannot be resolved.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        form = inkmix.write_testform(book, "form", sheet_mm=(297, 210))
        assert form.patches[0].kind == "paper"
        assert Path("form", "testform.txt").exists()
    """
    refuse_no_book(book)
    folder = path_of(folder, what="folder")
    _refuse_own_folder(book, folder)
    refuse_outputs(_outputs(book, folder))  # before anything is computed
    form = form_of_book(book, sheet_mm=sheet_mm, seed=seed, repeats=repeats, small=small)
    if not replace:
        _refuse_other_form(form, folder)
    _write(form, folder)
    return form


def _write(form: TestForm, folder: Path) -> None:
    ppi = picture_ppi(form)
    picture, data = picture_file(folder / PICTURE_NAME, form_picture(form, ppi=ppi), ppi=ppi)
    plates = [plate_output(folder, plate) for plate in form.files]
    outputs = [*plates, picture, _list(folder), _json(folder)]
    with opened_together(outputs) as files:
        put_plates(files[: len(plates)], form.files, form.drawing, ppi=form.ppi)
        rest = (data, patch_list(form), form_json(form))
        for file, content in zip(files[len(plates) :], rest, strict=True):
            file.write(content)


def form_picture(form: TestForm, *, ppi: float) -> NDArray[np.uint8]:
    """The form as it is predicted to print, and its legend below, (rows, cols, 3)."""
    colours8, _ = xyz100_to_srgb8(form.condition.xyz100(form.drawing.mixes))
    legend = picture_of(legend_of(form), with_greys(colours8), ppi=ppi)
    return np.concatenate([picture_of(form.drawing, colours8, ppi=ppi), legend])


def picture_ppi(form: TestForm) -> float:
    """Resolution of the picture: that of the plates, as far as a screen can show it."""
    ppi: float = min(form.ppi, PICTURE_PPI)
    width, height = size_px(form.width_mm, form.height_mm, ppi=ppi)
    return ppi * min(1.0, math.sqrt(MOST_PICTURE_PX / max(width * height, 1)))


def _outputs(book: Book, folder: Path) -> list[Output]:
    """All files; testform.json comes last, and where it lies all else is there."""
    plates = [plate_output(folder, plate) for plate in form_plates(book)]
    picture = Output(path=folder / PICTURE_NAME, mark=b"inkmix")
    return [*plates, picture, _list(folder), _json(folder)]


def _list(folder: Path) -> Output:
    return Output(path=folder / LIST_NAME, mark=LIST_MARK)


def _json(folder: Path) -> Output:
    return Output(path=folder / JSON_NAME, mark=JSON_MARK)


def _refuse_other_form(form: TestForm, folder: Path) -> None:
    """By its list readings of a form are understood, by the places in the document a photograph."""
    own = {LIST_NAME: patch_list(form), JSON_NAME: form_json(form)}
    for path, data in ((folder / name, data) for name, data in own.items()):
        if _holds_other(path, data):
            raise OutputError(
                Fault(
                    where=str(path),
                    found="belongs to an earlier form, which may be printed already",
                    expected="without it nobody knows which patch of that print is which",
                    do=f"write this form elsewhere (--to {folder}-2), or say --replace if the "
                    "earlier one was never printed",
                )
            )


def _holds_other(path: Path, data: bytes) -> bool:
    """Whether a file is there, is not empty, and holds other bytes."""
    try:
        return path.stat().st_size > 0 and input_digest(path) != hashlib.sha256(data).hexdigest()
    except FileNotFoundError:
        return False


def _refuse_own_folder(book: Book, folder: Path) -> None:
    """Plates that lie among the book's are a spread of it."""
    if folder.resolve() == book.folder:
        found = "is the book's own folder"
        expected = "a form in it would be taken for one of its spreads"
        do = f"name another folder: --to {folder / 'testform'}"
        raise OutputError(Fault(where=str(folder), found=found, expected=expected, do=do))
