"""Plain values as bytes that no other value has: what digests are made of.

Every piece bears its type and length. Whatever cannot be told apart for certain is refused.
"""

import dataclasses
import struct
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import numpy as np

Named = Callable[[type], str]

_PLAIN = frozenset((str, int, bool, float, type(None)))


def plain_name(kind: type) -> str:
    """A dataclass by its name alone: equal values stay equal when code moves."""
    return kind.__qualname__


def pieces(value: object, *, named: Named = plain_name) -> Iterator[bytes]:
    """A value as bytes, piece by piece.

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
    if type(value) in _PLAIN:
        return _of_plain(value)
    if isinstance(value, np.ndarray | np.generic):
        return _of_array(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _of_dataclass(value, named)
    if type(value) is tuple:
        return _of_tuple("tuple", value, named)
    if isinstance(value, frozenset | Mapping):
        return _of_unordered(value, named)
    kind = type(value)
    raise TypeError(f"a value of {kind.__module__}.{kind.__qualname__} has no canonical form")


def _of_array(array: np.ndarray[Any, Any] | np.generic) -> Iterator[bytes]:
    if array.dtype.hasobject or array.dtype.names is not None:
        raise TypeError(f"an array of {array.dtype} has no canonical form")
    yield _head(f"array {array.dtype.str} {array.shape}", array.nbytes)
    yield array.tobytes()


def _of_dataclass(value: Any, named: Named) -> Iterator[bytes]:
    """Its name and its fields; a field that is not given follows from those that are."""
    given = tuple(getattr(value, f.name) for f in dataclasses.fields(value) if f.init)
    return _of_tuple(named(type(value)), given, named)


def _of_tuple(name: str, parts: tuple[object, ...], named: Named) -> Iterator[bytes]:
    yield _head(name, len(parts))
    for part in parts:
        yield from pieces(part, named=named)


def _of_unordered(
    value: frozenset[object] | Mapping[object, object], named: Named
) -> Iterator[bytes]:
    """Members in the order of their bytes."""
    yield _head("mapping" if isinstance(value, Mapping) else "set", len(value))
    members = value.items() if isinstance(value, Mapping) else value
    yield from sorted(b"".join(pieces(member, named=named)) for member in members)


def _of_plain(value: object) -> Iterator[bytes]:
    kind = type(value)
    if kind is float:
        data = struct.pack("<d", value)
    else:
        data = str(value).encode("utf-8", "surrogatepass")
    yield _head(kind.__name__, len(data)) + data


def _head(kind: str, length: int) -> bytes:
    return f"{kind}:{length}:".encode()
