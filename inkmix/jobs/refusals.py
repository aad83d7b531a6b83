"""What jobs refuse of what they are asked: no book, a limit or inks that it cannot have."""

from collections.abc import Collection

from inkmix.base.arguments import Range
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import clipped
from inkmix.book.keys import keys_of
from inkmix.book.values import Book, PressSpec


def refuse_no_book(book: object) -> None:
    """Refuse what is no book, most often the folder of one.

    Raises
    ------
    UsageError
        Saying how to read it.
    """
    if not isinstance(book, Book):
        found, do = f"is {clipped(repr(book))}", "read one with inkmix.read_book(FOLDER)"
        raise UsageError(Fault(where="book", found=found, expected="a Book is needed", do=do))


def refuse_limit(limit_pct: object) -> None:
    """Refuse an ink limit that no book could say; None is none.

    Raises
    ------
    UsageError
        Saying the range.
    """
    key = keys_of(PressSpec)["ink_limit_pct"]
    if limit_pct is not None and key.low is not None and key.high is not None:
        Range(what="ink limit", low=key.low, high=key.high, unit=key.unit).refuse(limit_pct)


def refuse_counts(names: Collection[str], *, known: Collection[str]) -> None:
    """Where inks are to be named, a number is how many somebody wants; an ink may be called so.

    Raises
    ------
    UsageError
        With every number that is not a name for an ink.
    """
    numbers = [name for name in names if name.lstrip("+-").isdecimal() and name not in known]
    if numbers:
        raise UsageError(
            Fault(
                where=f"inks {number}",
                found="is a number",
                expected="names of inks are needed",
                do=f"for how many inks to choose, use `inkmix palette --choose {number}`",
            )
            for number in numbers
        )


def refuse_inks(book: Book, inks: Collection[str]) -> None:
    """Inks asked for must be inks of the book.

    Raises
    ------
    UsageError
        With every other name.
    """
    refuse_counts(inks, known=book.ink_names)
    unknown = [name for name in inks if name not in book.ink_names]
    if unknown:
        choices = f"the inks are {', '.join(book.ink_names)}"
        raise UsageError(
            Fault(where=f"ink {name}", found="no plate has this name", expected=choices)
            for name in unknown
        )
