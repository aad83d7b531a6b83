"""Papers and inks as values, and the ways in which an ink can be made known.

Every ink ends as the same thing: tone values with the colour printed at each, on a paper; `known`
remembers how that came to be. Measured data are checked here, once. What the press makes of an ink
belongs to the other files of this folder.

Further properties of an ink (opacity, tone value increase, character) are given afterwards with
`dataclasses.replace`.
"""

from dataclasses import dataclass, field

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

__all__ = [
    "PAPER_CLASSES",
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

#: How an ink may be known, weakest first.
KNOWN = ("screen colour", "density", "solid", "ramp")
#: What an ink may be besides a plain absorbing layer; nothing about such inks is proven.
CHARACTERS = frozenset({"fluorescent", "metallic"})
#: Tone value increase at 50 % beyond this is a slip of the pen, not a press.
TONE_VALUE_INCREASE_PCT = (-20.0, 45.0)

# The blue filter of status E is narrower than that of status T and reads yellow higher: 1.35
# against a narrow band's 1.05 on coated paper (practice, from memory). Red and green agree within
# 0.1-0.3.
_BLUE_TO_BAND = {"T": 1.0, "E": 1.05 / 1.35}


def _array_faults(where: str, values: FloatArray, shape: tuple[int, ...]) -> list[Fault]:
    """What is wrong with measured values: shape, numbers, sign."""
    if values.shape != shape:
        return [Fault(where=where, found=f"shape {values.shape}", expected=f"shape {shape}")]
    if not np.isfinite(values).all():
        return [Fault(where=where, found="a value that is no number", expected="finite values")]
    if (values < 0).any():
        low = f"{values.min():g}"
        return [Fault(where=where, found=low, expected="nothing below 0", do="check the reading")]
    return []


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Paper:
    """A paper as measured.

    Parameters
    ----------
    name : str
    paper_class : str
        One of PAPER_CLASSES; chooses the constants of the model.
    xyz100 : (3,) array
        Colour under D50, 2 degree.
    reflectance : (36,) array or None
        Reflectance factor on the house grid of wavelengths; may exceed 1.
    source : str
        Where the values come from.
    """

    name: str
    paper_class: str
    xyz100: FloatArray
    reflectance: FloatArray | None = None
    source: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "xyz100", read_only(self.xyz100))
        faults = _array_faults(f"paper {self.name}, XYZ", self.xyz100, (3,))
        if not faults and self.xyz100[1] < 5:
            faults = [Fault(where=f"paper {self.name}", found=f"Y {self.xyz100[1]:g} of 100",
                            expected="a paper reflects 5 or more")]  # fmt: skip
        if self.paper_class not in PAPER_CLASSES:
            faults.append(Fault(where=f"paper {self.name}, class", found=repr(self.paper_class),
                                expected=", ".join(PAPER_CLASSES)))  # fmt: skip
        if self.reflectance is not None:
            object.__setattr__(self, "reflectance", read_only(self.reflectance))
            where = f"paper {self.name}, reflectance"
            faults += _array_faults(where, self.reflectance, WAVELENGTHS_NM.shape)
        if faults:
            raise ModelError(faults)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ink:
    """An ink as printed on a paper.

    Parameters
    ----------
    name : str
    known : str
        One of KNOWN.
    tone_pct : (S,) array
        Tone values 0 to 100 %, ascending, first 0 and last 100.
    xyz100 : (S, 3) array
        Colour printed at each tone value, absolute, on `measured_on`.
    reflectance : (S, 36) array or None
        The same as reflectance factors; may exceed 1 (fluorescence).
    measured_on : Paper
    opacity : float
        0 transparent to 1 covers what lies under it.
    over_black_xyz100 : (3,) array or None
        Its solid printed over a solid black, if measured.
    black_xyz100 : (3,) array or None
        That solid black by itself; without it, the published black of the paper class.
    tone_value_increase_pct : float or None
        At 50 %, as a Murray-Davies figure; replaces the model's own curve where no ramp is known.
    character : frozenset of str
        Subset of CHARACTERS.
    source : str
    is_screened : bool
        The plate is made of dots already: coverage is the tone value.
    """

    name: str
    known: str
    tone_pct: FloatArray
    xyz100: FloatArray
    reflectance: FloatArray | None = None
    measured_on: Paper
    opacity: float = 0.0
    over_black_xyz100: FloatArray | None = None
    black_xyz100: FloatArray | None = None
    tone_value_increase_pct: float | None = None
    character: frozenset[str] = field(default=frozenset())
    source: str = ""
    is_screened: bool = False

    def __post_init__(self) -> None:
        for name in ("tone_pct", "xyz100", "reflectance", "over_black_xyz100", "black_xyz100"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, read_only(getattr(self, name)))
        object.__setattr__(self, "character", frozenset(self.character))
        faults = [*_ramp_faults(self), *_property_faults(self)]
        if faults:
            raise ModelError(faults)

    @property
    def solid_xyz100(self) -> FloatArray:
        """Colour (3,) of the solid on the paper it was measured on."""
        return read_only(self.xyz100[-1])


def _ramp_faults(ink: Ink) -> list[Fault]:
    """What is wrong with the colours of an ink."""
    where, tones = f"ink {ink.name}", ink.tone_pct
    steps = len(tones) if tones.ndim == 1 else 0
    faults = _array_faults(f"{where}, XYZ", ink.xyz100, (steps, 3))
    rises = steps >= 2 and bool((np.diff(tones) > 0).all())
    if not rises or tones[0] != 0 or tones[-1] != 100:
        faults.append(Fault(where=f"{where}, ramp", found=f"tone values {tones.tolist()}",
                            expected="rising tone values from 0 to 100"))  # fmt: skip
    if ink.reflectance is not None:
        shape = (steps, len(WAVELENGTHS_NM))
        faults += _array_faults(f"{where}, reflectance", ink.reflectance, shape)
    for name in ("over_black_xyz100", "black_xyz100"):
        if getattr(ink, name) is not None:
            faults += _array_faults(f"{where}, {name}", getattr(ink, name), (3,))
    return faults


def _property_faults(ink: Ink) -> list[Fault]:
    """What is wrong with the other properties of an ink."""
    where, faults = f"ink {ink.name}", []
    if ink.known not in KNOWN:
        faults.append(
            Fault(where=f"{where}, known", found=repr(ink.known), expected=", ".join(KNOWN))
        )
    if not 0 <= ink.opacity <= 1:
        faults.append(Fault(where=f"{where}, opacity", found=f"{ink.opacity:g}",
                            expected="0 (transparent) to 1 (covers)"))  # fmt: skip
    low, high = TONE_VALUE_INCREASE_PCT
    gain = ink.tone_value_increase_pct
    if gain is not None and not low <= gain <= high:
        faults.append(Fault(where=f"{where}, tone value increase", found=f"{gain:g} %",
                            expected=f"{low:g} to {high:g} % at 50 %"))  # fmt: skip
    if ink.character - CHARACTERS:
        faults.append(Fault(where=f"{where}, character", found=", ".join(sorted(ink.character)),
                            expected=" or ".join(sorted(CHARACTERS))))  # fmt: skip
    return faults


def paper_from_lab(name: str, lab: npt.ArrayLike, *, paper_class: str, source: str = "") -> Paper:
    """A paper known by its CIELAB (3,), D50, 2 degree."""
    return Paper(name=name, paper_class=paper_class, xyz100=lab_to_xyz100(lab), source=source)


def paper_from_reflectance(
    name: str, reflectance: npt.ArrayLike, *, paper_class: str, source: str = ""
) -> Paper:
    """A paper known by its reflectance factors (36,) on the house grid."""
    values = read_only(reflectance)
    faults = _array_faults(f"paper {name}, reflectance", values, WAVELENGTHS_NM.shape)
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
    faults = _array_faults(f"ink {name}, density", readings, (3,))
    if not faults and readings.max() > 4:
        faults = [Fault(where=f"ink {name}, density", found=f"{readings.max():g}",
                        expected="densities of 0 to 4")]  # fmt: skip
    if status not in _BLUE_TO_BAND:
        faults.append(Fault(where=f"ink {name}, status", found=repr(status), expected="T or E"))
    if faults:
        raise ModelError(faults)
    if not relative:
        white = narrow_bands(WHITE_XYZ100)
        readings = readings + np.log10(white.relative(paper.xyz100, None))
    density = readings * np.array([1.0, 1.0, _BLUE_TO_BAND[status]])
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
