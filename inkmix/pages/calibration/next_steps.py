"""What to do next after a calibration, and how its page begins: plain text, as `words.py`."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from inkmix.base.words import difference, first_of, in_words, number, opening
from inkmix.jobs.calibrating.values import Calibration
from inkmix.pages.calibration.words import (
    MOST_NAMES,
    WORTH_DE00,
    is_of_run,
    is_worth,
    what_foretold,
)
from inkmix.press.calibration.misread import is_contradicted


@dataclass(frozen=True, slots=True, kw_only=True)
class Naming:
    """How a book names the press file: as `file`, once it lies in the book's folder."""

    file: str
    book: str
    is_inside: bool
    is_named: bool

    @property
    def line(self) -> str:
        """For the book, under [press]."""
        return f'condition = "{self.file}"'

    @property
    def do(self) -> str:
        """What is left to do; empty where the book names it already."""
        if self.is_named:
            return ""
        if self.is_inside:
            return f"name {self.file} in {self.book}"
        return f"copy {self.file} into the book’s folder and name it in {self.book}"


def naming(found: Calibration, path: Path) -> Naming:
    """How the book is to name the press file that was written at a path."""
    book, place = found.book, path.resolve()
    is_inside = place.is_relative_to(book.folder.resolve())
    file = place.relative_to(book.folder.resolve()).as_posix() if is_inside else path.name
    return Naming(
        file=file,
        book=book.path.name,
        is_inside=is_inside,
        is_named=is_inside and book.press.condition == file,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ToDo:
    """What to do next, and what for."""

    do: str
    why: str
    line: str = ""  # for the book

    @property
    def sentence(self) -> str:
        """Both."""
        return f"{opening(self.do)}, {self.why}."


def headline(found: Calibration, named: Naming) -> str:
    """How well the press is known now, and what to do next, as one sentence."""
    first = next(to_do(found, named), None)
    return f"{_known(found)}{f'; next, {first.do}' if first else ''}."


def to_do(found: Calibration, named: Naming) -> Iterator[ToDo]:
    """What to do next, the first thing first."""
    if found.suspects:
        names = first_of([one.patch for one in found.suspects], most=MOST_NAMES)
        yield ToDo(do=f"read {names} again", why="and calibrate once more")
    if found.photograph is None and is_contradicted(found.before):
        yield ToDo(
            do="make sure that the readings are of this press and paper, of dry ink, and that the "
            "instrument was set rightly",
            why="since fewer than half of the mixes are what the book expected",
        )
    if found.photograph is not None:
        do = "have the form read with an instrument"
        yield ToDo(do=do, why="which tells more than any photograph")
    if found.photograph is not None and found.earlier:
        do = f"keep the press file of {found.earlier} in the book"
        yield ToDo(do=do, why="which tells more than this photograph")
    elif _is_worse(found):
        do = f"calibrate from these readings and those of {found.earlier} together"
        why = "since by these alone the book’s mixes would be less sure than now"
        yield ToDo(do=do, why=why)
    elif named.do:
        why = "so that every prediction rests on these readings"
        if found.photograph is not None:
            why = "if you trust the photograph more than the colours in the book"
        yield ToDo(do=named.do, why=why, line=named.line)
    if found.to_print is not None and is_worth(found.to_print):
        more = len(found.to_print.mixes)
        do = f"print and read {in_words(more)} more {'mix' if more == 1 else 'mixes'}"
        yield ToDo(do=do, why="since those at the foot of the page teach most")


def _is_worse(found: Calibration) -> bool:
    """Whether the file in use makes the book's mixes surer, and nothing moved since."""
    if found.drift is None or not found.mixes:
        return False
    moved = any(not is_of_run(one, found.mixes) for one in found.drift.mixes)
    less = sum(one.de00 - one.was_de00 for one in found.mixes) / len(found.mixes)
    return not moved and less > WORTH_DE00


def _known(found: Calibration) -> str:
    if found.photograph is not None:
        return "A photograph tells of this press, and makes nothing surer"
    now, was = found.after, found.before
    if now is None or was is None:
        return "This press is known ink by ink, but hardly in its mixes"
    said = f"Mixes on this press are foretold to {difference(now.mean_de00)} on average"
    before = what_foretold(found) if found.earlier else "the book alone"
    if number(now.mean_de00) == number(was.mean_de00):
        return f"{said}, as by {before}"
    if now.mean_de00 > was.mean_de00:
        return f"{said}, no better than by {before} ({difference(was.mean_de00)})"
    return f"{said}, by {before} to {difference(was.mean_de00)}"
