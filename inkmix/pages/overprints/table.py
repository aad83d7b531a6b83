"""The sheet as a table: CSV for a spreadsheet, JSON for a script; all fields, all pairs alike."""

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from inkmix import __version__
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00
from inkmix.jobs.overprints.fields import Block, Field
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints.captions import mix_words
from inkmix.pages.overprints.words import CAUTION
from inkmix.pages.svg import hexed
from inkmix.pages.tables import csv_table, csv_yes

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

_AFTER = list(COLUMNS).index("mix") + 1


def sheet_csv(sheet: OverprintSheet) -> bytes:
    """One row a field."""
    names = list(COLUMNS)
    tones = [TONE_COLUMN.format(ink) for ink in sheet.inks]
    return csv_table([*names[:_AFTER], *tones, *names[_AFTER:]], _rows(sheet))


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
                csv_yes(field.is_over),
                hexed(field.srgb8),
                csv_yes(not field.in_srgb),
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
    condition, limit = sheet.condition, sheet.ink_limit
    document = {
        "form": "inkmix overprint sheet",
        "format": FORMAT,
        "program": {"name": "inkmix", "version": __version__},
        "title": sheet.title,
        "caution": CAUTION,
        "inks": list(sheet.inks),
        "paper": {"name": condition.paper.name, "class": condition.paper.paper_class},
        "process": condition.process.name,
        "ink_limit_pct": None if limit is None else {"value": limit.value, "whose": limit.whose},
        "known": {
            "level": condition.level,
            "hints": list(condition.hints),
            "unproven": list(condition.doubts),
            "process_inks": [asdict(ink) for ink in condition.process_inks],
            "spots": list(condition.spots),
            "cautions": list(condition.cautions),
        },
        "view": sheet.view,
        "alike_de00": HARD_TO_TELL_DE00,
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
        "shown": hexed(field.srgb8),
        "in_srgb": field.in_srgb,
    }


def _number(value: float) -> float:
    return round(value, 2) + 0.0  # + 0.0: no minus zero
