"""Values of a book as TOML: what a key says, written so that it is read as the same again."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import is_dataclass
from typing import Any

from inkmix.book.keys import keys_of

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def text_as_toml(text: str) -> str:
    """A text in double quotes; the escapes of JSON are among those of TOML."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def as_toml(value: Any) -> str:
    """A value in one line: a text, a number, a list, a mapping, or a table of the book.

    Examples
    --------
    >>> as_toml({"Soot": 80.0, "Old gold": 2.5}), as_toml(("a", True))
    ('{ Soot = 80, "Old gold" = 2.5 }', '["a", true]')
    """
    if isinstance(value, str):
        return text_as_toml(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, tuple | list | frozenset):
        members = sorted(value) if isinstance(value, frozenset) else value
        return f"[{', '.join(map(as_toml, members))}]"
    told = dict(said_keys(value)) if is_dataclass(value) else value
    return f"{{ {', '.join(settings(told))} }}"


def said_keys(table: Any) -> Iterator[tuple[str, Any]]:
    """The keys of a table of the book that say something, by their names in the file.

    Not for tables with keys that hold several fields.
    """
    kind: type = type(table)
    for name, key in keys_of(kind).items():
        value = getattr(table, key.field)
        if key.is_required or value != key.default:
            yield name, value


def settings(told: Mapping[str, Any]) -> Iterator[str]:
    """A line `key = value` for each key."""
    for name, value in told.items():
        yield f"{name if _BARE.fullmatch(name) else text_as_toml(name)} = {as_toml(value)}"


def _number(value: float) -> str:
    short = f"{value:g}"
    return short if float(short) == value else repr(value)
