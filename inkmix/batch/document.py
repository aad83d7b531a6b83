"""batch.json: the answer about a book for scripts, format 1, and the memory of the next run.

Every field of the result travels under its own name; thumbnails stay behind. What a run that is
under way, or was broken off, is compared with stays in it, so that nothing is forgotten then. Its
last field is a digest of all before it: a document that somebody else wrote on is compared with no
more. What was unreadable counts only beside the word of vouchers.py.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from inkmix.base.errors import Fault
from inkmix.base.inputs import read_input
from inkmix.base.json_document import (
    Program,
    document_schema,
    field_types,
    json_bytes,
    matching,
    one_of,
    plain,
)
from inkmix.batch.compare import LastRun
from inkmix.batch.rows import Fared
from inkmix.batch.spread_record import finding_from
from inkmix.book.keys import STATE_HEX
from inkmix.checks import table
from inkmix.jobs.book_answer import BatchResult, ExitCode
from inkmix.pages.folders import DATA_NAME

FORMAT = 1
DIGITS = 6  # of square metres, a square millimetre
_MOST_BYTES = 500_000_000
_SEAL = b',\n "sha256": "%s"\n}\n'
_SEAL_BYTES = len(_SEAL) - 2 + 64
_END = b"\n}\n"  # where the seal is put in
_SPOILT = (
    f"{DATA_NAME} was changed since inkmix wrote it, so nothing could be compared with the last "
    "run; the next one can"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What is known from before a run.

    Parameters
    ----------
    last : LastRun or None
        The last run that ended.
    unreadable : mapping of name to Fared
        Spreads that could not be checked, and cannot be before something of them changes.
    notes : tuple of str
        What has to be said of it.
    """

    last: LastRun | None = None
    unreadable: Mapping[str, Fared] = field(default_factory=dict)
    notes: tuple[str, ...] = ()


def document_bytes(result: BatchResult, *, last: LastRun | None) -> bytes:
    """The document as UTF-8 text; same result, same bytes.

    Parameters
    ----------
    last : LastRun or None
        What the result is compared with; it stays in the document until the run is complete.
    """
    document = {
        "format": FORMAT,
        "program": Program(),
        **{name: getattr(result, name) for name in field_types(BatchResult)},
        "exit_code": result.exit_code,
        "before": None if result.complete or last is None else last.findings,
    }
    said = {name: plain(value, digits=DIGITS) for name, value in document.items()}
    return _sealed(json_bytes(said, name=DATA_NAME))


def read_before(folder: Path) -> Before:
    """What the document of a folder tells; only that it is spoilt where it is not as written."""
    try:
        data = read_input(folder / DATA_NAME, most_bytes=_MOST_BYTES)
    except FileNotFoundError:
        return Before()
    except OSError:
        return Before(notes=(_SPOILT,))
    return _before_from(data) if _is_sealed(data) else Before(notes=(_SPOILT,))


def _before_from(data: bytes) -> Before:
    try:
        document = json.loads(data)
        if document["format"] != FORMAT:
            return Before()
        return Before(last=_last_run(document), unreadable=_unreadable(document))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return Before(notes=(_SPOILT,))


def _sealed(data: bytes) -> bytes:
    """A document with the digest of its bytes as one more field."""
    return data.removesuffix(_END) + _seal(data)


def _is_sealed(data: bytes) -> bool:
    """Whether a document holds the digest of what it is without it."""
    unsealed = data[:-_SEAL_BYTES] + _END
    return data[-_SEAL_BYTES:] == _seal(unsealed)


def _seal(data: bytes) -> bytes:
    return _SEAL % sha256(data).hexdigest().encode("ascii")


def batch_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    members = {
        "format": Literal[1],
        "program": Program,
        **field_types(BatchResult),
        "exit_code": ExitCode,
        "before": field_types(LastRun)["findings"] | None,
        "sha256": str,
    }
    return document_schema(
        members,
        name="batch, format 1",
        about="What inkmix found out about every spread of a book.",
        said=BatchResult,
        rules={
            **dict.fromkeys(("check", "checks", "checks_before"), one_of(table.names())),
            "rests_on": matching(STATE_HEX),
        },
    )


def _unreadable(document: Mapping[str, Any]) -> dict[str, Fared]:
    """As the run that wrote it found them, ended or not."""
    return {row["name"]: _fared(row) for row in document["rows"] if row.get("faults_key")}


def _fared(row: Mapping[str, Any]) -> Fared:
    faults = tuple(Fault(**said) for said in row["faults"])
    return Fared(faults=faults, faults_key=row["faults_key"], exit_code=int(row["exit_code"]))


def _last_run(document: Mapping[str, Any]) -> LastRun | None:
    """What the next run compares with; before the checks could be chosen, all of them ran."""
    if not document["complete"]:
        before = document["before"]
        checks = tuple(document.get("checks_before", table.names()))
        return None if before is None else LastRun(checks=checks, findings=_findings(before))
    said = {
        row["name"]: row["checked"] and [shown["finding"] for shown in row["findings"]]
        for row in document["rows"]
    }
    checks = tuple(document.get("checks", table.names()))
    return LastRun(checks=checks, findings=_findings(said))


def _findings(said: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: None if findings is None else tuple(map(finding_from, findings))
        for name, findings in said.items()
    }
