"""What a check is: one folder, and one line in table.py. Nobody else knows a check by its name.

For each spread a check is opened; it looks at the windows of the plates as they go by, in any
thread, joins what it counted in raster order, judges it, tries remedies and gives an answer:
figures for report.json, lines for the table of verdicts, findings. Its words, its part of the
report, of the tables of a batch, and what its findings rest on stand beside that.
"""

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import files
from typing import TYPE_CHECKING, Any, ClassVar, Generic, Protocol, TypeVar

from inkmix.base.errors import Fault
from inkmix.book.form import Rule
from inkmix.book.keys import Section
from inkmix.checks.finding import NOT_CHECKED, Finding
from inkmix.checks.uses import ColourUse

if TYPE_CHECKING:
    from inkmix.base.arrays import BoolArray
    from inkmix.book.meant.condition import Limits
    from inkmix.book.values import Book
    from inkmix.checks.mending.mender import Mender
    from inkmix.checks.orders.check import Movable
    from inkmix.checks.trials.trials import Guard, Trials
    from inkmix.checks.window import CheckedWindow
    from inkmix.plates.files.scratch.room import ScratchRoom
    from inkmix.plates.set import PlateSet
    from inkmix.press.condition import PressCondition
    from inkmix.sheet.geometry import Sheet

LEFT_OUT = "left out of this run"


class Ground(Protocol):
    """A spread as checks see it: the book as it holds there, plates on a press condition."""

    @property
    def book(self) -> "Book": ...  # as it holds for the spread
    @property
    def name(self) -> str: ...
    @property
    def condition(self) -> "PressCondition": ...  # plates of dots marked as such
    @property
    def tone_condition(self) -> "PressCondition": ...  # for mixes told in tone values
    @property
    def limits(self) -> "Limits": ...
    @property
    def plates(self) -> "PlateSet": ...
    @property
    def sheet(self) -> "Sheet": ...
    @property
    def room(self) -> "ScratchRoom": ...


class Inputs(Protocol):
    """What a spread's answer follows from, as digests and values: what findings rest on."""

    @property
    def book(self) -> "Book": ...
    def plates(self) -> tuple[object, ...]: ...
    def press(self) -> tuple[object, ...]: ...
    def of_file(self, text: str | None) -> str | None: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRow:
    """One line of the table of verdicts."""

    name: str
    verdict: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a check says of a spread, findings aside.

    Parameters
    ----------
    check : str
        Name of the check.
    verdict : str
        The worst of all that it judged.
    lines : tuple of VerdictRow
        For the table of verdicts; never empty, for silence would read as a pass.
    facts : mapping of str to value
        Its fields of report.json: dataclasses, or tuples of them.
    unchecked : str
        Why nothing was looked at: LEFT_OUT, or what the book lacks; empty where something was.
    notes : tuple of str
        What was accepted and has to be said.
    figures : mapping of str to float or None
        Its columns in the tables of a batch.
    movable : tuple
        Mixes and areas that may look otherwise in another lay-down order.
    uses : tuple of ColourUse
        Where colours that the book names are used; a batch compares them from spread to spread.
    cells : mapping of str to (rows, cols) bool ndarray
        Parts of the sheet, in equal cells, to be shown in pictures of these keys.
    """

    check: str
    verdict: str
    lines: tuple[VerdictRow, ...]
    facts: Mapping[str, Any] = field(default_factory=dict)
    unchecked: str = ""
    notes: tuple[str, ...] = ()
    figures: Mapping[str, float | None] = field(default_factory=dict)
    movable: "tuple[Movable, ...]" = field(default=(), repr=False, compare=False)
    uses: tuple[ColourUse, ...] = ()
    cells: "Mapping[str, BoolArray]" = field(default_factory=dict, repr=False, compare=False)

    @property
    def is_left_out(self) -> bool:
        """Whether whoever ran the checks left it out."""
        return self.unchecked == LEFT_OUT


_Part = TypeVar("_Part")
_Result = TypeVar("_Result")


class OpenedCheck(ABC, Generic[_Part, _Result]):
    """A check at work on one spread."""

    @abstractmethod
    def start(self) -> _Part:
        """The part that has seen nothing."""

    @abstractmethod
    def part(self, window: "CheckedWindow") -> _Part:
        """What one window brings; several threads may ask at once."""

    @abstractmethod
    def merge(self, first: _Part, second: _Part) -> _Part:
        """Both parts, which together make a rectangle; the second lies right of or below it."""

    @abstractmethod
    def finish(self, part: _Part) -> _Result:
        """What all windows say together, judged."""

    def faults(self, result: _Result) -> tuple[Fault, ...]:
        """What the pixels show to be wrong with files that the check opened."""
        return ()

    def guards(self, result: _Result) -> "Sequence[Guard]":
        """Areas that no remedy may spoil."""
        return ()

    @abstractmethod
    def findings(self, result: _Result, trials: "Trials") -> tuple[Finding, ...]:
        """What somebody has to know of, with remedies."""

    def menders(self, result: _Result) -> "Sequence[Mender]":
        """What can be mended on the plates, in the order in which it is done."""
        return ()

    def told(self, result: _Result) -> tuple[Finding, ...]:
        """The findings, where nobody looks for remedies."""
        return ()

    @abstractmethod
    def answer(self, result: _Result) -> Answer:
        """Everything else."""


class Check(ABC):
    """A kind of check, as it stands in the table."""

    name: ClassVar[str]
    """As people write it: in the book, after --only and --skip, in findings."""
    is_plural: ClassVar[bool] = False
    """Whether the name takes "were"."""
    sections: ClassVar[tuple[Section[Any], ...]] = ()
    """Tables of the book that say what it is to check."""
    rules: ClassVar[tuple[Rule, ...]] = ()
    """What these must keep beside the ranges of their keys."""
    facts: ClassVar[Mapping[str, Any]]
    """Fields of report.json by name, with their types."""
    figures: ClassVar[Mapping[str, str]] = {}
    """Columns of spreads.csv by name, with what they mean."""
    card_means: ClassVar[str] = ""
    """What counts on its card, as a clause; empty where the card's own words say so."""
    sorts_by: ClassVar[str] = ""
    """The figure by which the index may order its spreads, greatest first; one check gives it."""
    rank: ClassVar[int] = 100
    """Where its findings and its section stand in the report: those of a low one come first."""
    hatch: ClassVar[str] = "hatch-dots"
    """How its places are marked on the plan of the sheet: one of the page's patterns."""
    is_scattered: ClassVar[bool] = True
    """Whether a finding without a place stands for places all over the sheet."""
    is_guard: ClassVar[bool] = False
    """Whether it holds areas that no remedy may spoil: it is looked at even if it is left out."""
    is_of_book: ClassVar[bool] = False
    """Whether its findings follow from the book and no plate: a batch says each once, not for every
    spread."""
    is_by_place: ClassVar[bool] = False
    """Whether findings have no name of their own: then they are told apart by where they are."""
    grounds: ClassVar[tuple[str, ...]]
    """Words for what its findings rest on, in the order of `rests_on`; what follows from the others
    comes first."""
    unasked: ClassVar[str] = ""
    """Why nothing was checked where the book does not ask for it."""

    @abstractmethod
    def opened(self, ground: Ground) -> OpenedCheck[Any, Any] | None:
        """The check at work on a spread; None where the book does not ask for it.

        Raises
        ------
        InkmixError
            With all faults of files that it needs.
        """

    def recipe(self) -> type | None:
        """By what its corrections of plates are done again; None where it makes none.

        Those of a check of low rank are done first.
        """
        return None

    def not_asked(self, why: str = "") -> Answer:
        """The answer where nothing is checked: because the book does not ask for it, or `why`."""
        words = why or self.unasked
        return Answer(
            check=self.name,
            verdict=NOT_CHECKED,
            lines=(VerdictRow(name=self.name, verdict=NOT_CHECKED, words=words),),
            facts=self.nothing(),
            unchecked=words,
        )

    @abstractmethod
    def nothing(self) -> Mapping[str, Any]:
        """The fields of report.json where nothing was checked."""

    @abstractmethod
    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """All that a finding follows from, as plain values, one for each of `grounds`.

        A waiver holds as long as they stay the same, on any machine: no computed colour is among
        them. What else lies on the sheet is not, where the finding speaks of some pixels only.
        """

    @abstractmethod
    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        """Its part of the sentence at the head of a report, where it fails or is unsure."""

    def label(self, name: str) -> str:
        """What a finding of that name is about, in words."""
        return f"{self.name}: {name}" if name else self.name

    @abstractmethod
    def template(self) -> str:
        """Its section of the report, a template of Jinja.

        It is given `part`, the answer; `values`, what `shown` says; and the macros of the page.
        """

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        """What its template needs beside the answer: charts, mostly."""
        return {}

    def card(self, figures: Mapping[str, float | None]) -> tuple[str, str, str] | None:
        """Its line on the card of a spread in the index: words, what counts, the limit."""
        return None


def template_beside(package: str, name: str) -> str:
    """The text of a template that lies in a check's folder."""
    return files(package).joinpath(name).read_text(encoding="utf-8")
