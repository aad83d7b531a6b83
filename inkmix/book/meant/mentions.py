"""Names of spreads that a book mentions, held against the spreads that are there.

A misspelt name would leave a night area unchecked or a cover on the wrong paper without a word.
"""

from collections.abc import Collection, Iterator

from inkmix.base.errors import Fault
from inkmix.book.faults import did_you_mean, shown
from inkmix.book.values import Book, spreads_of
from inkmix.plates.found.listing import printable


def mention_faults(book: Book, names: Collection[str]) -> Iterator[Fault]:
    """Every mention of a spread that is not there, with its key path; waivers may outlive theirs.

    Parameters
    ----------
    names : collection of str
        Of the spreads that are there.
    """
    for key, name in _mentions(book):
        if name not in names:
            found = f"{shown(name)} is not a spread of this folder"
            yield Fault(where=f"{book.path.name}: {key}", found=found, do=_meant(name, names))


def _meant(name: str, names: Collection[str]) -> str:
    return did_you_mean(name, map(printable, names))


def _mentions(book: Book) -> Iterator[tuple[str, str]]:
    yield from _own_mentions(book)
    for number, override in enumerate(book.overrides, 1):
        key = f"override[{number}]"
        yield from ((f"{key}.spreads[{n}]", name) for n, name in enumerate(override.spreads, 1))
        inherited = {name for _, name in _own_mentions(book)}
        for own, name in _own_mentions(override.book):
            if name not in inherited:
                yield f"{key}.{own}", name


def _own_mentions(book: Book) -> Iterator[tuple[str, str]]:
    """What the tables of one book mention, its overrides left aside."""
    sides = book.strip.sides if book.strip else ()
    yield from ((f"strip.sides[{n}]", name) for n, name in enumerate(sides, 1))
    for table, said in book.sections.items():
        several = isinstance(said, tuple)
        for number, one in enumerate(said if several else (said,), 1):
            key = f"{table}[{number}].spreads" if several else f"{table}.spreads"
            yield from ((f"{key}[{n}]", name) for n, name in enumerate(spreads_of(one), 1))
