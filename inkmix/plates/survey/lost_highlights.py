"""Whether one plate, turned over, would give the sheet its lights back.

A picture is light somewhere: its paper shows through, or every ink is thin there. A turned plate is
full just there, so that no place is light any more, and turning it over again brings the lights
back. Judged on block means, without files; what is said about it stands in surveyed.py.

A light ink laid as a ground, knocked out under the drawing, hides the paper likewise. It is told by
what a turned drawing seldom has: it is bare on some part of the sheet, and next to nothing of it
lies where the others are densest.

Measured on separations of four photographs (five usual splits with black), on The Night Ferry with
and without faults, and on drawn sets: each of their plates, turned, is named, at times with one
more that goes along with it; the sets as they are raise no doubt. On sets cut and drawn at random
that no number here was chosen by, 334 of 398 turned plates were named, with or without a look for
grounds and for small lights; of 86 right sets 2 (5 without it), of 258 with a ground 21 (121).
Out of reach: pictures without any light whose grey is nearly all in the black plate, where black
may be named without reason; grounds that fade softly into the drawing.
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
_BARE_TO = 0.05
_SOME_BARE = 0.08
"""A ground that is knocked out is bare on this part of the blocks at least."""
_DENSEST = 0.9
_ON_DENSEST = 0.2
"""It holds less than this in the tenth where the others hold most (turned plates seldom do)."""
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
    if not likely.any() or _are_grounds(tone[varied])[np.argmax(np.where(likely, gains, 0.0))]:
        return ()
    named = np.flatnonzero(likely & (gains >= gains[likely].max() - _TIE))
    order = named[np.argsort(-gains[named], kind="stable")]
    return tuple(int(index) for index in varied[order])


def _are_grounds(tone: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which plates (I,) look like a ground that is knocked out under the drawing of the others."""
    others = tone.sum(axis=0) - tone
    densest = others >= np.quantile(others, _DENSEST, axis=1)[:, None]
    on_densest = (tone * densest).sum(axis=1) / densest.sum(axis=1)
    bare_share = (tone <= _BARE_TO).mean(axis=1)
    return np.asarray((bare_share >= _SOME_BARE) & (on_densest < _ON_DENSEST))


def _gains(tone: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """What turning each plate (I,) takes out of the lights, in parts of its own full ink."""
    weighted = weight[:, None] * tone
    before = _lights(weighted)
    turned = [_lights(weighted, plus=w - 2 * own) for w, own in zip(weight, weighted, strict=True)]
    return np.asarray((before - np.array(turned)) / weight, dtype=np.float64)


def _lights(tone: NDArray[np.float64], plus: NDArray[np.float64] | float = 0.0) -> float:
    """Total ink (as 1 for 100 %) that the lightest blocks do not exceed."""
    return float(np.quantile(tone.sum(axis=0) + plus, _LIGHT_SHARE))
