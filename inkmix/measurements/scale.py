"""What a file calls 1 in its spectra: 1 or 100, by what it says, else by what it holds."""

from collections.abc import Mapping

import numpy as np

from inkmix.colorimetry import lightness_to_y100
from inkmix.measurements.columns import spectral_unit
from inkmix.measurements.grid import Grid
from inkmix.measurements.spectra import is_percent


def reflectance_scale(grid: Grid, keywords: Mapping[str, str]) -> tuple[float, list[str]]:
    """1.0 or 100.0, and a note if it had to be judged from the numbers."""
    columns = list(grid.columns("spectral").values())
    if not columns:
        return 1.0, []
    told = _told(grid, columns, keywords)
    if told:
        return told, []
    if is_percent(grid.values[:, columns], y100=_y100(grid)):
        return 100.0, ["spectra read as percent, by their size"]
    return 1.0, ["spectra read as 0 to 1, by their size"]


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
