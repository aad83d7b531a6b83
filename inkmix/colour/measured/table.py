"""The one in-memory form of measured colour, whatever file it came from.

Here belong the table and the questions anyone may ask of it: which rows are bare paper, which are
the ramp of one plate, what colour a row has. How files spell things must not be known here.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import lab_to_xyz100, reflectance_to_xyz100
from inkmix.colour.measured.conditions import (
    ReadingConditions,
    conditions_of,
    sentences_on_unknown,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasurementTable:
    """Readings of one chart: what was printed in each patch, and what was measured there.

    Parameters
    ----------
    places : tuple of str
        Where each patch sits on the sheet, as the file has it; empty if it says nothing.
    plates : tuple of str
        Ink names of the columns of `tone_pct`, in the order of the file.
    tone_pct : (N, I) ndarray
        Tone values of each patch, 0-100.
    xyz100, lab : (N, 3) ndarray or None
        D50, 2 degree; Y of the perfect diffuser is 100.
    density : (N, k) ndarray or None
        Readings through the filters named in `density_channels`.
    density_status : str
        "T", "E" or another status named by the file; empty if it says nothing.
    reflectance : (N, 36) ndarray or None
        On `observer.WAVELENGTHS_NM`, 1 = perfect diffuser; above 1 where a patch fluoresces.
    notes : tuple of str
        What was accepted although it is not as the format has it.
    """

    sample_names: tuple[str, ...]
    plates: tuple[str, ...]
    tone_pct: FloatArray
    xyz100: FloatArray | None = None
    lab: FloatArray | None = None
    density: FloatArray | None = None
    density_channels: tuple[str, ...] = ()
    density_status: str = ""
    reflectance: FloatArray | None = None
    originator: str = ""
    descriptor: str = ""
    places: tuple[str, ...] = ()
    keywords: Mapping[str, str] = field(default_factory=dict)
    source: str = ""
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        for array in (self.tone_pct, self.xyz100, self.lab, self.density, self.reflectance):
            if array is not None:
                array.flags.writeable = False

    def __len__(self) -> int:
        return len(self.sample_names)

    @property
    def conditions(self) -> ReadingConditions:
        """How the patches were read, as far as the keywords say it."""
        return conditions_of(self.keywords)

    @property
    def has_colour(self) -> bool:
        """True if the rows have a colour, not only densities."""
        return any(array is not None for array in (self.xyz100, self.lab, self.reflectance))


def unknown_conditions(table: MeasurementTable) -> tuple[str, ...]:
    """Sentences on what the file leaves open about how it was measured; none if it is all said."""
    spectra = table.reflectance is not None
    return sentences_on_unknown(table.conditions, has_spectra=spectra, has_colour=table.has_colour)


def colours_xyz100(table: MeasurementTable) -> FloatArray:
    """XYZ at D50 of every row: from the spectra, else as measured, else from Lab. (N, 3), Y 0-100.

    Spectra go first, so that colours and spectra of one chart never contradict each other.

    Raises
    ------
    ValueError
        The table holds densities only; ask `has_colour` first.
    """
    if table.reflectance is not None:
        return np.asarray(reflectance_to_xyz100(table.reflectance))
    if table.xyz100 is not None:
        return table.xyz100
    if table.lab is None:
        raise ValueError(f"{table.source}: a table of densities has no colours")
    return np.maximum(lab_to_xyz100(table.lab), 0.0)  # rounding in deep yellows


def paper_rows(table: MeasurementTable) -> NDArray[np.intp]:
    """Indices of the rows without ink, in the order of the file; none if there are no plates."""
    if not table.plates:
        return np.empty(0, dtype=np.intp)
    return np.flatnonzero((table.tone_pct == 0).all(axis=1))


def ramp_rows(table: MeasurementTable, plate: str) -> NDArray[np.intp]:
    """Indices of the rows that hold this plate alone, by rising tone value."""
    column = table.plates.index(plate)
    alone = (np.delete(table.tone_pct, column, axis=1) == 0).all(axis=1)
    rows = np.flatnonzero(alone & (table.tone_pct[:, column] > 0))
    return rows[np.argsort(table.tone_pct[rows, column], kind="stable")]


def overprint_rows(table: MeasurementTable) -> NDArray[np.intp]:
    """Indices of the rows with two or more plates above 0, in the order of the file."""
    return np.flatnonzero((table.tone_pct > 0).sum(axis=1) >= 2)
