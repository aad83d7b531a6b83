"""Sentences of the page and of the terminal about the choice as a whole."""

from collections.abc import Iterator

from inkmix.base.words import (
    HUES,
    count,
    difference,
    fixed,
    in_words,
    listing,
    number,
    opening,
    whole,
)
from inkmix.checks.wording import allowed_ink
from inkmix.jobs.palettes.facts import PaletteFacts
from inkmix.mixes.palettes.measures import MEASURES
from inkmix.pages.palettes.view import NOW, Shown, called, hues_of, opened
from inkmix.pages.report.phrases import KNOWN
from inkmix.press.values import LEVELS

SHORT = {
    "tones_de00": "tones, mean",
    "tones_worst_de00": "tone missed most",
    "darkest_L": "darkest mix",
    "darkest_chroma": "its cast",
    "solids_chroma": "brightness of inks",
    "grey_steps": "steps of grey",
    "different_mixes": "different mixes",
    "gamut_volume": "gamut in Lab",
    "error_de00": "may be off by",
}
"""Names of measures that fit a card."""

_DIGITS = {"grey_steps": 1, "different_mixes": 0, "gamut_volume": 0, "solids_chroma": 0}
_BEFORE = ("dE00", "L*", "C*")

CAUTIONS = (
    "A screen is not a proof. Before a palette is settled, let the printer pull the mixes that "
    "matter on the real paper, measure them, and tell inkmix.",
    "Ask the printer whether these inks can be had and mixed, in which order the press lays them "
    "down, and what total ink the paper takes. For handling, light fastness, and what may come "
    "near food or small children, the ink maker’s safety data and local rules hold, not this page.",
)
INVENTED = (
    "These inks are invented: computed, never printed or measured. The page shows how to choose, "
    "not what to buy."
)
ORDER = (
    "In every palette the darkest solid is printed first, as in the sets that come with inkmix, "
    "and of equally light inks those that hide what lies under them come first."
)


def headline(facts: PaletteFacts) -> str:
    """The page in one sentence."""
    first = listing([called(facts, name) for name in facts.choice.ranked[0].inks])
    others = len(facts.choice.near_ties) - 1
    if facts.choice.searched == 1:
        return f"{first}: the only palette there is to choose"
    best = f"{first}: the best compromise"
    if others > 0:
        more = "one more is" if others == 1 else f"{whole(others)} more are"
        return f"{best}, and {more} as good"
    return f"{best} of {whole(facts.choice.searched)} palettes"


def lede(facts: PaletteFacts, palettes: tuple[Shown, ...]) -> tuple[str, ...]:
    """What was asked, and how to read the answer."""
    wish = facts.wish
    fixed = f" beside {listing(wish.fixed)}" if wish.fixed else ""
    asked = (
        f"{opening(in_words(wish.k, 'ink'))}{fixed}, out of {count(_free(facts), 'candidate')} "
        f"({facts.candidates_from}), on {wish.paper.name}, {wish.process.name}; "
        f"{_allowed(facts)}."
    )
    front = sum(one.mark != NOW for one in palettes)
    folded = len(palettes) - len(opened(palettes))
    more = f", {in_words(folded)} of them folded" if folded else ""
    shows = (
        f"{opening(in_words(front, 'palette'))} {'is' if front == 1 else 'are'} shown{more}: no "
        "other beats one of them in everything at once. Which compromise to take is up to you."
    )
    return (asked, f"Tones: {facts.tones_from}.", shows if front > 1 else "")


def near_ties(facts: PaletteFacts, palettes: tuple[Shown, ...]) -> str:
    """Palettes as good as the first that the page does not show."""
    seen = {one.inks for one in palettes}
    hidden = [inks for inks in facts.choice.near_ties if inks not in seen]
    if not hidden:
        return ""
    listed = "; ".join(listing([called(facts, ink) for ink in inks]) for inks in hidden[:5])
    more = f"; and {len(hidden) - 5} more" if len(hidden) > 5 else ""
    return f"As good as the first, and so like it that only their names are given: {listed}{more}."


def method(facts: PaletteFacts) -> tuple[str, ...]:
    """How it was searched and how sure it is."""
    return (
        searched(facts), ORDER, *facts.choice.words, *facts.candidates_notes, how_sure(facts),
        *_doubts(facts),
    )  # fmt: skip


def searched(facts: PaletteFacts) -> str:
    """What was computed for how many palettes."""
    choice = facts.choice
    measured = len(choice.ranked)
    if not choice.exact:
        how = f"{whole(choice.searched)} palettes were tried, not all that there are"
    else:
        how = f"All {whole(choice.searched)} palettes were tried"
    if choice.searched == 1:
        how = "There is one palette"
    if measured >= choice.searched:
        return f"{how}, and every figure was computed for each."
    return (
        f"{how} for tones, darkest mix, brightness and steps of grey; clearly different mixes and "
        f"expected errors, and all figures exactly, only for the best {measured}."
    )


def how_sure(facts: PaletteFacts) -> str:
    """What the predictions rest on."""
    level = min((one.level for one in facts.conditions.values()), key=LEVELS.index)
    errors = [one.figures["error_de00"] for one in facts.choice.front]
    low, high = difference(min(errors)), number(max(errors))
    off = low if low == difference(max(errors)) else f"{low} to {high}"
    return (
        f"{KNOWN[level]} Measured overprints are left out, as most palettes have none. "
        f"The tones and darks shown are expected within {off} of the print on average, 95 times "
        "in 100; palettes that differ by less cannot be told apart."
    )


def _doubts(facts: PaletteFacts) -> Iterator[str]:
    """Reasons to trust some palettes less than their figures say."""
    conditions = facts.conditions.values()
    if hints := sorted({name for one in conditions for name in one.hints}):
        yield f"A hint only, known by a screen colour: {', '.join(hints)}."
    if reasons := dict.fromkeys(reason for one in conditions for reason in one.doubts):
        yield f"Unproven: {'; '.join(reasons)}."


def figure(name: str, value: float) -> str:
    """A figure in its unit.

    >>> figure("darkest_L", 24.31), figure("grey_steps", 3.26)
    ('L* 24.3', '3.3')
    """
    unit = MEASURES[name].unit
    text = fixed(value, _DIGITS.get(name, 1))
    return f"{unit} {text}" if unit in _BEFORE else text


def moves(pairs: tuple[tuple[str, str], ...]) -> str:
    """Which plates are printed in another ink than their own.

    >>> moves((("Rowan", "Flare"), ("Brass", "Rowan")))
    'Flare prints the plate of Rowan, Rowan that of Brass.'
    """
    (first, ink), *more = pairs
    rest = [f"{other} that of {plate}" for plate, other in more]
    return f"{', '.join([f'{ink} prints the plate of {first}', *rest])}."


def points(value: float) -> str:
    """A difference of points, as behind the first."""
    return f"{'+' if value >= 0.05 else ''}{fixed(value)}"


def cautions(facts: PaletteFacts, palettes: tuple[Shown, ...]) -> tuple[str, ...]:
    """What must be read before anything is bought."""
    invented = INVENTED if facts.invented else ""
    return tuple(filter(None, (invented, HUES if hues_of(facts, palettes) else "")))


def _free(facts: PaletteFacts) -> int:
    wish = facts.wish
    return sum(i.name not in (*wish.fixed, *wish.excluded) for i in wish.candidates)


def _allowed(facts: PaletteFacts) -> str:
    limit = facts.limit
    if limit is None:
        return allowed_ink(None, "")
    return f"ink limit: {allowed_ink(limit.value, limit.whose)}"
