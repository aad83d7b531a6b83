"""A book's data as the rules see it: faulty keys left out, with how to name a place in it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from inkmix.base.errors import Fault
from inkmix.book.form import EXCEPTIONS, Form, Keys
from inkmix.book.keys import Key, keys_of
from inkmix.book.statements import KeyPath


class Places(Protocol):
    """What a book's file gives, right or wrong, and where each key stands."""

    @property
    def data(self) -> dict[str, Any]:
        """Plain data as in the file."""

    @property
    def subject(self) -> str:
        """What the data speak of, in words."""

    def where(self, path: KeyPath) -> str:
        """File, line and key path."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A book's data without the keys already found faulty, with how to name a place in it."""

    data: dict[str, Any]
    text: Places
    folder: Path
    form: Form

    def tables(self, name: str) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
        """Tables of a kind with their key paths."""
        for index, table in enumerate(self.data.get(name, [])):
            yield (name, index), table

    def table(self, name: str) -> dict[str, Any]:
        """A single table; empty where there is none."""
        found: dict[str, Any] = self.data.get(name, {})
        return found

    def given(self, path: KeyPath, name: str) -> bool:
        """Whether the file gives the key, be it right or wrong."""
        here: Any = self.text.data
        for part in path:
            here = (
                here[part] if isinstance(here, list) and isinstance(part, int) else here.get(part)
            )
        return isinstance(here, dict) and name in here

    def values(self) -> Iterator[tuple[KeyPath, Key, Any]]:
        """Every text and number with its path and key, members of lists one by one."""
        own = {name: value for name, value in self.data.items() if name not in EXCEPTIONS}
        return _values(own, self.form.tables[""], ())

    def fault(self, path: KeyPath, found: str, expected: str = "", do: str = "") -> Fault:
        """A fault at a key path."""
        return Fault(where=self.text.where(path), found=found, expected=expected, do=do)

    @property
    def ink_names(self) -> list[str]:
        """Names of the inks that have one."""
        return [ink["name"] for _, ink in self.tables("inks") if "name" in ink]


def _values(
    table: Mapping[str, Any], keys: Keys, path: KeyPath
) -> Iterator[tuple[KeyPath, Key, Any]]:
    for name in filter(keys.__contains__, table):
        key = keys[name]
        for inner, value in _members(table[name], (*path, name)):
            if key.table is None:
                yield inner, key, value
            else:
                yield from _values(value, keys_of(key.table), inner)


def _members(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    """The members of a list, or the value itself."""
    if isinstance(value, list):
        yield from (((*path, index), member) for index, member in enumerate(value))
    else:
        yield path, value
