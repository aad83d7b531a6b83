"""A CGATS text taken apart: header, names of the columns, rows; nothing is made of them yet.

Here belongs the grammar of CGATS.17 / ISO 28178 as far as real files keep to it. Counts that are
missing or wrong are noted; a table that does not end is a fault, since rows may be lost.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from inkmix.base.errors import Fault, MeasurementError
from inkmix.base.quoting import acting_sign, clipped, harmless, quoted
from inkmix.colour.measured.tokens import AT_BLANKS, Cut, UnclosedQuoteError, Word, split_words

MAX_NAME = 200  # characters of a column's name; the longest of real files have 40
MAX_ROWS = 50_000  # ten times the largest published chart
MAX_FIELDS = 1_000  # spectra of 1 nm from 300 to 1100 and every other column there is
MAX_HEADER = 10_000  # lines of a header; those of real files have some 100

_FIRST_LINES = ("CGATS", "CTI", "IT8", "ISO28178")


@dataclass(slots=True)
class Sections:
    """The first table of a text and the header above it; rows are still numbered lines.

    `as_written` has the names of the columns as messages show them, where `fields` are others.
    """

    said: dict[str, list[str]] = field(default_factory=dict)
    declared: set[str] = field(default_factory=set)
    fields: list[str] = field(default_factory=list)
    rows: list[tuple[int, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    cut: Cut = AT_BLANKS
    as_written: list[str] = field(default_factory=list)

    def keywords(self) -> dict[str, str]:
        """What the header says by keyword; of one that comes again, all values after another."""
        return {name: harmless("; ".join(values)) for name, values in self.said.items()}


def read_sections(lines: list[str], *, where: str) -> Sections:
    """Header, column names and rows of the first table; grammar faults are collected in it.

    Raises
    ------
    MeasurementError
        The text is no CGATS text at all, or has more rows than MAX_ROWS.
    """
    found = Sections()
    stream = _worded_lines(lines)
    _read_header(stream, found, where)
    complete = _read_rows(stream, found, where)
    if not found.fields and not found.rows:
        raise MeasurementError(_no_cgats(where))
    if not complete:
        found.faults.append(_half(found, len(lines), where))
    if any(_first(line) == "BEGIN_DATA" for _, line in stream):
        found.notes.append("the file holds more than one table; the first is read")
    _note_counts(found)
    return found


def _worded_lines(lines: list[str]) -> Iterator[tuple[int, str]]:
    """Numbered lines that hold more than blanks and a comment."""
    for number, line in enumerate(lines, start=1):
        if line.strip() and not line.lstrip().startswith("#"):
            yield number, line


def _read_header(stream: Iterator[tuple[int, str]], found: Sections, where: str) -> None:
    """Everything down to BEGIN_DATA."""
    for count, (number, line) in enumerate(stream, start=1):
        if count > MAX_HEADER:
            raise MeasurementError(_long_header(where, number))
        words = _words(line, number, found, where)
        keyword = words[0].text.upper() if words else ""
        if keyword == "BEGIN_DATA":
            return
        if keyword == "BEGIN_DATA_FORMAT":
            if not _read_format(stream, found, where):
                found.faults.append(_no_end_of_format(where, number))
                return
            found.faults += name_faults(found.fields, f"{where}, line {number}")
        elif keyword == "KEYWORD":
            found.declared.update(word.text for word in words[1:])
        elif words:
            _keep_keyword(found, words)


def _words(line: str, number: int, found: Sections, where: str) -> list[Word]:
    """Words of a line; none, and a fault, if a quotation mark is not closed."""
    try:
        return split_words(line)
    except UnclosedQuoteError as error:
        found.faults.append(error.fault(where, number))
        return []


def _keep_keyword(found: Sections, words: list[Word]) -> None:
    """A header line; of one that comes again all values are kept."""
    name, value = words[0].text.upper(), " ".join(word.text for word in words[1:])
    if not value and (not found.said or name.startswith(_FIRST_LINES)):
        return  # the first line names the format
    values = found.said.setdefault(name, [])
    if value:
        values.append(value)


def _read_format(stream: Iterator[tuple[int, str]], found: Sections, where: str) -> bool:
    """Column names down to END_DATA_FORMAT; False if the data begin without it."""
    for number, line in stream:
        for word in _words(line, number, found, where):
            if word.text.upper() == "END_DATA_FORMAT":
                return True
            if word.text.upper() == "BEGIN_DATA":
                return False
            found.fields.append(word.text)
        if len(found.fields) > MAX_FIELDS:
            raise MeasurementError(many_columns(where, number))
    return False


def name_faults(fields: list[str], where: str) -> list[Fault]:
    """What no name may hold: it becomes the name of an ink, on pages and in a terminal."""
    return [
        Fault(
            where=where,
            found=f"column {at} has a name of {len(name):,} characters"
            if len(name) > MAX_NAME
            else f"the name of column {at}, {quoted(name)}, holds {acting_sign(name)}",
            expected=f"names are plain text of at most {MAX_NAME} characters",
        )
        for at, name in enumerate(fields, start=1)
        if len(name) > MAX_NAME or acting_sign(name)
    ]


def _read_rows(stream: Iterator[tuple[int, str]], found: Sections, where: str) -> bool:
    """Rows down to END_DATA; False if the text ends before."""
    for number, line in stream:
        if _first(line) == "END_DATA":
            return True
        found.rows.append((number, line))
        if len(found.rows) > MAX_ROWS:
            raise MeasurementError(many_rows(where))
    return False


def _first(line: str) -> str:
    """The first word of a line, in capitals."""
    return line.split(maxsplit=1)[0].upper()


def _note_counts(found: Sections) -> None:
    """Counts of the header that are wrong: said, and the table itself believed."""
    held = {"NUMBER_OF_FIELDS": len(found.fields), "NUMBER_OF_SETS": len(found.rows)}
    for name, count in held.items():
        told = "; ".join(found.said.pop(name, []))
        if told and told != str(count):
            found.notes.append(f"{name} says {clipped(told)}, the table holds {count}")


def many_rows(where: str) -> Fault:
    """More rows than any chart has."""
    return Fault(where=where, found=f"more than {MAX_ROWS:,} rows", do="split the chart")


def _long_header(where: str, line: int) -> Fault:
    return Fault(
        where=f"{where}, line {line}",
        found=f"more than {MAX_HEADER:,} lines of header",
        expected="BEGIN_DATA_FORMAT and BEGIN_DATA follow",
        do="export the measurements as CGATS text (ISO 28178)",
    )


def many_columns(where: str, line: int) -> Fault:
    """More columns than any chart has."""
    found = f"more than {MAX_FIELDS:,} columns"
    do = "export the chart with its tone values and readings only"
    return Fault(where=f"{where}, line {line}", found=found, do=do)


def _no_cgats(where: str) -> Fault:
    return Fault(
        where=where,
        found="no BEGIN_DATA_FORMAT and no BEGIN_DATA",
        expected="a CGATS text has both",
        do="export the measurements as CGATS text (ISO 28178)",
    )


def _half(found: Sections, last: int, where: str) -> Fault:
    return Fault(
        where=f"{where}, line {last}",
        found=f"the file ends after {len(found.rows)} rows",
        expected="END_DATA closes the table",
        do="the file is cut off: copy or export it again",
    )


def _no_end_of_format(where: str, line: int) -> Fault:
    return Fault(
        where=f"{where}, line {line}",
        found="the list of columns that begins here does not end",
        expected="END_DATA_FORMAT follows the last column name",
    )
