"""Tables, for every page: in columns for a terminal, as CSV for a spreadsheet, heads in HTML.

Values in, text out; what the columns are stands beside the page or the file that shows them.

CSV is UTF-8 with a byte order mark, quoted as in RFC 4180; rows end with CR LF, numbers have full
stops. What a spreadsheet would take for a formula gets an apostrophe before it, inside a cell too:
where decimals are written with a comma, spreadsheets split cells at semicolons, whatever is quoted.
Control characters and marks of direction are written as escapes.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Any

from markupsafe import Markup

from inkmix.base.plain_text import plain_text

# The last four are wide forms that some spreadsheets read like the plain ones (from memory).
_FORMULA = re.compile('(^|[;\t\r\n])(?=[ "]*[=+@＝＋－＠-])|^(?=[\t\r\n])')
_BOM = "\N{ZERO WIDTH NO-BREAK SPACE}"


def line(widths: Sequence[int], *cells: str) -> str:
    """A line of a table in a terminal: a positive width sets its cell right, a negative one left.

    >>> line((-7, 6, 6), "Soot", "80", "12.5")
    'Soot       80  12.5'
    """
    if len(cells) > len(widths):
        raise ValueError(f"{len(cells)} cells, but {len(widths)} columns")
    shown = (
        cell.rjust(width) if width > 0 else cell.ljust(-width)
        for cell, width in zip(cells, widths, strict=False)
    )
    return "".join(shown).rstrip()


def colour_field(srgb8: Sequence[int]) -> str:
    """Three blanks of a 24-bit colour, for a terminal that shows colours."""
    red, green, blue = srgb8
    return f"\x1b[48;2;{red};{green};{blue}m   \x1b[0m"


def html_head(*names: str) -> Markup:
    """The head of an HTML table; with roles, since narrow pages do not lay it out as a table."""
    cell = Markup('<th scope="col" role="columnheader">{}</th>')
    cells = Markup("").join(cell.format(name) for name in names)
    return Markup('<thead><tr role="row">{}</tr></thead>').format(cells)


def csv_table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table for a spreadsheet; None is an empty cell."""
    text = io.StringIO(newline="")
    text.write(_BOM)
    writer: Any = csv.writer(text, lineterminator="\r\n")
    for row in (header, *rows):
        writer.writerow([_cell(value) for value in row])
    return text.getvalue().encode("utf-8", "backslashreplace")


def _cell(value: object) -> object:
    """Text that a spreadsheet reads as text; numbers as they are."""
    if not isinstance(value, str):
        return value
    return _FORMULA.sub(r"\1'", plain_text(value, keep="\t\r\n"))


def csv_number(value: float | None, digits: int) -> float | str:
    """A number rounded for a script, never minus zero; an empty cell for nothing."""
    return "" if value is None else round(value, digits) + 0.0


def csv_yes(said: bool) -> str:
    """What holds, as a cell."""
    return "yes" if said else ""
