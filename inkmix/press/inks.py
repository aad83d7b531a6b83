"""The ways in which a paper or an ink can be made known.

Every ink ends as the same thing: tone values with the colour printed at each, on a paper; `known`
remembers how that came to be. The values themselves are in inkmix.press.values, what the press
makes of them in the other files of this folder.

Further properties of an ink (opacity, tone value increase, character) are given afterwards with
`dataclasses.replace`.
"""

import numpy as np
import numpy.typing as npt

from inkmix.arrays import FloatArray, read_only
from inkmix.colorimetry import (
    WHITE_XYZ100,
    lab_to_xyz100,
    reflectance_to_xyz100,
    srgb1_to_xyz100,
    srgb_hex_to_srgb1,
)
from inkmix.errors import Fault, ModelError
from inkmix.observer import WAVELENGTHS_NM
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.published import plausible_solid_density
from inkmix.press.values import TONE_VALUE_INCREASE_PCT, Ink, Paper, array_faults

__all__ = [
    "PAPER_CLASSES",
    "TONE_VALUE_INCREASE_PCT",
    "Ink",
    "Paper",
    "ink_from_density",
    "ink_from_lab",
    "ink_from_ramp",
    "ink_from_reflectance",
    "ink_from_srgb",
    "ink_from_xyz100",
    "paper_from_lab",
    "paper_from_reflectance",
]

# The blue filter of status E is narrower than that of status T and reads a yellow higher: 1.35
# against a narrow band's 1.05 on coated paper (practice, from memory). Of greys both read the same,
# so only what blue reads beyond the other two is reduced. Red and green agree within 0.1-0.3.
_BLUE_EXCESS_TO_BAND = {"T": 1.0, "E": 1.05 / 1.35}


def paper_from_lab(name: str, lab: npt.ArrayLike, *, paper_class: str, source: str = "") -> Paper:
    """A paper known by its CIELAB (3,), D50, 2 degree."""
    return Paper(name=name, paper_class=paper_class, xyz100=lab_to_xyz100(lab), source=source)


def paper_from_reflectance(
    name: str, reflectance: npt.ArrayLike, *, paper_class: str, source: str = ""
) -> Paper:
    """A paper known by its reflectance factors (36,) on the house grid."""
    values = read_only(reflectance)
    faults = array_faults(f"paper {name}, reflectance", values, WAVELENGTHS_NM.shape)
    if faults:
        raise ModelError(faults)
    xyz100 = reflectance_to_xyz100(values)
    return Paper(
        name=name, paper_class=paper_class, xyz100=xyz100, reflectance=values, source=source
    )


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


def ink_from_reflectance(
    name: str, reflectance: npt.ArrayLike, *, paper: Paper, source: str = ""
) -> Ink:
    """An ink known by the reflectance factors (36,) of its solid; values above 1 are accepted."""
    return ink_from_ramp(
        name, tone_pct=[100.0], reflectance=np.atleast_2d(reflectance), paper=paper, source=source
    )


def ink_from_xyz100(name: str, xyz100: npt.ArrayLike, *, paper: Paper, source: str = "") -> Ink:
    """An ink known by the XYZ (3,) of its solid, absolute."""
    return ink_from_ramp(
        name, tone_pct=[100.0], xyz100=np.atleast_2d(xyz100), paper=paper, source=source
    )


def ink_from_lab(name: str, lab: npt.ArrayLike, *, paper: Paper, source: str = "") -> Ink:
    """An ink known by the CIELAB (3,) of its solid, D50, 2 degree, absolute."""
    return ink_from_xyz100(name, lab_to_xyz100(lab), paper=paper, source=source)


def _ink_from_band_density(
    name: str, density: FloatArray, *, known: str, paper: Paper, source: str
) -> Ink:
    """An ink from the densities (3,) of its solid above the paper in the narrow bands."""
    solid = narrow_bands(paper.xyz100).relative_to_xyz100(10.0**-density)
    colours = np.stack([paper.xyz100, np.maximum(solid, 0.0)])
    return Ink(name=name, known=known, tone_pct=read_only([0, 100]), xyz100=colours,
               measured_on=paper, source=source)  # fmt: skip


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
    """An ink known by density readings of its solid; approximate by 0.1 to 0.3.

    The three filters are taken for the model's narrow bands. Readings through a polarising filter
    are 0.1 to 0.3 higher in the dark than what the eye sees; give dry, unpolarised ones.

    Parameters
    ----------
    red, green, blue : float
        Density readings, 0 to 4.
    status : {"T", "E"}
        Filter set of ISO 5-3.
    relative : bool
        Whether the readings were zeroed on the paper; else they are absolute.
    """
    readings = np.array([red, green, blue], dtype=np.float64)
    faults = array_faults(f"ink {name}, density", readings, (3,))
    if not faults and readings.max() > 4:
        faults = [Fault(where=f"ink {name}, density", found=f"{readings.max():g}",
                        expected="densities of 0 to 4")]  # fmt: skip
    if status not in _BLUE_EXCESS_TO_BAND:
        faults.append(Fault(where=f"ink {name}, status", found=repr(status), expected="T or E"))
    if faults:
        raise ModelError(faults)
    excess = max(0.0, readings[2] - readings[:2].mean())
    density = readings - np.array([0, 0, excess * (1 - _BLUE_EXCESS_TO_BAND[status])])
    if not relative:
        density = density + np.log10(narrow_bands(WHITE_XYZ100).relative(paper.xyz100, None))
    return _ink_from_band_density(name, density, known="density", paper=paper, source=source)


def ink_from_srgb(name: str, colour: str, *, paper: Paper, source: str = "") -> Ink:
    """An ink known only by a screen colour #rrggbb, taken relative to the paper: a hint.

    A screen can show what no ink reaches: in no band is the solid denser than the published black
    of the paper class, so #000000 prints like that black.
    """
    relative = srgb1_to_xyz100(srgb_hex_to_srgb1(colour)) / WHITE_XYZ100
    bands = narrow_bands(paper.xyz100).relative(relative * paper.xyz100, None)
    density = np.clip(-np.log10(bands), 0.0, plausible_solid_density(paper.paper_class))
    return _ink_from_band_density(
        name,
        density,
        known="screen colour",
        paper=paper,
        source=source or f"screen colour {colour}",
    )
