"""Charts of a check as values; how they are drawn is a matter of pages."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """What lies along the bottom of a histogram."""

    start: float
    stop: float
    tick: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A value marked across the bars, with its words; `error` draws a span about it."""

    value: float
    words: str
    error: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Histogram:
    """Bars of (value from, share in %), each `step` wide; those beyond the limit stand out."""

    bars: tuple[tuple[float, float], ...]
    step: float
    axis: Axis
    limit: Line | None = None
    reached: Line | None = None
