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

    def given_keys(self) -> Iterator[tuple[KeyPath, Key, Any]]:
        """Every key of these data with its path and value, tables before what is in them."""
        own = {name: value for name, value in self.data.items() if name not in EXCEPTIONS}
        return _given_keys(own, self.form.tables[""], ())

    def fault(self, path: KeyPath, found: str, expected: str = "", do: str = "") -> Fault:
        """A fault at a key path."""
        return Fault(where=self.text.where(path), found=found, expected=expected, do=do)

    @property
    def ink_names(self) -> list[str]:
        """Names of the inks that have one."""
        return [ink["name"] for _, ink in self.tables("inks") if "name" in ink]


def _given_keys(
    table: Mapping[str, Any], keys: Keys, path: KeyPath
) -> Iterator[tuple[KeyPath, Key, Any]]:
    for name, value in table.items():
        key = keys.get(name)
        if key is None:
            continue
        yield (*path, name), key, value
        if key.is_tables:
            for index, inner in enumerate(value):
                yield from _given_keys(inner, keys_of(key.table), (*path, name, index))
        elif key.table is not None:
            yield from _given_keys(value, keys_of(key.table), (*path, name))
