"""Papers and inks as values, checked once where they are made.

What is printed and how it was measured belongs here; how a paper or an ink may be made known is in
inkmix.press.inks, what the press makes of it in the other files of this folder.
"""

from dataclasses import dataclass, field
from typing import Annotated

import numpy as np

from inkmix.base.arrays import FloatArray, read_only
from inkmix.base.errors import Fault, ModelError
from inkmix.base.json_document import one_of
from inkmix.colour.observer import WAVELENGTHS_NM
from inkmix.press.constants import PAPER_CLASSES

#: More inks than any press here has units for; primaries double with each, and the colour table
#: holds 2^8.
MAX_INKS = 8
#: Levels of knowledge, weakest first.
LEVELS = ("screen colour", "density", "photograph", "solids", "ramps", "overprints")
#: Process inks, as kinds of inkmix.press.solids.process_inks count them.
PROCESS_COLOURS = ("black", "cyan", "magenta", "yellow")
#: How an ink may be known, weakest first.
KNOWN = ("screen colour", "density", "photograph", "solid", "ramp")
#: What an ink may be besides a plain absorbing layer; nothing about such inks is proven.
CHARACTERS = frozenset({"fluorescent", "metallic"})
#: Tone value increase at 50 % beyond this is a slip of the pen, not a press.
TONE_VALUE_INCREASE_PCT = (-20.0, 45.0)
_LEAST_PAPER_Y100 = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessInk:
    """An ink that was taken as a process ink by its colour.

    Parameters
    ----------
    name : str
    colour : str
        "black", "cyan", "magenta" or "yellow".
    in_common : bool
        Whether what presses have in common in that ink was used.
    """

    name: str
    colour: Annotated[str, one_of(PROCESS_COLOURS)]
    in_common: bool


def array_faults(where: str, values: FloatArray, shape: tuple[int, ...]) -> list[Fault]:
    """What is wrong with measured values: shape, numbers, sign."""
    if values.shape != shape:
        return [Fault(where=where, found=f"shape {values.shape}", expected=f"shape {shape}")]
    if not np.isfinite(values).all():
        return [Fault(where=where, found="a value that is not a number", expected="finite values")]
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
    guessed : bool
        Nobody said that this is the paper.
    """

    name: str
    paper_class: str
    xyz100: FloatArray
    reflectance: FloatArray | None = None
    source: str = ""
    guessed: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "xyz100", read_only(self.xyz100))
        faults = array_faults(f"paper {self.name}, XYZ", self.xyz100, (3,))
        if not faults and self.xyz100[1] < _LEAST_PAPER_Y100:
            faults = [Fault(where=f"paper {self.name}", found=f"Y {self.xyz100[1]:g} of 100",
                            expected=f"a paper reflects {_LEAST_PAPER_Y100} or more")]  # fmt: skip
        if self.paper_class not in PAPER_CLASSES:
            faults.append(Fault(where=f"paper {self.name}, class", found=repr(self.paper_class),
                                expected=", ".join(PAPER_CLASSES)))  # fmt: skip
        if self.reflectance is not None:
            object.__setattr__(self, "reflectance", read_only(self.reflectance))
            where = f"paper {self.name}, reflectance"
            faults += array_faults(where, self.reflectance, WAVELENGTHS_NM.shape)
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
    opacity : float or None
        Share of its own colour that the solid adds to whatever lies under it: 0 transparent, whites
        reach .9. None: nobody said.
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
    guessed : bool
        Nobody said that this is the ink.
    place_guessed : bool
        Nobody said that this is its place in the lay-down order.
    told : Ink or None
        Of an ink that a camera saw: the same as it was known before. A photograph moves colours and
        makes none surer, so that this bounds how well it is known.
    """

    name: str
    known: str
    tone_pct: FloatArray
    xyz100: FloatArray
    reflectance: FloatArray | None = None
    measured_on: Paper
    opacity: float | None = None
    over_black_xyz100: FloatArray | None = None
    black_xyz100: FloatArray | None = None
    tone_value_increase_pct: float | None = None
    character: frozenset[str] = field(default=frozenset())
    source: str = ""
    is_screened: bool = False
    guessed: bool = False
    place_guessed: bool = False
    told: "Ink | None" = None

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
    faults = array_faults(f"{where}, XYZ", ink.xyz100, (steps, 3))
    rises = steps >= 2 and bool((np.diff(tones) > 0).all())
    if not rises or tones[0] != 0 or tones[-1] != 100:
        faults.append(Fault(where=f"{where}, ramp", found=f"tone values {tones.tolist()}",
                            expected="rising tone values from 0 to 100"))  # fmt: skip
    if ink.reflectance is not None:
        shape = (steps, len(WAVELENGTHS_NM))
        faults += array_faults(f"{where}, reflectance", ink.reflectance, shape)
    for name in ("over_black_xyz100", "black_xyz100"):
        if getattr(ink, name) is not None:
            faults += array_faults(f"{where}, {name}", getattr(ink, name), (3,))
    return faults


def _property_faults(ink: Ink) -> list[Fault]:
    """What is wrong with the other properties of an ink."""
    where, faults = f"ink {ink.name}", []
    if ink.known not in KNOWN:
        faults.append(
            Fault(where=f"{where}, known", found=repr(ink.known), expected=", ".join(KNOWN))
        )
    if ink.opacity is not None and not 0 <= ink.opacity <= 1:
        faults.append(Fault(where=f"{where}, opacity", found=f"{ink.opacity:g}",
                            expected="0 (transparent) to 1; whites reach .9"))  # fmt: skip
    low, high = TONE_VALUE_INCREASE_PCT
    gain = ink.tone_value_increase_pct
    if gain is not None and not low <= gain <= high:
        faults.append(Fault(where=f"{where}, tone value increase", found=f"{gain:g} %",
                            expected=f"{low:g} to {high:g} % at 50 %"))  # fmt: skip
    if ink.character - CHARACTERS:
        faults.append(Fault(where=f"{where}, character", found=", ".join(sorted(ink.character)),
                            expected=" or ".join(sorted(CHARACTERS))))  # fmt: skip
    return faults
