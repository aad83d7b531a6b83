"""The answer about one spread as a JSON document, format 1, and the schema that states its shape.

Every field of the result travels under its own name; numbers are rounded to a ten-thousandth and
pictures stay behind, as digests. Whoever adds, renames or removes a field here changes
`report.schema.json` with it; a change that breaks a reader takes the next format number.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from hashlib import sha256
from importlib.resources import files
from math import isfinite
from numbers import Integral, Real
from pathlib import PurePosixPath, PureWindowsPath
from typing import Any, cast

from inkmix import __version__
from inkmix.base.errors import Fault, OutputError
from inkmix.jobs.answer import SpreadResult

FORMAT = 1
DIGITS = 4  # finer than any figure is known; keeps the last bits of a platform out of the file
APART = ("pictures", "digests", "orders_of_tones")
"""Fields of the result that are written in another shape, or not at all."""


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
        Where a number is not finite or a file is named by an absolute path, all of them together.
    """
    _refuse_absolute(result)
    body = dict(_fields(result))
    faults: list[Fault] = []
    document = {
        "format": FORMAT,
        "program": {"name": "inkmix", "version": __version__},
        **{name: _plain(value, name, faults) for name, value in body.items()},
        "pictures": {key: _digest(data) for key, data in sorted(result.pictures.items())},
        "digests": dict(sorted(result.digests.items())),
        "page": {"file": "report.html", "sha256": _digest(page)},
    }
    if faults:
        raise OutputError(faults)
    return document


def report_bytes(document: Mapping[str, Any]) -> bytes:
    """The document as UTF-8 text, same document, same bytes.

    A file name that is not proper Unicode is kept as JSON's own escape of its bytes.
    """
    text = json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False)
    return (text + "\n").encode("utf-8", "backslashreplace")


def report_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of format 1."""
    text = files("inkmix.pages.report").joinpath("report.schema.json").read_text(encoding="utf-8")
    return cast(dict[str, Any], json.loads(text))


def _fields(result: SpreadResult) -> Iterator[tuple[str, object]]:
    """The fields of the document, those of the checks in place of their answers."""
    for item in fields(result):
        if item.name == "answers":
            yield from result.facts.items()
        elif item.name not in APART:
            yield item.name, getattr(result, item.name)


def _digest(data: bytes) -> str:
    return sha256(data).hexdigest()


def _plain(value: object, where: str, faults: list[Fault]) -> Any:
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return _number(float(value), where, faults)
    if isinstance(value, Mapping):
        return {str(key): _plain(item, f"{where}.{key}", faults) for key, item in value.items()}
    if is_dataclass(value):
        names = [item.name for item in fields(value)]
        return {name: _plain(getattr(value, name), f"{where}.{name}", faults) for name in names}
    return [_plain(item, f"{where}[{k}]", faults) for k, item in enumerate(_listed(value))]


def _listed(value: object) -> tuple[object, ...]:
    if not isinstance(value, tuple | list):
        raise TypeError(f"{type(value).__name__} has no place in a report")
    return tuple(value)


def _number(value: float, where: str, faults: list[Fault]) -> float | None:
    if not isfinite(value):
        faults.append(Fault(where=f"report.json: {where}", found=f"{value}, not a number"))
        return None
    return round(value, DIGITS) + 0.0  # + 0.0: no minus zero


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
