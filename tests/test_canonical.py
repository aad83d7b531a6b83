"""Values as bytes: the same for the same value, whatever the object, and never for another.

That no two values read alike is held by tests/test_tables.py, for keys of tables are made so.
"""

from dataclasses import dataclass, field

import numpy as np
import pytest

from inkmix.base.canonical import pieces


def told(value: object) -> bytes:
    return b"".join(pieces(value))


@dataclass(frozen=True)
class Ink:
    name: str
    follows: str = field(init=False, default="x")


@dataclass(frozen=True)
class Paper:
    name: str


def test_bytes_written_by_hand():
    """The form itself is a promise: kept digests must not change with a rewrite of the code."""
    assert told(("Soot", 3, None, True)) == b"tuple:4:str:4:Sootint:1:3NoneType:4:Nonebool:4:True"
    assert told(1.5) == b"float:8:" + bytes.fromhex("000000000000f83f")  # IEEE 754, little-endian
    assert told({"b": 1, "a": 2}) == b"mapping:2:tuple:2:str:1:aint:1:2tuple:2:str:1:bint:1:1"
    assert told(Ink("Soot")) == b"Ink:1:str:4:Soot"
    assert told(np.array([1, 2], "<u2")) == b"array <u2 (2,):4:\x01\x00\x02\x00"


def test_order_counts_where_it_means_something():
    assert told({"a": 1, "b": 2}) == told({"b": 2, "a": 1})
    assert told(frozenset(("a", "b"))) == told(frozenset(("b", "a")))
    assert told(("a", "b")) != told(("b", "a"))


def test_kinds_are_told_apart_by_name():
    assert told(Ink("Soot")) != told(Paper("Soot"))
    assert b"".join(pieces(Ink("Soot"), named=lambda kind: "Paper")) == told(Paper("Soot"))


def test_a_name_that_is_no_unicode():
    assert told("\udcff") != told("\udcfe")


@pytest.mark.parametrize("value", [[1], {1}, b"x", object(), Ink, 1j])
def test_what_has_no_form_is_refused(value):
    with pytest.raises(TypeError, match="no canonical form"):
        told((1, value))
