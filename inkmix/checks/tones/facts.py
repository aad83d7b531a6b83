"""What was meant by a named tone and what will print, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass

from inkmix.checks.finding import Verdict

NAMED_TONES = "named tones"

SAME_DE00 = 1.0
"""What can just be seen side by side (common practice, no one source)."""

HARD_TO_TELL_DE00 = 3.0
"""Fields side by side differ noticeably from about 2 to 3 (common practice, no one source)."""


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
