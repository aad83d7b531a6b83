"""A shade card as printers and studios keep it: one ink a line, its name and its colour.

Bytes in, values out. A line is `Coral, #e8604c` or `Coral, 62, 52, 30` (L*, a*, b*), and may have
`=`, a semicolon, a tab or blanks in place of the comma. A first line of headings says which columns
hold name and colour; only under one may a line hold further numbers. What the colours are relative
to, the caller knows.
"""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from inkmix.base.errors import COUNTED_FAULTS, Fault, MeasurementError, UsageError, capped
from inkmix.base.quoting import acting_sign, clipped, listed, quoted
from inkmix.colour.written import ToldColour, said_lines, told_colour

MAX_SHADES = 5_000
"""Of one card; a printer's fan holds some 2,000 (common practice)."""

MAX_LINE = 1_000
"""Characters: a name, a colour, and a dozen columns that are not read."""

MAX_NAME = 80
"""Characters of an ink's name."""

_WRITTEN = "Coral, #e8604c or Coral, 62, 52, 30 (L*, a*, b*)"
_HEADINGS = {
    "name": ("name", "ink", "shade"),
    "L": ("l", "l*"),
    "a": ("a", "a*"),
    "b": ("b", "b*"),
    "colour": ("colour", "color", "hex", "srgb", "lab"),
}

_ONE = (
    r"""(?P<quote>["']?)(?P<one>\#[0-9a-f]{6}|\#[0-9a-f]{3}|(?:lab|rgb)\s*+\([^()]*+\))(?P=quote)"""
)
_NAME = r"""(?:"(?P<double>[^"]*+)"|'(?P<single>[^']*+)'|(?P<plain>.{1,100}?))"""


def _line_form(number: str, between: str) -> "re.Pattern[str]":
    three = rf"\[?\s*+(?P<L>{number}){between}(?P<a>{number}){between}(?P<b>{number})\s*+\]?"
    return re.compile(rf"{_NAME} ?[\s,;:=]\s*+(?:{_ONE}|{three})", re.IGNORECASE)


_WITH_COMMAS = _line_form(r"[-+]?\d++(?:\.\d++)?+", r"(?:\s*+,\s*+|\s++)")
_WITH_SEMICOLONS = _line_form(r"[-+]?\d++(?:[.,]\d++)?+", r"(?:\s*+;\s*+|\t)")
_NUMBER_AFTER_NAME = re.compile(
    r"[^\s,;:=].*?[\t,;:=]\s*+[-+]?\d++(?:[.,]\d++)?+\s*+(?:[\t,;:=]|$)"
)
"""A further column, which would be taken for a part of the name."""
_DECIMAL_COMMA = re.compile(r"([-+]?\d++),(\d++)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShadeCard:
    """The lines of a shade card.

    Parameters
    ----------
    shades : tuple of ToldColour
        Each with a name, and a Lab (absolute, D50, 2 degree) or a screen colour; no name twice.
    unread : tuple of str
        Headings of columns that were not read.
    """

    shades: tuple[ToldColour, ...]
    unread: tuple[str, ...] = ()


def parse_shade_card(data: bytes, *, where: str) -> ShadeCard:
    """The inks of a shade card.

    Empty lines count for nothing, nor do those that begin with # and a blank.

    Parameters
    ----------
    data : bytes
        UTF-8.
    where : str
        Name of the file, for faults.

    Raises
    ------
    MeasurementError
        With all that is wrong, by line.

    Examples
    --------
    >>> card = parse_shade_card(b"name; L; a; b\\nFlare; 66,5; 76; 68", where="card.csv")
    >>> card.shades[0].name, card.shades[0].lab
    ('Flare', (66.5, 76.0, 68.0))
    """
    try:
        lines = list(said_lines(data, where))
        columns = _columns(lines[0][1], f"{where}, line {lines[0][0]}") if lines else None
    except UsageError as error:
        raise MeasurementError(error.faults) from None
    shades, faults = _shades(lines if columns is None else lines[1:], columns, where)
    if not shades and not faults:
        faults = [Fault(where=where, found="holds no ink", expected=f"one a line, as {_WRITTEN}")]
    if faults:
        raise MeasurementError(capped(faults, where=where))
    return ShadeCard(shades=tuple(shades), unread=() if columns is None else columns.unread)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """Where things stand in a line, by the headings of the first one."""

    sign: str
    at: Mapping[str, int]
    unread: tuple[str, ...]


def _shades(
    lines: list[tuple[int, str]], columns: _Columns | None, where: str
) -> tuple[list[ToldColour], list[Fault]]:
    """The colours of the lines, and what is wrong with the others."""
    shades: list[ToldColour] = []
    faults: list[Fault] = []
    lines_of: dict[str, int] = {}
    for number, line in lines:
        at = f"{where}, line {number}"
        try:
            shade = _shade(line, columns, at)
            first = lines_of.setdefault(shade.name.casefold(), number)
            if first != number:
                found = f"{clipped(shade.name)} stands in line {first} already"
                raise UsageError(Fault(where=at, found=found, do="rename one of them"))
            shades.append(shade)
        except UsageError as error:
            faults += error.faults
        if len(faults) >= COUNTED_FAULTS:
            break
        if len(shades) > MAX_SHADES:
            found, expected = f"more than {MAX_SHADES:,} inks", "a card may hold that many"
            return [], [Fault(where=where, found=found, expected=expected)]
    return shades, faults


def _columns(line: str, where: str) -> _Columns | None:
    """What a first line of headings says; None where it is an ink already."""
    _refuse_line(line, where)
    if _form(line).fullmatch(_said(line)):
        return None
    sign = next((sign for sign in "\t;," if sign in line), ",")
    heads = [cell.casefold() for cell in _cells(line, sign)]
    at = {key: heads.index(word) for key, words in _HEADINGS.items()
          for word in words if word in heads}  # fmt: skip
    if not at:
        return None
    if "name" not in at or not ("colour" in at or {"L", "a", "b"} <= at.keys()):
        expected = "name, and L, a, b or colour, are needed among the headings"
        raise UsageError(Fault(where=where, found=quoted(line.strip()), expected=expected))
    unread = (head for place, head in enumerate(heads) if head and place not in at.values())
    return _Columns(sign=sign, at=at, unread=tuple(unread))


def _shade(line: str, columns: _Columns | None, where: str) -> ToldColour:
    """The ink of one line."""
    _refuse_line(line, where)
    name, colour = _parts(line, where) if columns is None else _in_columns(line, columns, where)
    if not name or len(name) > MAX_NAME:
        expected = f"an ink has a name of 1 to {MAX_NAME} characters"
        raise UsageError(Fault(where=where, found=quoted(name), expected=expected))
    told = told_colour(colour, where=where)
    if told.pixel is not None:
        expected = f"an ink is written {_WRITTEN}"
        raise UsageError(Fault(where=where, found=quoted(colour), expected=expected))
    return replace(told, name=name)


def _parts(line: str, where: str) -> tuple[str, str]:
    """Name and colour of a line without headings."""
    match = _form(line).fullmatch(_said(line))
    if match is None:
        expected = f"a name and a colour, as {_WRITTEN}"
        raise UsageError(Fault(where=where, found=quoted(line.strip()), expected=expected))
    name = match["double"] or match["single"] or match["plain"] or ""
    if _NUMBER_AFTER_NAME.search(match["plain"] or ""):
        expected = f"nothing tells which numbers are the colour: it is {_WRITTEN}"
        do = "write a line of headings first, such as name, L, a, b; or put the name in quotes"
        raise UsageError(Fault(where=where, found=quoted(line.strip()), expected=expected, do=do))
    three = ", ".join(_point(match[key]) for key in "Lab" if match[key])
    return name.strip(" ,;:="), match["one"] or three


def _in_columns(line: str, columns: _Columns, where: str) -> tuple[str, str]:
    """Name and colour of a line under headings; of two colours the Lab."""
    cells = _cells(line, columns.sign)
    told = {key: cells[at] for key, at in columns.at.items() if at < len(cells) and cells[at]}
    lab = [told[key] for key in "Lab" if key in told]
    if len(lab) == 3:
        return told.get("name", ""), ", ".join(map(_point, lab))
    if "colour" not in told:
        found = quoted(line.strip())
        expected = f"a colour under {listed([key for key in columns.at if key != 'name'])}"
        raise UsageError(Fault(where=where, found=found, expected=expected))
    return told.get("name", ""), told["colour"]


def _cells(line: str, sign: str) -> list[str]:
    (cells,) = csv.reader([line], delimiter=sign, skipinitialspace=True)
    return [cell.strip() for cell in cells]


def _said(line: str) -> str:
    """The line with one blank, or a tab, where there are several: so matching takes no longer."""
    return re.sub(r"\s++", lambda run: "\t" if "\t" in run[0] else " ", line.strip())


def _form(line: str) -> "re.Pattern[str]":
    """How a line is read: where semicolons or tabs divide it, a comma may be a decimal one."""
    return _WITH_SEMICOLONS if re.search(r"[;\t]", line) else _WITH_COMMAS


def _point(number: str) -> str:
    """The number with a decimal point and the usual minus."""
    return _DECIMAL_COMMA.sub(r"\1.\2", number.replace("\N{MINUS SIGN}", "-"))


def _refuse_line(line: str, where: str) -> None:
    if len(line) > MAX_LINE:
        found, expected = f"{len(line):,} characters", f"a line has {MAX_LINE:,} at most"
        raise UsageError(Fault(where=where, found=found, expected=expected))
    sign = acting_sign(line.strip(), allowed="\t")
    if sign:
        found = f"{quoted(line.strip())} holds {sign}"
        raise UsageError(Fault(where=where, found=found, expected="a card is plain text"))
