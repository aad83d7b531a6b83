"""Counts that need all plates at once: where others are bare, and how plates go together.

Every fourth pixel of every fourth row is enough for that; counts are integers, so windows cannot
change them.
"""

import math

import numpy as np
from numpy.typing import NDArray

STEP = 4
FULL_FROM = 250
"""Ink amount, of 255, that counts as full: a scan of white paper is not exactly white."""


class Together:
    """Joint counts of `count` plates so far."""

    def __init__(self, count: int) -> None:
        self.pixels = 0
        self.bare = np.zeros(count, np.int64)
        self.full_on_bare = np.zeros(count, np.int64)
        self._sums = np.zeros(count, np.int64)
        self._products = np.zeros((count, count), np.int64)
        self._next_row = 0

    def add(self, planes: NDArray[np.uint8]) -> None:
        """Count the next full-width band, (I, rows, cols)."""
        first = -self._next_row % STEP
        self._next_row += planes.shape[1]
        some = planes[:, first::STEP, ::STEP].reshape(len(planes), -1)
        self.pixels += some.shape[1]
        inked = some > 0
        others = inked.sum(axis=0) - inked
        self.bare += (others == 0).sum(axis=1)
        self.full_on_bare += ((others == 0) & (some >= FULL_FROM)).sum(axis=1)
        wide = some.astype(np.float64)
        self._sums += some.sum(axis=1, dtype=np.int64)
        # Products of whole numbers below 2^53 are exact in float64, and BLAS is fast on them.
        self._products += (wide @ wide.T).astype(np.int64)

    def bare_share(self, index: int) -> float:
        """Share of the sheet where no other plate has ink."""
        return int(self.bare[index]) / max(self.pixels, 1)

    def full_share_on_bare(self, index: int) -> float:
        """Share of that bare part where this plate is full."""
        return int(self.full_on_bare[index]) / max(int(self.bare[index]), 1)

    def correlation(self, index: int) -> float:
        """Correlation of a plate with the sum of all others, -1 to 1; 0 where one is even."""
        others = np.arange(len(self._sums)) != index
        own, rest = int(self._sums[index]), int(self._sums[others].sum())
        n = self.pixels
        mixed = n * int(self._products[index, others].sum()) - own * rest
        own_spread = n * int(self._products[index, index]) - own * own
        rest_spread = n * int(self._products[np.ix_(others, others)].sum()) - rest * rest
        if own_spread <= 0 or rest_spread <= 0:
            return 0.0
        return mixed / math.sqrt(own_spread) / math.sqrt(rest_spread)
