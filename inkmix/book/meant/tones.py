"""What a named tone is meant to look like, as CIELAB on the paper in hand."""

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.base.words import number
from inkmix.book.values import NamedTone, Triple
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    srgb1_to_xyz100,
    srgb_hex_to_srgb1,
    xyz100_to_lab,
)
from inkmix.press.inks import Paper


def intended_lab(tone: NamedTone, paper: Paper) -> Triple | None:
    """The intended colour, absolute, D50, 2 degree; None where the book says none.

    A screen colour is relative to paper white: #ffffff means bare paper.
    """
    if tone.intended_lab is not None:
        return tone.intended_lab
    if tone.intended_srgb is None:
        return None
    xyz100 = screen_colour_over(paper.xyz100, tone.intended_srgb)
    L, a, b = (float(value) for value in xyz100_to_lab(xyz100))
    return L, a, b


def intended_words(tone: NamedTone) -> str:
    """The intent as it was given, with what it is relative to."""
    if tone.intended_lab is not None:
        L, a, b = tone.intended_lab
        return f"Lab {number(L, 2)} {number(a, 2)} {number(b, 2)}, absolute, D50"
    if tone.intended_srgb is not None:
        return f"{tone.intended_srgb}, relative to paper white"
    return "nothing intended"


def screen_colour_over(white_xyz100: npt.ArrayLike, colour: str) -> FloatArray:
    """XYZ (3,) under D50 of a screen colour "#rrggbb" where #ffffff is this white.

    The colour's XYZ, adapted to D50, is scaled by the white's XYZ over that of D50.
    """
    relative = srgb1_to_xyz100(srgb_hex_to_srgb1(colour)) / WHITE_XYZ100
    return np.asarray(relative * np.asarray(white_xyz100), dtype=np.float64)
