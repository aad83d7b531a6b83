"""Measurements as CSV: a header, then a line for each patch.

Cells end at semicolons, tabs or commas; with semicolons and tabs a decimal comma is understood.
Here belong the cells and how people head their columns; names of CGATS are taken, too. Lines such
as `# MEASUREMENT_MODE: M1` tell keywords.
"""

import re
from collections.abc import Iterator, Sequence
from functools import partial

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import quoted
from inkmix.colour.measured.columns import column_meaning
from inkmix.colour.measured.headings import READINGS
from inkmix.colour.measured.sections import (
    MAX_FIELDS,
    MAX_ROWS,
    Sections,
    many_columns,
    many_rows,
    name_faults,
)
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tabled import table_of_sections
from inkmix.colour.measured.tokens import Cut, UnclosedQuoteError, Word, decode_lines

_ENDS = (";", "\t", ",")  # the first that the header holds; no name has a semicolon or a tab
_CELL = {
    end: re.compile(
        rf'[^\S\t]*+(?:"(?P<quoted>[^"]*+(?:""[^"]*+)*+)"[^\S\t]*+|(?P<bare>[^{end}"]*+))'
        rf"(?P<end>{end}|$)"
    )
    for end in _ENDS
}
_QUOTED = re.compile(r'"[^"]*+"')
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?")
_DECIMAL_POINT = re.compile(r"[+-]?\d*\.\d+(?:[eE][+-]?\d+)?")
_KEYWORD = re.compile(r"#++\s*+(?P<name>[A-Za-z][A-Za-z_]*+)\s*+[:=]\s*+(?P<value>.+)")

_SPREADSHEET = re.compile(r"sep=.?", re.IGNORECASE)  # a line that spreadsheets put first

_HEADINGS = {
    **dict.fromkeys(("name", "patch", "sample", "field"), "SAMPLE_NAME"),
    **dict.fromkeys(("id", "no", "no.", "nr", "number", "#"), "SAMPLE_ID"),
    **dict.fromkeys(("loc", "location", "place", "position"), "SAMPLE_LOC"),
    **{
        f"{word}{gap}{short}": f"D_{band}"
        for word in ("density", "d")
        for gap in ("_", " ")
        for short, band in (("red", "RED"), ("green", "GREEN"), ("blue", "BLUE"), ("vis", "VIS"))
    },
    "density visual": "D_VIS",
    "d visual": "D_VIS",
}
_NO_INKS = frozenset(
    {"page", "row", "column", "strip", "date", "time", "de", "de00", "c*", "h", "h°", "density"}
    | {"note", "notes", "comment", "remark"}
)
_SEMICOLONS = "where numbers have decimal commas, put semicolons between the cells"
_LOOKED_AT = 50  # rows in which an ink's tone value is sought; the first ones may be paper


def parse_csv(data: bytes, *, where: str) -> MeasurementTable:
    """The measured table that a CSV text with a header holds.

    Inks are headed by their names, readings as in CGATS or X Y Z, L a b, `density red`, `380 nm`.

    Parameters and errors are those of `parse_cgats`.
    """
    lines = decode_lines(data, where=where)
    numbered = [(number, line) for number, line in enumerate(lines, start=1) if line.strip()]
    remarks = [line.strip() for _, line in numbered if line.lstrip().startswith("#")]
    rows = [(number, line) for number, line in numbered if not line.lstrip().startswith("#")]
    rows = rows[1:] if rows and _SPREADSHEET.fullmatch(rows[0][1].strip()) else rows
    end = _end_of_cells(rows, where)
    fields = _heading(rows[0], end, where)
    rows = [row for row in rows[1:] if row[1].strip().strip(end).strip()]
    if len(rows) > MAX_ROWS:
        raise MeasurementError(many_rows(where))
    cut = _cut(rows, len(fields), end, where)
    found = Sections(
        fields=_named(fields), as_written=fields, rows=rows, cut=cut, said=_keywords(remarks)
    )
    found.faults += name_faults(found.fields, f"{where}, line {numbered[0][0]}")
    found.declared.update(_inks(found.fields, rows, cut))
    return table_of_sections(found, where=where, needed=READINGS)


def _end_of_cells(rows: Sequence[tuple[int, str]], where: str) -> str:
    """What the cells of the header end at."""
    header = rows[0][1] if rows else ""
    bare = _QUOTED.sub("", header)
    ends = [end for end in _ENDS if end in bare]
    if not ends:
        raise MeasurementError(
            Fault(
                where=where,
                found=f"the first line is {quoted(header)}",
                expected="measurements are CGATS text (ISO 28178), CxF3 (ISO 17972) or CSV, "
                "whose first line names the columns",
                do="export the measurements as one of these",
            )
        )
    return ends[0]


def _heading(row: tuple[int, str], end: str, where: str) -> list[str]:
    """Names of the columns, without empty ones at the end."""
    try:
        names = [word.text for word in _words(row[1], end=end)]
    except UnclosedQuoteError as error:
        raise MeasurementError(error.fault(where, row[0])) from None
    while names and not names[-1]:
        names.pop()
    if len(names) > MAX_FIELDS:
        raise MeasurementError(many_columns(where, row[0]))
    return [name or _nameless(at) for at, name in enumerate(names)]


def _nameless(at: int) -> str:
    """What a column is called that has no heading."""
    return f"column {at + 1}"


def _named(fields: list[str]) -> list[str]:
    """The columns by the names of CGATS, as far as they mean the same."""
    plain = [field.casefold().removeprefix("cie").strip().replace("*", "") for field in fields]
    names = [_name(field) for field in fields]
    for at in range(len(plain) - 2):
        for kind, axes in (("XYZ", "xyz"), ("LAB", "lab")):
            if sorted(plain[at : at + 3]) == sorted(axes):
                names[at : at + 3] = [f"{kind}_{axis.upper()}" for axis in plain[at : at + 3]]
    return names


def _name(field: str) -> str:
    """One heading by the name of CGATS, else without a unit."""
    known = _HEADINGS.get(field.casefold())
    if known:
        return known
    joined = field.replace(" ", "_")
    if (meaning := column_meaning(joined)) and meaning.kind == "spectral":
        return joined
    if field.startswith("INK_"):
        return field  # as CGATS has it, to the letter
    bare = field.removesuffix("(%)").removesuffix("[%]").removesuffix("%").rstrip()
    return bare or field


def _inks(fields: list[str], rows: Sequence[tuple[int, str]], cut: Cut) -> Iterator[str]:
    """Columns of no other meaning that hold tone values."""
    try:
        cells = [cut.texts(line) for _, line in rows[:_LOOKED_AT]]
    except UnclosedQuoteError:
        return  # the row is told later
    for at, name in enumerate(fields):
        if column_meaning(name) or name.casefold() in _NO_INKS or name == _nameless(at):
            continue
        if any(at < len(row) and _is_number(row[at]) for row in cells):
            yield name


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _keywords(remarks: Sequence[str]) -> dict[str, list[str]]:
    """What remarks tell by keyword."""
    told: dict[str, list[str]] = {}
    for line in remarks:
        if match := _KEYWORD.match(line):
            told.setdefault(match["name"].upper(), []).append(match["value"])
    return told


# --- cells ---------------------------------------------------------------------------------------


def _cut(rows: Sequence[tuple[int, str]], columns: int, end: str, where: str) -> Cut:
    """How the rows are cut into cells.

    Raises
    ------
    MeasurementError
        Numbers have decimal points in some cells and decimal commas in others.
    """
    plain = _cut_at(end, columns, comma=False)
    commas = None if end == "," else _first_cell(rows, plain, _DECIMAL_COMMA)
    if commas is None:
        return plain
    points = _first_cell(rows, plain, _DECIMAL_POINT)
    if points is not None:
        raise MeasurementError(_mixed(commas, points, where))
    return _cut_at(end, columns, comma=True)


def _cut_at(end: str, columns: int, *, comma: bool) -> Cut:
    return Cut(
        partial(_words, end=end, columns=columns, comma=comma),
        partial(_texts, end=end, columns=columns, comma=comma),
        too_many=_SEMICOLONS if end == "," else "",
    )


def _first_cell(
    rows: Sequence[tuple[int, str]], cut: Cut, number: re.Pattern[str]
) -> tuple[int, str] | None:
    """Line and text of the first cell that is such a number."""
    for line, text in rows:
        try:
            cells = cut.texts(text)
        except UnclosedQuoteError:
            continue  # the row is told later
        for cell in cells:
            if number.fullmatch(cell):
                return line, cell
    return None


def _words(line: str, *, end: str, columns: int = 0, comma: bool = False) -> list[Word]:
    """Cells of a line with their places; empty ones beyond the columns are left out."""
    words, at = list[Word](), 0
    while True:
        match = _CELL[end].match(line, at)
        if match is None:
            raise UnclosedQuoteError(at + 1)
        text = match["bare"] if match["quoted"] is None else match["quoted"].replace('""', '"')
        words.append(Word(_number(text.strip(), comma), match.start() + 1, quoted=False))
        if not match["end"]:
            break
        at = match.end()
    while columns and len(words) > columns and not words[-1].text:
        words.pop()
    return words


def _texts(line: str, *, end: str, columns: int = 0, comma: bool = False) -> list[str]:
    """The texts of `_words`, sooner where nothing is quoted."""
    if '"' in line:
        return [word.text for word in _words(line, end=end, columns=columns, comma=comma)]
    texts = [_number(cell.strip(), comma) for cell in line.split(end)]
    while columns and len(texts) > columns and not texts[-1]:
        texts.pop()
    return texts


def _number(text: str, comma: bool) -> str:
    """A decimal comma as a point."""
    return text.replace(",", ".") if comma and _DECIMAL_COMMA.fullmatch(text) else text


def _mixed(commas: tuple[int, str], points: tuple[int, str], where: str) -> Fault:
    return Fault(
        where=f"{where}, line {commas[0]}",
        found=f"{quoted(commas[1])} has a decimal comma",
        expected=f"{quoted(points[1])} in line {points[0]} has a decimal point",
        do="write all numbers of the file in one way",
    )
