"""The deepest darks under the ink limit: of one ink, of two and so on, neutral, warm and cold."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.mixes.darkest import Cast, darkest_mixes
from inkmix.mixes.values import Aims, Mix
from inkmix.press.condition import PressCondition

MOST = 5
"""More inks than five hardly deepen a dark."""

CASTS: tuple[tuple[str, Cast], ...] = (("neutral", "neutral"), ("warm", 60.0), ("cold", 260.0))
"""Names of casts and what is asked for: hues of a brown and of a blue black, degrees."""

GREY_CHROMA = 3.0
"""A dark of less may be called neutral; of more, warm or cold within 60 degrees of its hue."""

DARK_L = 12.0
"""Lighter than the darkest by more, it is no deep dark any more."""

_WORTH_L = 0.05  # L* is shown to a tenth
_COUNTS = ("", "one ink", "two inks", "three inks", "four inks", "five inks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dark:
    """A mix and what it is the darkest of."""

    name: str
    mix: Mix


def deepest_darks(condition: PressCondition, *, ink_limit_pct: float | None) -> tuple[Dark, ...]:
    """The darkest mix of one ink, of two and so on, each darker than the one before; then casts.

    Which inks go together is tried with full tones down to the limit; their mix is then searched
    in steps of 5 %, with no tint below the smallest dot. Casts that the inks cannot give are left
    out.

    Parameters
    ----------
    ink_limit_pct : float or None
        Greatest total ink; None for no limit.

    Raises
    ------
    UsageError
        If not even the smallest dot is within the limit.
    """
    least = condition.process.min_tone_pct
    darks: list[Dark] = []
    for size in range(1, min(len(condition.inks), MOST) + 1):
        inks = _most_promising(condition, size, limit=ink_limit_pct)
        aims = Aims(ink_limit_pct=ink_limit_pct, least_pct=least, inks=inks)
        mix = darkest_mixes(condition, aims, most=1)[0]
        if not darks or mix.lab[0] < darks[-1].mix.lab[0] - _WORTH_L:
            darks.append(Dark(name=_COUNTS[size], mix=mix))
    if len(condition.inks) == 1:  # the solid is there already
        return tuple(dark for dark in darks if dark.mix.total_pct < 100)
    aims = Aims(ink_limit_pct=ink_limit_pct, least_pct=least)
    return (*darks, *_with_cast(condition, darks, aims))


def _with_cast(condition: PressCondition, darks: list[Dark], aims: Aims) -> Iterator[Dark]:
    """The darkest of each cast, where it is as it is called and new."""
    seen = [dark.mix.tone_pct for dark in darks]
    deepest_L = darks[-1].mix.lab[0]
    for name, cast in CASTS:
        mix = darkest_mixes(condition, aims, cast=cast, most=1)[0]
        is_dark = mix.lab[0] <= deepest_L + DARK_L
        if is_dark and _has(cast, mix) and mix.tone_pct not in seen:
            seen.append(mix.tone_pct)
            yield Dark(name=name, mix=mix)


def _has(cast: Cast, mix: Mix) -> bool:
    """Whether a mix has the cast that was asked for; not every palette can."""
    _, a, b = mix.lab
    chroma = math.hypot(a, b)
    if not isinstance(cast, float):
        return chroma <= GREY_CHROMA
    hue = math.radians(cast)
    return chroma > GREY_CHROMA and a * math.cos(hue) + b * math.sin(hue) >= 0.5 * chroma


def _most_promising(
    condition: PressCondition, size: int, *, limit: float | None
) -> tuple[str, ...]:
    """Names of the inks whose corner mixes reach the least L*."""
    names = [ink.name for ink in condition.inks]
    corners = list(_corners(len(names), size, limit=limit))
    lightness = condition.lab(np.array([tone for _, tone in corners]))[:, 0]
    chosen = corners[int(lightness.argmin())][0]
    return tuple(names[k] for k in chosen)


def _corners(
    inks: int, size: int, *, limit: float | None
) -> Iterator[tuple[tuple[int, ...], FloatArray]]:
    """Each set of inks with full tones, first one then the next, until the limit is used up."""
    full = 100.0 * size if limit is None else min(limit, 100.0 * size)
    amounts = np.clip(full - 100.0 * np.arange(size), 0, 100)
    for chosen in combinations(range(inks), size):
        for order in permutations(chosen):
            tone = np.zeros(inks)
            tone[list(order)] = amounts
            yield chosen, tone
