"""The name of a table: a digest of all that decides a node of it.

That is the model with every value in it (what scipy fitted is among them), the text of every module
that computes, the version of numpy and the kind of machine. Whatever cannot be told apart for
certain is refused: a table may be built once too often, but never be taken for another.
"""

import hashlib
import platform
import sys
import time
from functools import cache
from pathlib import Path

import numpy as np

import inkmix
from inkmix.base.canonical import pieces
from inkmix.press.table import lookup

#: Parts that decide a colour whatever the model; a folder counts whole.
COMPUTING_PARTS = (
    "base/arrays.py",
    "colour/monotone.py",
    "colour/observer.py",
    "colour/colorimetry.py",
    "press",
    "press/solids",
    "press/table/lookup.py",
)
_PACKAGE = Path(inkmix.__file__).parent
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
    whole = (inks, depth, _scales(inks), _surroundings(), texts, model)
    for piece in pieces(whole, named=_named):
        sha.update(piece)
    return sha.digest()


def _scales(inks: int) -> tuple[int, ...]:
    return lookup.NODES[inks], lookup.SRGB_SCALE, lookup.LIGHTNESS_SCALE, lookup.FRACTION_ONE


def _surroundings() -> tuple[str, ...]:
    """What else may change the last bit of a number."""
    machine = platform.system(), platform.machine(), sys.byteorder
    return np.__version__, *machine


def _named(kind: type) -> str:
    """A dataclass with the text of the module that gives it its methods."""
    return f"{kind.__module__}.{kind.__qualname__} {_text_digest(_file_of(kind))}"


def _computing_files() -> list[Path]:
    parts = [_PACKAGE / part for part in COMPUTING_PARTS]
    return sorted(p for part in parts for p in (part.glob("*.*") if part.is_dir() else [part]))


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
