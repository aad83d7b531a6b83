"""What is kept of a checked spread beside its report, as bytes and back.

Bytes that are not exactly such a record are no record: then the spread is checked again. Whether
they are what was written is told by their digest, which vouchers.py knows.
"""

import json
from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from hashlib import sha256
from pathlib import Path
from typing import Any

from inkmix.base.inputs import input_digest, read_input
from inkmix.checks.guesses import Guess
from inkmix.checks.uses import ColourUse
from inkmix.jobs.book_answer import Checked, InkUse, KeptFinding, KeptUse
from inkmix.pages.folders import JSON_NAME, KEPT_NAME, PAGE_NAME
from inkmix.sheet.geometry import Place

FORMAT = 1
_MOST_BYTES = 10_000_000
_PAIRS = ("rows_px", "cols_px")


def kept_bytes(checked: Checked) -> bytes:
    """The record as UTF-8 JSON; same record, same bytes."""
    body = asdict(checked) | {
        "thumbnail": _as_text(checked.thumbnail),
        "uses": [{**asdict(kept), "picture": _as_text(kept.picture)} for kept in checked.uses],
    }
    text = json.dumps({"kept by": "inkmix", "format": FORMAT, **body}, indent=1, ensure_ascii=True)
    return (text + "\n").encode("ascii")


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A record as it lies there, and the SHA-256 of its bytes, hex."""

    checked: Checked
    digest: str


def record_digest(data: bytes) -> str:
    """SHA-256, hex, of the bytes of a record."""
    return sha256(data).hexdigest()


def read_kept(folder: Path) -> Kept | None:
    """The record in a report's folder; None where there is none that can be read."""
    try:
        data = read_input(folder / KEPT_NAME, most_bytes=_MOST_BYTES)
        document = json.loads(data)
        if document.pop("format") != FORMAT:
            return None
        return Kept(checked=_checked(document), digest=record_digest(data))
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def is_whole(checked: Checked, folder: Path) -> bool:
    """Whether the report beside the record is there, and is the one it speaks of."""
    wanted = {PAGE_NAME: checked.report_sha256, JSON_NAME: checked.data_sha256}
    try:
        return all(input_digest(folder / name) == digest for name, digest in wanted.items())
    except OSError:
        return False


def finding_from(said: Mapping[str, Any]) -> KeptFinding:
    """A finding from the values of a JSON document.

    Raises
    ------
    TypeError, ValueError
        Where they are no finding.
    """
    known = {item.name for item in fields(KeptFinding)}
    values = {key: value for key, value in said.items() if key in known}
    for key in _PAIRS:
        if values.get(key) is not None:
            first, last = values[key]
            values[key] = (int(first), int(last))
    return KeptFinding(**values)


def _checked(document: dict[str, Any]) -> Checked:
    document.pop("kept by")
    document["findings"] = tuple(finding_from(said) for said in document["findings"])
    document["inks"] = tuple(_ink(said) for said in document["inks"])
    document["notes"] = tuple(document["notes"])
    document["guesses"] = tuple(_guess(said) for said in document["guesses"])
    document["uses"] = tuple(_kept_use(said) for said in document["uses"])
    document["thumbnail"] = _bytes(document["thumbnail"])
    return Checked(**document)


def _as_text(data: bytes) -> str:
    return b64encode(data).decode("ascii")


def _bytes(text: str) -> bytes:
    return b64decode(text, validate=True)


def _kept_use(said: dict[str, Any]) -> KeptUse:
    use, picture = said["use"], _bytes(said["picture"])
    use["places"] = tuple(_place(where) for where in use["places"])
    for key in ("lab", "srgb8"):
        use[key] = None if use[key] is None else tuple(use[key])
    return KeptUse(use=ColourUse(**use), picture=picture)


def _place(said: dict[str, Any]) -> Place:
    panels = tuple(said.pop("panels"))
    return Place(panels=panels, **said)


def _guess(said: dict[str, Any]) -> Guess:
    srgb8 = said.pop("srgb8")
    return Guess(srgb8=None if srgb8 is None else _triple8(srgb8), **said)


def _ink(said: dict[str, Any]) -> InkUse:
    return InkUse(solid_srgb8=_triple8(said.pop("solid_srgb8")), **said)


def _triple8(said: Any) -> tuple[int, int, int]:
    red, green, blue = said
    return int(red), int(green), int(blue)
