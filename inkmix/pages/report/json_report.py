"""The answer about one spread as a JSON document, format 1, and the schema that states its shape.

Every field of the result travels under its own name; numbers are rounded to a ten-thousandth and
pictures stay behind, as digests. The schema comes from the result's classes; a change of them that
breaks a reader takes the next format number.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import PurePosixPath, PureWindowsPath
from typing import Annotated, Any, Literal

from inkmix.base.errors import Fault, OutputError
from inkmix.base.json_document import (
    SHA256,
    Program,
    document_schema,
    field_types,
    json_bytes,
    one_of,
    plain,
)
from inkmix.checks import table
from inkmix.jobs.answer import SpreadResult
from inkmix.pages.folders import JSON_NAME, PAGE_NAME

FORMAT = 1
DIGITS = 4  # finer than any figure is known; keeps the last bits of a platform out of the file
APART = ("pictures", "digests", "orders_of_tones", "remedies_shown")
"""Fields of the result that are written in another shape, or not at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """The page that belongs to this report."""

    file: Annotated[str, one_of([PAGE_NAME])]
    sha256: str


def report_document(result: SpreadResult, *, page: bytes) -> dict[str, Any]:
    """The result as plain values ready for JSON.

    Parameters
    ----------
    result : SpreadResult
    page : bytes
        `report.html` as written; the document holds its digest.

    Raises
    ------
    OutputError
        Where a file is named by an absolute path, all of them together.
    """
    _refuse_absolute(result)
    body = {
        name: result.facts[name] if name in result.facts else getattr(result, name)
        for name in _members()
    }
    document = {
        "format": FORMAT,
        "program": Program(),
        **body,
        "pictures": {key: _digest(data) for key, data in sorted(result.pictures.items())},
        "digests": dict(sorted(result.digests.items())),
        "page": Page(file=PAGE_NAME, sha256=_digest(page)),
    }
    return {name: plain(value, digits=DIGITS) for name, value in document.items()}


def report_bytes(document: Mapping[str, Any]) -> bytes:
    """The document as UTF-8 text, same document, same bytes.

    Raises
    ------
    OutputError
        Where numbers are not finite, all of them together.
    """
    return json_bytes(document, name=JSON_NAME)


def report_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    members = {
        "format": Literal[1],
        "program": Program,
        **_members(),
        "digests": field_types(SpreadResult)["digests"],
        "pictures": Mapping[str, Annotated[str, SHA256]],
        "page": Page,
    }
    about = "What inkmix found out about one spread. Its pictures are in report.html."
    rules = {"check": one_of(table.names())}
    return document_schema(
        members, name="report, format 1", about=about, said=SpreadResult, rules=rules
    )


def _members() -> dict[str, Any]:
    """Types of the fields that are written as they are, those of the checks in place of answers."""
    members: dict[str, Any] = {}
    for name, kind in field_types(SpreadResult).items():
        members |= table.fact_types() if name == "answers" else {name: kind}
    return {name: kind for name, kind in members.items() if name not in APART}


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _refuse_absolute(result: SpreadResult) -> None:
    named = [ink.file for ink in result.inks if ink.file] + list(result.digests)
    if result.reference:
        named.append(result.reference.file)
    faults = [
        Fault(
            where=f"report.json: {name}",
            found="an absolute path",
            expected="files are named from the book's folder, so that reports agree everywhere",
        )
        for name in dict.fromkeys(named)
        if PurePosixPath(name).is_absolute() or PureWindowsPath(name).is_absolute()
    ]
    if faults:
        raise OutputError(faults)
