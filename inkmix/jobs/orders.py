"""What hangs on the lay-down order, of one spread or of a book without its plates."""

from collections.abc import Iterable
from dataclasses import dataclass

from inkmix.book.values import Book
from inkmix.checks.orders.check import (
    NightAtHand,
    Question,
    night_orders,
    order_questions,
    pairs_told,
    tone_orders,
    tones_told,
)
from inkmix.checks.orders.facts import NightOrder, ToneOrder
from inkmix.checks.tones.check import tone_facts
from inkmix.checks.tones.facts import ToneFacts
from inkmix.jobs.spread import Spread
from inkmix.press.condition import PressCondition


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """What another order would change, and what to ask about it."""

    tones: tuple[ToneOrder, ...]
    nights: tuple[NightOrder, ...]
    questions: tuple[Question, ...]


def order_facts(
    spread: Spread, tones: tuple[ToneFacts, ...], nights: Iterable[NightAtHand]
) -> Orders:
    """What hangs on the order of a checked spread.

    Where the book names no tones, solids of two inks over each other stand in for them. They are
    shown; but whether any of them is in the picture nobody knows, so they are no question.
    """
    told = tones_told(tones) if tones else pairs_told(spread.tone_condition)
    changed = tone_orders(spread.tone_condition, told)
    at_night = night_orders(spread.condition, nights)
    names = [ink.name for ink in spread.condition.inks]
    asked = order_questions(changed if tones else (), at_night, inks=names)
    return Orders(tones=changed, nights=at_night, questions=tuple(asked))


def book_orders(book: Book, condition: PressCondition) -> tuple[ToneOrder, ...]:
    """What another order would change in the named tones of a book, or in solids of two inks."""
    facts = tone_facts(condition, book.tones)
    return tone_orders(condition, tones_told(facts) if facts else pairs_told(condition))
