"""The whole answer about one spread, as plain values: what the report and report.json are made of.

No computing here and no layout. Pictures travel as bytes beside the values, under their key.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from inkmix.checks.finding import Finding
from inkmix.sheet import Panel


@dataclass(frozen=True, slots=True, kw_only=True)
class InkFacts:
    """One ink as the press condition knows it, with its plate in this spread."""

    name: str
    known: str  # "screen colour", "density", "solid", "ramp"
    source: str
    opacity: float
    character: tuple[str, ...]  # "fluorescent", "metallic"
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
    level: str  # "screen colour", "density", "solids", "ramps", "overprints"
    error_de00: float  # 95 % expected error of a typical mix of two or more inks on this sheet
    error_L: float
    estimate: bool
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
class TotalInkFacts:
    """Counts of the total ink check."""

    verdict: str
    limit_pct: float | None
    whose: str
    max_pct: float
    over_area_mm2: float
    over_area_pct: float
    areas: int  # connected areas of at least min_area_mm2
    specks: int  # smaller ones
    min_area_mm2: float
    histogram: tuple[tuple[float, float], ...]  # (total ink from, % of sheet), 10 % wide
    picture: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NightFacts:
    """One night area: what it must reach and what it reaches."""

    name: str
    verdict: str
    mask: str  # how the area is given, in words
    area_mm2: float
    lightest_L: float | None
    share_pct: float  # of the area that must reach it
    reached_pct: float | None
    value_L: float | None  # the L* that `share_pct` of the area reaches
    value_density: float | None  # the same as visual density above paper
    error_L: float | None
    median_L: float | None
    darkest_L: float | None
    histogram: tuple[tuple[float, float], ...] = ()  # (L* from, % of area), 1 wide


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneFacts:
    """One named tone: the mix, what was meant, what will print."""

    name: str
    verdict: str
    mix_pct: Mapping[str, float]
    intended: str  # as given: "#3a2c4d relative to paper white" or "Lab 30 2 -20"
    intended_lab: tuple[float, float, float] | None
    intended_srgb8: tuple[int, int, int] | None
    predicted_lab: tuple[float, float, float]
    predicted_srgb8: tuple[int, int, int]
    out_of_srgb: bool
    total_ink_pct: float
    de00: float | None
    tolerance_de00: float | None
    error_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TonePair:
    """Two named tones that will be hard to tell apart."""

    first: str
    second: str
    intended_de00: float | None
    predicted_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceFacts:
    """Comparison with a reference picture of the whole, at overview size."""

    file: str
    mean_de00: float
    p95_de00: float
    max_de00: float
    map_ppi: float
    picture: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenValue:
    """A value that somebody should confirm: what `ask your printer` lists."""

    what: str
    value: str
    whose: str  # "process default", "measured", "guessed", "user"
    why: str  # what hangs on it


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadResult:
    """Everything known about one checked spread.

    Pictures are PNG or JPEG bytes by key: "screen" and "print" (the pair, same size), "plan", and
    those that facts and findings name.
    """

    title: str
    spread: str
    verdict: str
    sentence: str
    condition: ConditionFacts
    sheet: SheetFacts
    inks: tuple[InkFacts, ...]
    total_ink: TotalInkFacts
    nights: tuple[NightFacts, ...]
    tones: tuple[ToneFacts, ...]
    pairs: tuple[TonePair, ...]
    findings: tuple[Finding, ...]
    out_of_srgb_pct: float
    screen_difference: str  # one sentence: how layers multiplied on screen differ from the print
    reference: ReferenceFacts | None = None
    ask_printer: tuple[OpenValue, ...] = ()
    not_checked: tuple[str, ...] = ()
    method: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    digests: Mapping[str, str] = field(default_factory=dict)
    pictures: Mapping[str, bytes] = field(default_factory=dict, repr=False)
