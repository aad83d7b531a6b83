"""Words of the trade, each with an example in an artist's terms; said once, and all at the foot.

The list stands at the foot of every page, not in a file of its own: a page is mailed, moved and
printed alone, and is still understood then. Where a book is at hand its own figures are the
examples.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from markupsafe import Markup

from inkmix.base.words import difference, fixed, listing, mix, number, percent
from inkmix.colour.colorimetry import delta_e00


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A word, what it means, and an example; `example` may be empty."""

    term: str
    meaning: str
    example: str = ""

    @property
    def sentences(self) -> str:
        """All that is said of it."""
        return f"{self.meaning} {self.example}".rstrip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Solid:
    """An ink of a book: its solid as Lab (L, a, b), and the mean tone value of its plate."""

    name: str
    lab: tuple[float, float, float]
    mean_tone_pct: float | None = None


WORDS = (
    Word(
        term="dE00",
        meaning="How far apart two colours look. About 1 can just be seen where the two touch; 5 "
        "is plain to see across a table.",
    ),
    Word(
        term="density",
        meaning="How dark ink is in a densitometer, through a filter of the colour that it takes "
        "away: each 0.3 more halves the light.",
        example="A solid black on uncoated paper is about 1.1 above the paper (common practice).",
    ),
    Word(
        term="dot",
        meaning="A tint is printed as dots, more or larger ones the darker it is. On paper they "
        "come out larger than in the file (dot gain, or tone value increase).",
        example="A tint of 50 % often prints as dark as 65 % would if they did not (common "
        "practice).",
    ),
    Word(
        term="expected error",
        meaning="How far the print may lie from the prediction, 95 times in 100.",
        example="“L* 30 ± 2” says that anything from 28 to 32 is no surprise.",
    ),
    Word(
        term="L*",
        meaning="Lightness, from 0 for black to 100 for white.",
        example="A solid black on uncoated paper is about 30 (common practice).",
    ),
    Word(
        term="lay-down order",
        meaning="The order in which the press prints the inks. What lies on top counts more.",
    ),
    Word(
        term="opacity",
        meaning="How much of its own colour an ink shows over whatever lies under it, as a share: "
        "0 for a transparent ink, up to 0.9 for a white.",
    ),
    Word(
        term="overprint",
        meaning="Inks printed over one another, and the colour that they make together.",
    ),
    Word(term="plate", meaning="One grey picture for one ink: the darker, the more ink."),
    Word(
        term="SCTV",
        meaning="Spot colour tone value: how far towards the solid a tint looks to be (ISO 20654).",
        example="Where tints are evenly spaced for the eye, 50 % has 50.",
    ),
    Word(term="solid", meaning="An ink at 100 %, without any paper between dots."),
    Word(
        term="spot ink",
        meaning="An ink mixed to a colour of its own, and not black, cyan, magenta or yellow of "
        "four-colour printing.",
    ),
    Word(
        term="tone value",
        meaning="The number in your file: 0 % leaves the paper bare, 100 % is solid ink.",
    ),
    Word(
        term="tone value increase",
        meaning="By how much a tint prints darker than its tone value says, since dots grow, as "
        "densities tell it.",
        example="Where 50 % prints as 68 %, it is 18.",
    ),
    Word(
        term="total ink",
        meaning="The tone values of all plates at one place, added up. Where the sum is over the "
        "ink limit, ink dries badly and smears.",
        example="Three plates at 80 % make 240 %.",
    ),
    Word(
        term="trapping",
        meaning="How well an ink took on another: the density that it adds there, of what it has "
        "on paper.",
        example="75 % to 95 % is usual for wet on wet (common practice).",
    ),
    Word(
        term="waive",
        meaning="To accept a finding and say why, in the book. It is still shown, but no longer "
        "stands against sending the plates.",
        example="“The moon is meant to glow” is a good reason.",
    ),
)
"""What holds for any book, in the order of the alphabet."""


def words_of_book(
    solids: Sequence[Solid], *, paper_L: float, mixes: Iterable[dict[str, float]] = ()
) -> tuple[Word, ...]:
    """The same words, with the book's own figures where it has any.

    Parameters
    ----------
    solids : sequence of Solid
        In lay-down order.
    mixes : iterable of mapping
        Named tones, by tone values; one that holds several inks is an example.
    """
    examples = {
        "L*": _lightness(solids, paper_L),
        "dE00": _apart(solids),
        "lay-down order": _order(solids),
        "tone value": _tone(solids),
        "total ink": _total(mixes),
    }
    return tuple(replace(word, example=examples.get(word.term) or word.example) for word in WORDS)


def _lightness(solids: Sequence[Solid], paper_L: float) -> str:
    if not solids:
        return ""
    darkest = min(solids, key=lambda one: one.lab[0])
    return (
        f"L* {number(darkest.lab[0], 0)}: your {darkest.name} alone on this paper, as a solid; "
        f"L* {number(paper_L, 0)}: the bare paper."
    )


def _apart(solids: Sequence[Solid]) -> str:
    """The two inks that look most alike."""
    if len(solids) < 2:
        return ""
    labs = np.array([one.lab for one in solids])
    first, second = np.triu_indices(len(solids), 1)
    apart = delta_e00(labs[first], labs[second])
    nearest = int(np.argmin(apart))
    names = solids[first[nearest]].name, solids[second[nearest]].name
    return f"{difference(apart[nearest])}: your {listing(names)}, side by side as solids."


def _order(solids: Sequence[Solid]) -> str:
    if len(solids) < 2:
        return ""
    return f"Here {solids[0].name} is printed first and {solids[-1].name} last."


def _tone(solids: Sequence[Solid]) -> str:
    inked = [one for one in solids if one.mean_tone_pct]
    if not inked:
        return ""
    most = max(inked, key=lambda one: one.mean_tone_pct or 0.0)
    return f"Your plate of {most.name} holds {percent(most.mean_tone_pct)} on average."


def _total(mixes: Iterable[dict[str, float]]) -> str:
    several = (one for one in mixes if sum(pct > 0 for pct in one.values()) > 1)
    first = next(several, None)
    return "" if first is None else f"{mix(first)} is {fixed(sum(first.values()), 0)} %."


@dataclass(slots=True)
class FirstSaid:
    """Explains each word where it appears first on a page, and never again."""

    words: Sequence[Word]
    said: set[str] = field(default_factory=set)

    def __call__(self, *terms: str) -> Markup:
        """A paragraph on those of the terms that were not explained yet; empty without any."""
        new = [one for one in self.words if one.term in terms and one.term not in self.said]
        self.said |= {one.term for one in new}
        item = Markup('<a href="#words">{}</a>: {}')
        items = Markup(" ").join(item.format(one.term, _unbroken(one.sentences)) for one in new)
        return Markup('<p class="word">{}</p>').format(items) if new else Markup("")


def glossary(words: Sequence[Word] = WORDS) -> Markup:
    """The list at the foot of a page."""
    item = Markup("<div><dt>{}</dt><dd>{}</dd></div>")
    items = Markup("\n").join(item.format(one.term, _unbroken(one.sentences)) for one in words)
    return Markup(
        '<section class="words" aria-labelledby="words">\n<h2 id="words">Words</h2>\n'
        '<div class="body"><dl>\n{}\n</dl></div>\n</section>'
    ).format(items)


def _unbroken(text: str) -> str:
    """Scales and units held to their numbers."""
    for held in ("L* ", "dE00 ", " %"):
        text = text.replace(held, held.replace(" ", "\N{NO-BREAK SPACE}"))
    return text
