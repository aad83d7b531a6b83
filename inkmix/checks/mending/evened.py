"""Lightness without its texture: even where a drawing is even, with the edges that are drawn.

Guided image filtering by the lightness itself: He, Sun & Tang 2013, Guided image filtering, IEEE
Trans. Pattern Anal. Mach. Intell. 35, 1397-1409; its factors are found on cells and used on pixels,
as in He & Sun 2015, Fast guided filter, arXiv:1505.00996. A pixel needs none of its neighbours. The
spread counts by its square here: texture follows less, and beside an edge less shines over.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.mending.cells import Cells

_LEAST_COUNTED = 1e-3  # where nothing has a say, all has


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evened:
    """What a pixel's L* becomes: its share `follows` of it, and `level_L` of what is around.

    Parameters
    ----------
    follows, level_L : (rows, cols) ndarray of float32
        Of each cell: near 0 and the mean of the surroundings where nothing but texture lies around,
        near 1 and 0 beside an edge.
    """

    cells: Cells
    follows: NDArray[np.float32]
    level_L: NDArray[np.float32]

    def at(self, pixel_L: FloatArray, cells: IntArray) -> FloatArray:
        """Of pixels of any shape, each by the number of its cell."""
        follows, level_L = self.follows.ravel()[cells], self.level_L.ravel()[cells]
        return np.asarray(follows * pixel_L + level_L, dtype=np.float64)

    def at_pixels(
        self, pixel_L: NDArray[np.float32], rows: slice, cols: slice
    ) -> NDArray[np.float32]:
        """Of the pixels (rows, cols) of a window."""
        follows = self.cells.to_pixels(self.follows, rows, cols)
        return np.asarray(follows * pixel_L + self.cells.to_pixels(self.level_L, rows, cols))


def evened(
    cells: Cells,
    mean_L: FloatArray,
    square_L: FloatArray,
    *,
    counted: FloatArray,
    around_px: float,
    texture_L: float,
) -> Evened:
    """Evened over so many pixels to each side.

    Parameters
    ----------
    mean_L, square_L : (rows, cols) ndarray
        Of the pixels of each cell, L* and its square.
    counted : (rows, cols) ndarray
        How much of a say each cell has, 0-1: without lights, what lies beside one is as even as if
        there were none.
    texture_L : float
        A spread of L* of which half is evened out; much less is texture, much more is an edge.
    """
    from scipy.ndimage import uniform_filter

    across = 2 * max(1, round(around_px / cells.factor)) + 1
    counted = np.maximum(counted, _LEAST_COUNTED)
    share = uniform_filter(counted, across, mode="nearest")

    def around(values: FloatArray) -> FloatArray:
        """Mean of what has a say."""
        return np.asarray(uniform_filter(counted * values, across, mode="nearest") / share)

    mean = around(mean_L)
    spread2 = np.maximum(around(square_L) - mean * mean, 0)
    follows = spread2**2 / (spread2**2 + texture_L**4)
    return Evened(
        cells=cells,
        follows=around(follows).astype(np.float32),
        level_L=around((1 - follows) * mean).astype(np.float32),
    )
