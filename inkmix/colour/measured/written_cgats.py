"""A measured table, or a list of patches to be measured, as CGATS text (ISO 28178).

Reading the text gives the same values again, number for number. Here belong the spellings of what
is written; those that are read stand in columns.py. No file is opened.
"""

from collections.abc import Iterator, Sequence

from inkmix.base.quoting import harmless
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.written_columns import keywords_of, label_columns, number_columns

# Keywords of ISO 28178; any other is declared before its use, as the standard asks.
STANDARD_KEYWORDS = frozenset(
    {
        "ORIGINATOR",
        "DESCRIPTOR",
        "FILE_DESCRIPTOR",
        "CREATED",
        "MANUFACTURER",
        "PROD_DATE",
        "SERIAL",
        "MATERIAL",
        "INSTRUMENTATION",
        "MEASUREMENT_SOURCE",
        "FILTER",
        "POLARIZATION",
        "PRINT_CONDITIONS",
        "ILLUMINANT",
        "OBSERVER",
        "WEIGHTING_FUNCTION",
        "MEASUREMENT_GEOMETRY",
        "SAMPLE_BACKING",
        "COMPUTATIONAL_PARAMETER",
    }
)


def cgats_text(table: MeasurementTable, *, comments: Sequence[str] = ()) -> str:
    """The table as CGATS text; every number in the fewest digits that give it back exactly.

    Parameters
    ----------
    table : MeasurementTable
        One without readings is a list of patches; `parse_patch_list` reads it.
    comments : sequence of str
        Lines put under the header, each after a #.

    Examples
    --------
    >>> import numpy as np
    >>> table = MeasurementTable(
    ...     sample_names=("1", "2"), plates=("Soot",), tone_pct=np.array([[0.0], [62.5]])
    ... )
    >>> print(cgats_text(table).replace("\\t", " "), end="")
    CGATS.17
    <BLANKLINE>
    NUMBER_OF_FIELDS 2
    BEGIN_DATA_FORMAT
    SAMPLE_ID INK_Soot
    END_DATA_FORMAT
    NUMBER_OF_SETS 2
    BEGIN_DATA
    1 0
    2 62.5
    END_DATA
    """
    lines = ["CGATS.17", "", *_header(table), *(f"# {harmless(line)}" for line in comments)]
    columns = {
        **{
            name: [_label(name, text) for text in column]
            for name, column in label_columns(table).items()
        },
        **{_word(name): column for name, column in number_columns(table).items()},
    }
    lines += [f"NUMBER_OF_FIELDS {len(columns)}", "BEGIN_DATA_FORMAT"]
    lines += ["\t".join(columns), "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(table)}", "BEGIN_DATA"]
    lines += ["\t".join(row) for row in zip(*columns.values(), strict=True)]
    lines += ["END_DATA", ""]
    return "\n".join(lines)


def _header(table: MeasurementTable) -> Iterator[str]:
    """Keyword lines; an own keyword is declared first."""
    for name, value in keywords_of(table).items():
        if name not in STANDARD_KEYWORDS:
            yield f"KEYWORD {_quoted(name)}"
        yield f"{_word(name)}\t{_quoted(value)}"


def _label(column: str, text: str) -> str:
    """Ids are words as they are; names and places are quoted."""
    return text if column == "SAMPLE_ID" else _quoted(text)


def _word(text: str) -> str:
    """One word of a line: as it is where that is one word already, else quoted."""
    bare = text.isprintable() and not any(sign.isspace() or sign in '"#' for sign in text)
    return text if text and bare else _quoted(text)


def _quoted(text: str) -> str:
    return '"' + harmless(text).replace('"', '""') + '"'
