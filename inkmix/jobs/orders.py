"""What hangs on the lay-down order of a book, without its plates."""

from dataclasses import dataclass, replace

from inkmix.base.errors import Fault, UsageError
from inkmix.book.first.loose import LoosePlates
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.values import Book
from inkmix.checks.orders.check import pairs_told, tone_orders, tones_told
from inkmix.checks.orders.facts import ToneOrder
from inkmix.checks.tones.check import tone_facts
from inkmix.jobs.refusals import refuse_no_book
from inkmix.press.condition import PressCondition


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
    refuse_no_book(book)
    condition = resolve_condition(book)
    facts = tone_facts(condition, book.tones)
    told = tones_told(facts) if facts else pairs_told(condition)
    return BookOrders(book=book, condition=condition, changes=tone_orders(condition, told))
