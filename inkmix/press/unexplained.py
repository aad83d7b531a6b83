"""What is left of a reading of a mix: its noise, and what no cause of the model explains.

Both are stated as reflectance ** (1/n) shows them. Paper and solids have nothing unexplained; of
halftones one part is alike at near coverages, so that a reading tells of its neighbours, and one is
not. Arrays as in inkmix.press.halftone: inks first, channels last.
"""

from collections.abc import Sequence

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.press.constants import MODEL
from inkmix.press.halftone import overlap


def reading_variance(
    y: FloatArray, spreaded: FloatArray, spots: FloatArray, *, noises: Sequence[str], n: float
) -> FloatArray:
    """Variance (N, C) of a reading of y = reflectance ** (1/n), and of what no cause explains.

    Parameters
    ----------
    spreaded : (I, N, C) array
        Coverage: solids have nothing unexplained, halftones soon have all of it.
    spots : (N, C) array
        How far a spot ink is there, 0-1.
    noises : sequence (N,) of str
        How each is read; one stands for all.
    """
    constants = MODEL.kriging
    noise_sd = np.array([constants.noise_sd[one] for one in noises])[:, None]
    alone = _between(constants.misfit, constants.spot_misfit, spots) * _halftone(spreaded)
    return np.asarray((np.hypot(noise_sd, alone) * _shown(y, n)) ** 2, dtype=np.float64)


def near_sd(y: FloatArray, spreaded: FloatArray, spots: FloatArray, *, n: float) -> FloatArray:
    """Standard deviation (N, C) of what no cause explains and near colours share.

    It grows with the share of the sheet on which inks meet: single inks are told.

    Parameters
    ----------
    y : (N, C) array
        As predicted from the primaries alone.
    spreaded : (I, N, C) array
        Coverage.
    spots : (N, C) array
        How far a spot ink is there, 0-1.
    """
    constants = MODEL.kriging
    meeting = np.sqrt(np.minimum(1.0, 2 * overlap(spreaded)))
    sd = _between(constants.near_sd, constants.spot_near_sd, spots)
    return np.asarray(sd * meeting * _halftone(spreaded) * _shown(y, n), dtype=np.float64)


def _between(process: float, spot: float, spots: FloatArray) -> FloatArray:
    """From what holds of process inks to what holds where a spot ink is there in full."""
    return np.asarray(process + spots * (spot - process), dtype=np.float64)


def _halftone(spreaded: FloatArray) -> FloatArray:
    """How far (N, C) coverages (I, N, C) are from solids, 0-1: soon in full."""
    is_solid = np.prod(spreaded**2 + (1 - spreaded) ** 2, axis=0)
    return np.asarray(np.minimum(1.0, 2 * (1 - is_solid)), dtype=np.float64)


def _shown(y: FloatArray, n: float) -> FloatArray:
    """By how much (N, C) y = reflectance ** (1/n) changes where its square root with n = 2 does."""
    return np.asarray(2 / n * np.maximum(y, MODEL.kriging.least_y) ** (1 - n / 2), np.float64)
