"""A measured table, or a list of patches to be measured, as CGATS text (ISO 28178).

Reading the text gives the same values again, number for number. Here belong the spellings of what
is written; those that are read stand in columns.py. No file is opened.
"""

from collections.abc import Iterator, Sequence

from inkmix.base.arrays import FloatArray
from inkmix.base.quoting import harmless
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tabled import density_status
from inkmix.colour.observer import WAVELENGTHS_NM

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

_DENSITY_NAMES = {"red": "D_RED", "green": "D_GREEN", "blue": "D_BLUE", "visual": "D_VIS"}


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
    columns = {**_labels(table), **_numbers(table)}
    lines += [f"NUMBER_OF_FIELDS {len(columns)}", "BEGIN_DATA_FORMAT"]
    lines += ["\t".join(columns), "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(table)}", "BEGIN_DATA"]
    lines += ["\t".join(row) for row in zip(*columns.values(), strict=True)]
    lines += ["END_DATA", ""]
    return "\n".join(lines)


def _header(table: MeasurementTable) -> Iterator[str]:
    """Keyword lines; an own keyword is declared first."""
    for name, value in _keywords(table).items():
        if name not in STANDARD_KEYWORDS:
            yield f"KEYWORD {_quoted(name)}"
        yield f"{_word(name)}\t{_quoted(value)}"


def _keywords(table: MeasurementTable) -> dict[str, str]:
    """The table's keywords, and what it knows beside them."""
    words = dict(table.keywords)
    own = {} if "FILE_DESCRIPTOR" in words else {"DESCRIPTOR": table.descriptor}
    own = {"ORIGINATOR": table.originator, **own}
    words = {**{name: value for name, value in own.items() if value}, **words}
    if table.reflectance is not None:
        words["SPECTRAL_NORM"] = "1"
    if table.density_status != density_status(words):
        words["DENSITY_STATUS"] = table.density_status
    return words


def plate_columns(plates: Sequence[str]) -> list[str]:
    """Column names of the plates: CMYK_., nCLR_k, or INK_ and the ink's own name."""
    if plates and all(plate in ("C", "M", "Y", "K") for plate in plates):
        return [f"CMYK_{plate}" for plate in plates]
    if list(plates) == [str(k + 1) for k in range(len(plates))] and len(plates) <= 15:
        return [f"{len(plates):X}CLR_{k + 1:X}" for k in range(len(plates))]
    return [_word(f"INK_{plate}") for plate in plates]


def _labels(table: MeasurementTable) -> dict[str, list[str]]:
    """The columns that say which patch a row is, as written; names that are short are the ids."""
    names = table.sample_names
    if len(set(names)) == len(names) and all(map(str.isalnum, names)):
        labels = {"SAMPLE_ID": list(names)}
    else:
        numbers = list(map(str, range(1, len(names) + 1)))
        labels = {"SAMPLE_ID": numbers, "SAMPLE_NAME": list(map(_quoted, names))}
    if table.places:
        labels["SAMPLE_LOC"] = list(map(_quoted, table.places))
    return labels


def _numbers(table: MeasurementTable) -> dict[str, list[str]]:
    """The columns of tone values and readings, as written."""
    filters = [_DENSITY_NAMES[channel] for channel in table.density_channels]
    blocks: tuple[tuple[list[str], FloatArray | None], ...] = (
        (plate_columns(table.plates), table.tone_pct),
        (["XYZ_X", "XYZ_Y", "XYZ_Z"], table.xyz100),
        (["LAB_L", "LAB_A", "LAB_B"], table.lab),
        (filters, table.density),
        ([f"SPECTRAL_NM{nm:.0f}" for nm in WAVELENGTHS_NM], table.reflectance),
    )
    return {
        name: list(map(_decimal, column.tolist()))
        for names, values in blocks
        if values is not None
        for name, column in zip(names, values.T, strict=True)
    }


def _decimal(value: float) -> str:
    """The shortest text that reads back as the same number."""
    return repr(value).removesuffix(".0")


def _word(text: str) -> str:
    """One word of a line: as it is where that is one word already, else quoted."""
    bare = text.isprintable() and not any(sign.isspace() or sign in '"#' for sign in text)
    return text if text and bare else _quoted(text)


def _quoted(text: str) -> str:
    return '"' + harmless(text).replace('"', '""') + '"'
