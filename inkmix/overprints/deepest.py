"""The deepest darks under the ink limit: of one ink, of two and so on, neutral, warm and cold."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, permutations

import numpy as np

from inkmix.arrays import FloatArray
from inkmix.mixes import Aims, Mix, darkest_mix, darkest_mixes
from inkmix.mixes.darkest import Cast
from inkmix.press.condition import PressCondition

MOST = 5
"""More inks than five hardly deepen a dark."""

CASTS: tuple[tuple[str, Cast], ...] = (("neutral", "neutral"), ("warm", 60.0), ("cold", 260.0))
"""Names of casts and what is asked for: hues of a brown and of a blue black, degrees."""

_WORTH_L = 0.05  # L* is shown to a tenth
_COUNTS = ("", "one ink", "two inks", "three inks", "four inks", "five inks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dark:
    """A mix and what it is the darkest of."""

    name: str
    mix: Mix


def deepest_darks(condition: PressCondition, *, ink_limit_pct: float | None) -> tuple[Dark, ...]:
    """The darkest mix of one ink, of two and so on, each darker than the one before; then casts.

    Which inks go together is tried with full tones down to the limit; their mix is then searched.
    A cast whose darkest is among them already is left out.

    Parameters
    ----------
    ink_limit_pct : float or None
        Greatest total ink; None for no limit.
    """
    darks: list[Dark] = []
    for size in range(1, min(len(condition.inks), MOST) + 1):
        inks = _most_promising(condition, size, limit=ink_limit_pct)
        mix = darkest_mix(condition, ink_limit_pct=ink_limit_pct, inks=inks)
        if not darks or mix.lab[0] < darks[-1].mix.lab[0] - _WORTH_L:
            darks.append(Dark(name=_COUNTS[size], mix=mix))
    if len(condition.inks) == 1 and darks[0].mix.total_pct == 100:
        return ()  # the solid, which is there already
    return (*darks, *_with_cast(condition, darks, limit=ink_limit_pct))


def _with_cast(
    condition: PressCondition, darks: list[Dark], *, limit: float | None
) -> Iterator[Dark]:
    if len(condition.inks) == 1:
        return
    least = condition.process.min_tone_pct
    seen = [dark.mix.tone_pct for dark in darks]
    for name, cast in CASTS:
        aims = Aims(ink_limit_pct=limit, least_pct=least)
        for mix in darkest_mixes(condition, aims, cast=cast, most=1):
            if mix.tone_pct not in seen:
                seen.append(mix.tone_pct)
                yield Dark(name=name, mix=mix)


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
