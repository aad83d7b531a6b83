"""Whether the readings of one chart agree: spectra with the XYZ or Lab beside them, XYZ with Lab.

Spectra are what was measured and are believed before XYZ, which are made of them; XYZ, of which the
model is told, before Lab. A chart whose readings cannot be of the same patches is refused.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import Fault
from inkmix.base.quoting import clipped
from inkmix.base.words import difference, number
from inkmix.colour.colorimetry import delta_e00, lab_to_xyz100, xyz100_to_lab
from inkmix.colour.measured.table import MeasurementTable, colours_xyz100

# Rounding, and other tables of the light, stay below these; from the last on rows are mixed up.
_MEAN_DE00, _WORST_DE00, _ABSURD_MEAN_DE00 = 1.0, 3.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Disagreement:
    """Readings of one chart that do not fit one another.

    Parameters
    ----------
    believed, other : str
    mean_de00, worst_de00 : float
    patch : str
        Name of the worst.
    """

    believed: str
    other: str
    mean_de00: float
    worst_de00: float
    patch: str

    def __str__(self) -> str:
        return (
            f"{self.believed} and {self.other} do not agree: {difference(self.mean_de00)} on "
            f"average, {number(self.worst_de00)} at worst (patch {clipped(self.patch)}). "
            f"The {self.believed} are believed; nothing rests on the {self.other}."
        )


def disagreement(table: MeasurementTable) -> Disagreement | None:
    """How the readings contradict each other; None where they agree or stand alone."""
    pair = _beside(table)
    if pair is None:
        return None
    believed, other, beside = pair
    apart = delta_e00(xyz100_to_lab(colours_xyz100(table)), beside)
    worst = int(np.argmax(apart))
    if apart.mean() <= _MEAN_DE00 and apart[worst] <= _WORST_DE00:
        return None
    return Disagreement(
        believed=believed,
        other=other,
        mean_de00=float(apart.mean()),
        worst_de00=float(apart[worst]),
        patch=table.sample_names[worst],
    )


def absurd(table: MeasurementTable, found: Disagreement | None) -> list[Fault]:
    """A fault where two readings cannot be of the same patches."""
    if found is None or found.mean_de00 <= _ABSURD_MEAN_DE00:
        return []
    return [
        Fault(
            where=table.source,
            found=f"{found.believed} and {found.other} are {difference(found.mean_de00)} apart on "
            "average",
            expected="both are readings of the same patches",
            do="rows or columns may be mixed up: export the chart again",
        )
    ]


def _beside(table: MeasurementTable) -> tuple[str, str, FloatArray] | None:
    """What is believed, what stands beside it, and the Lab (N, 3) of that."""
    if table.reflectance is not None and table.xyz100 is not None:
        return "spectra", "XYZ", xyz100_to_lab(table.xyz100)
    if table.lab is None:
        return None
    lab = xyz100_to_lab(lab_to_xyz100(table.lab))
    if table.reflectance is not None:
        return "spectra", "Lab values", lab
    return None if table.xyz100 is None else ("XYZ", "Lab values", lab)
