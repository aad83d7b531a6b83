"""How well the model predicts a measured chart of which it is told only a part.

What is told goes into a press condition; nothing else of the chart may reach it. Only mixtures of
two or more inks that were not told are counted.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from inkmix.arrays import BoolArray, FloatArray
from inkmix.colorimetry import delta_e00, xyz100_to_lab
from inkmix.errors import Fault, MeasurementError, UsageError
from inkmix.measurements.table import MeasurementTable, colours_xyz100
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink, Paper, ink_from_ramp
from inkmix.press.patches import Patches, solid_row
from inkmix.press.processes import PROCESSES
from inkmix.press.screen import screen_multiply_xyz100

#: What the model may be told of a chart, each with all before it.
KNOWN = ("solids", "ramps", "overprints")
#: Of the counted patches, the darkest in this share.
DARK_SHARE = 1 / 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chart:
    """Readings of a chart by lay-down order: tones (N, I), colours (N, 3), spectra (N, 36)."""

    plates: tuple[str, ...]
    tone_pct: FloatArray
    xyz100: FloatArray
    lab: FloatArray
    reflectance: FloatArray | None
    source: str

    @property
    def mixed(self) -> BoolArray:
        """Patches (N,) of two or more inks."""
        return np.asarray((self.tone_pct > 0).sum(axis=1) >= 2, dtype=np.bool_)

    def mean_of(self, rows: BoolArray) -> tuple[FloatArray, FloatArray | None]:
        """Mean colour (3,) and spectrum (36,) of some patches."""
        spectra = None if self.reflectance is None else self.reflectance[rows].mean(axis=0)
        return self.xyz100[rows].mean(axis=0), spectra


def score_table(
    table: MeasurementTable, *, known: str, paper_class: str, order: str = "KCMY"
) -> dict[str, Any]:
    """Tell the model a part of a chart, predict the rest, and compare.

    Parameters
    ----------
    known : {"solids", "ramps", "overprints"}
        Paper and 100 % solids; also all single-ink tints; also all solid overprints.
    paper_class : str
    order : str
        Lay-down order: names of the plates parted by commas, or one letter each.

    Returns
    -------
    dict
        "data_set", "known", "paper", "patches", "de00" and "dark", and the same two for layers
        multiplied on a screen under "screen_multiply".

    Raises
    ------
    UsageError
        Unknown `known`, or an order that does not name every plate once.
    MeasurementError
        A chart without colours, bare paper, a solid, or anything left to predict.
    ModelError
        Unknown paper class.
    """
    chart = read_chart(table, order)
    condition, told = tell(chart, known=known, paper_class=paper_class)
    counted = chart.mixed & ~told
    if not counted.any():
        raise MeasurementError(
            Fault(where=chart.source, found="no mixture of inks that is left to predict")
        )
    tones, measured = chart.tone_pct[counted], chart.lab[counted]
    on_screen = screen_multiply_xyz100(
        tones,
        solids_xyz100=[ink.solid_xyz100 for ink in condition.inks],
        paper_xyz100=condition.paper.xyz100,
    )
    return {
        "data_set": table.descriptor or chart.source,
        "known": known,
        "paper": paper_class,
        "patches": int(counted.sum()),
        **compare(condition.lab(tones), measured),
        "screen_multiply": compare(xyz100_to_lab(on_screen), measured),
    }


def read_chart(table: MeasurementTable, order: str) -> Chart:
    """The readings of a table with its plates in lay-down order."""
    plates = _plates_in_order(table, order)
    if not table.has_colour:
        raise MeasurementError(
            Fault(where=table.source, found="no colours", expected="XYZ, Lab or spectra")
        )
    xyz100 = np.asarray(colours_xyz100(table), dtype=np.float64)
    as_filed = table.lab is not None and table.reflectance is None
    return Chart(
        plates=plates,
        tone_pct=table.tone_pct[:, [table.plates.index(name) for name in plates]],
        xyz100=xyz100,
        lab=np.asarray(table.lab if as_filed else xyz100_to_lab(xyz100), dtype=np.float64),
        reflectance=table.reflectance,
        source=table.source,
    )


def tell(chart: Chart, *, known: str, paper_class: str) -> tuple[PressCondition, BoolArray]:
    """A press condition that knows only a part of a chart, and which patches (N,) that part is."""
    if known not in KNOWN:
        choices = ", ".join(KNOWN)
        raise UsageError(Fault(where="known", found=repr(known), expected=f"one of {choices}"))
    told = _told(chart, known)
    faults = _missing(chart, told)
    if faults:
        raise MeasurementError(faults)
    xyz100, spectrum = chart.mean_of(_bare(chart))
    paper = Paper(
        name=chart.source, paper_class=paper_class, xyz100=xyz100, reflectance=spectrum,
        source=chart.source,
    )  # fmt: skip
    inks = [_ink(chart, told, plate=i, paper=paper) for i in range(len(chart.plates))]
    patches = _patches(chart, told & chart.mixed)
    process = PROCESSES["sheet-fed offset"]
    return press_condition(paper, inks, process=process, patches=patches), told


def compare(predicted_lab: FloatArray, measured_lab: FloatArray) -> dict[str, dict[str, float]]:
    """Figures of dE00 over all patches (N, 3), and of L* over the darkest fifth as measured."""
    L = measured_lab[:, 0]
    dark = np.argsort(L, kind="stable")[: int(np.ceil(len(L) * DARK_SHARE))]
    off = np.abs(predicted_lab[dark, 0] - L[dark])
    return {
        "de00": _spread(delta_e00(predicted_lab, measured_lab)),
        "dark": {
            "lightest_L": round(float(L[dark].max()), 4),
            "patches": len(dark),
            "mean_abs_dL": round(float(off.mean()), 4),
            "p95_abs_dL": round(float(np.percentile(off, 95)), 4),
        },
    }


def _spread(values: FloatArray) -> dict[str, float]:
    figures = {
        "mean": values.mean(),
        "median": np.median(values),
        "p95": np.percentile(values, 95),
        "max": values.max(),
    }
    return {name: round(float(value), 4) for name, value in figures.items()}


def _plates_in_order(table: MeasurementTable, order: str) -> tuple[str, ...]:
    names = tuple(part.strip() for part in order.split(",")) if "," in order else tuple(order)
    if order in table.plates:
        names = (order,)
    if sorted(names) != sorted(table.plates):
        raise UsageError(
            Fault(
                where="lay-down order",
                found=repr(order),
                expected=f"the plates of {table.source}, each once: {', '.join(table.plates)}",
            )
        )
    return names


def _bare(chart: Chart) -> BoolArray:
    return np.asarray((chart.tone_pct == 0).all(axis=1), dtype=np.bool_)


def _alone(chart: Chart, plate: int) -> BoolArray:
    """Patches (N,) that hold one plate and no other."""
    return np.asarray((chart.tone_pct[:, plate] > 0) & ~chart.mixed, dtype=np.bool_)


def _told(chart: Chart, known: str) -> BoolArray:
    """Which patches (N,) the model is told."""
    solid, _ = solid_row(chart.tone_pct)
    single = ~chart.mixed
    if known == "solids":
        return solid & single
    return single if known == "ramps" else single | solid


def _missing(chart: Chart, told: BoolArray) -> list[Fault]:
    """What the model must be told and the chart lacks."""
    faults = []
    if not _bare(chart).any():
        faults.append(Fault(where=chart.source, found="no patch of bare paper"))
    for i, name in enumerate(chart.plates):
        if not (told & _alone(chart, i) & (chart.tone_pct[:, i] == 100)).any():
            faults.append(Fault(where=chart.source, found=f"no 100 % patch of {name} alone"))
    return faults


def _ink(chart: Chart, told: BoolArray, *, plate: int, paper: Paper) -> Ink:
    """One ink from its told patches; repeats of a tone value are averaged."""
    rows = told & _alone(chart, plate)
    tones = np.unique(chart.tone_pct[rows, plate])
    means = [chart.mean_of(rows & (chart.tone_pct[:, plate] == tone)) for tone in tones]
    spectra = [spectrum for _, spectrum in means if spectrum is not None]
    return ink_from_ramp(
        chart.plates[plate],
        tone_pct=tones,
        xyz100=np.stack([xyz100 for xyz100, _ in means]),
        reflectance=np.stack(spectra) if spectra else None,
        paper=paper,
        source=chart.source,
    )


def _patches(chart: Chart, rows: BoolArray) -> Patches | None:
    """The told mixtures."""
    if not rows.any():
        return None
    return Patches(tone_pct=chart.tone_pct[rows], xyz100=chart.xyz100[rows])
