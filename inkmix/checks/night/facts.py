"""What a night area must reach and what it reaches, as plain values."""

from dataclasses import dataclass

from inkmix.checks.finding import Verdict

NIGHT = "night"


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
