"""What another lay-down order would change, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from inkmix.base.json_document import one_of
from inkmix.checks.finding import Verdict

Moved = Annotated[str, one_of(("first", "last"))]


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
