"""What was mended as a JSON document, format 1, and the schema that states its shape.

Every field of the result travels under its own name; pictures stay behind.
"""

from typing import Any, Literal

from inkmix.base.json_document import (
    Program,
    document_schema,
    field_types,
    json_bytes,
    one_of,
    plain,
)
from inkmix.checks import table
from inkmix.checks.finding import Verdict
from inkmix.jobs.mending.folder import RECIPE_NAME
from inkmix.jobs.mending.values import BookMended

JSON_NAME = "mending.json"
FORMAT = 1
DIGITS = 4


def mending_bytes(book: BookMended) -> bytes:
    """The document as UTF-8 text; same result, same bytes."""
    document = {
        "format": FORMAT,
        "program": Program(),
        **{name: getattr(book, name) for name in field_types(BookMended)},
        "verdict": book.verdict,
        "recipe": RECIPE_NAME if book.is_changed else None,
    }
    said = {name: plain(value, digits=DIGITS) for name, value in document.items()}
    return json_bytes(said, name=JSON_NAME)


def mending_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    members = {
        "format": Literal[1],
        "program": Program,
        **field_types(BookMended),
        "verdict": Verdict,
        "recipe": str | None,
    }
    return document_schema(
        members,
        name="mending, format 1",
        about="What inkmix corrected in copies of a book's plates, and what its checks say then.",
        said=BookMended,
        rules={"check": one_of(table.names())},
    )
