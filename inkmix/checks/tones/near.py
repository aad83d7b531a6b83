"""Which named tone a colour is near to, if any: a table over all colours of a screen.

A tone's neighbourhood is all that looks like its mix; where two meet, the nearer tone has it, and
what is nearer to bare paper belongs to none. Of tones with one mix the first has it. No pixel is
looked at here.
"""

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.tones.facts import ToneFacts
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab

NEAR_DE00 = 5.0
"""Least width of a neighbourhood: two fields so far apart are plainly two colours side by side
(common practice, no one source), and drawn texture stays inside."""

BITS = 6
"""Of each channel, by which colours are told apart: dE00 0.5 off on average, 0.8 in the dark."""

_LEVELS = 1 << BITS
_STEP = 256 // _LEVELS
_MOST_SL = 1.75
"""The most by which CIEDE2000 divides a difference in L* (Sharma et al. 2005, eq. 15)."""
_MOST_CHROMA = 1.5
"""The most by which it stretches a* (eq. 4 and 5), and so a chroma."""

NONE = 0

Triple = tuple[float, float, float]
Labels = NDArray[np.uint16]


def within_de00(fact: ToneFacts) -> float:
    """How far from its mix a colour still counts as the tone: its tolerance, NEAR_DE00 at least."""
    return max(NEAR_DE00, fact.tolerance_de00 or 0.0)


def shown_lab(fact: ToneFacts) -> Triple:
    """Lab of the mix as pixels of a picture hold it: cut to sRGB where that lacks it."""
    return lab_of_srgb8(fact.predicted_srgb8) if fact.out_of_srgb else fact.predicted_lab


def lab_of_srgb8(srgb8: Sequence[int]) -> Triple:
    """Lab of a colour of a screen."""
    L, a, b = xyz100_to_lab(srgb1_to_xyz100(np.asarray(srgb8) / 255)).tolist()
    return L, a, b


def same_mixes(facts: Sequence[ToneFacts]) -> dict[str, str]:
    """Tones whose mix an earlier one has already, and that one: no colour can tell them apart."""
    firsts: dict[frozenset[tuple[str, float]], str] = {}
    found = ((one.name, firsts.setdefault(_inked(one.mix_pct), one.name)) for one in facts)
    return {name: first for name, first in found if name != first}


def _inked(mix_pct: Mapping[str, float]) -> frozenset[tuple[str, float]]:
    return frozenset((ink, pct) for ink, pct in mix_pct.items() if pct > 0)


def labels_of(facts: Sequence[ToneFacts], paper_lab: Triple) -> Labels:
    """The table, (2**(3 * BITS),): number of the tone from 1, or NONE; read it by `place_in`."""
    same = same_mixes(facts)
    near = tuple(
        (number, shown_lab(fact), within_de00(fact))
        for number, fact in enumerate(facts, start=1)
        if fact.name not in same
    )
    return _labels(near, paper_lab)


def place_in(srgb8: NDArray[np.uint8]) -> NDArray[np.int32]:
    """Where colours (..., 3) stand in the table."""
    red, green, blue = (_SHIFTED[k][srgb8[..., k]] for k in range(3))
    return np.asarray(red | green | blue)


_TOP_BITS = np.arange(256, dtype=np.int32) >> (8 - BITS)
_SHIFTED = tuple(_TOP_BITS << BITS * k for k in (2, 1, 0))


@lru_cache(maxsize=4)  # spreads of a book have the same tones
def _labels(near: tuple[tuple[int, Triple, float], ...], paper_lab: Triple) -> Labels:
    lab = _middles()
    labels, best = np.full(len(lab), NONE, np.uint16), np.full(len(lab), np.inf)
    for number, tone_lab, within in near:
        close = _may_be(lab, tone_lab, within)
        de00 = delta_e00(lab[close], tone_lab)
        is_nearer = (de00 <= within) & (de00 < best[close])
        best[close[is_nearer]] = de00[is_nearer]
        labels[close[is_nearer]] = number
    found = np.flatnonzero(labels)
    labels[found[delta_e00(lab[found], paper_lab) < best[found]]] = NONE
    labels.flags.writeable = False
    return labels


def _may_be(lab: FloatArray, tone_lab: Triple, within: float) -> IntArray:
    """Numbers of all colours within so much of a tone, and of some beyond: CIEDE2000 is slow."""
    L, a, b = tone_lab
    close = np.flatnonzero(np.abs(lab[:, 0] - L) <= _MOST_SL * within)
    off_a, off_b = lab[close, 1], lab[close, 2]
    chroma = _MOST_CHROMA * (np.hypot(off_a, off_b) + math.hypot(a, b)) / 2
    turned = math.sin(math.radians(60)) * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))  # eq. 16-18
    reach = within * (1 + 0.045 * chroma) / np.sqrt(1 - turned)  # S_C, eq. 19; S_H is less
    return np.asarray(close[np.hypot(off_a - a, off_b - b) <= reach])


@lru_cache(maxsize=1)
def _middles() -> FloatArray:
    """Lab of the middle of each place of the table, (2**(3 * BITS), 3)."""
    level = (np.arange(_LEVELS) * _STEP + (_STEP - 1) / 2) / 255
    red, green, blue = srgb1_to_xyz100(np.eye(3)[:, None] * level[:, None])  # light adds up
    xyz100 = red[:, None, None] + green[:, None] + blue
    return xyz100_to_lab(xyz100.reshape(-1, 3))
