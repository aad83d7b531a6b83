"""What the page shows, in its order: palettes with their figures, tones beside each other.

Choosing and ordering only; sentences are in reasons.py and words.py, layout in the templates.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_triple8
from inkmix.jobs.palettes.facts import InPalette, Names, PaletteFacts
from inkmix.mixes.palettes.measures import MEASURES
from inkmix.mixes.palettes.values import Lab, Measured
from inkmix.mixes.values import Found, Mix
from inkmix.pages.palettes.reasons import reasons

NOW = "now"
Triple8 = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One palette of the page.

    Parameters
    ----------
    mark : str
        Its number on the page, or NOW for the present inks.
    measured : Measured
    is_present, is_tie : bool
        Whether these are the book's own inks, and as good as the first of all.
    new : tuple of str
        Inks that the book does not have.
    reasons : tuple of str
    behind : float
        Points behind the first.
    best : frozenset of str
        Measures in which it is the best shown, alone or not.
    plates : InPalette or None
    """

    mark: str
    measured: Measured
    is_present: bool
    is_tie: bool
    new: Names
    reasons: tuple[str, ...]
    behind: float
    best: frozenset[str]
    plates: InPalette | None

    @property
    def inks(self) -> Names:
        """Names in lay-down order."""
        return self.measured.inks

    @property
    def moves(self) -> tuple[tuple[str, str], ...]:
        """Plates and the inks that print them, where that is not the ink of that name."""
        if self.plates is None:
            return ()
        assigned = self.plates.assigned
        pairs = zip(assigned.plates, assigned.best.inks, strict=True)
        return tuple((plate, ink) for plate, ink in pairs if plate != ink)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneRow:
    """A wished tone beside what every palette shown gives.

    Parameters
    ----------
    name, told : str
        And the screen colour that was told, if it was one.
    share_pct : float
        Of all weights.
    wished : (R, G, B)
    given : tuple of (Mix, (R, G, B))
        By palette, in the order of the page; fewest inks where mixes come equally near.
    """

    name: str
    told: str
    share_pct: float
    wished: Triple8
    given: tuple[tuple[Mix, Triple8], ...]


def shown(facts: PaletteFacts) -> tuple[Shown, ...]:
    """The palettes of the page: the present inks first where they are not among the best."""
    own = None if facts.present is None else facts.present.inks
    rows = list(facts.choice.front)
    marks = [str(number) for number in range(1, len(rows) + 1)]
    if facts.present is not None and own not in [one.inks for one in rows]:
        rows, marks = [facts.present, *rows], [NOW, *marks]
    return tuple(_shown(facts, rows, place, mark) for place, mark in enumerate(marks))


def _shown(facts: PaletteFacts, rows: list[Measured], place: int, mark: str) -> Shown:
    one = rows[place]
    own = set() if facts.present is None else set(facts.present.inks)
    return Shown(
        mark=mark,
        measured=one,
        is_present=facts.present is not None and one.inks == facts.present.inks,
        is_tie=len(facts.choice.near_ties) > 1 and one.inks in facts.choice.near_ties,
        new=tuple(name for name in one.inks if own and name not in own),
        reasons=reasons(
            one,
            beside=rows,
            tones=_by_weight(facts, one),
            condition=facts.conditions[one.inks],
            ink_limit_pct=facts.wish.ink_limit_pct,
        ),
        behind=one.total_points - facts.choice.ranked[0].total_points,
        best=frozenset(_best_in(one, rows)),
        plates=None if facts.plates is None else facts.plates.of.get(one.inks),
    )


def _by_weight(facts: PaletteFacts, one: Measured) -> list[tuple[str, Found]]:
    """Wished tones, the weightiest first, and how a palette gives them."""
    pairs = zip(facts.wish.tones, facts.mixes.get(one.inks, ()), strict=True)
    ordered = sorted(pairs, key=lambda pair: -pair[0].weight)
    return [(tone.name, found) for tone, found in ordered]


def _best_in(one: Measured, rows: list[Measured]) -> Iterator[str]:
    """Measures in which no palette shown is better."""
    for name, figure in one.figures.items():
        sign = MEASURES[name].sign
        if len(rows) > 1 and all(sign * figure <= sign * other.figures[name] for other in rows):
            yield name


def tone_rows(facts: PaletteFacts, palettes: tuple[Shown, ...]) -> tuple[ToneRow, ...]:
    """The wished tones in their order."""
    total = sum(tone.weight for tone in facts.wish.tones)
    return tuple(
        ToneRow(
            name=tone.name,
            told=facts.screen.get(tone.name, ""),
            share_pct=100 * tone.weight / total,
            wished=srgb8_of(tone.lab),
            given=tuple(_given(facts.mixes[one.inks][place].mixes[0]) for one in palettes),
        )
        for place, tone in enumerate(facts.wish.tones)
    )


def _given(mix: Mix) -> tuple[Mix, Triple8]:
    return mix, srgb8_of(mix.lab)


def srgb8_of(lab: Lab) -> Triple8:
    """The nearest colour of a screen."""
    return xyz100_to_triple8(lab_to_xyz100(lab))
