"""The whole answer about one spread, as plain values: what the report and report.json are made of.

No computing here and no layout. Pictures travel as bytes beside the values, under their key.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any

from inkmix.base.json_document import between, holding, one_of
from inkmix.checks.check import Answer
from inkmix.checks.finding import Finding, Verdict
from inkmix.checks.guesses import Guess
from inkmix.checks.orders.facts import NightOrder, ToneOrder
from inkmix.checks.reference.facts import ReferenceFacts
from inkmix.press.values import CHARACTERS, KNOWN, LEVELS, MAX_INKS, ProcessInk
from inkmix.sheet.geometry import Panel, Place

Share = Annotated[float, between(0, 1)]

IN_BOOK = "told in the book"
#: Whose word an opacity is; "told" is told where the ink's colour was.
OPACITY_FROM = (
    IN_BOOK,
    "told",
    "measured over black",
    "learnt from measured overprints",
    "usual",
    "guessed by its name",
    "guessed by its hue",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class InkFacts:
    """One ink as the press condition knows it, with its plate in this spread."""

    name: str
    known: Annotated[str, one_of(KNOWN)]
    source: str
    opacity: Share  # as it was used: share of its own colour added to what lies under it
    opacity_from: Annotated[str, one_of(OPACITY_FROM)]  # whose word that is
    character: tuple[Annotated[str, one_of(sorted(CHARACTERS))], ...]  # outside the evidence
    solid_lab: tuple[float, float, float]
    solid_srgb8: tuple[int, int, int]
    file: str | None  # relative to the book; None where the plate is absent
    digest: str | None
    width_px: int
    height_px: int
    bits: int
    ppi: float
    screened: bool
    mean_tone_pct: float
    mean_coverage_pct: float
    max_tone_pct: float
    inked_area_pct: float  # share of the sheet with any tone of this ink
    profile: str | None
    notes: tuple[str, ...]
    picture: str | None = None  # the plate in its ink


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionFacts:
    """The press condition and how well it is known."""

    paper: str
    paper_class: str
    paper_lab: tuple[float, float, float]
    paper_srgb8: tuple[int, int, int]
    paper_source: str
    process: str
    level: Annotated[str, one_of(LEVELS)]  # the weakest of what is known of the inks
    error_de00: float  # 95 % expected error of a typical mix of two or more inks on this sheet
    error_L: float
    process_inks: tuple[ProcessInk, ...]  # taken as such by their colours
    spots: tuple[str, ...]  # all other inks
    cautions: tuple[str, ...]  # sentences on what the evidence is thin for
    hints: tuple[str, ...]
    unproven: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetFacts:
    """Size of the sheet in pixels and millimetres, and its panels."""

    width_px: int
    height_px: int
    ppi: float
    width_mm: float  # trimmed
    height_mm: float
    bleed_mm: float
    panels: tuple[Panel, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenValue:
    """A value that somebody should confirm: what `ask your printer` lists."""

    what: str
    value: str
    whose: str  # "process default", "measured", "guessed", "user"
    why: str  # what hangs on it


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """The same pixels without and with a correction, as they print; pictures by their keys.

    Parameters
    ----------
    lost : Place or None
        A light that turns dark, where the crop was chosen for one.
    lost_tone : str or None
        The named tone that it is drawn in.
    factor : int
        Pixels of the plates along one of the pictures: 1 but where a light is larger than a crop.
    """

    before: str
    after: str
    place: Place
    lost: Place | None = None
    lost_tone: str | None = None
    factor: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramps:
    """Tones of a plate, what a curve makes of them, and both as they print alone."""

    plate: str
    before_pct: tuple[float, ...]
    after_pct: tuple[float, ...]
    before_srgb8: tuple[tuple[int, int, int], ...]
    after_srgb8: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangePicture:
    """A map of dE00 by the key of its picture: white is no change, black the most.

    Without a picture where the change is nearly the most all over: a map would be one black field.
    """

    picture: str | None
    most_de00: float
    place: Place


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownRemedy:
    """A correction before and after, for the findings (check, name) that it settles."""

    findings: tuple[tuple[str, str], ...]
    crops: tuple[BeforeAfter, ...]
    ramps: tuple[Ramps, ...] = ()
    change: ChangePicture | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadResult:
    """Everything known about one checked spread.

    `answers` holds one for each check of the table, in its order. Pictures are PNG or JPEG bytes by
    key: "screen" and "print" (the pair, same size), "plan", and those that facts and findings name.
    """

    title: str
    spread: str
    verdict: Verdict
    sentence: str
    condition: ConditionFacts
    sheet: SheetFacts
    inks: Annotated[tuple[InkFacts, ...], holding(1, MAX_INKS)]
    answers: tuple[Answer, ...]
    findings: tuple[Finding, ...]
    out_of_srgb_pct: float
    screen_difference: str  # one sentence: how far the print is from what a screen shows
    reference: ReferenceFacts | None = None
    tone_orders: tuple[ToneOrder, ...] = ()  # what another lay-down order would change
    orders_of_tones: bool = True  # these are named tones, not solids of every two inks
    night_orders: tuple[NightOrder, ...] = ()
    guesses: tuple[Guess, ...] = ()  # what nobody told yet
    ask_printer: tuple[OpenValue, ...] = ()
    not_checked: tuple[str, ...] = ()
    method: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)
    remedies_shown: tuple[ShownRemedy, ...] = ()
    pictures: Mapping[str, bytes] = field(default_factory=dict, repr=False)

    @property
    def facts(self) -> Mapping[str, Any]:
        """The figures of all checks, by their names in report.json."""
        return {name: said for answer in self.answers for name, said in answer.facts.items()}
