"""Plain values as bytes that no other value has: what digests are made of.

Every piece bears its type and length. Whatever cannot be told apart for certain is refused.
"""

import dataclasses
import struct
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any

import numpy as np

Named = Callable[[type], str]

_Put = Callable[[bytes], None]


def plain_name(kind: type) -> str:
    """A dataclass by its name alone: equal values stay equal when code moves."""
    return kind.__qualname__


def pieces(value: object, *, named: Named = plain_name) -> list[bytes]:
    """A value as bytes, in pieces.

    Parameters
    ----------
    value : object
        A number, string, array, tuple, frozenset, mapping or dataclass of such values.
    named : callable
        What tells dataclasses apart beside their fields.

    Raises
    ------
    TypeError
        If the value holds anything else.
    """
    said: list[bytes] = []
    _put(value, named, said.append)
    return said


def _put(value: Any, named: Named, put: _Put) -> None:
    kind = type(value)
    if kind is float:
        put(b"float:8:" + struct.pack("<d", value))
    elif kind is str:
        data = value.encode("utf-8", "surrogatepass")
        put(b"str:%d:" % len(data) + data)
    elif kind is int or kind is bool or value is None:
        data = str(value).encode()
        put(b"%s:%d:" % (kind.__name__.encode(), len(data)) + data)
    elif kind is tuple:
        _put_all(b"tuple", value, named, put)
    elif (names := _given(kind)) is not None:  # type: ignore[arg-type]
        values = [getattr(value, name) for name in names]
        _put_all(named(kind).encode(), values, named, put)
    elif isinstance(value, frozenset | Mapping):
        _put_unordered(value, named, put)
    elif isinstance(value, np.ndarray | np.generic):
        _put_array(value, put)
    else:
        raise TypeError(f"a value of {kind.__module__}.{kind.__qualname__} has no canonical form")


def _put_all(name: bytes, parts: Sequence[object], named: Named, put: _Put) -> None:
    put(b"%s:%d:" % (name, len(parts)))
    for part in parts:
        _put(part, named, put)


def _put_unordered(
    value: frozenset[object] | Mapping[object, object], named: Named, put: _Put
) -> None:
    """Members in the order of their bytes."""
    name = b"mapping" if isinstance(value, Mapping) else b"set"
    members = value.items() if isinstance(value, Mapping) else value
    put(b"%s:%d:" % (name, len(value)))
    for member in sorted(b"".join(pieces(member, named=named)) for member in members):
        put(member)


def _put_array(array: np.ndarray[Any, Any] | np.generic, put: _Put) -> None:
    if array.dtype.hasobject or array.dtype.names is not None:
        raise TypeError(f"an array of {array.dtype} has no canonical form")
    put(f"array {array.dtype.str} {array.shape}:{array.nbytes}:".encode())
    put(array.tobytes())


@cache
def _given(kind: type) -> tuple[str, ...] | None:
    """Fields of a dataclass that are given, from which the others follow; None of another kind."""
    if not dataclasses.is_dataclass(kind):
        return None
    return tuple(field.name for field in dataclasses.fields(kind) if field.init)
