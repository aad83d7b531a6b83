"""A measured table as CSV (RFC 4180): lines of keywords, a header, a line for each patch.

Reading the text by `parse_csv` gives the same values again, number for number. No file is opened.
"""

import re

from inkmix.base.quoting import harmless
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_columns import keywords_of, label_columns, number_columns

_ENDS_A_CELL = re.compile(r'[",;\t]')


def csv_text(table: MeasurementTable) -> str:
    """The table as CSV; keywords stand in lines that begin with #.

    Examples
    --------
    >>> import numpy as np
    >>> table = MeasurementTable(
    ...     sample_names=("1", "2"), plates=("Soot",), tone_pct=np.array([[0.0], [62.5]]),
    ...     lab=np.array([[95.0, 0, -2], [41.5, 1, 3]]),
    ... )
    >>> print(csv_text(table), end="")
    SAMPLE_ID,INK_Soot,LAB_L,LAB_A,LAB_B
    1,0,95,0,-2
    2,62.5,41.5,1,3
    """
    words = keywords_of(table).items()
    lines = [f"# {harmless(name)}: {harmless(value)}" for name, value in words]
    columns = {**label_columns(table), **number_columns(table)}
    rows = [tuple(columns), *zip(*columns.values(), strict=True)]
    lines += [",".join(map(_cell, row)) for row in rows]
    return "\n".join(lines) + "\n"


def _cell(text: str) -> str:
    """Quoted where a cell could be taken to end in it."""
    clean = harmless(text)
    return '"' + clean.replace('"', '""') + '"' if _ENDS_A_CELL.search(clean) else clean
