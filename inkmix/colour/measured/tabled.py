"""Columns and rows of any file made into a table, or told why they are none.

Here the parts that judge meet: headings, grid, scale, soundness, white point. Which file they came
from is not known here; everything that is wrong is told at once, as far as it can be judged.
"""

from collections.abc import Mapping

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault, MeasurementError, capped
from inkmix.colour.colorimetry import lab_to_xyz100, reflectance_to_xyz100
from inkmix.colour.measured import soundness, spectra, whitepoint
from inkmix.colour.measured.grid import Grid, read_grid
from inkmix.colour.measured.headings import Needed, column_faults, column_meanings
from inkmix.colour.measured.scale import reflectance_scale
from inkmix.colour.measured.sections import Sections
from inkmix.colour.measured.table import MeasurementTable


def table_of_sections(sections: Sections, *, where: str, needed: Needed) -> MeasurementTable:
    """The table of a text that was taken apart.

    Raises
    ------
    MeasurementError
        All faults of the text (at most 20 and a count of the rest), each with line and column.
    """
    meanings = column_meanings(sections)
    missing = list(column_faults(sections, meanings, where=where, needed=needed))
    if missing and not meanings:
        raise_faults(missing[:1], where)  # no measurements at all; its cells say nothing
    faults = [*sections.faults, *missing]
    shown = sections.as_written or sections.fields
    grid, cell_faults = read_grid(shown, meanings, sections.rows, where=where, cut=sections.cut)
    faults += cell_faults
    if not sections.rows:
        faults.append(Fault(where=where, found="the table has no rows"))
    raise_faults(faults, where)
    return table_of_grid(grid, sections.keywords(), sections.notes)


def table_of_grid(grid: Grid, keywords: dict[str, str], notes: list[str]) -> MeasurementTable:
    """The table of columns whose cells are all numbers.

    Raises
    ------
    MeasurementError
        What the numbers cannot be: out of range, on another scale, for another light.
    """
    raise_faults(soundness.misplaced_faults(grid), grid.where)
    scale, note = reflectance_scale(grid, keywords)
    notes = [*notes, *note]
    faults = soundness.range_faults(grid, reflectance_scale=scale) + soundness.scale_faults(grid)
    raise_faults(faults, grid.where)
    return _table(grid, keywords, notes, scale=scale)


def raise_faults(faults: list[Fault], where: str) -> None:
    """Raise those that there are, capped."""
    if faults:
        raise MeasurementError(capped(faults, where=where))


def _table(
    grid: Grid, words: dict[str, str], notes: list[str], *, scale: float
) -> MeasurementTable:
    """The table of a sound grid; colours not for D50 are faults unless spectra are there."""
    xyz100, lab = _colour(grid, "xyz", "XYZ"), _colour(grid, "lab", "LAB")
    reflectance = _reflectance(grid, scale)
    tone_pct = np.clip(grid.values[:, list(grid.columns("tone").values())], 0, 100)
    wrong = whitepoint.light_faults(grid, words, xyz100=xyz100, lab=lab)
    if wrong and reflectance is not None:
        notes.append(f"XYZ and Lab are not used, the spectra are: {wrong[0].found}")
        xyz100 = lab = None
        wrong = []
    if reflectance is not None:
        wrong += soundness.bright_faults(grid, "spectral", reflectance_to_xyz100(reflectance))
    elif xyz100 is None and lab is not None:
        wrong += soundness.impossible_lab_faults(grid, lab)
        wrong += soundness.bright_faults(grid, "lab", lab_to_xyz100(lab))
    raise_faults(wrong, grid.where)
    density = grid.columns("density")
    numbers = tuple(map(str, range(1, len(grid.rows) + 1)))
    return MeasurementTable(
        sample_names=grid.labels("name") or grid.labels("id") or numbers,
        places=grid.labels("place") or (),
        plates=tuple(grid.columns("tone")),
        tone_pct=tone_pct,
        xyz100=None if xyz100 is None else np.maximum(xyz100, 0.0),
        lab=lab,
        density=grid.values[:, list(density.values())] if density else None,
        density_channels=tuple(density),
        density_status=density_status(words),
        reflectance=reflectance,
        originator=words.get("ORIGINATOR", ""),
        descriptor=words.get("DESCRIPTOR", words.get("FILE_DESCRIPTOR", "")),
        keywords=words,
        source=grid.where,
        notes=tuple(notes),
    )


def _colour(grid: Grid, kind: str, axes: str) -> FloatArray | None:
    columns = grid.columns(kind)
    return grid.values[:, [columns[axis] for axis in axes]] if columns else None


def _reflectance(grid: Grid, scale: float) -> FloatArray | None:
    """Spectra on the house grid, 0-1; noise below zero is zero."""
    columns = {float(key): at for key, at in grid.columns("spectral").items()}
    if not columns:
        return None
    order = sorted(columns)
    fault = spectra.why_not_resampled(np.array(order))
    if fault:
        expected = "380 (at most 410) to 730 (at least 680) nm in steps of 20 or less"
        raise MeasurementError(Fault(where=grid.where, found=fault, expected=expected))
    values = grid.values[:, [columns[nm] for nm in order]] / scale
    return np.maximum(spectra.resample(values, np.array(order)), 0.0)


def density_status(keywords: Mapping[str, str]) -> str:
    """The density status that the header names: T, E, A, M, I; empty if none."""
    for name in ("DENSITY_STATUS", "FILTER_STATUS", "FILTER"):
        words = keywords.get(name, "").upper().replace("STATUS", " ").split()
        if words and words[-1] in ("T", "E", "A", "M", "I"):
            return words[-1]
    return ""
