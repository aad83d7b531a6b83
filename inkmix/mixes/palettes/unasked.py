"""Palettes that nobody wants unless they ask: two blacks, or no colour at all.

The measures cannot tell: a second black goes darker, and a grey is sure to print as shown.
"""

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.mixes.palettes.task import Task

BLACK_L, BLACK_CHROMA = 40.0, 12.0
"""A solid below both is a black: that of newsprint, the lightest we know, has L* 37 and C* 5."""

COLOURED_CHROMA = 20.0
"""A solid of more shows a colour in a tint of half (judgement; no source)."""


def is_wanted(task: Task, members: IntArray) -> BoolArray:
    """Which palettes (N, I) somebody may want; all where the fixed inks or the tones ask for it.

    Two fixed blacks ask for two, and tones that are all grey for no colour.
    """
    chroma = np.hypot(task.solids_lab[:, 1], task.solids_lab[:, 2])
    is_black = (task.solids_lab[:, 0] < BLACK_L) & (chroma < BLACK_CHROMA)
    blacks = is_black[members].sum(axis=1)
    wanted = blacks <= max(1, int(is_black[task.fixed].sum()))
    if not _are_grey(task.goals):
        wanted &= (chroma[members] > COLOURED_CHROMA).any(axis=1)
    return np.asarray(wanted)


def _are_grey(goals: FloatArray) -> bool:
    return len(goals) > 0 and bool((np.hypot(goals[:, 1], goals[:, 2]) < BLACK_CHROMA).all())
