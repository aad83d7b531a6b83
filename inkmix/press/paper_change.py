"""An ink measured on one paper, put on another.

It keeps its relative reflectance and its coverages; where the other paper class lets the dark end
earlier, dense solids are compressed. A guess, to be told to the reader; never used on an ink that
was measured on the paper in hand.
"""

from dataclasses import replace

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import MODEL
from inkmix.press.inks import Ink, Paper
from inkmix.press.solids.overprint import saturate, unsaturate

_LEAST_DEPTH = 1e-6  # of a solid in a band, so that tints can be shares of it


def is_same_paper(one: Paper, other: Paper) -> bool:
    """Whether two papers are one stock: same class, colour within the spread of readings.

    One that is only guessed to be like a known one is not.
    """
    known = other.guessed or not one.guessed
    return one is other or (known and one.paper_class == other.paper_class and _is_near(one, other))


def _is_near(one: Paper, other: Paper) -> bool:
    if np.array_equal(one.xyz100, other.xyz100):
        return True
    apart = delta_e00(xyz100_to_lab(one.xyz100), xyz100_to_lab(other.xyz100))
    return bool(apart < MODEL.paper_change.same_paper_de00)


def put_on_paper(ink: Ink, paper: Paper) -> Ink:
    """The ink as it should print on `paper`; the same ink if it was measured there.

    It is carried in narrow bands, where it mixes, and by its spectrum, by which it overprints. On
    the same stock in another reading only its paper is set right.
    """
    same = is_same_paper(ink.measured_on, paper)
    if same and np.array_equal(ink.measured_on.xyz100, paper.xyz100):
        return ink
    old, new = narrow_bands(ink.measured_on.xyz100), narrow_bands(paper.xyz100)
    ramp = _carried_ramp(old.relative(ink.xyz100), ink, paper)
    scale = paper.xyz100 / ink.measured_on.xyz100
    return replace(
        ink,
        xyz100=np.maximum(new.relative_to_xyz100(ramp), 0),
        reflectance=_carried_spectra(ink, paper, otherwise=ink.reflectance if same else None),
        measured_on=paper,
        over_black_xyz100=_scaled(ink.over_black_xyz100, scale),
        black_xyz100=_scaled(ink.black_xyz100, scale),
    )


def _carried_spectra(ink: Ink, paper: Paper, *, otherwise: FloatArray | None) -> FloatArray | None:
    """Reflectance (S, 36) on the other paper, where all of it is known."""
    under = ink.measured_on.reflectance
    if ink.reflectance is None or under is None or paper.reflectance is None:
        return otherwise
    share = np.maximum(MODEL.least_reflectance, ink.reflectance / under)
    return _carried_ramp(share, ink, paper) * paper.reflectance


def _scaled(xyz100: FloatArray | None, scale: FloatArray) -> FloatArray | None:
    return None if xyz100 is None else xyz100 * scale


def _carried_ramp(relative: FloatArray, ink: Ink, paper: Paper) -> FloatArray:
    """Relative reflectances (S, C) on the other paper: same coverages, compressed solid."""
    old, new = MODEL.paper[ink.measured_on.paper_class], MODEL.paper[paper.paper_class]
    solid = carried_solid(relative[-1], old.greatest_density, new.greatest_density)
    old_depth, new_depth = (
        1 - relative ** (1 / old.yule_nielsen_n),
        1 - solid ** (1 / new.yule_nielsen_n),
    )
    share = old_depth / np.where(np.abs(old_depth[-1]) > _LEAST_DEPTH, old_depth[-1], 1.0)
    ramp = np.maximum(1 - np.clip(share, 0, 1) * new_depth, 0) ** new.yule_nielsen_n
    ramp[0], ramp[-1] = 1, solid
    return np.asarray(ramp, dtype=np.float64)


def carried_solid(solid: FloatArray, old_greatest: float, new_greatest: float) -> FloatArray:
    """Relative reflectance (C,) of a solid where another density is the greatest."""
    if old_greatest == new_greatest:
        return solid
    density = -np.log10(solid)
    dark, light = np.maximum(density, 0), np.minimum(density, 0)
    old = np.maximum(old_greatest, MODEL.overprint.solid_margin * dark)
    carried = saturate(unsaturate(dark, old), new_greatest)
    return np.asarray(10.0 ** -(carried + light), dtype=np.float64)
