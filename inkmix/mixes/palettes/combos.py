"""Choices of some things out of many, numbered: so that millions need not be held at once.

A choice c0 < c1 < ... has as its number the sum of C(ci, i + 1), the combinatorial number system,
whatever the choices are made from.
"""

from math import comb

import numpy as np

from inkmix.base.arrays import IntArray


def choices(numbers: IntArray, *, size: int, of: int) -> IntArray:
    """The choices (N, size) of these numbers (N,), each ascending, out of `of` things."""
    rest = np.array(numbers, dtype=np.int64)
    result = np.empty((len(rest), size), np.int64)
    for place in range(size - 1, -1, -1):
        counts = _counts(place + 1, of)
        result[:, place] = np.searchsorted(counts, rest, side="right") - 1
        rest -= counts[result[:, place]]
    return result


def number_of(choice: IntArray, *, of: int) -> IntArray:
    """The numbers (N,) of choices (N, size) out of `of` things."""
    total = np.zeros(len(choice), np.int64)
    for place in range(choice.shape[1]):
        total += _counts(place + 1, of)[choice[:, place]]
    return total


def _counts(size: int, of: int) -> IntArray:
    """How many choices of a size lie wholly below each thing, (of,)."""
    return np.array([comb(thing, size) for thing in range(of)], np.int64)
