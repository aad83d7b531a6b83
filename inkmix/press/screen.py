"""What artists look at today: sRGB layers multiplied, as a screen does it.

Not a prediction of print. It is here to show by how much it misses.
"""

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_srgb1


def screen_solids_srgb1(solids_xyz100: npt.ArrayLike, paper_xyz100: npt.ArrayLike) -> FloatArray:
    """Solids (I, 3) relative to the paper as encoded sRGB, clipped to 0-1 as a screen clips."""
    relative = np.asarray(solids_xyz100) / np.asarray(paper_xyz100) * WHITE_XYZ100
    return np.clip(xyz100_to_srgb1(relative), 0, 1)


def screen_multiply_srgb1(tone_pct: npt.ArrayLike, solids_srgb1: npt.ArrayLike) -> FloatArray:
    """Encoded sRGB (..., 3), paper as white, of tone values (..., I): tints multiplied."""
    tone = np.asarray(tone_pct, dtype=np.float64)[..., None] / 100
    return np.asarray(np.prod(1 - tone * (1 - np.asarray(solids_srgb1)), axis=-2), dtype=np.float64)


def screen_multiply_xyz100(
    tone_pct: npt.ArrayLike, *, solids_xyz100: npt.ArrayLike, paper_xyz100: npt.ArrayLike
) -> FloatArray:
    """The same as XYZ (..., 3) under D50 on the paper."""
    srgb1 = screen_multiply_srgb1(tone_pct, screen_solids_srgb1(solids_xyz100, paper_xyz100))
    return np.asarray(srgb1_to_xyz100(srgb1) / WHITE_XYZ100 * np.asarray(paper_xyz100), np.float64)
