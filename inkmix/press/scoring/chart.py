"""Readings of a chart with its plates in lay-down order, and recipes that stand in it.

What of it the model is told is in telling.py.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.errors import Fault, MeasurementError, capped
from inkmix.base.quoting import clipped, listed
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.colour.measured.table import MeasurementTable, colours_xyz100
from inkmix.press.scoring.agreement import absurd, disagreement
from inkmix.press.scoring.keywords import stated_opacity
from inkmix.press.values import MAX_INKS


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chart:
    """Readings of a chart, inks in one order: tones (N, I), colours (N, 3), spectra (N, 36).

    `opacity` holds what the chart itself says of inks.
    """

    plates: tuple[str, ...]
    tone_pct: FloatArray
    xyz100: FloatArray
    lab: FloatArray
    reflectance: FloatArray | None
    source: str
    opacity: Mapping[str, float] = field(default_factory=dict)

    @property
    def mixed(self) -> BoolArray:
        """Patches (N,) of two or more inks."""
        return np.asarray(self.inks_held >= 2, dtype=np.bool_)

    @property
    def inks_held(self) -> IntArray:
        """How many inks each patch (N,) holds."""
        return np.asarray((self.tone_pct > 0).sum(axis=1), dtype=np.int64)

    @property
    def bare(self) -> BoolArray:
        """Patches (N,) of bare paper."""
        return np.asarray(self.inks_held == 0, dtype=np.bool_)

    def alone(self, plate: int) -> BoolArray:
        """Patches (N,) that hold one plate and no other."""
        return np.asarray((self.tone_pct[:, plate] > 0) & ~self.mixed, dtype=np.bool_)

    def solids_of(self, plate: int) -> BoolArray:
        """Patches (N,) that hold one plate in full and no other."""
        return np.asarray(self.alone(plate) & (self.tone_pct[:, plate] == 100), dtype=np.bool_)

    def mean_of(self, rows: BoolArray) -> tuple[FloatArray, FloatArray | None]:
        """Mean colour (3,) and spectrum (36,) of some patches."""
        spectra = None if self.reflectance is None else self.reflectance[rows].mean(axis=0)
        return self.xyz100[rows].mean(axis=0), spectra

    def recipes(self) -> tuple[FloatArray, IntArray]:
        """Recipes (R, I), each once, and the recipe (N,) of each patch: equal ones are copies."""
        tones, index = np.unique(self.tone_pct, axis=0, return_inverse=True)
        return tones, index.reshape(-1).astype(np.int64)

    def in_order(self, plates: tuple[str, ...]) -> "Chart":
        """The same patches with the same plates in another order."""
        columns = [self.plates.index(name) for name in plates]
        return replace(self, plates=plates, tone_pct=self.tone_pct[:, columns])


def read_chart(table: MeasurementTable) -> Chart:
    """The readings of a table with its plates as they are in the file.

    Raises
    ------
    MeasurementError
        A table without colours, or with other than two to eight named inks.
    """
    opacity, faults, _ = stated_opacity(table)  # a chart may be part of one with more inks
    faults += [*_plate_faults(table), *_reading_faults(table)]
    if faults:
        raise MeasurementError(capped(faults, where=table.source))
    xyz100 = np.asarray(colours_xyz100(table), dtype=np.float64)
    return Chart(
        plates=table.plates,
        tone_pct=table.tone_pct,
        xyz100=xyz100,
        lab=np.asarray(table.lab if _lab_holds(table) else xyz100_to_lab(xyz100), np.float64),
        reflectance=table.reflectance,
        source=table.source,
        opacity=opacity,
    )


def _lab_holds(table: MeasurementTable) -> bool:
    """Whether Lab is taken as it stands in the file: it is rounded less than XYZ in the dark."""
    return table.lab is not None and table.reflectance is None and disagreement(table) is None


def _reading_faults(table: MeasurementTable) -> list[Fault]:
    if not table.has_colour:
        expected = "XYZ, Lab or spectra are needed"
        return [Fault(where=table.source, found="no colours", expected=expected)]
    return absurd(table, disagreement(table))


def _plate_faults(table: MeasurementTable) -> list[Fault]:
    """What is wrong with the inks of a chart, before any reading is looked at."""
    where, count = table.source, len(table.plates)
    if not count:
        return [
            Fault(
                where=where,
                found="no column is an ink",
                expected="tone values of two to eight inks are needed beside the readings",
                do="export the chart with its tone values",
            )
        ]
    faults = []
    unnamed = sum(not name.strip() for name in table.plates)
    if unnamed:
        found = f"{unnamed} of {count} inks without a name"
        faults.append(Fault(where=where, found=found, do="name the columns of the inks"))
    if count < 2:
        found = f"one ink only, {clipped(table.plates[0])}"
        expected = "the score is of mixtures, so it takes two inks or more"
        read = "; ".join(table.notes)  # of columns that were left unread, for one
        faults.append(Fault(where=where, found=found, expected=expected, do=read))
    if count > MAX_INKS:
        faults.append(
            Fault(
                where=where,
                found=f"{count} inks: {listed(table.plates)}",
                expected=f"{MAX_INKS} are the most",
                do="leave out the columns and the patches of the others",
            )
        )
    return faults
