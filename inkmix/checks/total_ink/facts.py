"""What was counted of total ink, as plain values."""

from dataclasses import dataclass

TOTAL_INK = "total ink"


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
