"""The name of a table: a digest of all that decides a node of it.

That is the model with every value in it (what scipy fitted is among them), the text of every module
that computes, the version of numpy and the kind of machine. Whatever cannot be told apart for
certain is refused: a table may be built once too often, but never be taken for another.
"""

import dataclasses
import hashlib
import platform
import struct
import sys
import time
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from inkmix import lookup

#: Parts that decide a colour whatever the model; a folder counts whole.
COMPUTING_PARTS = (
    "arrays.py",
    "monotone.py",
    "observer.py",
    "colorimetry.py",
    "lookup.py",
    "press",
)
_PACKAGE = Path(lookup.__file__).parent
_LOADED_NS = time.time_ns()


class NoKeyError(Exception):
    """The program's own text, which belongs to the key, cannot be read or is not what runs."""


def table_key(model: object, *, inks: int, depth: int) -> bytes:
    """SHA-256 (32 bytes) of everything that decides a table.

    Parameters
    ----------
    model : object
        A dataclass of numbers, strings, arrays, tuples, sets, mappings and further dataclasses.
    inks, depth : int
        As in `build_lookup`.

    Raises
    ------
    TypeError
        If the model holds anything else.
    NoKeyError
        If the program's own text cannot be read.
    """
    sha = hashlib.sha256()
    texts = tuple(_text_digest(path) for path in _computing_files())
    for piece in _canonical((inks, depth, _scales(inks), _surroundings(), texts, model)):
        sha.update(piece)
    return sha.digest()


def _scales(inks: int) -> tuple[int, ...]:
    return lookup.NODES[inks], lookup.SRGB_SCALE, lookup.LIGHTNESS_SCALE, lookup.FRACTION_ONE


def _surroundings() -> tuple[str, ...]:
    """What else may change the last bit of a number."""
    machine = platform.system(), platform.machine(), sys.byteorder
    return np.__version__, *machine


def _canonical(value: object) -> Iterator[bytes]:
    """A value as bytes: every piece with its type and length, so that no two values read alike."""
    if isinstance(value, np.ndarray | np.generic):
        return _of_array(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _of_dataclass(value)
    if type(value) is tuple:
        return _of_tuple("tuple", value)
    if isinstance(value, frozenset | Mapping):
        return _of_unordered(value)
    return _of_plain(value)


def _of_array(array: np.ndarray[Any, Any] | np.generic) -> Iterator[bytes]:
    if array.dtype.hasobject or array.dtype.names is not None:
        raise TypeError(f"an array of {array.dtype} has no canonical form")
    yield _head(f"array {array.dtype.str} {array.shape}", array.nbytes)
    yield array.tobytes()


def _of_dataclass(value: Any) -> Iterator[bytes]:
    """Its type, the text of the module that gives it its methods, and its fields.

    A field that is not given follows from those that are.
    """
    kind = type(value)
    given = tuple(getattr(value, f.name) for f in dataclasses.fields(value) if f.init)
    name = f"{kind.__module__}.{kind.__qualname__} {_text_digest(_file_of(kind))}"
    return _of_tuple(name, given)


def _of_tuple(name: str, parts: tuple[object, ...]) -> Iterator[bytes]:
    yield _head(name, len(parts))
    for part in parts:
        yield from _canonical(part)


def _of_unordered(value: frozenset[object] | Mapping[object, object]) -> Iterator[bytes]:
    """Members in the order of their bytes."""
    is_mapping = isinstance(value, Mapping)
    yield _head("mapping" if is_mapping else "set", len(value))
    members = value.items() if isinstance(value, Mapping) else value
    yield from sorted(b"".join(_canonical(member)) for member in members)


def _of_plain(value: object) -> Iterator[bytes]:
    kind = type(value)
    if kind is float:
        data = struct.pack("<d", value)
    elif kind in (str, int, bool, type(None)):
        data = str(value).encode("utf-8", "surrogatepass")
    else:
        raise TypeError(f"a value of {kind.__module__}.{kind.__qualname__} has no canonical form")
    yield _head(kind.__name__, len(data))
    yield data


def _head(kind: str, length: int) -> bytes:
    return f"{kind}:{length}:".encode()


def _computing_files() -> list[Path]:
    parts = [_PACKAGE / part for part in COMPUTING_PARTS]
    return sorted(p for part in parts for p in (part.glob("*.py") if part.is_dir() else [part]))


def _file_of(kind: type) -> Path:
    file = getattr(sys.modules.get(kind.__module__), "__file__", None)
    if file is None:
        raise NoKeyError(f"the text of {kind.__module__} is not there")
    return Path(file)


@cache
def _text_digest(path: Path) -> str:
    """SHA-256 of a module's text, if that is what runs: it may have changed since it was loaded."""
    try:
        if path.stat().st_mtime_ns > _LOADED_NS:
            raise NoKeyError(f"{path.name} was changed while the program ran")
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise NoKeyError(f"{path.name}: {error.strerror or error}") from error
