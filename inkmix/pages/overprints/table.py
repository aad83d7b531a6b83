"""The sheet as a table: CSV for a spreadsheet, JSON for a script; all fields, all pairs alike.

CSV is UTF-8 with a byte order mark, quoted as in RFC 4180, rows end with CR LF; what a spreadsheet
would take for a formula gets an apostrophe before it.
"""

import csv
import io
import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from inkmix import __version__
from inkmix.jobs.overprints.fields import Block, Field
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints.captions import mix_words
from inkmix.pages.overprints.words import CAUTION

FORMAT = 1
FIRST_COLUMN = "inkmix field"
"""By which a CSV written here is known."""

JSON_MARK = b'"form": "inkmix overprint sheet"'

COLUMNS = {
    FIRST_COLUMN: "number of the field on the sheet",
    "block": "overprints, ramp, pair or darkest",
    "name": "what a dark is the darkest of",
    "mix": "in words",
    "L": "predicted, CIELAB, D50, 2 degree, absolute",
    "a": "",
    "b": "",
    "expected_error_de00": "95 % of prints are within it",
    "expected_error_L": "the same of L*",
    "total_ink_pct": "sum of the tone values",
    "over_limit": "yes: more than the ink limit",
    "shown": "sRGB on the sheet, in its view",
    "outside_srgb": "yes: the nearest is shown",
    "alike": "numbers of fields of its block that look alike, with dE00",
}
TONE_COLUMN = "{} %"
"""For each ink after `mix`: its tone value."""

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
_BOM = "\N{ZERO WIDTH NO-BREAK SPACE}"
_AFTER = list(COLUMNS).index("mix") + 1


def sheet_csv(sheet: OverprintSheet) -> bytes:
    """One row a field."""
    text = io.StringIO(newline="")
    text.write(_BOM)
    writer: Any = csv.writer(text, lineterminator="\r\n")
    names = list(COLUMNS)
    tones = [TONE_COLUMN.format(ink) for ink in sheet.inks]
    writer.writerow(map(_cell, [*names[:_AFTER], *tones, *names[_AFTER:]]))
    for row in _rows(sheet):
        writer.writerow(map(_cell, row))
    return text.getvalue().encode("utf-8", "backslashreplace")


def _rows(sheet: OverprintSheet) -> Iterator[list[object]]:
    number = 1
    for block in sheet.blocks:
        near = _near(block, number)
        for place, field in enumerate(block.fields):
            yield [
                number + place,
                block.kind,
                field.name,
                mix_words(sheet.inks, field),
                *(_number(tone) for tone in field.tone_pct),
                *(_number(value) for value in field.lab),
                _number(field.error_de00),
                _number(field.error_L),
                _number(field.total_pct),
                "yes" if field.is_over else "",
                _hex(field),
                "" if field.in_srgb else "yes",
                "; ".join(f"{other} ({de00:.1f})" for other, de00 in near[place]),
            ]
        number += len(block.fields)


def _near(block: Block, first: int) -> dict[int, list[tuple[int, float]]]:
    """For a field's place, the numbers of those that look like it."""
    near: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for pair in block.alike:
        near[pair.first].append((first + pair.second, pair.de00))
        near[pair.second].append((first + pair.first, pair.de00))
    return near


def sheet_json(sheet: OverprintSheet) -> bytes:
    """The sheet as one document; same sheet, same bytes."""
    limit = sheet.ink_limit
    document = {
        "form": "inkmix overprint sheet",
        "format": FORMAT,
        "program": {"name": "inkmix", "version": __version__},
        "title": sheet.title,
        "caution": CAUTION,
        "inks": list(sheet.inks),
        "paper": {"name": sheet.paper, "class": sheet.paper_class},
        "process": sheet.process,
        "ink_limit_pct": None if limit is None else {"value": limit.value, "whose": limit.whose},
        "known": {
            "level": sheet.level,
            "hints": list(sheet.hints),
            "unproven": list(sheet.unproven),
            "process_inks": [asdict(ink) for ink in sheet.process_inks],
            "spots": list(sheet.spots),
            "cautions": list(sheet.cautions),
        },
        "view": sheet.view,
        "alike_de00": sheet.alike_de00,
        "blocks": list(_blocks(sheet)),
    }
    return (json.dumps(document, indent=1, ensure_ascii=False) + "\n").encode()


def _blocks(sheet: OverprintSheet) -> Iterator[dict[str, Any]]:
    number = 1
    for block in sheet.blocks:
        yield {
            "block": block.kind,
            "inks": [sheet.inks[k] for k in block.inks],
            "fields": [
                _field(sheet, field, number + place) for place, field in enumerate(block.fields)
            ],
            "alike": [
                {
                    "fields": [number + pair.first, number + pair.second],
                    "de00": _number(pair.de00),
                }
                for pair in block.alike
            ],
        }
        number += len(block.fields)


def _field(sheet: OverprintSheet, field: Field, number: int) -> dict[str, Any]:
    return {
        "number": number,
        "name": field.name,
        "tone_pct": dict(zip(sheet.inks, map(_number, field.tone_pct), strict=True)),
        "lab": [_number(value) for value in field.lab],
        "expected_error": {"de00": _number(field.error_de00), "L": _number(field.error_L)},
        "total_ink_pct": _number(field.total_pct),
        "over_limit": field.is_over,
        "shown": _hex(field),
        "in_srgb": field.in_srgb,
    }


def _number(value: float) -> float:
    return round(value, 2) + 0.0  # + 0.0: no minus zero


def _hex(field: Field) -> str:
    return "#{:02x}{:02x}{:02x}".format(*field.srgb8)


def _cell(value: object) -> object:
    """Text that a spreadsheet reads as text; numbers as they are."""
    if isinstance(value, str) and value.startswith(_FORMULA):
        return f"'{value}"
    return value.replace("\0", "\\x00") if isinstance(value, str) else value
