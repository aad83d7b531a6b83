"""Spectra of a file brought to the house's scale and wavelengths.

Here belongs the choice between reflectance of 0-1 and percent, and the resampling to 380-730 nm by
10. Colour is made of spectra in colorimetry.py.
"""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.monotone import monotone_curve
from inkmix.colour.observer import WAVELENGTHS_NM

FIRST_NM_AT_MOST = 410  # the wavelengths below hold 0.4 % of the weight of Z at D50
LAST_NM_AT_LEAST = 680  # those above hold 0.2 % of the weight of X
STEP_NM_AT_MOST = 20  # the widest step of CIE 15 for which weights are published

BROAD_LEVEL = 1.2  # half the wavelengths above this: no paper or ink, fluorescent or not, does it


def is_percent(spectra: FloatArray, *, y100: FloatArray | None = None) -> bool:
    """Whether reflectances (N, W) stand in percent, not in 0-1.

    A measured Y decides where there is one: the median of a spectrum lies within a factor of ten
    of it only on the right scale. Without one: an ink may fluoresce far above 1 in a band, but
    over half the spectrum nothing does, so a lightest patch whose median is above 1.2 is percent.
    Not sound for a file of nothing but blacks in percent and without Y.
    """
    medians = np.median(spectra, axis=1)
    if y100 is not None:
        light = int(np.argmax(y100))
        return bool(medians[light] > 0.1 * y100[light])
    return bool(medians.max() > BROAD_LEVEL)


def why_not_resampled(wavelengths_nm: FloatArray) -> str:
    """What is wrong with the wavelengths (W,) of a file; empty if they can be resampled."""
    if wavelengths_nm[0] > FIRST_NM_AT_MOST or wavelengths_nm[-1] < LAST_NM_AT_LEAST:
        return f"spectra from {wavelengths_nm[0]:g} to {wavelengths_nm[-1]:g} nm"
    if np.diff(wavelengths_nm).max() > STEP_NM_AT_MOST:
        return f"spectra in steps of {np.diff(wavelengths_nm).max():g} nm"
    return ""


def resample(spectra: FloatArray, wavelengths_nm: FloatArray) -> FloatArray:
    """Reflectance (N, W) at rising wavelengths, as (N, 36) on WAVELENGTHS_NM.

    Finer steps are averaged under a triangle of 10 nm half width, as an instrument of 10 nm would
    have read them; coarser ones are interpolated monotonely; ends are held.
    """
    house = np.asarray(WAVELENGTHS_NM, dtype=np.float64)
    if wavelengths_nm.shape == house.shape and (wavelengths_nm == house).all():
        return spectra.copy()
    inside = np.clip(house, wavelengths_nm[0], wavelengths_nm[-1])
    if np.diff(wavelengths_nm).max() < 10:
        return _averaged(spectra, wavelengths_nm, inside)
    return monotone_curve(wavelengths_nm, spectra.T)(inside).T


def _averaged(spectra: FloatArray, wavelengths_nm: FloatArray, at_nm: FloatArray) -> FloatArray:
    """Means under triangles centred at `at_nm`."""
    distance = np.abs(at_nm[:, None] - wavelengths_nm[None, :])
    weights = np.clip(1 - distance / 10, 0, None)
    weights /= weights.sum(axis=1, keepdims=True)
    return np.asarray(spectra @ weights.T)
