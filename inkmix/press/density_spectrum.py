"""The spectrum of a solid from three density readings: the smoothest one that reads so.

Readings through three filters do not settle a spectrum. Of all that give the readings, the one
whose density above the paper changes least from wavelength to wavelength is taken; inks with narrow
bands are smoothed out by it.
"""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.observer import DENSITY_FILTERS, WAVELENGTHS_NM

FILTERS = ("red", "green", "blue")
_READING_WEIGHT = 300.0  # a reading is met to about 0.001, far finer than an instrument repeats
_GREATEST_DENSITY = 5.0


def smoothest_reflectance(density: FloatArray, *, status: str, paper: FloatArray) -> FloatArray:
    """Reflectance (36,) of the smoothest solid that shows these densities above its paper.

    Parameters
    ----------
    density : (3,) array
        Above the paper through the red, green and blue filter, 0 or more.
    status : {"T", "E"}
        Filters of ISO 5-3.
    paper : (36,) array
        Reflectance of the paper on the house grid of wavelengths.
    """
    from scipy.optimize import least_squares  # takes longer to load than all of the model

    weights = np.stack([DENSITY_FILTERS[status][name] for name in FILTERS])
    bare = weights @ paper

    def misses(spectrum: FloatArray) -> FloatArray:
        shown = -np.log10(weights @ (paper * 10.0**-spectrum) / bare)
        return np.concatenate([_READING_WEIGHT * (shown - density), np.diff(spectrum)])

    start = np.full(len(WAVELENGTHS_NM), max(0.01, float(density.mean())))
    found = least_squares(misses, start, bounds=(0.0, _GREATEST_DENSITY))
    return np.asarray(paper * 10.0**-found.x, dtype=np.float64)
