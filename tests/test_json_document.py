"""Dataclasses as JSON: what is written, and the schema that comes from the same classes."""

import inspect
import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Literal

import jsonschema
import numpy as np
import pytest

from inkmix.base.errors import OutputError
from inkmix.base.json_document import (
    SHA256,
    Program,
    between,
    document_schema,
    field_types,
    holding,
    json_bytes,
    one_of,
    plain,
)

PAPERS = ("coated", "uncoated")


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One leaf
    of a strip.

    Parameters
    ----------
    width_mm, height_mm : float
        Trimmed; no bleed
        is in it.
    """

    width_mm: float
    height_mm: float
    x_mm: float = -3.0  # from the trim
    next: "Leaf | None" = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A strip."""

    format: Literal[1] = 1
    paper: Annotated[str, one_of(PAPERS)] = "coated"
    leaves: Annotated[tuple[Leaf, ...], holding(1, 8)] = (Leaf(width_mm=110, height_mm=150),)
    share: Annotated[float, between(0, 1)] | None = None
    mean_tone_pct: Mapping[str, float] = field(default_factory=lambda: {"Soot": 1 / 3})
    srgb8: tuple[int, int, int] = (0, 1, 255)
    panels: int = 8
    is_folded: bool = True
    check: str = "night"
    digest: Annotated[str, SHA256] = "0" * 64
    thumbnail: bytes = b"stays behind"


def schema_of(kind=Strip, **more):
    members = field_types(kind) | more
    rules = {"check": one_of(("night", "bare paper"))}
    name, about = "strip, format 1", "A strip."
    return document_schema(members, name=name, about=about, said=kind, rules=rules)


def is_valid(document, schema=None) -> bool:
    return jsonschema.Draft202012Validator(schema or schema_of()).is_valid(document)


def written(strip=None):
    return json.loads(json_bytes(plain(strip or Strip(), digits=3), name="strip.json"))


def test_a_document_is_written_in_full_but_for_bytes():
    assert written() == {
        "format": 1,
        "paper": "coated",
        "leaves": [{"width_mm": 110, "height_mm": 150, "x_mm": -3.0, "next": None}],
        "share": None,
        "mean_tone_pct": {"Soot": 0.333},
        "srgb8": [0, 1, 255],
        "panels": 8,
        "is_folded": True,
        "check": "night",
        "digest": "0" * 64,
    }


def test_the_schema_is_one_and_what_is_written_fits():
    jsonschema.Draft202012Validator.check_schema(schema_of())
    leaf = Leaf(width_mm=1, height_mm=0)
    for strip in (Strip(), Strip(share=0.5, leaves=(replace(leaf, next=leaf),))):
        assert is_valid(written(strip))


def test_a_field_left_out_or_unknown_does_not_fit():
    for name in written():
        assert not is_valid({key: value for key, value in written().items() if key != name}), name
    assert not is_valid(written() | {"thumbnail": "back"})
    assert not is_valid(written() | {"leaves": [{"width_mm": 1, "height_mm": 1, "x_mm": 1}]})


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("format", [2, "1", None]),
        ("paper", ["matt", None, 1]),
        ("leaves", [[], {}, None, [None], [written()["leaves"][0]] * 9]),
        ("share", [1.01, -0.01, "0.5"]),
        ("mean_tone_pct", [[], {"Soot": -1}, {"Soot": 101}, {"Soot": None}]),
        ("srgb8", [[0, 0], [0, 0, 0, 0], [0, 0, 256], [0, -1, 0], [0, 0.5, 0]]),
        ("panels", [-1, 1.5, "8"]),
        ("is_folded", [1, None]),
        ("check", ["tones", None]),
        ("digest", ["0" * 63, "g" * 64, None]),
    ],
)
def test_a_value_of_the_wrong_kind_does_not_fit(name, values):
    for value in values:
        assert not is_valid(written() | {name: value}), value


def test_what_a_class_says_of_its_fields_is_in_the_schema(monkeypatch):
    leaf = schema_of()["$defs"]["Leaf"]
    assert leaf["description"] == "One leaf of a strip."
    said = {name: value.get("description") for name, value in leaf["properties"].items()}
    trimmed = "Trimmed; no bleed is in it."
    told = {"width_mm": trimmed, "height_mm": trimmed, "x_mm": "from the trim", "next": None}
    assert said == told

    def without_source(_: object) -> str:
        raise OSError("could not get source code")

    monkeypatch.setattr(inspect, "getsource", without_source)
    leaf["properties"]["x_mm"].pop("description")
    assert schema_of()["$defs"]["Leaf"] == leaf


def test_parts_are_put_beside_the_fields_of_a_result():
    """A check brings a name and a class, and changes nothing else."""

    @dataclass(frozen=True, slots=True, kw_only=True)
    class BareFacts:
        """Paper left bare."""

        bare_pct: float

    schema = schema_of(bare=BareFacts, program=Program)
    document = written() | plain({"bare": BareFacts(bare_pct=4), "program": Program()}, digits=1)
    assert is_valid(document, schema)
    assert not is_valid(written(), schema)
    assert not is_valid(document | {"bare": {"bare_pct": -1}}, schema)
    assert not is_valid(document | {"program": {"name": "other", "version": "1"}}, schema)
    assert is_valid(document | {"check": "bare paper"}, schema)
    without = {key: value for key, value in schema["properties"].items() if key in written()}
    assert without == schema_of()["properties"]


def test_a_type_that_no_document_holds_is_named():
    with pytest.raises(TypeError, match="has no place in a document"):
        schema_of(folder=Path)
    with pytest.raises(TypeError, match="has no place in a document"):
        schema_of(pair=tuple[int, str])
    with pytest.raises(TypeError):
        plain({"folder": Path()}, digits=1)


@pytest.mark.parametrize(
    ("value", "plainly"),
    [
        (np.int32(12), 12), (np.float64(0.12346), 0.1235), (-0.00001, 0.0), (True, True),
        (None, None), (("a", [1]), ["a", [1]]), ({1: 2}, {"1": 2}),
    ],
)  # fmt: skip
def test_values_are_plain_rounded_and_never_minus_zero(value, plainly):
    said = plain(value, digits=4)
    assert (said, type(said), str(said)) == (plainly, type(plainly), str(plainly))


def test_numbers_that_are_none_are_named_all_at_once():
    document = plain({"a": [1, {"b": float("nan")}], "c": float("-inf"), "d": 1.0}, digits=2)
    with pytest.raises(OutputError) as caught:
        json_bytes(document, name="strip.json")
    assert list(map(str, caught.value.faults)) == [
        "strip.json: a[1].b: nan, not a number",
        "strip.json: c: -inf, not a number",
    ]


def test_a_name_that_is_not_unicode_is_kept():
    name = b"Nacht\xe4.tif".decode("utf-8", "surrogateescape")
    data = json_bytes({"file": name, "ink": "Überfahrt"}, name="strip.json")
    assert json.loads(data) == {"file": name, "ink": "Überfahrt"}
    assert data.endswith(b"}\n")
    assert "Überfahrt".encode() in data
