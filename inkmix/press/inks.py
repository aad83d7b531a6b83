"""The ways in which an ink can be made known.

Every ink ends as the same thing: tone values with the colour printed at each, on a paper; `known`
remembers how that came to be. The values themselves are in inkmix.press.values, what the press
makes of them in the other files of this folder.

Further properties of an ink (opacity, tone value increase, character) are given afterwards with
`dataclasses.replace`.
"""

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray, read_only
from inkmix.base.errors import Fault, ModelError
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    lab_to_xyz100,
    reflectance_to_density,
    reflectance_to_xyz100,
    srgb1_to_xyz100,
    srgb_hex_to_srgb1,
)
from inkmix.colour.observer import WAVELENGTHS_NM
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import MODEL
from inkmix.press.spectra import FILTERS, smoothest_reflectance
from inkmix.press.values import Ink as Ink
from inkmix.press.values import Paper as Paper
from inkmix.press.values import array_faults

_SCATTER = 0.05  # a densitometer zeroed on paper may read this much below it
_MOST_DENSITY = 4.0


def ink_from_ramp(
    name: str,
    *,
    tone_pct: npt.ArrayLike,
    xyz100: npt.ArrayLike | None = None,
    reflectance: npt.ArrayLike | None = None,
    paper: Paper,
    source: str = "",
) -> Ink:
    """An ink known by tints (S,) as XYZ (S, 3) or reflectance (S, 36); 100 % must be among them.

    A missing 0 % is the paper. Without `xyz100` it is computed from the reflectance. Spectra count
    only if the paper's are known too.
    """
    tones = np.asarray(tone_pct, dtype=np.float64)
    spectra = None if reflectance is None else np.asarray(reflectance, dtype=np.float64)
    if spectra is not None:
        shape = (len(tones), len(WAVELENGTHS_NM))
        faults = array_faults(f"ink {name}, reflectance", spectra, shape)
        if faults:
            raise ModelError(faults)
    colours = np.asarray(reflectance_to_xyz100(spectra) if xyz100 is None and spectra is not None
                         else xyz100, dtype=np.float64)  # fmt: skip
    order = np.argsort(tones, kind="stable")
    if tones.size and tones[order[0]] != 0:
        tones, order = np.append(tones, 0.0), np.append(len(tones), order)
        colours = np.vstack([colours, paper.xyz100])
        if spectra is not None and paper.reflectance is not None:
            spectra = np.vstack([spectra, paper.reflectance])
    if spectra is not None:
        spectra = spectra[order] if paper.reflectance is not None else None
    known = "ramp" if len(tones) > 2 else "solid"
    return Ink(name=name, known=known, tone_pct=tones[order], xyz100=colours[order],
               reflectance=spectra, measured_on=paper, source=source)  # fmt: skip


def ink_from_xyz100(name: str, xyz100: npt.ArrayLike, *, paper: Paper, source: str = "") -> Ink:
    """An ink known by the XYZ (3,) of its solid, absolute."""
    return ink_from_ramp(
        name, tone_pct=[100.0], xyz100=np.atleast_2d(xyz100), paper=paper, source=source
    )


def ink_from_lab(name: str, lab: npt.ArrayLike, *, paper: Paper, source: str = "") -> Ink:
    """An ink known by the CIELAB (3,) of its solid, D50, 2 degree, absolute."""
    return ink_from_xyz100(name, lab_to_xyz100(lab), paper=paper, source=source)


def ink_from_density(
    name: str,
    *,
    red: float,
    green: float,
    blue: float,
    status: str,
    relative: bool,
    paper: Paper,
    source: str = "",
) -> Ink:
    """An ink known by density readings of its solid: of the spectra that read so, the smoothest.

    Over the 24 shipped inks, which are invented and smooth themselves, the solid comes out within
    dE00 2 on average; real inks with narrow bands may be farther off. Readings through a polarising
    filter are 0.1 to 0.3 higher in the dark than what the eye sees; give dry, unpolarised ones.

    Parameters
    ----------
    red, green, blue : float
        Density readings, -0.05 to 4; below 0 is the instrument's scatter and taken as 0.
    status : {"T", "E"}
        Filter set of ISO 5-3.
    relative : bool
        Whether the readings were zeroed on the paper; else they are absolute.

    Raises
    ------
    ModelError
        Readings out of range, or another status.
    """
    readings = np.array([red, green, blue], dtype=np.float64)
    faults = _density_faults(name, readings, status)
    if faults:
        raise ModelError(faults)
    density = np.maximum(readings, 0)
    if not relative:
        density = np.maximum(density - _paper_density(paper, status), 0)
    flat = np.ones_like(WAVELENGTHS_NM, dtype=np.float64)
    under = flat if paper.reflectance is None else paper.reflectance
    solid = smoothest_reflectance(density, status=status, paper=under)
    share = reflectance_to_xyz100(solid) / reflectance_to_xyz100(under)
    colours = np.stack([paper.xyz100, paper.xyz100 * share])
    return Ink(name=name, known="density", tone_pct=read_only([0, 100]), xyz100=colours,
               measured_on=paper, source=source)  # fmt: skip


def _density_faults(name: str, readings: FloatArray, status: str) -> list[Fault]:
    where, expected = f"ink {name}, density", "densities of -0.05 to 4"
    faults = array_faults(where, np.maximum(readings, 0), (3,))
    out = readings[(readings < -_SCATTER) | (readings > _MOST_DENSITY)]
    if not faults and out.size:
        faults = [Fault(where=where, found=f"{out[0]:g}", expected=expected)]
    if status not in ("T", "E"):
        faults.append(Fault(where=f"ink {name}, status", found=repr(status), expected="T or E"))
    return faults


def _paper_density(paper: Paper, status: str) -> FloatArray:
    """Absolute densities (3,) of a paper: by its spectrum, else roughly by its XYZ."""
    if paper.reflectance is None:
        return np.asarray(-np.log10(paper.xyz100 / WHITE_XYZ100), dtype=np.float64)
    read = reflectance_to_density(paper.reflectance, status=status)
    return np.array([float(read[name]) for name in FILTERS])


def ink_from_srgb(name: str, colour: str, *, paper: Paper) -> Ink:
    """An ink known only by a screen colour #rrggbb, taken relative to the paper: a hint.

    A screen can show what no ink reaches: in no band is the solid denser than the usual black of
    the paper class, so #000000 prints like that black.
    """
    relative = srgb1_to_xyz100(srgb_hex_to_srgb1(colour)) / WHITE_XYZ100
    bands = narrow_bands(paper.xyz100)
    density = -np.log10(bands.relative(relative * paper.xyz100))
    density = np.clip(density, 0.0, MODEL.paper[paper.paper_class].black_density)
    solid = bands.relative_to_xyz100(10.0**-density)
    colours = np.stack([paper.xyz100, np.maximum(solid, 0.0)])
    return Ink(name=name, known="screen colour", tone_pct=read_only([0, 100]), xyz100=colours,
               measured_on=paper, source=f"screen colour {colour}")  # fmt: skip
