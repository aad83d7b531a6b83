"""What each check counted or predicted, as plain values beside its findings.

No computing here; everything can be written to JSON as it is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from inkmix.base.json_document import one_of
from inkmix.checks.finding import Verdict

Moved = Annotated[str, one_of(("first", "last"))]


@dataclass(frozen=True, slots=True, kw_only=True)
class TotalInkFacts:
    """Counts of the total ink check."""

    verdict: Verdict
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
    verdict: Verdict
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
    verdict: Verdict
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
class ReferencePixels:
    """Comparison pixel by pixel with a reference picture of the plates' size."""

    ppi: float
    mean_de00: float
    p95_de00: float
    max_de00: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceFacts:
    """Comparison with a reference picture of the whole, at the size of the map."""

    file: str
    mean_de00: float
    p95_de00: float
    max_de00: float
    map_ppi: float
    picture: str
    pixels: ReferencePixels | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneOrder:
    """One tone, or two solids over each other, that another lay-down order would change.

    Both colours are predicted without measured mixtures, which were printed in one order.
    """

    name: str
    mix_pct: Mapping[str, float]
    ink: str  # that is printed elsewhere
    to: Moved
    passes: tuple[str, ...]  # inks of the mix that it changes places with, in the book's order
    lab: tuple[float, float, float]  # in the book's order
    srgb8: tuple[int, int, int]
    other_lab: tuple[float, float, float]
    other_srgb8: tuple[int, int, int]
    de00: float
    verdict: Verdict | None  # of the named tone; None for two solids
    other_verdict: Verdict | None
    ask: bool  # whether the printer should be asked
    change: str  # what becomes of it: "lamp glow clearly redder, dE00 4"
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NightOrder:
    """One night area that another lay-down order would make lighter or darker."""

    name: str
    ink: str
    to: Moved
    passes: tuple[str, ...]
    value_L: float  # in the book's order, as judged
    other_L: float
    verdict: Verdict
    other_verdict: Verdict
    ask: bool
    change: str
    sentence: str
