"""Read book.toml: bytes to plain frozen values, all faults at once.

The only module that imports pydantic, and nothing of pydantic leaves it. Ranges and words come from
keys.py, what spans several keys from rules.py.
"""

import errno
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import PydanticCustomError

from inkmix.base.errors import BookError, Fault, capped
from inkmix.base.inputs import read_input
from inkmix.base.quoting import acting_sign, clipped
from inkmix.book.build import build_book, in_one_form
from inkmix.book.faults import (
    HEX_COLOUR,
    NOT_BLANK,
    TWELVE_HEX,
    Problem,
    faults_of,
    in_file_order,
    without,
)
from inkmix.book.keys import MAX_CHANNELS, MAX_INKS, MAX_SPREADS, find_key
from inkmix.book.overrides import is_of_override, merged, override_rules, too_much
from inkmix.book.rules import Rules, check_rules
from inkmix.book.text import MAX_BYTES, BookText, parse_book_text
from inkmix.book.values import FORMAT, Book, Override
from inkmix.press.solids.opacity import OPACITY_WORDS

_PRIVATE = re.compile(r'"(#/\$defs/)?_(\w+)"')  # names of the classes below, as the schema has them


def _key(dotted: str, default: Any = ..., *, pattern: str | None = None) -> Any:
    """A field with meaning and range from the table of keys; ... makes it required."""
    table, _, name = dotted.rpartition(".")
    key = find_key(table, name)
    assert key is not None, dotted
    low, high = (None, None) if key.words else (key.low, key.high)  # words have their own check
    return Field(default, alias=name, description=key.about, ge=low, le=high, pattern=pattern)


def _opacity(value: Any) -> Any:
    """A word or a number, checked at once so that one message names both."""
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if value in OPACITY_WORDS if isinstance(value, str) else is_number and 0 <= value <= 1:
        return value
    raise PydanticCustomError("word_or_number", "a word or a number")


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


_Three = Annotated[list[float], Field(min_length=3, max_length=3)]
_Four = Annotated[list[float], Field(min_length=4, max_length=4)]
_Two = Annotated[list[float], Field(min_length=2, max_length=2)]
_Path = Annotated[str, Field(min_length=1, max_length=100)]


def _plain(value: str) -> str:
    """A name, which stands in file names, on pages and in a terminal."""
    return _without(value, allowed="")


def _lines(value: str) -> str:
    return _without(value, allowed="\t\r\n")


def _without(value: str, *, allowed: str) -> str:
    if sign := acting_sign(value, allowed=allowed):
        raise PydanticCustomError("acting_sign", "{sign}", {"sign": sign, "lines": bool(allowed)})
    return value


_Name = Annotated[str, Field(min_length=1, max_length=100), AfterValidator(_plain)]
_Reason = Annotated[str, Field(max_length=2000), AfterValidator(_lines)]
_Spreads = Annotated[list[_Name], Field(max_length=MAX_SPREADS)]


def _format_1(value: Any) -> Any:
    if type(value) is not int or value != FORMAT:  # true equals 1, and is no format
        raise PydanticCustomError("format_1", "1")
    return value


def _text_or_number(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, str | int):
        raise PydanticCustomError("text_or_number", "a name or a number from 1")
    return value


class _Paper(_Table):
    swatch: _Name | None = _key("paper.swatch", None)
    lab: _Three | None = _key("paper.lab", None)
    xyz: _Three | None = _key("paper.xyz", None)
    srgb: str | None = _key("paper.srgb", None, pattern=HEX_COLOUR)
    measurements: _Path | None = _key("paper.measurements", None)
    paper_class: (
        Literal["coated", "light-coated", "supercalendered", "uncoated", "newsprint"] | None
    ) = _key("paper.class", None)
    tinted: bool = _key("paper.tinted", False)
    guessed: bool = _key("paper.guessed", False)
    gsm: float | None = _key("paper.gsm", None)
    caliper_mm: float | None = _key("paper.caliper_mm", None)
    grain: Literal["long", "short"] | None = _key("paper.grain", None)


class _Density(_Table):
    red: float = _key("inks.density.red")
    green: float = _key("inks.density.green")
    blue: float = _key("inks.density.blue")
    status: Literal["E", "T"] = _key("inks.density.status")
    relative: bool = _key("inks.density.relative")


_Opacity = Literal["transparent", "slightly opaque", "opaque"] | Annotated[float, Field(ge=0, le=1)]


class _Ink(_Table):
    name: _Name = _key("inks.name")
    swatch: _Name | None = _key("inks.swatch", None)
    lab: _Three | None = _key("inks.lab", None)
    xyz: _Three | None = _key("inks.xyz", None)
    density: _Density | None = _key("inks.density", None)
    srgb: str | None = _key("inks.srgb", None, pattern=HEX_COLOUR)
    measurements: _Path | None = _key("inks.measurements", None)
    guessed: bool = _key("inks.guessed", False)
    column: _Name | None = _key("inks.column", None)
    tone_value_increase_pct: float | None = _key("inks.tone_value_increase_pct", None)
    opacity: Annotated[_Opacity, BeforeValidator(_opacity)] | None = _key("inks.opacity", None)
    character: list[Literal["fluorescent", "metallic"]] = _key("inks.character", [])
    polarity: Literal["dark is ink", "light is ink"] | None = _key("inks.polarity", None)
    channel: Annotated[str | int, BeforeValidator(_text_or_number)] | None = _key(
        "inks.channel", None
    )
    plate: _Name | None = _key("inks.plate", None)
    angle_deg: float | None = _key("inks.angle_deg", None)
    ruling_lpi: float | None = _key("inks.ruling_lpi", None)
    press_pass: int | None = _key("inks.pass", None)


_Process = Literal[
    "sheet-fed offset", "web offset", "newsprint", "stencil duplicator", "screen print"
]


class _SomeOfPress(_Table):
    process: _Process | None = _key("press.process", None)
    ink_limit_pct: float | None = _key("press.ink_limit_pct", None)
    edge_growth_mm: float | None = _key("press.edge_growth_mm", None)
    overprints: _Path | None = _key("press.overprints", None)
    confirmed_by_printer: list[str] = _key("press.confirmed_by_printer", [])


class _Press(_SomeOfPress):
    process: _Process = _key("press.process")


class _Plates(_Table):
    pattern: _Path = _key("plates.pattern")
    ppi: float | None = _key("plates.ppi", None)
    absent: Literal["empty", "refuse"] = _key("plates.absent", "refuse")
    channels: Annotated[list[str], Field(max_length=MAX_CHANNELS)] = _key("plates.channels", [])
    page: int | None = _key("plates.page", None)


class _Strip(_Table):
    panels: int = _key("strip.panels")
    panel_mm: _Two = _key("strip.panel_mm")
    bleed_mm: float = _key("strip.bleed_mm", 0.0)
    sides: _Spreads = _key("strip.sides", [])


class _TotalInk(_Table):
    min_area_mm2: float = _key("total_ink.min_area_mm2", 1.0)


class _RulePart(_Table):
    plate: str = _key("night.rule.plate")
    at_least_pct: float = _key("night.rule.at_least_pct")


class _Night(_Table):
    name: _Name = _key("night.name")
    mask: _Path | None = _key("night.mask", None)
    mask_shows: Literal["white", "black"] | None = _key("night.mask_shows", None)
    rect_mm: _Four | None = _key("night.rect_mm", None)
    rule: Annotated[list[_RulePart], Field(min_length=1)] | None = _key("night.rule", None)
    lightest_L: float | None = _key("night.lightest_L", None)
    share_pct: float = _key("night.share_pct", 95.0)
    spreads: _Spreads = _key("night.spreads", [])


class _Tone(_Table):
    name: _Name = _key("tones.name")
    mix: dict[str, float] = _key("tones.mix")
    intended: str | None = _key("tones.intended", None, pattern=HEX_COLOUR)
    lab: _Three | None = _key("tones.lab", None)
    tolerance_de00: float | None = _key("tones.tolerance_de00", None)


class _Reference(_Table):
    picture: _Path = _key("reference.picture")


_Inks = Annotated[list[_Ink], Field(min_length=1, max_length=MAX_INKS)]


class _Override(_Table):
    spreads: Annotated[_Spreads, Field(min_length=1)] = _key("override.spreads")
    paper: _Paper | None = _key("override.paper", None)
    inks: _Inks | None = _key("override.inks", None)
    press: _SomeOfPress | None = _key("override.press", None)
    strip: _Strip | None = _key("override.strip", None)
    total_ink: _TotalInk | None = _key("override.total_ink", None)
    night: list[_Night] | None = _key("override.night", None)
    tones: list[_Tone] | None = _key("override.tones", None)
    reference: _Reference | None = _key("override.reference", None)


class _Waive(_Table):
    spread: _Name | None = _key("waive.spread", None)
    check: Literal["total ink", "night", "named tones"] = _key("waive.check")
    name: _Name | None = _key("waive.name", None)
    rests_on: str = _key("waive.rests_on", pattern=TWELVE_HEX)
    reason: _Reason = _key("waive.reason", pattern=NOT_BLANK)
    by: _Name = _key("waive.by", pattern=NOT_BLANK)


class _Book(_Table):
    format: Annotated[Literal[1], BeforeValidator(_format_1)] = _key("format")
    title: _Name = _key("title")
    paper: _Paper = _key("paper")
    inks: _Inks = _key("inks")
    press: _Press = _key("press")
    plates: _Plates = _key("plates")
    strip: _Strip | None = _key("strip", None)
    total_ink: _TotalInk = _key("total_ink", _TotalInk())
    night: list[_Night] = _key("night", [])
    tones: list[_Tone] = _key("tones", [])
    reference: _Reference | None = _key("reference", None)
    override: list[_Override] = _key("override", [])
    waive: list[_Waive] = _key("waive", [])


def read_book(path: str | Path) -> Book:
    """The book at a path, or in a folder as book.toml.

    Raises
    ------
    BookError
        All faults of the file together, each with its line and key path.
    """
    path = Path(path)
    path = path / "book.toml" if path.is_dir() else path
    data = _read_bytes(path)
    return parse_book(data, path=path.resolve())


def parse_book(data: bytes, *, path: Path) -> Book:
    """The book in these bytes; `path` names it, and its folder holds what it speaks of."""
    text = parse_book_text(data, name=clipped(path.name, 255))
    _refuse_newer(text)
    if faults := too_much(text.data, text=text):
        raise BookError(faults)
    model, problems = _validate(text.data)
    faults = faults_of(problems, text)
    whole, each = _rules(text, problems, folder=path.parent)
    faults += [fault for rules in (whole, *each) for fault in rules.faults]
    if faults or model is None:
        raise BookError(capped(in_file_order(faults), where=text.name))
    overrides = tuple(
        Override(
            spreads=in_one_form(override["spreads"]),
            book=_built(merged(text.data, override), path, (*text.notes, *rules.notes)),
        )
        for override, rules in zip(text.data.get("override", []), each, strict=True)
    )
    return replace(_built(text.data, path, (*text.notes, *whole.notes)), overrides=overrides)


def _rules(
    text: BookText, problems: tuple[Problem, ...], *, folder: Path
) -> tuple[Rules, tuple[Rules, ...]]:
    """What the rules find in the book, and in what it says for the spreads of each override."""
    data = without(text.data, problems)
    whole = check_rules(data, text=text, folder=folder)
    in_overrides = [problem.path for problem in problems if problem.path[0] == "override"]
    others = [problem for problem in problems if problem.path[0] not in ("override", "waive")]
    each = override_rules(
        data,
        text=text,
        folder=folder,
        is_sound=not others and all(map(is_of_override, whole.faults)),
        spoilt=[path[1] for path in in_overrides if len(path) > 1 and isinstance(path[1], int)],
    )
    return whole, each


def _built(data: dict[str, Any], path: Path, notes: tuple[str, ...]) -> Book:
    """The book of data in which nothing is wrong."""
    values = _Book.model_validate(data).model_dump(by_alias=True)
    return build_book(values, path=path, notes=notes)


def book_schema() -> dict[str, Any]:
    """JSON Schema of book.toml, for editors that complete and check TOML."""
    text = json.dumps(_Book.model_json_schema(by_alias=True))
    schema = json.loads(_PRIVATE.sub(r'"\1\2"', text))
    schema["title"] = f"book.toml of inkmix, format {FORMAT}"
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _read_bytes(path: Path) -> bytes:
    try:
        return read_input(path, most_bytes=MAX_BYTES)
    except OSError as error:
        reason = error.strerror or "cannot be read"
        do = "`inkmix start FOLDER` writes one from the plates that lie there"
        if error.errno == errno.EFBIG:
            do = "a book has a few kilobytes; is this one?"
        raise BookError(Fault(where=str(path), found=reason, do=do)) from None


def _refuse_newer(text: BookText) -> None:
    number = text.data.get("format")
    if isinstance(number, int) and not isinstance(number, bool) and number > FORMAT:
        raise BookError(
            Fault(
                where=text.where(("format",)),
                found=f"is a book of format {number}",
                expected=f"this inkmix reads format {FORMAT}",
                do="install a newer inkmix",
            )
        )


def _validate(data: dict[str, Any]) -> tuple[_Book | None, tuple[Problem, ...]]:
    try:
        return _Book.model_validate(data), ()
    except ValidationError as error:
        return None, tuple(
            Problem(
                kind=item["type"],
                path=item["loc"],
                value=item["input"],
                context=dict(item.get("ctx", {})),
            )
            for item in error.errors(include_url=False)
        )
