"""What a verdict may rest on though nobody told it, and how somebody tells the book.

A value is a guess as long as `guessed` beside it holds the same value (or true): who changes it, or
deletes that line, has confirmed it. What is a guess is read from the book; nothing is judged here.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from inkmix.base.json_document import one_of
from inkmix.base.words import in_words, listing
from inkmix.book.values import Book
from inkmix.colour.colorimetry import xyz100_to_triple8

if TYPE_CHECKING:
    from inkmix.press.condition import PressCondition

PAPER, PROCESS, INK, ORDER = "paper", "process", "ink", "order"
CONFIRM = "Where a guess is right, delete the line guessed = … below it."
"""How a guess becomes somebody's word without a change of its value."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """One thing that nobody told yet.

    Parameters
    ----------
    about : str
        "paper", "process", "ink" or "order".
    name : str
        Of the ink; else empty.
    taken_as : str
        What stands in its place.
    srgb8 : (int, int, int) or None
        Its colour as it is taken to print; None where it has none.
    do : str
        How to tell the book.
    """

    about: Annotated[str, one_of((PAPER, PROCESS, INK, ORDER))]
    name: str = ""
    taken_as: str
    srgb8: tuple[int, int, int] | None = None
    do: str


def guesses_of(book: Book, condition: "PressCondition") -> tuple[Guess, ...]:
    """The guesses of a book as it holds for a spread, on the press condition that it describes."""
    return tuple(_guesses(book, condition))


def _guesses(book: Book, condition: "PressCondition") -> Iterator[Guess]:
    if book.paper.is_guess:
        yield Guess(
            about=PAPER,
            taken_as=condition.paper.name,
            srgb8=xyz100_to_triple8(condition.paper.xyz100),
            do="Ask your printer for the stock; in [paper] write a swatch, a measurement file or "
            "its Lab, and its class.",
        )
    if book.press.is_guess:
        do = "In [press] write by what process it is printed."
        yield Guess(about=PROCESS, taken_as=book.press.process, do=do)
    for at, spec in enumerate(book.inks):
        if spec.is_guess:
            solid = [100.0 * (k == at) for k in range(len(book.inks))]
            yield Guess(
                about=INK,
                name=spec.name,
                taken_as=spec.swatch or spec.srgb or "what the book gives",
                srgb8=xyz100_to_triple8(condition.xyz100(solid)),
                do=f"In the [[inks]] table of {spec.name} write a swatch, a measurement file, its "
                "Lab or its density.",
            )
    if book.order_is_guess:
        yield Guess(
            about=ORDER,
            taken_as=", ".join(book.ink_names),
            do="Ask your printer; put the [[inks]] tables in the order in which they are printed, "
            "or delete the line guessed_order.",
        )


def guess_name(guess: Guess) -> str:
    """What is guessed, in a word or two."""
    return guess.name or {ORDER: "lay-down order"}.get(guess.about, guess.about)


def guess_lines(guesses: Sequence[Guess]) -> Iterator[str]:
    """What to tell the book, as lines for a terminal."""
    for guess in guesses:
        yield f"  {guess_name(guess)}: taken as {guess.taken_as}"
    if guesses:
        yield f"  Write what is right into the book. {CONFIRM}"


def guess_words(guesses: Iterable[Guess]) -> str:
    """What is a guess, in a clause; each counts once, however many spreads rest on it.

    >>> guess_words([Guess(about="ink", name=name, taken_as="#808080", do="") for name in "AB"])
    'two inks are guesses'
    """
    told = {(guess.about, guess.name): None for guess in guesses}
    inks = sum(about == INK for about, _ in told)
    parts = [f"the {about}" for about in (PAPER, PROCESS) if (about, "") in told]
    parts += [in_words(inks, "ink")] if inks else []
    parts += ["the order of the inks"] if (ORDER, "") in told else []
    alone = len(parts) == 1 and inks < 2
    return f"{listing(parts)} {'is a guess' if alone else 'are guesses'}"


def not_ready(guesses: Sequence[Guess]) -> str:
    """The sentence that stands before all others where a verdict rests on guesses."""
    return f"Not ready to judge: {guess_words(guesses)}."
