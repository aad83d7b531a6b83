"""Files of inks that somebody names: measurements, or a shade card.

This module, and no lower one, opens them; what comes with the package is found by by_name.py.
"""

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import NamedTuple

from inkmix.base.errors import Fault, InkmixError, MeasurementError, PassingFault
from inkmix.base.inputs import opened_input
from inkmix.base.quoting import clipped, listed, quoted
from inkmix.colour.colorimetry import lab_to_xyz100
from inkmix.colour.measured.any_format import is_cgats, is_cxf, parse_measurements
from inkmix.colour.measured.cgats import parse_patch_list
from inkmix.colour.measured.shade_card import ShadeCard, parse_shade_card
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tokens import MAX_BYTES
from inkmix.colour.written import ToldColour
from inkmix.press.calibration.press_file import PressFile, parse_press_file
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.inks import Ink, Paper, ink_from_lab, ink_from_srgb
from inkmix.press.swatches.charts import ink_from_table

_PAPERS = {"paper": "", **{f"{kind} paper": kind for kind in PAPER_CLASSES}}


class InksOfFile(NamedTuple):
    """The inks of a file, and what has to be said of it, as sentences."""

    inks: tuple[Ink, ...]
    notes: tuple[str, ...]


def read_measurements(path: Path | str) -> MeasurementTable:
    """The measured table in a file: CGATS text, CxF3 or CSV with a header, told by its content.

    Raises
    ------
    MeasurementError
        The file cannot be opened, or is no sound one of these; all faults at once.
    """
    path = Path(path)
    return parse_measurements(_bytes_of(path), where=_name_of(path))


def read_patch_list(path: Path | str) -> MeasurementTable:
    """The patches that a list says are printed, with or without readings.

    Raises
    ------
    MeasurementError
        The file cannot be opened, or is no list of patches.
    """
    path = Path(path)
    return parse_patch_list(_bytes_of(path), where=_name_of(path))


def read_press_file(path: Path | str) -> PressFile:
    """What a press-condition file tells of a press.

    Raises
    ------
    MeasurementError
        The file cannot be opened, or is none that `inkmix calibrate` wrote.
    """
    path = Path(path)
    return parse_press_file(_bytes_of(path), where=_name_of(path))


def read_inks(path: Path | str, *, paper: Paper) -> InksOfFile:
    """The inks of a measurement file or a shade card.

    Parameters
    ----------
    paper : Paper
        Its class is taken where the file says of none what it was printed on. Colours of a card
        that names no paper are carried over from one that nobody knows: their error is larger.

    Raises
    ------
    MeasurementError
        The file cannot be opened or read, or an ink in it has no solid; all faults at once.
    """
    path = Path(path)
    data = _bytes_of(path)
    if not (is_cgats(data) or is_cxf(data)):
        return inks_of_card(
            parse_shade_card(data, where=_name_of(path)), paper=paper, file=path.name
        )
    table = parse_measurements(data, where=_name_of(path))
    inks: list[Ink] = []
    faults: list[Fault] = []
    for column in table.plates:
        try:
            inks.append(ink_from_table(table, column, paper=paper))
        except InkmixError as error:
            faults += error.faults
    if faults:
        raise MeasurementError(faults)
    return InksOfFile(tuple(inks), ())


def inks_of_card(card: ShadeCard, *, paper: Paper, file: str) -> InksOfFile:
    """The inks of a shade card, on the paper that it names, or on one that nobody knows.

    A line `paper`, or `coated paper` and the like, is the bare paper of the card.

    Raises
    ------
    MeasurementError
        For two papers, one that is known by a screen colour, and a card without inks.
    """
    papers = [shade for shade in card.shades if shade.name.casefold() in _PAPERS]
    shades = [shade for shade in card.shades if shade not in papers]
    faults = [_no_paper(shade) for shade in papers if shade.lab is None]
    faults += [Fault(where=one.where, found="a second paper", do="leave one") for one in papers[1:]]
    if not shades:
        faults.append(Fault(where=file, found="a paper and no ink", do="name another file"))
    if faults:
        raise MeasurementError(faults)
    own = _paper_of(papers, paper, file)
    inks = tuple(_ink_of(shade, own, file) for shade in shades)
    return InksOfFile(inks, tuple(_notes(card, own, file)))


def _paper_of(papers: list[ToldColour], paper: Paper, file: str) -> Paper:
    """The paper of a card; without one it is a guess, whatever is known of ours."""
    name = f"the paper of {file}"
    if not papers:
        return replace(paper, name=name, guessed=True)
    (told,) = papers
    kind = _PAPERS[told.name.casefold()] or paper.paper_class
    return Paper(name=name, paper_class=kind, xyz100=lab_to_xyz100(told.lab or ()))


def _ink_of(shade: ToldColour, paper: Paper, file: str) -> Ink:
    make = ink_from_srgb if shade.lab is None else partial(ink_from_lab, source=f"Lab on {file}")
    return make(shade.name, shade.lab or shade.screen, paper=paper)  # type: ignore[arg-type]


def _no_paper(shade: ToldColour) -> Fault:
    expected = "the paper of a card is told by its L*, a*, b*"
    return Fault(where=shade.where, found=quoted(shade.text), expected=expected)


def _notes(card: ShadeCard, paper: Paper, file: str) -> list[str]:
    notes = []
    if paper.guessed:
        notes.append(
            f"{file} does not say which paper its colours are on, so more error is expected; a "
            "line such as “coated paper, 95, 0, -2” tells it."
        )
    if card.unread:
        notes.append(f"Not read in {file}: the columns {listed(card.unread)}.")
    return notes


def _name_of(path: Path) -> str:
    return clipped(path.name, 255)


def _bytes_of(path: Path) -> bytes:
    try:
        with opened_input(path) as file:
            return file.read(MAX_BYTES + 1)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        fault = PassingFault(where=clipped(str(path), 1000), found=f"cannot be read ({reason})")
        raise MeasurementError(fault) from None
