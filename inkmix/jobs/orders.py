"""What hangs on the lay-down order of a book, without its plates."""

from inkmix.book.values import Book
from inkmix.checks.orders.check import pairs_told, tone_orders, tones_told
from inkmix.checks.orders.facts import ToneOrder
from inkmix.checks.tones.check import tone_facts
from inkmix.press.condition import PressCondition


def book_orders(book: Book, condition: PressCondition) -> tuple[ToneOrder, ...]:
    """What another order would change in the named tones of a book, or in solids of two inks."""
    facts = tone_facts(condition, book.tones)
    return tone_orders(condition, tones_told(facts) if facts else pairs_told(condition))
