"""Spectra of solids: measured ones, or the smoothest that a colour allows.

Layers with sharp edges do not multiply in three bands: cyan and orange both read as green, yet
together they let none of it through. So solids of spot inks are laid on each other wavelength by
wavelength. Three numbers do not settle a spectrum; of all that show them, the one is taken that
bends least on its way from a likely start.
"""

from functools import lru_cache

import numpy as np

from inkmix.base.arrays import FloatArray, read_only
from inkmix.colour.observer import DENSITY_FILTERS, OBSERVER_WEIGHTS, WAVELENGTHS_NM
from inkmix.press.constants import MODEL
from inkmix.press.levenberg_marquardt import least_squares
from inkmix.press.values import Ink, Paper

#: 400 to 700 nm by 10.
SPECTRUM_NM: FloatArray = read_only(np.arange(400.0, 701.0, 10.0))
FILTERS = ("red", "green", "blue")
"""Of a densitometer."""
_FIRST = int(np.searchsorted(WAVELENGTHS_NM, SPECTRUM_NM[0]))
_LAST = _FIRST + len(SPECTRUM_NM)
_KEPT = 512  # inks; a palette asks for the same ones again and again
_STEEP = 50.0  # beyond, a logistic is 0 or 1 to the last bit
_LAST_SHARE = 1e-10  # of the squares that are missed: a step that gains less,
_LAST_GAIN = 1e-12  # and less than this, ends a recovery


def band_weights(paper: Paper) -> FloatArray:
    """Weights (3, 31) that turn a spectrum relative to the paper into relative bands.

    Of a paper without a spectrum a flat one is taken.
    """
    return _weights_over(paper.reflectance)


def _weights_over(paper: FloatArray | None) -> FloatArray:
    under = OBSERVER_WEIGHTS if paper is None else OBSERVER_WEIGHTS * paper[:, None]
    inner = under[_FIRST:_LAST].copy()
    inner[0] += under[:_FIRST].sum(axis=0)
    inner[-1] += under[_LAST:].sum(axis=0)
    weights = MODEL.band_matrix @ inner.T
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), dtype=np.float64)


def measured_spectrum(ink: Ink, paper: Paper) -> FloatArray | None:
    """Reflectance (31,) of a solid relative to its paper, or None where it was not measured."""
    if ink.reflectance is None or paper.reflectance is None:
        return None
    share = ink.reflectance[-1] / np.maximum(paper.reflectance, MODEL.spectrum.least_band)
    return np.asarray(share[_FIRST:_LAST], dtype=np.float64)


def recovered_spectrum(bands: FloatArray, weights: FloatArray, *, like: int | None) -> FloatArray:
    """Reflectance (31,) relative to the paper of a solid known by its bands (3,).

    Where no smooth spectrum shows these bands (a fluorescent ink), the nearest that does is given.

    Parameters
    ----------
    weights : (3, 31) array
        As `band_weights` gives it.
    like : int or None
        Process ink whose spectrum is the start; None starts at a flat one.
    """
    start = free_start(like)
    least, top = MODEL.spectrum.least_reflectance, greatest_reflectance(bands)
    free = _recovered(bands.tobytes(), np.ascontiguousarray(weights).tobytes(), start.tobytes())
    return np.asarray(least + (top - least) * logistic(free), dtype=np.float64)


@lru_cache(maxsize=_KEPT)
def _recovered(bands: bytes, weights: bytes, start: bytes) -> FloatArray:
    told, weight, first = (np.frombuffer(part) for part in (bands, weights, start))
    return read_only(_free_spectrum(told, weight.reshape(len(told), -1), first))


def greatest_reflectance(bands: FloatArray) -> float:
    """How far a recovered spectrum may rise: above the paper only where a band does."""
    return max(1.0, MODEL.spectrum.headroom * float(bands.max()))


def free_start(like: int | None) -> FloatArray:
    """Where the free form (31,) of a spectrum starts."""
    if like is None:
        return np.zeros(len(SPECTRUM_NM))
    constants = MODEL.spectrum
    least = constants.least_reflectance
    share = (MODEL.process_inks.spectra[like] - least) / (constants.headroom - least)
    share = np.clip(share, constants.least_band, constants.start_at_most)
    return np.asarray(np.log(share / (1 - share)), dtype=np.float64)


def logistic(free: FloatArray) -> FloatArray:
    """0-1 for any numbers (...)."""
    return np.asarray(1 / (1 + np.exp(-np.clip(free, -_STEEP, _STEEP))), dtype=np.float64)


def _free_spectrum(bands: FloatArray, weights: FloatArray, start: FloatArray) -> FloatArray:
    """The free form (31,) of the spectrum."""
    shape = smoothness(len(start))
    return least_squares(
        start,
        lambda free: _misses(free, bands, weights, start, shape),
        steps=MODEL.spectrum.steps,
        share=_LAST_SHARE,
        gain=_LAST_GAIN,
    )


def smoothness(count: int) -> FloatArray:
    """Rows (2 N - 2, N) that weigh how a free spectrum departs from its start: bends, and size."""
    bends = np.diff(np.eye(count), n=2, axis=0)
    return np.vstack([bends, MODEL.spectrum.start_weight * np.eye(count)])


def _misses(
    free: FloatArray, bands: FloatArray, weights: FloatArray, start: FloatArray, shape: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """What a free spectrum misses, and its slopes."""
    least, top = MODEL.spectrum.least_reflectance, greatest_reflectance(bands)
    part = logistic(free)
    reflectance = least + (top - least) * part
    slope = (top - least) * part * (1 - part)
    seen, gain = cube_root_misses(reflectance, bands, weights, weight=MODEL.spectrum.band_weight)
    return np.concatenate([seen, shape @ (free - start)]), np.vstack([gain * slope, shape])


def cube_root_misses(
    reflectance: FloatArray, bands: FloatArray, weights: FloatArray, *, weight: float
) -> tuple[FloatArray, FloatArray]:
    """By how much the bands (3,) of a spectrum (31,) miss told ones, and slopes (3, 31).

    In cube roots, as the eye sees them.
    """
    shown, least = weights @ reflectance, MODEL.spectrum.least_band
    held = np.maximum(shown, least)
    misses = weight * (np.cbrt(held) - np.cbrt(bands))
    slope = np.where(shown > least, weight / (3 * np.cbrt(held) ** 2), 0.0)
    return misses, slope[:, None] * weights


def smoothest_reflectance(density: FloatArray, *, status: str, paper: FloatArray) -> FloatArray:
    """Reflectance (36,) of the smoothest solid that shows these densities above its paper.

    Readings through three filters do not settle a spectrum either: the density above the paper that
    changes least from wavelength to wavelength is taken, which smooths out inks with narrow bands.

    Parameters
    ----------
    density : (3,) array
        Above the paper through the red, green and blue filter, 0 or more.
    status : {"T", "E"}
        Filters of ISO 5-3.
    paper : (36,) array
        Reflectance of the paper on the house grid of wavelengths.
    """
    from scipy import optimize  # takes longer to load than all of the model

    constants = MODEL.density_spectrum
    weights = np.stack([DENSITY_FILTERS[status][name] for name in FILTERS])
    bare = weights @ paper

    def misses(spectrum: FloatArray) -> FloatArray:
        shown = -np.log10(weights @ (paper * 10.0**-spectrum) / bare)
        return np.concatenate([constants.reading_weight * (shown - density), np.diff(spectrum)])

    start = np.full(len(WAVELENGTHS_NM), max(constants.least_start, float(density.mean())))
    found = optimize.least_squares(misses, start, bounds=(0.0, constants.greatest_density))
    return np.asarray(paper * 10.0**-found.x, dtype=np.float64)
