"""What is wished of a palette, what a palette can do, and what was chosen: plain values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from inkmix.mixes.values import Mix
from inkmix.press.inks import Ink, Paper
from inkmix.press.processes import Process

Lab = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class WishedTone:
    """A colour that the palette should give.

    Parameters
    ----------
    name : str
    lab : (L, a, b)
        D50, 2 degree, absolute.
    weight : float
        How much it counts, above 0: its share of the picture, or 1 for each.
    """

    name: str
    lab: Lab
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wish:
    """Which inks to choose from, and what for.

    Parameters
    ----------
    k : int
        Inks to choose, 1-6, beside the fixed ones.
    candidates : tuple of Ink
        At most 200, the fixed ones among them.
    paper : Paper
    process : Process
    ink_limit_pct : float or None
        Most total ink; None for no limit.
    fixed, excluded : tuple of str
        Names of candidates that must be there, and that must not.
    ordered : tuple of str
        Names of candidates whose lay-down order is told, first printed first; the others take the
        places that are proposed for them.
    tones : tuple of WishedTone
    weights : mapping of str to float
        By measure (`measures.MEASURES`), 0 or more; what is missing has its usual weight.
    """

    k: int
    candidates: tuple[Ink, ...]
    paper: Paper
    process: Process
    ink_limit_pct: float | None
    fixed: tuple[str, ...] = ()
    excluded: tuple[str, ...] = ()
    ordered: tuple[str, ...] = ()
    tones: tuple[WishedTone, ...] = ()
    weights: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A palette and its figures, all from the press condition of its own inks.

    Parameters
    ----------
    inks : tuple of str
        In lay-down order.
    figures : mapping of str to float
        By measure; those of tones are missing where none are wished.
    points : mapping of str to float
        What each measure costs: weight times figure in its points, less is better. Only differences
        between palettes mean anything.
    total_points : float
        Their sum.
    per_tone : tuple of Mix
        The nearest to each tone, in the order of the wish; whole percents.
    darkest : Mix
    """

    inks: tuple[str, ...]
    figures: Mapping[str, float]
    points: Mapping[str, float]
    total_points: float
    per_tone: tuple[Mix, ...]
    darkest: Mix


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """The best compromises.

    Parameters
    ----------
    front : tuple of Measured
        Palettes that no other one beats in every measure, thinned; the best total first.
    ranked : tuple of Measured
        All that were measured in full, by their totals.
    near_ties : tuple of tuple of str
        Inks of the palettes whose total is as good as that of the first of `ranked`, it included.
    searched : int
        Palettes whose tones and darkest mix were reckoned.
    exact : bool
        Whether that was done for every palette that can be chosen.
    words : tuple of str
        What has to be said beside the figures.
    """

    front: tuple[Measured, ...]
    ranked: tuple[Measured, ...]
    near_ties: tuple[tuple[str, ...], ...]
    searched: int
    exact: bool
    words: tuple[str, ...]
