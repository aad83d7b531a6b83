"""What an ink may look like by its name: a shipped swatch, or a screen colour for a colour word.

Guesses only, and marked as such wherever they go.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from inkmix.base.quoting import nearest
from inkmix.book.first.order import Unordered, order_words, proposed_order
from inkmix.press.inks import Paper, ink_from_srgb
from inkmix.press.swatches.by_name import list_inks, load_ink, load_paper

GUESS_SET = "night-ferry"  # the set whose inks go by names; the others are called C, M, Y, K
GUESS_PAPER = "night-ferry/uncoated"
UNKNOWN_COLOUR = "#808080"
_NEAR = 0.8  # likeness from which a name is taken for a slip of another (Rowen for Rowan: 0.8)
_SHORTEST_SLIP = 4  # in shorter names a slip makes another word
_SHORTEST_ENDING = 4  # a colour word may end a longer one (dunkelblau) from this length on

# Screen colours that stand for words: hints, no ink was measured for them.
_WORDS = {
    "#000000": "black schwarz noir nero negro preto svart sort zwart key k",
    "#00a0dc": "cyan zyan c",
    "#d6006e": "magenta m",
    "#ffe000": "yellow gelb jaune giallo amarillo gul geel y",
    "#d0202a": "red rot rouge rosso rojo rood",
    "#1f4fa3": "blue blau bleu blu azul blauw",
    "#1f8a4c": "green gruen grun vert verde groen",
    "#ee7d1a": "orange",
    "#808080": "grey gray grau gris grigio grijs",
    "#f07aa8": "pink rosa rose",
    "#6a3f9c": "violet purple violett lila viola paars",
    "#7a4a2a": "brown braun brun marron marrone bruin",
    "#17808a": "teal turquoise tuerkis turkis petrol",
    "#1c2a55": "navy indigo",
    "#b08d3a": "gold oro",
    "#a9adb0": "silver silber argent argento",
    "#ffffff": "white weiss blanc bianco blanco wit",
}
_COLOURS = {word: colour for colour, words in _WORDS.items() for word in words.split()}
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
    return _swatch(name) is not None or _colour(name) is not None


def guess_ink(name: str) -> InkGuess:
    """The likeliest swatch or screen colour of an ink."""
    swatch = _swatch(name)
    if swatch is not None:
        same = swatch.rpartition("/")[2].lower() == name.lower()
        why = "by its name" if same else "the nearest name"
        return InkGuess(name=name, swatch=swatch, why=why)
    colour = _colour(name)
    why = "screen colour for the word; only a hint" if colour else "nothing is known of it"
    return InkGuess(name=name, srgb=colour or UNKNOWN_COLOUR, character=_character(name), why=why)


def unordered(guess: InkGuess, paper: Paper) -> Unordered:
    """A guessed ink as it is taken to print on a paper."""
    if guess.swatch is not None:
        ink = replace(load_ink(guess.swatch, paper=paper), name=guess.name)
    else:
        ink = ink_from_srgb(guess.name, guess.srgb or UNKNOWN_COLOUR, paper=paper)
    character = ink.character | set(guess.character)
    return Unordered(ink=replace(ink, character=character), swatch=guess.swatch)


def guess_inks(names: Iterable[str]) -> tuple[tuple[InkGuess, ...], str]:
    """Guesses in the lay-down order that is proposed for them, and what the order rests on."""
    guesses, paper = [guess_ink(name) for name in names], load_paper(GUESS_PAPER)
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
def _swatch(name: str) -> str | None:
    known = _swatches_by_word()
    word = " ".join(_tokens(name))
    if word in known or len(word) < _SHORTEST_SLIP:
        return known.get(word)
    near = nearest(word, known, cutoff=_NEAR)
    return known[near] if near else None


def _colour(name: str) -> str | None:
    for token in _tokens(name):
        if token in _COLOURS:
            return _COLOURS[token]
        for word, colour in _COLOURS.items():
            if len(word) >= _SHORTEST_ENDING and token.endswith(word):
                return colour
    return None


def _character(name: str) -> tuple[str, ...]:
    tokens = _tokens(name)
    marks = (("fluorescent", _FLUORESCENT), ("metallic", _METALLIC))
    return tuple(mark for mark, words in marks if any(token in words for token in tokens))


def _tokens(name: str) -> list[str]:
    """Words of a name in lower case, without accents and numbers."""
    plain = unicodedata.normalize("NFKD", name.lower().replace("ß", "ss"))
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    return re.findall(r"[^\W\d_]+", plain)
