"""What lies around each piece of a picture: how light the lightest of it is.

A light stands out of what is next to it, whatever the sky is like elsewhere; a piece of a pale area
does not, nor does a grain of it.
"""

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray

_AROUND = 9  # cells across
_SMALL = 25  # cells; around a piece of so many lie the cells of a square about each of its cells
_OUT_OF_GRAIN = 3.0  # times the spread of what lies around


class Surroundings:
    """Of an area of cells.

    Parameters
    ----------
    values : (rows, cols) ndarray
    inside : (rows, cols) ndarray of bool
        Cells of the area; no others count.
    """

    def __init__(self, values: FloatArray, inside: BoolArray) -> None:
        self._values, self._inside = values, inside
        self._all = self._around(inside)

    def lightest(self, numbers: IntArray, count: int, *, none: BoolArray) -> FloatArray:
        """Mean and some grain (count,) of what lies around each piece; 0 where nothing does.

        Around a small piece lies everything but itself: grain is full of pieces. Around a large one
        lies what is no piece.

        Parameters
        ----------
        numbers : (rows, cols) ndarray of int
            Of the pieces, from 1; 0 is no piece.
        none : (rows, cols) ndarray of bool
            Cells in no piece, nor beside one.
        """
        own = _sums(self._moments / _AROUND**2, numbers, count)
        cells = own[0] * _AROUND**2
        small = _sums(self._all, numbers, count) - cells * own
        large = _sums(self._around(self._inside & none), numbers, count)
        weight, total, square = np.where(cells <= _SMALL, small, large)
        weight = np.maximum(weight, 1e-9)
        mean = total / weight
        spread = np.sqrt(np.maximum(square / weight - mean * mean, 0))
        return np.asarray(mean + _OUT_OF_GRAIN * spread)

    @property
    def _moments(self) -> FloatArray:
        return np.stack([np.ones_like(self._values), self._values, self._values**2])

    def _around(self, where: BoolArray) -> FloatArray:
        """(3, rows, cols) moments of a square about each cell, by the share of it that counts."""
        from scipy.ndimage import uniform_filter

        return np.stack(
            [uniform_filter(one * where, _AROUND, mode="constant") for one in self._moments]
        )


def _sums(fields: FloatArray, numbers: IntArray, count: int) -> FloatArray:
    """(3, count) sums over the cells of each piece."""
    some = np.flatnonzero(numbers)
    of = numbers.ravel()[some]
    return np.stack([np.bincount(of, field.ravel()[some], count + 1)[1:] for field in fields])
