"""Densities as a densitometer reads them, and the filter that an ink is read through.

All are absolute, as ISO 5-3 has them; whoever wants them above the paper takes the paper's off.
"""

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import WHITE_XYZ100, reflectance_to_density
from inkmix.colour.observer import OBSERVER_WEIGHTS, WAVELENGTHS_NM

NEUTRAL_SPREAD = 0.25  # filters that differ by less than this share: a black or grey, read visually
LEAST_DENSITY = 0.02  # a solid no denser above its paper has no tone value to speak of

# Share of Z that stands in X through the short-wave lobe of x-bar; what is left of X is the red.
_SHORT = WAVELENGTHS_NM < 500
_Z_IN_X = float(OBSERVER_WEIGHTS[_SHORT, 0].sum() / OBSERVER_WEIGHTS[:, 2].sum())


def densities(
    xyz100: npt.ArrayLike, reflectance: npt.ArrayLike | None = None, *, status: str
) -> Mapping[str, FloatArray]:
    """Absolute densities (...) of patches by filter: "red", "green", "blue", "visual".

    Without spectra XYZ stands in for the filters, which is off by up to 0.3 for strong colours.

    Parameters
    ----------
    xyz100 : (..., 3) array_like
        Under D50, 2 degree, Y = 100 for the perfect diffuser; used only where there are no spectra.
    reflectance : (..., 36) array_like or None
        Reflectance factors on the house grid.
    status : {"T", "E"}
        Filters of ISO 5-3.

    Raises
    ------
    UsageError
        If there are spectra and the status is another.
    """
    if reflectance is None:
        return _from_xyz(np.asarray(xyz100, dtype=np.float64))
    colours = reflectance_to_density(reflectance, status=status)
    return {**colours, **reflectance_to_density(reflectance, status="visual")}


def principal_channel(above_paper: Mapping[str, float]) -> str:
    """The filter for an ink whose solid has these densities above its paper.

    >>> principal_channel({"red": 0.2, "green": 1.3, "blue": 0.7, "visual": 0.6})
    'green'
    >>> principal_channel({"red": 1.5, "green": 1.5, "blue": 1.4, "visual": 1.5})
    'visual'
    """
    colours = {key: value for key, value in above_paper.items() if key != "visual"}
    most, least = max(colours.values()), min(colours.values())
    if most - least < NEUTRAL_SPREAD * most:
        return "visual"
    return max(colours, key=colours.__getitem__)


def _from_xyz(xyz100: FloatArray) -> dict[str, FloatArray]:
    """X without its short-wave lobe for red, Y for green and visual, Z for blue."""
    x, y, z = np.moveaxis(xyz100, -1, 0)
    parts = np.stack([x - _Z_IN_X * z, y, z])
    white = np.array([WHITE_XYZ100[0] - _Z_IN_X * WHITE_XYZ100[2], *WHITE_XYZ100[1:]])
    light = np.moveaxis(parts, 0, -1) / white
    red, green, blue = np.moveaxis(-np.log10(np.maximum(light, 1e-6)), -1, 0)
    return {"red": red, "green": green, "blue": blue, "visual": green}
