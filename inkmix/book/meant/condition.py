"""The press condition that a book describes, and the limits that hold for it.

Swatches and measurement files are looked up here; colours of mixes are the press model's business.
"""

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from inkmix.base.arrays import read_only
from inkmix.base.errors import Fault, InkmixError, MeasurementError
from inkmix.base.names import same_name
from inkmix.book.meant.collected_faults import all_of, placed
from inkmix.book.meant.densities import ink_of_reading
from inkmix.book.meant.measured import measured_mixes
from inkmix.book.meant.tones import screen_colour_over
from inkmix.book.paths import inside
from inkmix.book.values import GUESS, PROCESS_DEFAULT, Book, InkSpec, PaperSpec, Told
from inkmix.colour.colorimetry import lab_to_xyz100
from inkmix.colour.measured.table import MeasurementTable
from inkmix.press.calibration.press_file import PressFile
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import (
    Ink,
    Paper,
    ink_from_lab,
    ink_from_srgb,
    ink_from_xyz100,
)
from inkmix.press.patches import Patches
from inkmix.press.processes import find_process
from inkmix.press.scoring.keywords import words_of
from inkmix.press.solids.opacity import OPACITY_WORDS
from inkmix.press.solids.process_inks import process_solids_xyz100
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper
from inkmix.press.swatches.charts import ink_from_table, paper_from_table, patches_from_table
from inkmix.press.swatches.files import read_measurements, read_press_file

_READINGS = "given in the book"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What must not be exceeded, each with whose word it is.

    Parameters
    ----------
    ink_limit_pct : Told or None
        Most total ink; None where neither the book nor the process says one.
    edge_growth_mm : Told
        Growth at the edges of solids.
    """

    ink_limit_pct: Told | None
    edge_growth_mm: Told


def resolve_condition(book: Book) -> PressCondition:
    """Inks, paper and process of a book, ready to predict.

    Raises
    ------
    InkmixError
        SwatchError, MeasurementError or ModelError, with the faults of paper and all inks.
    """
    return condition_on_press(book, press_of(book))


def press_of(book: Book) -> PressFile | None:
    """What the press-condition file of a book holds; None where it names none.

    Raises
    ------
    MeasurementError
        Where it cannot be read.
    """
    file = book.press.condition
    if file is None:
        return None
    try:
        return read_press_file(inside(book.folder, file, where=f"{book.path.name}: {file}"))
    except InkmixError as error:
        raise placed(error, f"{book.path.name}: press.condition") from None


def condition_on_press(
    book: Book, press: PressFile | None, *, is_kept: bool = True
) -> PressCondition:
    """The condition of a book on a press that is known by a file, whatever the book names.

    Parameters
    ----------
    is_kept : bool
        False where it will not be asked for again.
    """
    paper = replace(_paper_on_press(book, press), guessed=book.paper.is_guess)
    inks = _inks_on_press(book, paper, press)
    patches = _patches(book, paper, press)
    process = replace(find_process(book.press.process), guessed=book.press.is_guess)
    return press_condition(paper, inks, process=process, patches=patches, is_kept=is_kept)


def resolve_paper(book: Book) -> Paper:
    """The paper of a book: as measured on its press, else as it tells."""
    return _paper_on_press(book, press_of(book))


def _paper_on_press(book: Book, press: PressFile | None) -> Paper:
    told = book.paper
    if press is None or press.is_photograph:  # a camera sees all colours beside the paper's
        return _told_paper(book, told, "paper")
    kind = told.paper_class
    if told.swatch is not None:
        kind = _told_paper(book, told, "paper").paper_class
    name = f"{kind or press.paper.paper_class} paper of this press"
    return press.printed_paper(name, paper_class=kind or "")


def _told_paper(book: Book, spec: PaperSpec, where: str) -> Paper:
    """A paper by what some place of a book says."""
    if spec.measurements is not None:
        return _measured_paper(book, spec, where)
    if spec.swatch is None:
        return _given_paper(spec)
    try:
        paper = load_paper(spec.swatch)
    except InkmixError as error:
        raise placed(error, f"{book.path.name}: {where}.swatch") from None
    return paper if spec.paper_class is None else replace(paper, paper_class=spec.paper_class)


def resolve_inks(book: Book, paper: Paper) -> tuple[Ink, ...]:
    """The inks of a book in lay-down order, all their faults at once.

    On a paper that is known by a screen colour only, every ink is no better known than that.
    """
    return _inks_on_press(book, paper, press_of(book))


def _inks_on_press(book: Book, paper: Paper, press: PressFile | None) -> tuple[Ink, ...]:
    inks = all_of(
        partial(_resolve_ink, book, index, paper, press) for index in range(len(book.inks))
    )
    if book.paper.srgb is not None and (press is None or press.is_photograph):
        inks = [replace(ink, known="screen colour") for ink in inks]
    return tuple(inks)


def resolve_limits(book: Book, paper: Paper) -> Limits:
    """The limits the book gives, else those of its process on this paper class."""
    process = find_process(book.press.process)
    usual = (process.ink_limit_pct or {}).get(paper.paper_class)
    whose = GUESS if book.default_limit_is_guess else PROCESS_DEFAULT
    default = None if usual is None else Told(value=float(usual), whose=whose)
    return Limits(
        ink_limit_pct=book.press.ink_limit_pct or default,
        edge_growth_mm=resolve_edge_growth(book),
    )


def resolve_edge_growth(book: Book) -> Told:
    """The growth at edges, mm, that the book gives, else that of its process."""
    usual = find_process(book.press.process).edge_growth_mm
    return book.press.edge_growth_mm or Told(value=usual, whose=PROCESS_DEFAULT)


def _measured_paper(book: Book, spec: PaperSpec, where: str) -> Paper:
    file, kind = spec.measurements or "", spec.paper_class or ""
    try:
        table = read_table(book, file)
        return paper_from_table(table, name=f"{kind} paper of {file}", paper_class=kind)
    except InkmixError as error:
        raise placed(error, f"{book.path.name}: {where}.measurements") from None


def _given_paper(spec: PaperSpec) -> Paper:
    paper_class = spec.paper_class or ""
    if spec.lab is not None:
        xyz100 = lab_to_xyz100(spec.lab)
    elif spec.xyz100 is not None:
        xyz100 = read_only(spec.xyz100)
    else:
        usual_white = process_solids_xyz100(paper_class)[0]
        xyz100 = screen_colour_over(usual_white, spec.srgb or "#ffffff")
    source = f"screen colour {spec.srgb}" if spec.srgb else _READINGS
    return Paper(name=f"{paper_class} paper", paper_class=paper_class, xyz100=xyz100, source=source)


def _resolve_ink(book: Book, index: int, paper: Paper, press: PressFile | None) -> Ink:
    spec = book.inks[index]
    try:
        printed = None if press is None else _printed_ink(book, spec, press)
        if printed is not None and printed.known == "photograph":
            printed = replace(printed, told=_resolve_ink(book, index, paper, None))
        ink = printed or _ink_on_its_paper(book, index, paper)
        told = replace(ink, name=spec.name, **_properties(spec, ink))
        guessed = spec.is_guess and printed is None
        return replace(told, guessed=guessed, place_guessed=book.order_is_guess)
    except InkmixError as error:
        raise placed(error, f"{book.path.name}: inks[{index + 1}]") from None


def _ink_on_its_paper(book: Book, index: int, paper: Paper) -> Ink:
    """An ink by its colour on the paper that it was measured on, the book's where none is told."""
    spec = book.inks[index]
    on = spec.measured_on
    if on is not None:
        where = f"inks[{index + 1}].measured_on"
        paper = replace(_told_paper(book, on, where), guessed=on.is_guess)
    ink = _coloured_ink(book, spec, paper)
    if on is not None and on.srgb is not None:
        ink = replace(ink, known="screen colour")
    return ink if spec.read_from is None else replace(ink, source=_from(ink.source, spec.read_from))


def _from(source: str, read_from: str) -> str:
    return f"{source}, read from {read_from}" if source else f"read from {read_from}"


def _printed_ink(book: Book, spec: InkSpec, press: PressFile) -> Ink | None:
    """The ink as measured on the press; None where it was not."""
    return press.printed_ink(_name_on_press(spec), _paper_on_press(book, press))


def _name_on_press(spec: InkSpec) -> str:
    """Of an ink in a press-condition file: its own, but for one that stands in for it."""
    stands_in = spec.column is not None and spec.measurements is None
    return spec.column if stands_in and spec.column else spec.hit_of or spec.name


def _coloured_ink(book: Book, spec: InkSpec, paper: Paper) -> Ink:
    if spec.told is not None:
        return spec.told
    if spec.swatch is not None:
        return load_ink(spec.swatch, paper=paper)
    if spec.measurements is not None:
        table = read_table(book, spec.measurements)
        return ink_from_table(table, ink_column(table, spec), paper=paper, name=spec.name)
    if spec.density is not None:
        source = f"status {spec.density.status} densities {_READINGS}"
        return ink_of_reading(spec.density, spec.name, paper=paper, source=source)
    if spec.lab is not None:
        return ink_from_lab(spec.name, spec.lab, paper=paper, source=f"Lab {_READINGS}")
    if spec.xyz100 is not None:
        return ink_from_xyz100(spec.name, spec.xyz100, paper=paper, source=f"XYZ {_READINGS}")
    return ink_from_srgb(spec.name, spec.srgb or "#000000", paper=paper)


def _properties(spec: InkSpec, ink: Ink) -> dict[str, Any]:
    """What the book says of an ink beyond its colour.

    Its word on opacity counts more than a solid that was measured over some black.
    """
    said: dict[str, Any] = {"character": ink.character | spec.character}
    if spec.opacity is not None:
        told = OPACITY_WORDS.get(str(spec.opacity), spec.opacity)
        said |= {"opacity": told, "over_black_xyz100": None, "black_xyz100": None}
    if spec.tone_value_increase_pct is not None:
        said["tone_value_increase_pct"] = spec.tone_value_increase_pct
    return said


def _patches(book: Book, paper: Paper, press: PressFile | None) -> Patches | None:
    """Measured mixes: those of a file or shipped, and those that the book tells one by one."""
    told = measured_mixes(book, paper)
    charted = _charted(book, paper) if press is None else _printed(book, press)
    if press is not None and press.is_photograph:
        was = _charted(book, paper)
        charted = _joined(charted, None if was is None else replace(was, before=True))
    return _joined(charted, told)


def _joined(some: Patches | None, more: Patches | None) -> Patches | None:
    if some is None or more is None:
        return some or more
    return some.with_more(more)


def _printed(book: Book, press: PressFile) -> Patches | None:
    """The mixes of a press-condition file; of an ink printed twice they tell nothing.

    Raises
    ------
    MeasurementError
        Where they were printed in another order.
    """
    names = [_name_on_press(spec) if spec.hit_of is None else "" for spec in book.inks]
    own = [name for name in names if any(same_name(name, one) for one in press.names)]
    theirs = [name for one in press.names for name in own if same_name(name, one)]
    if own != theirs:
        raise MeasurementError(
            Fault(
                where=f"{book.path.name}: press.condition",
                found=f"printed in the order {', '.join(theirs)}",
                expected=f"the book lays down {', '.join(own)}",
                do="measured mixes hold for one order: ask the printer which it is, and calibrate "
                "again if the order changed",
            )
        )
    return press.patches(names)


def _charted(book: Book, paper: Paper) -> Patches | None:
    """The mixes of the book's file, else those shipped for just these inks on this paper."""
    if book.press.overprints is not None:
        table = read_table(book, book.press.overprints)
        columns = [column_in(table, ink.column or ink.name) for ink in book.inks]
        patches = patches_from_table(table, columns)
        if patches is None:
            raise MeasurementError(_no_mixes(book, table))
        return patches
    if book.paper.swatch is None:
        return None
    return load_overprints(paper, [ink.swatch or "" for ink in book.inks])


def read_table(book: Book, text: str) -> MeasurementTable:
    """The measured table in a file that a book names.

    Raises
    ------
    BookError, MeasurementError
        The path leaves the book's folder; the file cannot be read.
    """
    return read_measurements(inside(book.folder, text, where=f"{book.path.name}: {text}"))


def column_in(table: MeasurementTable, name: str) -> str | None:
    """The table's own spelling of an ink's column."""
    return next((plate for plate in table.plates if same_name(plate, name)), None)


def ink_column(table: MeasurementTable, spec: InkSpec) -> str:
    """The column of an ink: as told, else that of its name, else the only one."""
    name = spec.column or spec.name
    if spec.column is None and len(table.plates) == 1:
        return table.plates[0]
    return column_in(table, name) or name


def _no_mixes(book: Book, table: MeasurementTable) -> Fault:
    where = f"{book.path.name}: press.overprints: {table.source}"
    told = words_of(table, "LAY_DOWN_ORDER")
    own = [column_in(table, ink.column or ink.name) for ink in book.inks]
    if told and [name for name in told if name in own] != [name for name in own if name in told]:
        return Fault(
            where=where,
            found=f"printed in the order {', '.join(told)}",
            expected=f"the book lays down {', '.join(book.ink_names)}",
            do="measured mixtures hold for one order; ask the printer which it is",
        )
    return Fault(
        where=where,
        found=f"holds no mixes of the book's inks (its columns: {', '.join(table.plates)})",
        expected="patches of two or more of them, printed in the book's order, are needed",
        do="name the columns with column = ... at each ink",
    )
