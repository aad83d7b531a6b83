"""A test form as a JSON document, format 1: where every patch and mark lies, in mm."""

from typing import Any, Literal

from inkmix.base.json_document import (
    Program,
    document_schema,
    field_types,
    json_bytes,
    one_of,
    plain,
)
from inkmix.jobs.testform.marks import CORNERS
from inkmix.jobs.testform.values import TestForm

JSON_NAME = "testform.json"
FORMAT = 1
DIGITS = 4
MARK = b'"form": "inkmix test form"'
"""In the first bytes of every one written here."""


def form_json(form: TestForm) -> bytes:
    """The document as UTF-8 text; same form, same bytes."""
    document = {
        "form": "inkmix test form",
        "format": FORMAT,
        "program": Program(),
        **{name: getattr(form, name) for name in field_types(TestForm)},
    }
    said = {name: plain(value, digits=DIGITS) for name, value in document.items()}
    return json_bytes(said, name=JSON_NAME)


def form_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    members = {
        "form": Literal["inkmix test form"],
        "format": Literal[1],
        "program": Program,
        **field_types(TestForm),
    }
    return document_schema(
        members,
        name="test form, format 1",
        about="Where each patch and mark of a test form lies, and what is printed there.",
        said=TestForm,
        rules={"corner": one_of(CORNERS)},
    )
