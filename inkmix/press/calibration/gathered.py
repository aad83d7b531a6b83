"""Readings of a form as a press-condition file: repeats averaged, ramps told from mixes."""

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.press.calibration.press_file import (
    InkRecord,
    MixRecords,
    Origin,
    PaperRecord,
    PressFile,
    Row,
)
from inkmix.press.calibration.readings import Readings
from inkmix.press.scoring.chart import Chart


def press_file_of(readings: Readings, *, paper_class: str, origin: Origin) -> PressFile:
    """What readings tell of a press."""
    chart = readings.chart
    xyz, spectrum = _mean(chart, chart.bare)
    apart = readings.apart_from_repeats()
    return PressFile(
        origin=origin,
        paper=PaperRecord(paper_class=paper_class, xyz=xyz, reflectance=spectrum),
        inks=tuple(_ink(chart, k) for k in range(len(chart.plates))),
        mixes=MixRecords(
            rows=tuple(_mixes(chart)), scatter_de00=float(apart.mean()) if len(apart) else 0.0
        ),
    )


def _ink(chart: Chart, plate: int) -> InkRecord:
    """An ink by its tints, each the mean of its readings."""
    alone = chart.alone(plate)
    tones = np.unique(chart.tone_pct[alone, plate])
    means = [_mean(chart, alone & (chart.tone_pct[:, plate] == tone)) for tone in tones]
    spectra = [spectrum for _, spectrum in means if spectrum is not None]
    return InkRecord(
        name=chart.plates[plate],
        tone_pct=_row(tones),
        xyz=tuple(xyz for xyz, _ in means),
        reflectance=tuple(spectra) if spectra else None,
    )


def _mixes(chart: Chart) -> list[Row]:
    mixed, tones = chart.mixed, chart.tone_pct
    recipes, index, times = np.unique(tones[mixed], axis=0, return_inverse=True, return_counts=True)
    sums = [np.bincount(index.reshape(-1), band, len(recipes)) for band in chart.xyz100[mixed].T]
    xyz100 = np.stack(sums, axis=1) / np.maximum(times, 1)[:, None]
    return [_row(row) for row in np.column_stack([recipes, xyz100, times])]


def _mean(chart: Chart, rows: BoolArray) -> tuple[Row, Row | None]:
    xyz100, spectrum = chart.mean_of(rows)
    return _row(xyz100), None if spectrum is None else _row(spectrum)


def _row(values: FloatArray) -> Row:
    return tuple(float(value) for value in values)
