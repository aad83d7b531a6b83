"""From what a camera says of patches, beside paper in the same light, to their colours.

Its primaries are taken as those of sRGB, since nothing on the form tells others. Its tones are not:
cameras steepen and stray light lifts them, and tints of the darkest ink tell by how much, as far as
the book knows that ink. So what a photograph says of that ink by itself is mostly the book's word.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    decode_srgb1,
    encode_srgb1,
    srgb1_to_xyz100,
    xyz100_to_srgb1,
)

LEAST_SLOPE, MOST_SLOPE = 0.5, 2.0
"""Of the camera's tones over those of sRGB, both as densities: no camera goes beyond."""

_LEAST_SHARE = 0.002  # of the paper's light; less is grain
_USUAL_SD = (0.10, 0.05)  # of slope and bend from camera to camera: a guess, from no source
_BATCH_SD = (0.05, 0.05)  # of a tint from sheet to sheet: a density, and a share of it; a guess
_TELLS = 2.0  # so many tints tell of the curve; the others are off as these are


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneCurve:
    """Densities of a camera's linear numbers to those of the print: d (1 + slope + bend d)."""

    slope: float
    bend: float

    def of(self, share: FloatArray) -> FloatArray:
        """Shares of the paper's light (...) as they are, from those that the camera says."""
        density = -np.log10(np.maximum(share, _LEAST_SHARE))
        return np.asarray(10 ** -(density * (1 + self.slope + self.bend * density)), np.float64)

    def steepness(self, share: FloatArray) -> FloatArray:
        """Slope (...) at shares that the camera says."""
        density = -np.log10(np.maximum(share, _LEAST_SHARE))
        return np.asarray(1 + self.slope + 2 * self.bend * density, np.float64)


def linear_beside(xyz100: FloatArray, paper_xyz100: FloatArray) -> FloatArray:
    """Linear sRGB (..., 3) of colours relative to their paper, which is (1, 1, 1)."""
    return decode_srgb1(xyz100_to_srgb1(xyz100 / paper_xyz100 * WHITE_XYZ100))


def colours_beside(linear: FloatArray, paper_xyz100: FloatArray) -> FloatArray:
    """XYZ (..., 3) of linear sRGB relative to paper; never below 0."""
    relative = srgb1_to_xyz100(encode_srgb1(linear)) / WHITE_XYZ100
    return np.maximum(relative * paper_xyz100, 0.0)


def tone_curve(share: FloatArray, known: FloatArray, density_sd: FloatArray) -> ToneCurve:
    """The likeliest curve by tints that are known, and by what cameras usually do.

    Parameters
    ----------
    share : (N, 3) array
        Of the paper's light, as the camera says it.
    known : (N, 3) array
        The same as the book knows it.
    density_sd : (N,) array
        How far that may be off, as a density; how presses differ from day to day comes on top.
    """
    density = -np.log10(np.clip(share, _LEAST_SHARE, 1.0))
    off = -np.log10(np.clip(known, _LEAST_SHARE, 1.0)) - density
    batch = _BATCH_SD[0] + _BATCH_SD[1] * (density + off)
    sd = np.hypot(density_sd[:, None], batch) * np.sqrt(share.size / _TELLS)
    terms = np.stack([density, density**2], axis=-1) / sd[..., None]
    rows = np.vstack([terms.reshape(-1, 2), np.diag(1 / np.array(_USUAL_SD))])
    wanted = np.append((off / sd).reshape(-1), [0.0, 0.0])
    slope, bend = np.linalg.lstsq(rows, wanted, rcond=None)[0]
    return ToneCurve(slope=float(slope), bend=float(bend))
