"""What an ink may look like by its name: a shipped swatch, or a screen colour for a colour word.

Guesses only, and marked as such wherever they go.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

from inkmix.base.quoting import nearest
from inkmix.book.first.colour_words import COLOURS, ENDINGS, NO_INK, OF_WEB_PAGES, plain_words
from inkmix.book.first.order import Unordered, order_words, proposed_order
from inkmix.press.inks import Paper, ink_from_srgb
from inkmix.press.swatches.by_name import list_inks, load_ink, load_paper

GUESS_SET = "night-ferry"  # the set whose inks go by names; the others are called C, M, Y, K
GUESS_PAPER = "night-ferry/uncoated"
UNKNOWN_COLOUR = "#808080"
_NEAR = 0.8  # likeness from which a name is taken for a slip of another (Rowen for Rowan: 0.8)
_SHORTEST_SLIP = 4  # in shorter names a slip makes another word

Words = tuple[str, ...]

_METALLIC = ("gold", "oro", "silver", "silber", "argent", "argento", "bronze", "copper", "kupfer")
_FLUORESCENT = ("neon", "fluo", "fluor", "fluorescent")


@dataclass(frozen=True, slots=True, kw_only=True)
class InkGuess:
    """What is guessed of an ink.

    Parameters
    ----------
    name : str
        As in the files.
    swatch, srgb : str or None
        One of them.
    character : tuple of str
        "metallic", "fluorescent".
    why : str
        What the guess rests on.
    """

    name: str
    swatch: str | None = None
    srgb: str | None = None
    character: tuple[str, ...] = ()
    why: str


def is_ink_word(name: str) -> bool:
    """Whether a name is that of a known ink or holds a colour word."""
    words = _telling(plain_words(name))
    return _swatch(words) is not None or _colour(words) is not None


def guess_each(names: Sequence[str], *, title: str = "") -> tuple[InkGuess, ...]:
    """The likeliest swatch or screen colour of each ink, in the order given.

    What all names share (a prefix), words of the title, version words, numbers and dates are no
    part of a colour, unless nothing else is left.

    >>> [ink.why for ink in guess_each(["Red_Fox_dark_blau_v2", "Red_Fox_gelb_final"])]
    ['the word "blau", a screen colour', 'the word "gelb", a screen colour']
    """
    words = [_telling(plain_words(name)) for name in names]
    of_title = set(plain_words(title))
    whole = [_telling(own, but=of_title) for own in words]
    shared = set.intersection(*map(set, words)) if len(words) > 1 else set()
    apart = [tuple(word for word in own if word not in shared) for own in whole]
    tells = all(apart) and any(_swatch(own) or _colour(own) for own in apart)
    if not tells:  # blue and dark blue, light blue and dark blue
        apart = whole
    return tuple(_guess(name, own) for name, own in zip(names, apart, strict=True))


def _telling(words: Words, but: Collection[str] = ()) -> Words:
    """Words that may tell the ink: all but these and what names of plates hold besides."""
    left = [word for word in words if word not in NO_INK]
    own = tuple(word for word in left if word not in but)
    return own or tuple(left) or words


def _guess(name: str, words: Words) -> InkGuess:
    swatch = _swatch(words)
    if swatch is not None:
        same = swatch.rpartition("/")[2].lower() == " ".join(words)
        return InkGuess(name=name, swatch=swatch, why="by its name" if same else "the nearest name")
    colour = _colour(words)
    if colour is None:
        return InkGuess(
            name=name,
            srgb=UNKNOWN_COLOUR,
            character=_character(words),
            why="nothing is known of it, so a grey stands for it",
        )
    why = f'the word "{colour}", a screen colour'
    if colour in OF_WEB_PAGES:
        why += " by that name on web pages; an ink may look quite otherwise"
    return InkGuess(name=name, srgb=COLOURS[colour], character=_character(words), why=why)


def unordered(guess: InkGuess, paper: Paper) -> Unordered:
    """A guessed ink as it is taken to print on a paper."""
    if guess.swatch is not None:
        ink = replace(load_ink(guess.swatch, paper=paper), name=guess.name)
    else:
        ink = ink_from_srgb(guess.name, guess.srgb or UNKNOWN_COLOUR, paper=paper)
    character = ink.character | set(guess.character)
    return Unordered(ink=replace(ink, character=character), swatch=guess.swatch)


def guess_inks(names: Sequence[str], *, title: str = "") -> tuple[tuple[InkGuess, ...], str]:
    """Guesses in the lay-down order that is proposed for them, and what the order rests on."""
    guesses, paper = guess_each(names, title=title), load_paper(GUESS_PAPER)
    proposal = proposed_order([unordered(guess, paper) for guess in guesses], paper)
    return tuple(guesses[at] for at in proposal.places), order_words(proposal)


@lru_cache(maxsize=1)
def _swatches_by_word() -> dict[str, str]:
    return {
        ink.name.rpartition("/")[2].lower(): ink.name
        for ink in list_inks()
        if ink.name.startswith(f"{GUESS_SET}/")
    }


@lru_cache(maxsize=1024)
def _swatch(words: Words) -> str | None:
    known = _swatches_by_word()
    name = " ".join(words)
    if name in known or len(name) < _SHORTEST_SLIP:
        return known.get(name)
    if words and name not in COLOURS and (near := nearest(name, known, cutoff=_NEAR)):
        return known[near]
    return None


def _colour(words: Words) -> str | None:
    """The colour word that a name holds: two words together first, as in dark red."""
    pairs = (first + second for first, second in pairwise(words))
    named = next((word for word in (*pairs, *words) if word in COLOURS), None)
    if named is not None:
        return named
    ends = ((word, end) for word in words for end in ENDINGS if word.endswith(end))
    return max((end for _, end in ends), key=len, default=None)


def _character(words: Words) -> tuple[str, ...]:
    marks = (("fluorescent", _FLUORESCENT), ("metallic", _METALLIC))
    return tuple(mark for mark, told in marks if any(word in told for word in words))
