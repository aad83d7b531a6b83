"""CIEDE2000 as a plain weighted distance near two colours; exact differences are colorimetry's."""

import numpy as np

from inkmix.arrays import FloatArray


def weights_de00(one: FloatArray, other: FloatArray) -> FloatArray:
    """Matrices (..., 3, 3) that give the difference of two Labs (..., 3) the length of its dE00.

    Weights of lightness, chroma and hue at the mean of both; the tilt in the blues is left out.

    References
    ----------
    Sharma, Wu & Dalal 2005, Color Research and Application 30(1), 21-30, equations 4, 15-20.
    """
    mean = (one + other) / 2
    chroma7 = (
        (np.hypot(one[..., 1], one[..., 2]) + np.hypot(other[..., 1], other[..., 2])) / 2
    ) ** 7
    stretch = 1 + 0.5 * (1 - np.sqrt(chroma7 / (chroma7 + 25.0**7)))
    a, b = stretch * mean[..., 1], mean[..., 2]
    chroma, hue = np.hypot(a, b), np.arctan2(b, a)
    off50 = (mean[..., 0] - 50) ** 2
    of_lightness = 1 + 0.015 * off50 / np.sqrt(20 + off50)
    of_chroma = 1 + 0.045 * chroma
    of_hue = 1 + 0.015 * chroma * _hue_weight(hue)
    weights = np.zeros((*chroma.shape, 3, 3))
    weights[..., 0, 0] = 1 / of_lightness
    weights[..., 1, 1] = stretch * np.cos(hue) / of_chroma
    weights[..., 1, 2] = np.sin(hue) / of_chroma
    weights[..., 2, 1] = -stretch * np.sin(hue) / of_hue
    weights[..., 2, 2] = np.cos(hue) / of_hue
    return weights


def _hue_weight(hue: FloatArray) -> FloatArray:
    """T of equation 15; hue in radians."""
    return np.asarray(
        1
        - 0.17 * np.cos(hue - np.radians(30))
        + 0.24 * np.cos(2 * hue)
        + 0.32 * np.cos(3 * hue + np.radians(6))
        - 0.20 * np.cos(4 * hue - np.radians(63))
    )
