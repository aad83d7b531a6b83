"""A measured table as CGATS text, so that reading it gives the same values again.

The swatches that come with inkmix were written by this; the program itself writes no measurements.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.quoting import harmless
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.observer import WAVELENGTHS_NM

# Keywords of ISO 28178; any other is declared before its use, as the standard asks.
STANDARD_KEYWORDS = frozenset(
    {
        "ORIGINATOR",
        "DESCRIPTOR",
        "FILE_DESCRIPTOR",
        "CREATED",
        "INSTRUMENTATION",
        "MEASUREMENT_SOURCE",
        "FILTER",
        "PRINT_CONDITIONS",
        "ILLUMINANT",
        "OBSERVER",
        "WEIGHTING_FUNCTION",
        "MEASUREMENT_GEOMETRY",
        "SAMPLE_BACKING",
    }
)

_DENSITY_NAMES = {"red": "D_RED", "green": "D_GREEN", "blue": "D_BLUE", "visual": "D_VIS"}


def write_cgats(table: MeasurementTable, *, comments: Sequence[str] = ()) -> str:
    """The table as CGATS text; every number in the fewest digits that give it back exactly.

    Parameters
    ----------
    comments : sequence of str
        Lines put under the header, each after a #.
    """
    lines = ["CGATS.17", "", *_header(table), *(f"# {line}" for line in comments)]
    names, columns = _columns(table)
    lines += [f"NUMBER_OF_FIELDS {len(names)}", "BEGIN_DATA_FORMAT"]
    lines += ["\t".join(names), "END_DATA_FORMAT", f"NUMBER_OF_SETS {len(table)}", "BEGIN_DATA"]
    lines += _rows(table, columns)
    lines += ["END_DATA", ""]
    return "\n".join(lines)


def _header(table: MeasurementTable) -> Iterator[str]:
    """Keyword lines; an own keyword is declared first."""
    words = {"ORIGINATOR": table.originator, "DESCRIPTOR": table.descriptor, **table.keywords}
    if table.reflectance is not None:
        words["SPECTRAL_NORM"] = "1"
    if table.density_status:
        words["DENSITY_STATUS"] = table.density_status
    for name, value in words.items():
        if not value:
            continue
        if name not in STANDARD_KEYWORDS:
            yield f"KEYWORD {quote(name)}"
        yield f"{name}\t{quote(value)}"


def plate_columns(plates: Sequence[str]) -> list[str]:
    """Column names of the plates: CMYK_., nCLR_k, or INK_ and the ink's own name."""
    if plates and all(plate in ("C", "M", "Y", "K") for plate in plates):
        return [f"CMYK_{plate}" for plate in plates]
    if list(plates) == [str(k + 1) for k in range(len(plates))] and len(plates) <= 15:
        return [f"{len(plates):X}CLR_{k + 1:X}" for k in range(len(plates))]
    return [_named(f"INK_{plate}") for plate in plates]


def _named(name: str) -> str:
    return quote(name) if any(sign.isspace() or sign in '"#' for sign in name) else name


def _columns(table: MeasurementTable) -> tuple[list[str], list[FloatArray]]:
    """Names and numbers of all columns after the first."""
    names, blocks = plate_columns(table.plates), [table.tone_pct]
    if table.xyz100 is not None:
        names += ["XYZ_X", "XYZ_Y", "XYZ_Z"]
        blocks.append(table.xyz100)
    if table.lab is not None:
        names += ["LAB_L", "LAB_A", "LAB_B"]
        blocks.append(table.lab)
    if table.density is not None:
        names += [_DENSITY_NAMES[channel] for channel in table.density_channels]
        blocks.append(table.density)
    if table.reflectance is not None:
        names += [f"SPECTRAL_NM{nm:.0f}" for nm in WAVELENGTHS_NM]
        blocks.append(table.reflectance)
    return ["SAMPLE_NAME", *names], blocks


def _rows(table: MeasurementTable, blocks: list[FloatArray]) -> Iterator[str]:
    values = np.concatenate(blocks, axis=1)
    for name, row in zip(table.sample_names, values, strict=True):
        yield "\t".join([quote(name), *(_decimal(value) for value in row.tolist())])


def _decimal(value: float) -> str:
    """The shortest text that reads back as the same number."""
    return repr(value).removesuffix(".0")


def quote(text: str) -> str:
    """The text as one quoted word on one line."""
    return '"' + harmless(text).replace('"', '""') + '"'
