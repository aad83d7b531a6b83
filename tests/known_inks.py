"""Papers and inks that tests make of a Lab value or of a spectrum; the program reads charts."""

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import read_only
from inkmix.colour.colorimetry import lab_to_xyz100, reflectance_to_xyz100
from inkmix.press.inks import Ink, Paper, ink_from_ramp


def paper_from_lab(name: str, lab: npt.ArrayLike, *, paper_class: str, source: str = "") -> Paper:
    """A paper known by its CIELAB (3,), D50, 2 degree."""
    return Paper(name=name, paper_class=paper_class, xyz100=lab_to_xyz100(lab), source=source)


def paper_from_reflectance(
    name: str, reflectance: npt.ArrayLike, *, paper_class: str, source: str = ""
) -> Paper:
    """A paper known by its reflectance factors (36,) on the house grid."""
    values = read_only(reflectance)
    xyz100 = reflectance_to_xyz100(values)
    return Paper(
        name=name, paper_class=paper_class, xyz100=xyz100, reflectance=values, source=source
    )


def ink_from_reflectance(
    name: str, reflectance: npt.ArrayLike, *, paper: Paper, source: str = ""
) -> Ink:
    """An ink known by the reflectance factors (36,) of its solid; values above 1 are accepted."""
    return ink_from_ramp(
        name, tone_pct=[100.0], reflectance=np.atleast_2d(reflectance), paper=paper, source=source
    )
