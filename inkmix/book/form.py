"""The form of a book: which tables it may have and which keys each, those of checks included.

What checks bring comes from outside: their tables, their rules, their names; all else is told by
the dataclasses of values.py. No data are read here.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from inkmix.base.errors import Fault
from inkmix.base.words import either
from inkmix.book.keys import MERGED, REPLACED, Key, Section, held_by, keys_of
from inkmix.book.statements import KeyPath
from inkmix.book.values import FORMAT, Book, Override, Waiver

Keys = Mapping[str, Key]
Rule = Callable[[Any], Iterator[Fault]]
"""What spans several keys: all that is wrong with the View of a book."""

OVERRIDE, WAIVE = "override", "waive"
EXCEPTIONS = (OVERRIDE, WAIVE)
"""Tables that speak of what the others say."""
_FORMAT = held_by("format", Literal[FORMAT], Key(about="version of this file's format"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """What a book may hold.

    Parameters
    ----------
    sections : tuple of Section
        Tables that checks bring.
    rules : tuple of Rule
        What checks ask of several keys of theirs together.
    waivable : tuple of str
        Checks whose findings may be waived.
    """

    sections: tuple[Section[Any], ...]
    rules: tuple[Rule, ...]
    waivable: tuple[str, ...]

    @property
    def tables(self) -> Mapping[str, Keys]:
        """The keys of each table: "inks", "inks.density", "" for the top."""
        return _tables(self)

    def overridden(self, how: str) -> tuple[str, ...]:
        """Tables of which an override gives the whole (REPLACED) or single keys (MERGED)."""
        return tuple(name for name, one in self.tables[""].items() if one.override == how)

    def keys_about(self, path: KeyPath) -> Keys:
        """The keys of the table in which a key path ends; in an override those of the book's."""
        names = [part for part in path[:-1] if isinstance(part, str)]
        within = names[1:] if names[:1] == [OVERRIDE] and len(names) > 1 else names
        return self.tables.get(".".join(within), {})

    def key_at(self, path: KeyPath) -> Key | None:
        """The key that a path ends in, or one of whose members it ends in."""
        names = [part for part in path if isinstance(part, str)]
        while names and not self.keys_about(tuple(names)):
            names.pop()
        return self.keys_about(tuple(names)).get(names[-1]) if names else None


@cache
def _tables(form: Form) -> Mapping[str, Keys]:
    top = _top(form)
    tables: dict[str, Keys] = {"": top, OVERRIDE: _override(top), WAIVE: _waive(form.waivable)}
    others = (_tables_below(name, one) for name, one in top.items() if name not in EXCEPTIONS)
    tables |= {name: keys for below in others for name, keys in below}
    return MappingProxyType(tables)


def _top(form: Form) -> dict[str, Key]:
    """The book's own tables, with those of checks before what makes exceptions."""
    own = keys_of(Book)
    exceptions = {name: own[name] for name in EXCEPTIONS}
    brought = {section.table: section.key for section in form.sections}
    if len(brought) < len(form.sections) or brought.keys() & {"format", *own}:
        raise ValueError(f"sections of one name, or of another table's: {list(brought)}")
    first = {name: one for name, one in own.items() if name not in EXCEPTIONS}
    return {"format": _FORMAT, **first, **brought, **exceptions}


def _override(top: Keys) -> dict[str, Key]:
    """Tables of the book, or single keys of them, none of which must be given."""
    about = {REPLACED: "instead of the book's", MERGED: "keys that differ"}
    given = {
        name: replace(
            one,
            about=f"{words}: {one.about}",
            kind=one.kind | None,
            default=None,
            is_required=False,
        )
        for how, words in about.items()
        for name, one in top.items()
        if one.override == how
    }
    return {**keys_of(Override), **given}


def _waive(waivable: tuple[str, ...]) -> dict[str, Key]:
    check = replace(keys_of(Waiver)["check"], about=either(waivable), words=waivable)
    return {**keys_of(Waiver), "check": check}


def _tables_below(name: str, one: Key) -> Iterator[tuple[str, Keys]]:
    """A table, and those inside it."""
    if one.table is not None:
        keys = keys_of(one.table)
        yield name, keys
        for inner, key in keys.items():
            yield from _tables_below(f"{name}.{inner}", key)
