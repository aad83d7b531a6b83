"""What another lay-down order would change, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneOrder:
    """One tone, or two solids over each other, that another lay-down order would change.

    Both colours are predicted without measured mixtures, which were printed in one order.
    """

    name: str
    mix_pct: Mapping[str, float]
    ink: str  # that is printed elsewhere
    to: str  # "first", "last"
    passes: tuple[str, ...]  # inks of the mix that it changes places with, in the book's order
    lab: tuple[float, float, float]  # in the book's order
    srgb8: tuple[int, int, int]
    other_lab: tuple[float, float, float]
    other_srgb8: tuple[int, int, int]
    de00: float
    verdict: str | None  # of the named tone; None for two solids
    other_verdict: str | None
    ask: bool  # whether the printer should be asked
    change: str  # what becomes of it: "lamp glow clearly redder, dE00 4"
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NightOrder:
    """One night area that another lay-down order would make lighter or darker."""

    name: str
    ink: str
    to: str
    passes: tuple[str, ...]
    value_L: float  # in the book's order, as judged
    other_L: float
    verdict: str
    other_verdict: str
    ask: bool
    change: str
    sentence: str
