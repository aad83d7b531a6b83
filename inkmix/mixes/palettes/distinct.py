"""How many colours of a palette are clearly different, and how much room they take in Lab."""

from itertools import product

import numpy as np

from inkmix.base import loops
from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00

DIFFERENT_DE00 = 5.0
"""Seen as another colour at a glance, side by side or not (common practice)."""

GRID_PCT = {1: 5, 2: 10, 3: 20, 4: 25, 5: 100 / 3, 6: 50, 7: 50, 8: 50}
"""Step of the grid on which mixes are counted, by the number of inks: 256 to 6561 mixes from four
inks on."""


def grid_of_mixes(inks: int, *, limit_pct: float) -> FloatArray:
    """Tone values (N, I) of the grid within the ink limit, in a fixed order."""
    values = np.arange(0, 100 + 1e-6, GRID_PCT[inks])
    grid = np.array(list(product(values, repeat=inks)))
    return np.asarray(grid[grid.sum(axis=1) <= limit_pct + 1e-6])


def count_different(lab: FloatArray, *, least_de00: float = DIFFERENT_DE00) -> int:
    """Colours (N, 3) that are kept if each must differ so much from all that were kept before."""
    if loops.are_compiled():
        from inkmix.base.kernels import palette as kernel

        return int(kernel.count_different(lab, least_de00))
    kept = np.empty((0, 3))
    for colour in lab:
        if not (delta_e00(kept, colour) < least_de00).any():
            kept = np.vstack([kept, colour])
    return len(kept)


def hull_volume(points: FloatArray) -> float:
    """Volume of the convex hull of points (N, 3); 0 where they lie in one plane."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return float(ConvexHull(points).volume)
    except QhullError:  # they span no volume
        return 0.0
