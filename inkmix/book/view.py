"""A book's data as the rules see it: faulty keys left out, with how to name a place in it."""

from collections.abc import Iterator
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

    def tables_within(self) -> Iterator[tuple[KeyPath, Keys, dict[str, Any]]]:
        """Every table, those inside others too, with its path and the keys that it may have."""
        own = {name: value for name, value in self.data.items() if name not in EXCEPTIONS}
        return _tables_within(own, self.form.tables[""], ())

    def values(self) -> Iterator[tuple[KeyPath, Key, Any]]:
        """Every text, number and mapping with its path and key, members of lists one by one."""
        for path, keys, table in self.tables_within():
            for name in filter(keys.__contains__, table):
                for inner, value in _members(table[name], (*path, name)):
                    if not _is_table(value, keys[name]):
                        yield inner, keys[name], value

    def mixes(self) -> Iterator[tuple[KeyPath, dict[str, float]]]:
        """Every mix: tone values of inks by their names."""
        for path, key, value in self.values():
            if key.names_inks and isinstance(value, dict):
                yield path, value

    def fault(self, path: KeyPath, found: str, expected: str = "", do: str = "") -> Fault:
        """A fault at a key path."""
        return Fault(where=self.text.where(path), found=found, expected=expected, do=do)

    @property
    def ink_names(self) -> list[str]:
        """Names of the inks that have one."""
        return [ink["name"] for _, ink in self.tables("inks") if "name" in ink]


def _tables_within(
    table: dict[str, Any], keys: Keys, path: KeyPath
) -> Iterator[tuple[KeyPath, Keys, dict[str, Any]]]:
    yield path, keys, table
    for name in filter(keys.__contains__, table):
        inside = keys[name].table
        for inner, value in _members(table[name], (*path, name)):
            if inside is not None and _is_table(value, keys[name]):
                yield from _tables_within(value, keys_of(inside), inner)


def _is_table(value: Any, key: Key) -> bool:
    return key.table is not None and isinstance(value, dict)


def _members(value: Any, path: KeyPath) -> Iterator[tuple[KeyPath, Any]]:
    """The members of a list, of lists inside it too, or the value itself."""
    if isinstance(value, list):
        for index, member in enumerate(value):
            yield from _members(member, (*path, index))
    else:
        yield path, value
