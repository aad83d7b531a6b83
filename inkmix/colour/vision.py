"""Colours as they look without hue, and to people with a colour-vision deficiency.

Here belongs what a colour becomes in such a view. Which views are drawn, and which fields look
alike in one, is decided where things are drawn.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from inkmix.base.arguments import one_of
from inkmix.base.arrays import FloatArray, read_only
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    decode_srgb1,
    encode_srgb1,
    srgb1_to_xyz100,
    xyz100_to_srgb1,
)

PLAIN, GREY = "plain", "grey"

# Machado, Oliveira & Fernandes 2009, IEEE TVCG 15(6), 1291-1298, table 1, severity 1.0; for linear
# RGB of a display. Tritan deficiency is only approximated by the model, as its authors say.
DEFICIENCIES: Mapping[str, FloatArray] = MappingProxyType({
    "protan": read_only([
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ]),
    "deutan": read_only([
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ]),
    "tritan": read_only([
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ]),
})  # fmt: skip
"""Matrices on linear sRGB of the three deficiencies, severity 1.0."""

VIEWS = (PLAIN, GREY, *DEFICIENCIES)

VIEW_WORDS: Mapping[str, str] = MappingProxyType({
    PLAIN: "",
    GREY: "in grey, by lightness L* alone",
    "protan": "as seen with protanopia",
    "deutan": "as seen with deuteranopia",
    "tritan": "as seen with a full tritan deficiency, roughly",
})  # fmt: skip


def seen_xyz100(xyz100: npt.ArrayLike, *, view: str) -> FloatArray:
    """XYZ of colours as they look in a view.

    A deficiency is simulated on linear sRGB, for which its matrix was made; beyond sRGB it goes on
    unclipped, and says less.

    Parameters
    ----------
    xyz100 : (..., 3) array_like
        Under D50, Y = 100 for the perfect diffuser.
    view : str
        One of VIEWS: "plain" changes nothing, "grey" keeps Y alone, the others are full
        deficiencies: protanopia, deuteranopia, and roughly tritanopia.

    Raises
    ------
    UsageError
        For another view.

    References
    ----------
    Machado, Oliveira & Fernandes 2009, IEEE TVCG 15(6), 1291-1298, table 1.

    Examples
    --------
    >>> seen_xyz100([20.0, 30.0, 40.0], view="grey").round(4).tolist()
    [28.9266, 30.0, 24.7563]
    """
    given = np.asarray(xyz100, dtype=np.float64)
    if view == PLAIN:
        return given
    if view == GREY:
        return np.asarray(given[..., 1:2] / 100 * WHITE_XYZ100, dtype=np.float64)
    return srgb1_to_xyz100(seen_srgb1(xyz100_to_srgb1(given), deficiency=view))


def seen_srgb1(srgb1: npt.ArrayLike, *, deficiency: str) -> FloatArray:
    """Encoded sRGB (..., 3), unclipped, as somebody with this full deficiency sees it.

    Raises
    ------
    UsageError
        If it is none of DEFICIENCIES.
    """
    one_of(deficiency, DEFICIENCIES, what="view")
    return encode_srgb1(decode_srgb1(srgb1) @ DEFICIENCIES[deficiency].T)
