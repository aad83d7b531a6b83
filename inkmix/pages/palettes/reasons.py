"""Why a palette is on the page: sentences made from its figures and those of its neighbours.

Only what the figures say; no taste. Everything in Lab is the prediction, so no sentence promises.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import difference, inks, lightness, listing, opening
from inkmix.mixes.palettes.front import TIE_POINTS
from inkmix.mixes.palettes.values import Measured
from inkmix.mixes.values import Found, Mix
from inkmix.press.condition import PressCondition

NEAR_DE00 = 3.0
"""A tone that is given within so much: a difference that is noticed side by side only."""

FAR_DE00 = 5.0
"""One that is missed by more looks like another colour."""

BEST_AT = {
    "tones_de00": "comes nearest to the tones",
    "tones_worst_de00": "misses no tone by much",
    "darkest_L": "goes darkest",
    "darkest_chroma": "has the most neutral dark",
    "solids_chroma": "has the brightest inks",
    "grey_steps": "reads best in grey",
    "different_mixes": "gives the most clearly different mixes",
    "error_de00": "is the surest to print as shown",
}


def reasons(
    palette: Measured,
    *,
    beside: Sequence[Measured],
    tones: Sequence[tuple[str, Found]],
    condition: PressCondition,
    ink_limit_pct: float | None,
) -> tuple[str, ...]:
    """Sentences on one palette, among those that stand beside it.

    Parameters
    ----------
    beside : sequence of Measured
        All palettes shown, this one included.
    tones : sequence of (str, Found)
        The names of the wished tones, the most important first, and how this palette gives them.
    condition : PressCondition
        Of this palette.
    """
    return (
        *_best_at(palette, beside),
        *_tones_given(tones),
        *_tones_missed(tones),
        _darkness(palette.darkest, condition, ink_limit_pct),
    )


def _best_at(palette: Measured, beside: Sequence[Measured]) -> Iterator[str]:
    """What no other palette of the page does nearly as well."""
    others = [other for other in beside if other is not palette]
    best = [
        words
        for name, words in BEST_AT.items()
        if palette.points.get(name)
        and others
        and palette.points[name] + TIE_POINTS <= min(other.points[name] for other in others)
    ]
    if best:
        yield f"Of those shown it {listing(best)}."


def _tones_given(tones: Sequence[tuple[str, Found]]) -> Iterator[str]:
    """The tones that two or three inks give, by these inks; those of the first two tones."""
    given: dict[tuple[str, ...], list[tuple[str, float]]] = {}
    for name, found in tones:
        mix = sparest(found)
        if mix is not None and mix.de00 is not None:
            given.setdefault(mix.inks, []).append((name, mix.de00))
    for used, named in list(given.items())[:2]:
        names = listing([the(name) for name, _ in named])
        most = max(de00 for _, de00 in named)
        gives = "give" if len(used) > 1 else "gives"
        yield f"{inks(used)} {gives} {names} within {difference(_rounded_up(most))}."


def sparest(found: Found) -> Mix | None:
    """The mix of fewest inks that gives a tone, the nearest of these; None where none does."""
    near = [mix for mix in found.mixes if mix.inks and (mix.de00 or 0.0) <= NEAR_DE00]
    return min(near, key=lambda mix: (len(mix.inks), mix.de00), default=None)


def _tones_missed(tones: Sequence[tuple[str, Found]]) -> Iterator[str]:
    """The tone that is missed most, if it is missed by much."""
    nearest = [(name, found.mixes[0]) for name, found in tones]
    missed = [(name, mix) for name, mix in nearest if (mix.de00 or 0.0) > FAR_DE00]
    if not missed:
        return
    name, worst = max(missed, key=lambda item: item[1].de00 or 0.0)
    others = len(missed) - 1
    more = (
        f", and {others} more {'is' if others == 1 else 'are'} off by over {difference(FAR_DE00)}"
    )
    sentence = f"{the(name)} is missed by {difference(worst.de00)}{more if others else ''}"
    yield f"{opening(sentence)}; {mixed(worst)} comes nearest."


def _darkness(dark: Mix, condition: PressCondition, ink_limit_pct: float | None) -> str:
    """How dark it goes, and how much of that two inks do alone."""
    L = lightness(dark.lab[0])
    pair = darkest_pair(condition, ink_limit_pct=ink_limit_pct)
    if pair is None:
        return f"Alone it goes down to {L}."
    goes = f"{mixed(dark)} {'go' if len(dark.inks) > 1 else 'goes'} down to {L}"
    if len(dark.inks) <= 2:
        return f"{goes}; more inks bring it no further."
    return f"{goes}; no pair here goes below {lightness(pair)} (measured overprints left out)."


def darkest_pair(condition: PressCondition, *, ink_limit_pct: float | None) -> float | None:
    """L* of the darkest mix of two inks under the limit, each as full as it allows; None of one."""
    count = len(condition.inks)
    if count < 2:
        return None
    most = 200.0 if ink_limit_pct is None else min(ink_limit_pct, 200.0)
    mixes = []
    for pair in combinations(range(count), 2):
        for full in pair:
            tones = np.zeros(count)
            tones[list(pair)] = most - 100
            tones[full] = 100
            mixes.append(tones)
    L: FloatArray = condition.lab(np.array(mixes))[:, 0]
    return float(L.min())


def mixed(mix: Mix) -> str:
    """The inks of a mix.

    >>> mixed(Mix(tone_pct={"Rowan": 60, "Fjord": 80, "Fog": 0}, lab=(40, 0, 0), de00=1,
    ...           total_pct=140))
    'Rowan + Fjord'
    """
    return inks(mix.inks)


def the(name: str) -> str:
    """A tone with its article; a colour that is told by figures has none.

    >>> the("lamp glow"), the("#ff9d45")
    ('the lamp glow', '#ff9d45')
    """
    return f"the {name}" if name[:1].isalpha() and not name.startswith(("rgb", "Lab")) else name


def _rounded_up(value: float) -> float:
    """To a tenth, so that what is said to be within it is."""
    return float(np.ceil(round(value * 10, 6)) / 10)
