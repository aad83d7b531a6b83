"""What hangs on the lay-down order, of one spread or of a book without its plates."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from inkmix.base.errors import Fault, UsageError
from inkmix.book.first.loose import LoosePlates
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.values import Book
from inkmix.checks.facts import NightOrder, ToneFacts, ToneOrder
from inkmix.checks.orders.check import (
    NightAtHand,
    Question,
    night_orders,
    order_questions,
    pairs_told,
    tone_orders,
    tones_told,
)
from inkmix.checks.tones.check import tone_facts
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


@dataclass(frozen=True, slots=True, kw_only=True)
class BookOrders:
    """What another order would change of a book, without its plates.

    Parameters
    ----------
    book : Book
        Its inks called by what prints.
    condition : PressCondition
        In the order of the book.
    changes : tuple of ToneOrder
        Of its named tones, or of solids of two inks where none is named; those that change by dE00
        1 or more.
    """

    book: Book
    condition: PressCondition
    changes: tuple[ToneOrder, ...]


def book_of_plates(plates: LoosePlates) -> Book:
    """The book of plates that lie loose, its guesses among its notes, for what opens no plate.

    Raises
    ------
    UsageError
        With every plate that is not there.
    """
    paths = [source.path for source in plates.sources.values() if source is not None]
    if missing := [path for path in paths if not path.exists()]:
        raise UsageError(Fault(where=str(path), found="there is no such file") for path in missing)
    guesses = (f"guessed: {guess}" for guess in plates.guesses)
    return replace(plates.book, notes=(*plates.book.notes, *guesses))


def orders_of_book(book: Book) -> BookOrders:
    """What becomes of each tone of a book if one ink is printed first or last instead.

    No plate is looked at. Both sides are predicted from the inks alone, for measured mixtures hold
    for one order.

    Raises
    ------
    InkmixError
        Where paper and inks cannot be put together.

    Examples
    --------
    ::

        orders = inkmix.orders_of_book(inkmix.read_book("night-ferry"))
        assert all(change.ink in orders.book.ink_names for change in orders.changes)
    """
    condition = resolve_condition(book)
    facts = tone_facts(condition, book.tones)
    told = tones_told(facts) if facts else pairs_told(condition)
    return BookOrders(book=book, condition=condition, changes=tone_orders(condition, told))
