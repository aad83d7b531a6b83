"""What was counted of total ink, as plain values."""

from dataclasses import dataclass

from inkmix.checks.finding import Verdict

TOTAL_INK = "total ink"
BAND_PCT = 10  # width of a bar of the histogram


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
