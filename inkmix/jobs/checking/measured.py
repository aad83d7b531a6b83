"""What the colours that a book tells of a print change in its predictions, in sentences."""

from collections.abc import Sequence
from dataclasses import replace

from inkmix.base.words import count, difference
from inkmix.base.words import mix as mix_words
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.measured import is_sure, measured_mixes
from inkmix.book.values import Book
from inkmix.checks.orders.check import Movable
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.jobs.checking.changes import what_changes
from inkmix.jobs.checking.measured_doubts import measured_doubts
from inkmix.press.condition import PressCondition


def measured_notes(
    book: Book, condition: PressCondition, movable: Sequence[Movable]
) -> tuple[str, ...]:
    """How far the print was from the prediction, and what nights and tones gain by knowing it.

    Empty where the book tells no measured colour.
    """
    if not book.measured:
        return ()
    without = resolve_condition(replace(book, measured=()))
    return (
        _missed(book, without),
        *measured_doubts(book, without),
        *what_changes(condition, without, movable, by="with the measured colours"),
    )


def _missed(book: Book, without: PressCondition) -> str:
    """How far measured colours are from what would be predicted without them."""
    patches = measured_mixes(book, without.paper)
    assert patches is not None, "the book tells some"
    apart = delta_e00(without.lab(patches.tone_pct), xyz100_to_lab(patches.xyz100))
    worst, held = int(apart.argmax()), len(book.measured)
    names = mix_words(dict(book.measured[worst].mix_pct))
    colours = count(held, "measured colour")
    if held == 1:
        said = f"1 measured colour is used: {names} printed {difference(float(apart[0]))}"
        said += " from what would be predicted without it"
    else:
        said = (
            f"{colours} are used: they printed {difference(float(apart.mean()))} on average from "
            f"what would be predicted without them, {difference(float(apart[worst]))} at most "
            f"({names})"
        )
    unsure = sum(not is_sure(one) for one in book.measured)
    if not unsure:
        return said
    which = "It was" if held == 1 else f"{unsure} of them {'was' if unsure == 1 else 'were'}"
    return f"{said}. {which} read wet or by eye: that moves predictions and makes none surer"
