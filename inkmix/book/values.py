"""What a book says, as plain frozen values: paper, inks, press, plates, strip, night, tones.

Values only: no reading, no checking, no colour. A key that the book does not give is None here,
unless its default is a plain convention; what a process assumes instead is decided elsewhere.
"""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path

from inkmix.base.canonical import pieces

FORMAT = 1
BOOK_NAME = "book.toml"
PRINTER = "printer"
USER = "user"
PROCESS_DEFAULT = "process default"

_UNSAID = ("path", "folder", "notes", "overrides", "waivers")

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A value with whose word it is: PRINTER, USER, or PROCESS_DEFAULT where nobody gave one."""

    value: float
    whose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSpec:
    """The stock: one of `swatch`, `lab`, `xyz100`, `srgb` and `measurements` is given.

    Parameters
    ----------
    lab : (L, a, b) or None
        Absolute, D50, 2 degree.
    srgb : str or None
        "#rrggbb", only a hint.
    measurements : str or None
        CGATS file that holds the bare paper, relative to the book.
    paper_class : str or None
        None only where a swatch is given, which knows its class.
    tinted : bool
        The stock itself is coloured, so an unlikely white is no mistake.
    guessed : bool
        Nobody said so yet; no verdict passes on it.
    """

    swatch: str | None = None
    lab: Triple | None = None
    xyz100: Triple | None = None
    srgb: str | None = None
    measurements: str | None = None
    paper_class: str | None = None
    tinted: bool = False
    guessed: bool = False
    gsm: float | None = None
    caliper_mm: float | None = None
    grain: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DensityReading:
    """Density of an ink's solid through the three filters of one status; absolute or over paper."""

    red: float
    green: float
    blue: float
    status: str  # "E" or "T"
    relative: bool  # True: paper reads 0


@dataclass(frozen=True, slots=True, kw_only=True)
class InkSpec:
    """One ink; exactly one of swatch, lab, xyz100, density, srgb and measurements is given.

    Parameters
    ----------
    measurements : str or None
        CGATS file, relative to the book; `column` names the ink's column in it.
    guessed : bool
        Nobody said so yet; no verdict passes on it.
    tone_value_increase_pct : float or None
        At 50 % tone value.
    opacity : str, float or None
        One of inkmix.press.solids.opacity.OPACITY_WORDS or a number, as told; None leaves what is
        known of the ink otherwise.
    polarity : str or None
        "dark is ink" or "light is ink", where the book says it.
    channel : str or int or None
        Name, or number from 1, in a file of several inks.
    plate : str or None
        Ink whose plate this one prints once more, where the book says so.
    hit_of : str or None
        An earlier ink of the book that has the very same colour; None for the first of them.
    """

    name: str
    swatch: str | None = None
    lab: Triple | None = None
    xyz100: Triple | None = None
    density: DensityReading | None = None
    srgb: str | None = None
    measurements: str | None = None
    guessed: bool = False
    column: str | None = None
    tone_value_increase_pct: float | None = None
    opacity: str | float | None = None
    character: frozenset[str] = frozenset()
    polarity: str | None = None
    channel: str | int | None = None
    plate: str | None = None
    hit_of: str | None = None
    angle_deg: float | None = None
    ruling_lpi: float | None = None
    press_pass: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PressSpec:
    """The process, limits somebody gave, and the keys that the printer confirmed."""

    process: str
    ink_limit_pct: Told | None = None
    edge_growth_mm: Told | None = None
    overprints: str | None = None  # CGATS file of extra patches, relative to the book
    confirmed_by_printer: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlatesSpec:
    """Where the plates lie; `channels` names the ink of each channel, "" for one not used."""

    pattern: str
    ppi: float | None = None
    absent: str = "refuse"  # or "empty"
    channels: tuple[str, ...] = ()
    page: int | None = None  # from 1


@dataclass(frozen=True, slots=True, kw_only=True)
class StripSpec:
    """Equal panels side by side; `sides` are the spreads that are sides of the strip."""

    panels: int
    panel_width_mm: float
    panel_height_mm: float
    bleed_mm: float = 0.0
    sides: tuple[str, ...] = ()

    @property
    def trim_mm(self) -> tuple[float, float]:
        """Width and height of the trimmed strip."""
        return self.panels * self.panel_width_mm, self.panel_height_mm

    @property
    def sheet_mm(self) -> tuple[float, float]:
        """Width and height with the bleed on all four edges."""
        width, height = self.trim_mm
        return width + 2 * self.bleed_mm, height + 2 * self.bleed_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class RulePart:
    """One condition of a night rule: this plate holds at least this tone value, %."""

    plate: str
    at_least_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NightArea:
    """An area that must be dark; exactly one of mask, rect_mm and rule is given.

    Parameters
    ----------
    mask : str or None
        Picture, relative to the book; may hold {spread}.
    mask_shows : str or None
        "white" or "black": what marks night in the mask; None: nobody said, white is taken.
    rect_mm : (x, y, width, height) or None
        From the trim's top left corner.
    rule : tuple of RulePart
        All must hold.
    lightest_L : float or None
        None: no limit given.
    share_pct : float
        Share of the area that must reach it.
    spreads : tuple of str
        Empty: all.
    """

    name: str
    mask: str | None = None
    mask_shows: str | None = None
    rect_mm: tuple[float, float, float, float] | None = None
    rule: tuple[RulePart, ...] = ()
    lightest_L: float | None = None
    share_pct: float = 95.0
    spreads: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedTone:
    """A mix the artist intends.

    Parameters
    ----------
    mix_pct : mapping of ink name to tone value
        0-100; inks not named are 0.
    intended_srgb : str or None
        "#rrggbb", relative to paper white.
    intended_lab : (L, a, b) or None
        Absolute, D50, 2 degree.
    tolerance_de00 : float or None
        None: no limit given.
    """

    name: str
    mix_pct: Mapping[str, float]
    intended_srgb: str | None = None
    intended_lab: Triple | None = None
    tolerance_de00: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """A finding that somebody accepts, for as long as what it rests on stays the same.

    Parameters
    ----------
    spread : str or None
        None: on every spread.
    check : str
        "total ink", "night" or "named tones".
    name : str or None
        Name of the finding; None: all findings of the check.
    rests_on : str
        12 hex digits: the state of what the finding rests on that was accepted.
    reason, by : str
        Why, and who says so.
    """

    spread: str | None = None
    check: str
    name: str | None = None
    rests_on: str
    reason: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """Spreads for which something else holds.

    Parameters
    ----------
    spreads : tuple of str
    book : Book
        All that holds for them, without overrides and waivers.
    """

    spreads: tuple[str, ...]
    book: "Book"


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """A whole book file.

    Parameters
    ----------
    path, folder : Path
        The file and its folder, resolved; every path of the book is relative to `folder`.
    inks : tuple of InkSpec
        In lay-down order.
    reference : str or None
        Picture of the whole; may hold {spread}.
    notes : tuple of str
        What was accepted and should be said.
    """

    path: Path
    folder: Path
    title: str
    paper: PaperSpec
    inks: tuple[InkSpec, ...]
    press: PressSpec
    plates: PlatesSpec
    strip: StripSpec | None = None
    min_area_mm2: float = 1.0
    nights: tuple[NightArea, ...] = ()
    tones: tuple[NamedTone, ...] = ()
    reference: str | None = None
    notes: tuple[str, ...] = ()
    overrides: tuple[Override, ...] = ()
    waivers: tuple[Waiver, ...] = ()

    @property
    def ink_names(self) -> tuple[str, ...]:
        """Names of the inks in lay-down order."""
        return tuple(ink.name for ink in self.inks)

    @property
    def digest(self) -> str:
        """SHA-256, hex, of all that the book says, but for overrides, waivers and notes.

        Neither comments nor order of keys count, nor where the file lies.
        """
        said = {f.name: getattr(self, f.name) for f in fields(self) if f.name not in _UNSAID}
        return hashlib.sha256(b"".join(pieces(said))).hexdigest()

    def for_spread(self, name: str) -> "Book":
        """All that the book says for one spread, and nothing of others, overrides and waivers."""
        book = next((o.book for o in self.overrides if name in o.spreads), self)
        strip = book.strip
        if strip is not None:
            strip = replace(strip, sides=()) if name in (strip.sides or (name,)) else None
        nights = (night for night in book.nights if name in (night.spreads or (name,)))
        return replace(
            book,
            strip=strip,
            nights=tuple(replace(night, spreads=()) for night in nights),
            overrides=(),
            waivers=(),
        )
