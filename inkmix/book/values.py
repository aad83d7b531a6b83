"""What a book says, as plain frozen values: paper, inks, press, plates, strip, night, tones.

These dataclasses are the table of keys: each key of book.toml stands here once, with meaning, unit,
range and default. Values only: no reading, no checking, no colour. A key that the book does not
give is None here, unless its default is a plain convention; what a process assumes instead is
decided elsewhere.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import Any, TypeVar

from inkmix.base.canonical import pieces
from inkmix.book.keys import (
    MERGED,
    REPLACED,
    FilePath,
    HexColour,
    Name,
    Person,
    PlatePath,
    Reason,
    Section,
    SpreadName,
    SpreadPath,
    StateHex,
    key,
    keyed,
    keys_of,
)
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.processes import PROCESSES
from inkmix.press.solids.opacity import OPACITY_WORDS
from inkmix.press.values import MAX_INKS, TONE_VALUE_INCREASE_PCT, Ink

T = TypeVar("T")
FORMAT = 1
BOOK_NAME = "book.toml"
PRINTER = "printer"
USER = "user"
PROCESS_DEFAULT = "process default"
GUESS = "guessed"
MIN_PANEL_MM = 5.0  # nothing that is folded is smaller; a metre or an inch was meant
MAX_PANEL_MM = 5000.0
MAX_SPREADS = 5_000  # named in one list; a strip of 200 panels has two sides
MAX_MEASURED = 200  # by hand; more are better kept in a file
MAX_CHANNELS = 64  # of one file

Pair = tuple[float, float]
Triple = tuple[float, float, float]
Four = tuple[float, float, float, float]
_LAB = "L*, a*, b*, absolute, D50, 2 degree observer"
_XYZ = "X, Y, Z, 0-100, absolute, D50, 2 degree observer"
_GUESSED = (
    "what `inkmix start` guessed here: as long as the same stands beside it, nothing that rests on "
    "it can be judged; true: whatever stands beside it is a guess"
)
_DENSITY = '{ red = 0.25, green = 1.2, blue = 0.9, status = "E", relative = true }'


def is_guess(guessed: str | bool, *values: str | None) -> bool:
    """Whether a value is still as it was guessed: whoever changes it, or takes the mark away, has
    confirmed it."""
    return guessed is True or guessed in values


def _one_of(words: Iterable[str]) -> str:
    return f"one of {', '.join(words)}"


@keyed
class Told:
    """A value with whose word it is: PRINTER, USER, or PROCESS_DEFAULT where nobody gave one, and
    GUESS where process or paper, by which the default goes, are no more than that.

    A number of the file becomes one of the user's, or of the printer's where its table lists the
    key in confirmed_by_printer.
    """

    value: float
    whose: str


@keyed
class PaperSpec:
    """The stock: one of `swatch`, `lab`, `xyz100`, `srgb` and `measurements` is given.

    `paper_class` is None only where a swatch is given, which knows its class.
    """

    swatch: Name | None = key("name of a shipped paper; `inkmix inks` lists them", default=None)
    lab: Triple | None = key(f"measured: {_LAB}", default=None)
    xyz100: Triple | None = key(f"measured: {_XYZ}", name="xyz", default=None)
    srgb: HexColour | None = key('screen colour "#rrggbb"; only a hint', default=None)
    measurements: FilePath | None = key(
        "CGATS file that holds the bare paper, by spectrum, XYZ or Lab", default=None
    )
    paper_class: str | None = key(
        _one_of(PAPER_CLASSES), words=PAPER_CLASSES, name="class", default=None
    )
    tinted: bool = key("true where the stock itself is coloured", default=False)
    guessed: Name | bool = key(_GUESSED, default=False)
    gsm: float | None = key("weight of the stock", unit="g/m2", low=10, high=1000, default=None)
    caliper_mm: float | None = key(
        "thickness of one leaf", unit="mm", low=0.01, high=3, default=None
    )
    grain: str | None = key(
        "direction of the fibres: long or short", words=("long", "short"), default=None
    )

    @property
    def is_guess(self) -> bool:
        """Whether nobody has said yet what the paper is."""
        return is_guess(self.guessed, self.swatch, self.srgb)


@keyed
class DensityReading:
    """Density of an ink's solid through the three filters of one status; absolute or over paper."""

    red: float = key("through the red filter", low=0, high=4)
    green: float = key("through the green filter", low=0, high=4)
    blue: float = key("through the blue filter", low=0, high=4)
    status: str = key("E or T", words=("E", "T"))
    relative: bool = key("true where paper reads 0, false for absolute readings")


@keyed
class InkSpec:
    """One ink; exactly one of swatch, lab, xyz100, density, srgb and measurements is given.

    Two are no keys: `hit_of`, the ink of which it is a further hit, by its plate or by the very
    same colour that is no guess, None for the first of them; `told`, an ink of a file beside the
    book that prints the plate instead.
    """

    name: Name = key("name of the ink, as in the plates' file names")
    swatch: Name | None = key("name of a shipped ink; `inkmix inks` lists them", default=None)
    lab: Triple | None = key(f"measured solid: {_LAB}", default=None)
    xyz100: Triple | None = key(f"measured solid: {_XYZ}", name="xyz", default=None)
    density: DensityReading | None = key(
        "measured solid: densities through three filters", example=_DENSITY, default=None
    )
    srgb: HexColour | None = key('screen colour of the solid "#rrggbb"; only a hint', default=None)
    measurements: FilePath | None = key(
        "CGATS file of the solid or of a ramp of tints", default=None
    )
    guessed: Name | bool = key(_GUESSED, default=False)
    column: Name | None = key("name of the ink's column in the measurement file", default=None)
    measured_on: PaperSpec | None = key(
        "the paper that it was measured on, where that is not the book's; more error is expected",
        example='{ lab = [95, 0, -2], class = "coated" }',
        default=None,
    )
    read_from: Name | None = key("what was read: a draw-down, an earlier book", default=None)
    tone_value_increase_pct: float | None = key(
        "how much a 50 % tint gains on paper",
        unit="%",
        low=TONE_VALUE_INCREASE_PCT[0],
        high=TONE_VALUE_INCREASE_PCT[1],
        default=None,
    )
    opacity: str | float | None = key(
        "share of its own colour that the solid adds to whatever lies under it: "
        f"{', '.join(OPACITY_WORDS)}, or a number; whites reach 0.9",
        low=0,
        high=1,
        words=tuple(OPACITY_WORDS),
        default=None,
    )
    character: frozenset[str] = key(
        "fluorescent, metallic", words=("fluorescent", "metallic"), default=frozenset()
    )
    polarity: str | None = key(
        "what the plate's dark means", words=("dark is ink", "light is ink"), default=None
    )
    channel: str | int | None = key(
        "name, or number from 1, in a file of several inks", default=None
    )
    plate: Name | None = key(
        "a double hit: prints the plate of this ink once more", names_inks=True, default=None
    )
    hit_of: str | None = None
    told: Ink | None = None
    angle_deg: float | None = key(
        "angle of the screen", unit="degrees", low=0, high=180, default=None
    )
    ruling_lpi: float | None = key(
        "ruling of the screen", unit="lines per inch", low=10, high=600, default=None
    )
    press_pass: int | None = key(
        "which run through the press", name="pass", low=1, high=MAX_INKS, default=None
    )

    @property
    def is_guess(self) -> bool:
        """Whether nobody has said yet what the ink looks like."""
        return is_guess(self.guessed, self.swatch, self.srgb)


@keyed
class PressSpec:
    """The process, limits somebody gave, and the keys that the printer confirmed."""

    process: str = key(_one_of(PROCESSES), words=tuple(PROCESSES))
    ink_limit_pct: Told | None = key(
        "most total ink the sheet can carry: sum of all tone values",
        unit="%",
        low=50,
        high=800,
        default=None,
    )
    edge_growth_mm: Told | None = key(
        "how far a solid's edge grows on press", unit="mm", low=0, high=1, default=None
    )
    overprints: FilePath | None = key("CGATS file of measured mixes of these inks", default=None)
    condition: FilePath | None = key(
        "press-condition file of `inkmix calibrate`: paper, inks and mixes as this press printed "
        "them; counts more than what the book says of their colours",
        default=None,
    )
    confirmed_by_printer: frozenset[str] = key(
        "names of the keys whose values the printer confirmed", default=frozenset()
    )
    guessed: Name | bool = key(_GUESSED, default=False)

    @property
    def is_guess(self) -> bool:
        """Whether nobody has said yet by what process it is printed."""
        return "process" not in self.confirmed_by_printer and is_guess(self.guessed, self.process)


@keyed
class MeasuredMix:
    """The colour of one mix of two or more inks, as somebody saw it printed by this press on this
    paper; exactly one of lab, xyz100, density and looks_like is given.
    """

    mix_pct: Mapping[str, float] = key(
        "tone value of each ink in the plates, %; two inks at least", name="mix", names_inks=True
    )
    lab: Triple | None = key(f"measured: {_LAB}", default=None)
    xyz100: Triple | None = key(f"measured: {_XYZ}", name="xyz", default=None)
    density: DensityReading | None = key(
        "measured: densities through three filters", example=_DENSITY, default=None
    )
    looks_like: HexColour | None = key(
        '"#rrggbb" that looks like it beside bare paper; a match by eye makes nothing surer',
        default=None,
    )
    wet: bool = key("true where the ink had not dried; makes nothing surer", default=False)
    read_from: Name | None = key(
        "what was read: a proof, a wet print, an earlier book", default=None
    )


@keyed
class PlatesSpec:
    """Where the plates lie; `channels` names the ink of each channel, "" for one not used."""

    pattern: PlatePath = key("path of the plates, with {spread} and {ink}")
    ppi: float | None = key(
        "resolution, where the files do not say", unit="ppi", low=20, high=5080, default=None
    )
    absent: str = key(
        "what a missing plate means: empty or refuse", words=("empty", "refuse"), default="refuse"
    )
    channels: tuple[str, ...] = key(
        'inks in channel order for files of several inks; "" for one not used',
        most=MAX_CHANNELS,
        names_inks=True,
        default=(),
    )
    page: int | None = key("which page of each file", low=1, high=10000, default=None)


@keyed
class StripSpec:
    """Equal panels side by side; `sides` are the spreads that are sides of the strip."""

    panels: int = key("how many panels in a row", low=1, high=200)
    panel_width_mm: float = key(
        "width and height of one panel, trimmed",
        name="panel_mm",
        parts=("panel_width_mm", "panel_height_mm"),
    )
    panel_height_mm: float
    bleed_mm: float = key(
        "bleed on every edge of the plates", unit="mm", low=0, high=50, default=0.0
    )
    sides: tuple[SpreadName, ...] = key(
        "names of the spreads that are sides of the strip", most=MAX_SPREADS, default=()
    )

    @property
    def trim_mm(self) -> Pair:
        """Width and height of the trimmed strip."""
        return self.panels * self.panel_width_mm, self.panel_height_mm

    @property
    def sheet_mm(self) -> Pair:
        """Width and height with the bleed on all four edges."""
        width, height = self.trim_mm
        return width + 2 * self.bleed_mm, height + 2 * self.bleed_mm


@keyed
class TotalInkSpec:
    """How total ink is looked at."""

    min_area_mm2: float = key(
        "areas over the limit below this size count as specks",
        unit="mm2",
        low=0,
        high=10000,
        default=1.0,
    )


@keyed
class RulePart:
    """One condition of a night rule: this plate holds at least this tone value, %."""

    plate: str = key("name of an ink", names_inks=True)
    at_least_pct: float = key("least tone value", unit="%", low=0, high=100)


@keyed
class NightArea:
    """An area that must be dark; exactly one of mask, rect_mm and rule is given.

    Where nobody said what the mask shows, white is taken; without `lightest_L` there is no limit,
    and without `spreads` it is on all of them.
    """

    name: Name = key("name of the area")
    mask: SpreadPath | None = key("picture that shows the area; may hold {spread}", default=None)
    mask_shows: str | None = key(
        "which end of the mask is night: white or black", words=("white", "black"), default=None
    )
    rect_mm: Four | None = key("x, y, width, height from the trim's top left corner", default=None)
    rule: tuple[RulePart, ...] = key(
        "tone values that plates must hold, all of them", least=1, default=()
    )
    lightest_L: float | None = key(
        "lightest L* allowed there", unit="L*", low=1, high=100, default=None
    )
    share_pct: float = key(
        "share of the area that must reach it", unit="%", low=1, high=100, default=95.0
    )
    spreads: tuple[SpreadName, ...] = key(
        "only on these spreads", least=1, most=MAX_SPREADS, default=()
    )


@keyed
class NamedTone:
    """A mix the artist intends; inks that it does not name are 0 %."""

    name: Name = key("name of the tone")
    mix_pct: Mapping[str, float] = key("tone value of each ink, %", name="mix", names_inks=True)
    intended_srgb: HexColour | None = key(
        '"#rrggbb", relative to paper white', name="intended", default=None
    )
    intended_lab: Triple | None = key(f"what it should measure: {_LAB}", name="lab", default=None)
    tolerance_de00: float | None = key(
        "how far off it may be", unit="dE00", low=0.1, high=50, default=None
    )


@keyed
class ReferenceSpec:
    """A picture of the whole."""

    picture: SpreadPath = key("path of the picture; may hold {spread}")


TOTAL_INK: Section[TotalInkSpec] = Section(
    table="total_ink",
    kind=TotalInkSpec,
    about="how total ink is looked at",
    absent=TotalInkSpec(),
    override=MERGED,
)
NIGHT: Section[tuple[NightArea, ...]] = Section(
    table="night",
    kind=NightArea,
    about="one [[night]] table for each area that must be dark",
    word="night area",
    absent=(),
)
TONES: Section[tuple[NamedTone, ...]] = Section(
    table="tones",
    kind=NamedTone,
    about="one [[tones]] table for each mix that is meant to look a certain way",
    word="tone",
    absent=(),
)
REFERENCE: Section[ReferenceSpec | None] = Section(
    table="reference",
    kind=ReferenceSpec,
    about="a picture of what the whole should look like",
    absent=None,
)


@keyed
class Waiver:
    """A finding that somebody accepts, for as long as what it rests on stays the same."""

    spread: SpreadName | None = key("name of the spread; else every spread", default=None)
    check: str = key("name of the check")
    name: Name | None = key("name of the finding; else every finding of the check", default=None)
    rests_on: StateHex = key("state of what the finding rests on, as `inkmix batch` prints it")
    reason: Reason = key("why the finding is accepted")
    by: Person = key("who accepts it")


@keyed
class Override:
    """Spreads for which something else holds.

    `book` is all that holds for them, without overrides and waivers.
    """

    spreads: tuple[SpreadName, ...] = key(
        "names of the spreads that this holds for", least=1, most=MAX_SPREADS
    )
    book: "Book"


@keyed
class Book:
    """A whole book file.

    Parameters
    ----------
    path, folder : Path
        The file and its folder, resolved; every path of the book is relative to `folder`.
    inks : tuple of InkSpec
        In lay-down order.
    sections : mapping of table to what it says
        Those of checks, where they say something else than nothing; `section` reads them.
    notes : tuple of str
        What was accepted and should be said.
    """

    path: Path
    folder: Path
    title: Name = key("title of the work")
    paper: PaperSpec = key("the stock: a swatch, or a colour with its class", override=REPLACED)
    inks: tuple[InkSpec, ...] = key(
        "one [[inks]] table for each ink, in lay-down order",
        word="ink",
        least=1,
        most=MAX_INKS,
        override=REPLACED,
    )
    guessed_order: tuple[Name, ...] = key(
        "names of the inks in the lay-down order that `inkmix start` guessed; as long as the book "
        "has them in this order, the order is a guess",
        most=MAX_INKS,
        default=(),
    )
    press: PressSpec = key("what prints it, and the limits the printer gave", override=MERGED)
    measured: tuple[MeasuredMix, ...] = key(
        "one [[measured]] table for each mix whose colour somebody read from a print",
        word="measured colour",
        most=MAX_MEASURED,
        override=REPLACED,
        default=(),
    )
    plates: PlatesSpec = key("where the plates lie")
    strip: StripSpec | None = key(
        "the folded strip: equal panels side by side", override=REPLACED, default=None
    )
    sections: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    overrides: tuple[Override, ...] = key(
        "one [[override]] table for spreads that something else holds for",
        name="override",
        default=(),
    )
    waivers: tuple[Waiver, ...] = key(
        "one [[waive]] table for each finding that somebody accepts", name="waive", default=()
    )

    def section(self, section: Section[T]) -> T:
        """What the book says in a table of a check."""
        said: T = self.sections.get(section.table, section.absent)
        return said

    @property
    def min_area_mm2(self) -> float:
        """Areas over the ink limit below this size count as specks."""
        return self.section(TOTAL_INK).min_area_mm2

    @property
    def nights(self) -> tuple[NightArea, ...]:
        """Areas that must be dark."""
        return self.section(NIGHT)

    @property
    def tones(self) -> tuple[NamedTone, ...]:
        """Mixes that are meant to look a certain way."""
        return self.section(TONES)

    @property
    def reference(self) -> str | None:
        """Picture of the whole; may hold {spread}."""
        told = self.section(REFERENCE)
        return told.picture if told else None

    @property
    def ink_names(self) -> tuple[str, ...]:
        """Names of the inks in lay-down order."""
        return tuple(ink.name for ink in self.inks)

    @property
    def order_is_guess(self) -> bool:
        """Whether nobody has said yet in which order the inks are printed."""
        return len(self.inks) > 1 and self.guessed_order == self.ink_names

    @property
    def default_limit_is_guess(self) -> bool:
        """Whether the usual ink limit goes by a process, or a class of paper, that is a guess."""
        return self.press.is_guess or (self.paper.is_guess and self.paper.paper_class is None)

    @property
    def digest(self) -> str:
        """SHA-256, hex, of all that the book says, but for overrides, waivers and notes.

        Neither comments nor order of keys count, nor where the file lies.
        """
        alone = replace(self, overrides=(), waivers=())
        said = {name: getattr(alone, one.field) for name, one in keys_of(Book).items()}
        return hashlib.sha256(b"".join(pieces(said | dict(self.sections)))).hexdigest()

    def for_spread(self, name: str) -> "Book":
        """All that the book says for one spread, and nothing of others, overrides and waivers."""
        book = next((o.book for o in self.overrides if name in o.spreads), self)
        strip = book.strip
        if strip is not None:
            strip = replace(strip, sides=()) if name in (strip.sides or (name,)) else None
        held = {table: _on_spread(said, name) for table, said in book.sections.items()}
        sections = {table: said for table, said in held.items() if said not in (None, ())}
        return replace(book, strip=strip, sections=sections, overrides=(), waivers=())


def spreads_of(table: object) -> tuple[str, ...]:
    """The only spreads that a table holds for; empty: all."""
    return getattr(table, "spreads", ())


def _on_spread(said: Any, name: str) -> Any:
    """What a section says for one spread: the tables that hold for it; None or () for none."""
    tables: tuple[Any, ...] = said if isinstance(said, tuple) else (said,)
    held = (one for one in tables if name in (spreads_of(one) or (name,)))
    left = tuple(replace(one, spreads=()) if spreads_of(one) else one for one in held)
    return left if isinstance(said, tuple) else next(iter(left), None)
