"""What a file calls 1 in its spectra: 1 or 100, by what it says, else by what it holds."""

from collections.abc import Mapping

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, MeasurementError
from inkmix.colour.colorimetry import lightness_to_y100
from inkmix.colour.measured.columns import spectral_unit
from inkmix.colour.measured.grid import Grid
from inkmix.colour.measured.spectra import BROAD_LEVEL, is_percent


def reflectance_scale(grid: Grid, keywords: Mapping[str, str]) -> tuple[float, list[str]]:
    """1.0 or 100.0, and a note if it had to be judged from the numbers."""
    columns = list(grid.columns("spectral").values())
    if not columns:
        return 1.0, []
    told = _told(grid, columns, keywords)
    if told:
        return told, []
    spectra, y100 = grid.values[:, columns], _y100(grid)
    if is_percent(spectra, y100=y100):
        if y100 is None:
            _refuse_two_scales(grid, columns, np.median(spectra, axis=1))
        return 100.0, ["spectra read as percent, by their size"]
    return 1.0, ["spectra read as 0 to 1, by their size"]


def _refuse_two_scales(grid: Grid, columns: list[int], medians: FloatArray) -> None:
    """A patch that is far too light for 0 to 1 while the paper is not light enough for percent.

    Raises
    ------
    MeasurementError
        It names the reading; its scale cannot be guessed.
    """
    bare = grid.bare()
    if not bare.any() or medians[bare].max() > BROAD_LEVEL:
        return
    row = int(np.argmax(medians))
    at = columns[int(np.argmax(grid.values[row, columns]))]
    raise MeasurementError(
        Fault(
            where=grid.place(row, at),
            found=f"{grid.values[row, at]:g} beside a paper that reads {medians[bare].max():g}",
            expected="spectra are either all of 0 to 1 or all in percent",
            do="correct the reading, or write SPECTRAL_NORM 1 or 100 in the header",
        )
    )


def _told(grid: Grid, columns: list[int], keywords: Mapping[str, str]) -> float | None:
    """The scale that column names or the header state, or None."""
    unit = spectral_unit(grid.fields[at] for at in columns)
    if unit:
        return 100.0 if unit == "PCT" else 1.0
    try:
        norm = float(keywords.get("SPECTRAL_NORM", ""))
    except ValueError:
        return None
    return norm if norm in (1.0, 100.0) else None


def _y100(grid: Grid) -> np.ndarray | None:
    """Measured Y of each row, if XYZ or L* was measured too."""
    if "Y" in grid.columns("xyz"):
        return grid.values[:, grid.columns("xyz")["Y"]]
    if "L" in grid.columns("lab"):
        return lightness_to_y100(grid.values[:, grid.columns("lab")["L"]])
    return None
