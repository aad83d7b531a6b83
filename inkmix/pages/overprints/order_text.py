"""What another lay-down order would change, as lines for a terminal."""

from collections.abc import Iterator

from inkmix.book.values import Book
from inkmix.jobs.orders import BookOrders
from inkmix.pages.doubts import doubt_lines

ASK = "Ask your printer, who decides the order. A prediction on a screen is not a proof."


def head_lines(orders: BookOrders) -> Iterator[str]:
    """What has to be known before the changes are read."""
    book, condition = orders.book, orders.condition
    yield from doubt_lines(notes=book.notes, unproven=condition.doubts, hints=condition.hints)
    yield f"This order is predicted: {', '.join(book.ink_names)}."
    if len(book.inks) > 1 and not book.tones:
        yield "No tones are named, so these are solids of two inks over each other."


def foot_lines(orders: BookOrders) -> Iterator[str]:
    """What has to be known after them."""
    if not orders.changes:
        yield _nothing(orders.book)
    yield ASK


def _nothing(book: Book) -> str:
    if len(book.inks) == 1:
        return "One ink has no order."
    what = "named tone" if book.tones else "solid of two inks over each other"
    return f"With any one ink moved to first or last no {what} changes by dE00 1 or more."
