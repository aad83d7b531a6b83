"""Whether one plate, turned over, would give the sheet its lights back.

A picture is light somewhere: its paper shows through, or every ink is thin there. A turned plate is
full just there, so that no place is light any more, and turning it over again brings the lights
back. Judged on block means, without files; what is said about it stands in surveyed.py.

Measured on separations of four photographs (five usual splits with black), on The Night Ferry with
and without faults, and on drawn sets: each of their plates, turned, is named, at times with one
more that goes along with it; the sets as they are raise no doubt. Out of reach: pictures without
any light whose grey is nearly all in the black plate, where black may be named without reason.
"""

import numpy as np
from numpy.typing import NDArray

LONGEST_BLOCKS = 96
"""Blocks along the longer side: fine enough for a lamp, coarse enough to smooth brush and dots."""
_LIGHT_SHARE = 0.005
"""The lightest two-hundredth of the sheet counts as its lights; a few specks are none."""
_LEAST_PLATES = 3
_VARIED = 0.10
"""A plate that varies less than this over the sheet shows no drawing to judge by."""
_DARK_FROM = 0.60
"""Total ink in the lights from which a sheet has none (turned plates: 0.7 and more)."""
_GAIN = 0.15
"""Total ink that turning must take out of the lights (turned plates: 0.19 to 1, others below 0)."""
_STRETCHED_GAIN = 0.10
"""The same once every plate is stretched to its own range: a plate dark all over gains nothing."""
_TIE = 0.10
"""Plates that would gain nearly as much are named together."""


def lights_are_hidden_by(tone: NDArray[np.float64]) -> tuple[int, ...]:
    """Plates of which one is likely to be turned, the likeliest first; empty where none is.

    Parameters
    ----------
    tone : (I, N) ndarray
        Mean ink amount, 0-1, of each plate in N blocks.
    """
    low, high = np.quantile(tone, (_LIGHT_SHARE, 1 - _LIGHT_SHARE), axis=1)
    varied = np.flatnonzero(high - low >= _VARIED)
    if len(varied) < _LEAST_PLATES or _lights(tone[varied]) < _DARK_FROM:
        return ()
    span = (high - low)[varied]
    stretched = np.clip((tone[varied] - low[varied, None]) / span[:, None], 0, 1)
    gains = _gains(tone[varied], np.ones(len(varied)))
    likely = (gains >= _GAIN) & (_gains(stretched, span) >= _STRETCHED_GAIN)
    if not likely.any():
        return ()
    named = np.flatnonzero(likely & (gains >= gains[likely].max() - _TIE))
    order = named[np.argsort(-gains[named], kind="stable")]
    return tuple(int(index) for index in varied[order])


def _gains(tone: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """What turning each plate (I,) takes out of the lights, in parts of its own full ink."""
    weighted = weight[:, None] * tone
    before = _lights(weighted)
    turned = [_lights(weighted, plus=w - 2 * own) for w, own in zip(weight, weighted, strict=True)]
    return np.asarray((before - np.array(turned)) / weight, dtype=np.float64)


def _lights(tone: NDArray[np.float64], plus: NDArray[np.float64] | float = 0.0) -> float:
    """Total ink (as 1 for 100 %) that the lightest blocks do not exceed."""
    return float(np.quantile(tone.sum(axis=0) + plus, _LIGHT_SHARE))
