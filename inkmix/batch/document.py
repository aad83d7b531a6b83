"""batch.json: the answer about a book for scripts, format 1, and the memory of the next run.

Every field of the result travels under its own name; thumbnails stay behind. What a run that is
under way, or was broken off, is compared with stays in it, so that nothing is forgotten then.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any, cast

from inkmix import __version__
from inkmix.batch.compare import LastRun
from inkmix.batch.folders import DATA_NAME
from inkmix.batch.kept import finding_from
from inkmix.batch.result import BatchResult
from inkmix.batch.rows import Fared
from inkmix.errors import Fault

FORMAT = 1
DIGITS = 6  # of square metres, a square millimetre
_MOST_BYTES = 500_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """What is known from before a run.

    Parameters
    ----------
    last : LastRun or None
        The last run that ended.
    unreadable : mapping of name to Fared
        Spreads that could not be checked, and cannot be before something of them changes.
    """

    last: LastRun | None = None
    unreadable: Mapping[str, Fared] = field(default_factory=dict)


def document_bytes(result: BatchResult, *, last: LastRun | None) -> bytes:
    """The document as UTF-8 text; same result, same bytes.

    Parameters
    ----------
    last : LastRun or None
        What the result is compared with; it stays in the document until the run is complete.
    """
    body = {item.name: _plain(getattr(result, item.name)) for item in fields(result)}
    document = {
        "format": FORMAT,
        "program": {"name": "inkmix", "version": __version__},
        **body,
        "exit_code": result.exit_code,
        "before": None if result.complete or last is None else _before(last),
    }
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    return (text + "\n").encode("utf-8", "backslashreplace")


def read_before(folder: Path) -> Before:
    """What the document of a folder tells; nothing where it cannot be understood."""
    path = folder / DATA_NAME
    try:
        if path.stat().st_size > _MOST_BYTES:
            return Before()
        document = json.loads(path.read_bytes())
        if document["format"] != FORMAT:
            return Before()
        return Before(last=_last_run(document), unreadable=_unreadable(document))
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return Before()


def batch_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    text = files("inkmix.batch").joinpath("batch.schema.json").read_text(encoding="utf-8")
    return cast(dict[str, Any], json.loads(text))


def _unreadable(document: Mapping[str, Any]) -> dict[str, Fared]:
    """As the run that wrote it found them, ended or not."""
    return {row["name"]: _fared(row) for row in document["rows"] if row.get("faults_key")}


def _fared(row: Mapping[str, Any]) -> Fared:
    faults = tuple(Fault(**said) for said in row["faults"])
    return Fared(faults=faults, faults_key=row["faults_key"], exit_code=int(row["exit_code"]))


def _last_run(document: Mapping[str, Any]) -> LastRun | None:
    if not document["complete"]:
        before = document["before"]
        return None if before is None else LastRun(findings=_findings(before))
    rows = document["rows"]
    return LastRun(
        findings=_findings(
            {
                row["name"]: row["checked"] and [shown["finding"] for shown in row["findings"]]
                for row in rows
            }
        )
    )


def _findings(said: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: None if findings is None else tuple(map(finding_from, findings))
        for name, findings in said.items()
    }


def _before(last: LastRun) -> dict[str, Any]:
    return {name: _plain(findings) for name, findings in last.findings.items()}


def _plain(value: object) -> Any:
    if isinstance(value, float):
        return round(value, DIGITS) + 0.0  # + 0.0: no minus zero
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if is_dataclass(value):
        names = [item.name for item in fields(value) if item.type is not bytes]
        return {name: _plain(getattr(value, name)) for name in names}
    return [_plain(item) for item in cast(tuple[object, ...], value)]
