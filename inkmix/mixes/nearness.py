"""How dE00 changes with a colour, for steps downhill; the difference itself is colorimetry's."""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import vector_e00

_NUDGE = 1e-3  # of L, a, b
_GREY_CHROMA = 2.0  # below it hue turns too fast to be followed
_STRETCH_OF_GREYS = 1.5  # of a, as in equation 5 where there is no chroma


def away_and_weights(lab: FloatArray, target: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Vectors (R, 3) from targets to colours (R, 3), as long as dE00, and their slopes (R, 3, 3).

    Slopes are those of the vector by L, a and b. To greys they are told in a and b, for the hue of
    a grey says nothing.

    References
    ----------
    Sharma, Wu & Dalal 2005, Color Research and Application 30(1), 21-30.
    """
    nudges = _NUDGE * np.eye(3)
    up = vector_e00(target[:, None], lab[:, None] + nudges)
    down = vector_e00(target[:, None], lab[:, None] - nudges)
    weights = ((up - down) / (2 * _NUDGE)).transpose(0, 2, 1)
    away = vector_e00(target, lab)
    grey = np.hypot(target[:, 1], target[:, 2]) < _GREY_CHROMA
    plain = np.diag([0.0, _STRETCH_OF_GREYS, 1.0])
    away[grey, 1:] = ((lab - target) @ plain)[grey, 1:]
    weights[grey, 1:] = plain[1:]
    return away, weights
