"""The columns and keywords of a measured table as texts, by the names of ISO 28178.

What the writers of all formats share; each quotes as its format asks.
"""

from collections.abc import Sequence

from inkmix.base.arrays import FloatArray
from inkmix.base.quoting import harmless
from inkmix.colour.measured.table import MeasurementTable
from inkmix.colour.measured.tabled import density_status
from inkmix.colour.observer import WAVELENGTHS_NM

_DENSITY_NAMES = {"red": "D_RED", "green": "D_GREEN", "blue": "D_BLUE", "visual": "D_VIS"}


def keywords_of(table: MeasurementTable) -> dict[str, str]:
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
    return [f"INK_{plate}" for plate in plates]


def label_columns(table: MeasurementTable) -> dict[str, list[str]]:
    """The columns that say which patch a row is; names that are short are the ids."""
    names = list(map(harmless, table.sample_names))
    if len(set(names)) == len(names) and all(map(str.isalnum, names)):
        labels = {"SAMPLE_ID": names}
    else:
        numbers = list(map(str, range(1, len(names) + 1)))
        labels = {"SAMPLE_ID": numbers, "SAMPLE_NAME": names}
    if table.places:
        labels["SAMPLE_LOC"] = list(map(harmless, table.places))
    return labels


def number_columns(table: MeasurementTable) -> dict[str, list[str]]:
    """The columns of tone values and readings, each number in the fewest digits that give it."""
    filters = [_DENSITY_NAMES[channel] for channel in table.density_channels]
    blocks: tuple[tuple[list[str], FloatArray | None], ...] = (
        (plate_columns(table.plates), table.tone_pct),
        (["XYZ_X", "XYZ_Y", "XYZ_Z"], table.xyz100),
        (["LAB_L", "LAB_A", "LAB_B"], table.lab),
        (filters, table.density),
        ([f"SPECTRAL_NM{nm:.0f}" for nm in WAVELENGTHS_NM], table.reflectance),
    )
    return {
        name: list(map(decimal, column.tolist()))
        for names, values in blocks
        if values is not None
        for name, column in zip(names, values.T, strict=True)
    }


def decimal(value: float) -> str:
    """The shortest text that reads back as the same number."""
    return repr(value).removesuffix(".0")
