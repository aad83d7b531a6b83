"""Counts that need all plates at once: where others are bare, and how plates go together.

Every fourth pixel of every fourth row is enough for that; counts are integers, so windows cannot
change them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled

STEP = 4
LIGHT_TO = 38
"""Total ink, of 255, up to which a pixel is a light, whichever plates it is of: 15 %."""
FULL_FROM = 250
"""Ink amount, of 255, that counts as full: a scan of white paper is not exactly white."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointCounts:
    """Joint counts of I plates.

    Parameters
    ----------
    pixels : int
        Pixels that were looked at.
    light : int
        Those of them that hardly any ink lies on.
    bare, full_on_bare : (I,) ndarray of int64
        Pixels where no other plate has ink, and those of them where the plate is full.
    sums : (I,) ndarray of int64
        Ink amount.
    products : (I, I) ndarray of int64
        Products of the ink amounts of two plates.
    """

    pixels: int
    light: int
    bare: NDArray[np.int64]
    full_on_bare: NDArray[np.int64]
    sums: NDArray[np.int64]
    products: NDArray[np.int64]

    def plus(self, other: "JointCounts") -> "JointCounts":
        """Counts of both."""
        return JointCounts(
            pixels=self.pixels + other.pixels,
            light=self.light + other.light,
            bare=self.bare + other.bare,
            full_on_bare=self.full_on_bare + other.full_on_bare,
            sums=self.sums + other.sums,
            products=self.products + other.products,
        )

    def light_share(self) -> float:
        """Share of the sheet that hardly any ink lies on."""
        return self.light / max(self.pixels, 1)

    def bare_share(self, index: int) -> float:
        """Share of the sheet where no other plate has ink."""
        return int(self.bare[index]) / max(self.pixels, 1)

    def full_share_on_bare(self, index: int) -> float:
        """Share of that bare part where this plate is full."""
        return int(self.full_on_bare[index]) / max(int(self.bare[index]), 1)

    def correlation(self, index: int) -> float:
        """Correlation of a plate with the sum of all others, -1 to 1; 0 where one is even."""
        others = np.arange(len(self.sums)) != index
        own, rest = int(self.sums[index]), int(self.sums[others].sum())
        n = self.pixels
        mixed = n * int(self.products[index, others].sum()) - own * rest
        own_spread = n * int(self.products[index, index]) - own * own
        rest_spread = n * int(self.products[np.ix_(others, others)].sum()) - rest * rest
        if own_spread <= 0 or rest_spread <= 0:
            return 0.0
        return mixed / math.sqrt(own_spread) / math.sqrt(rest_spread)


def no_joint_counts(plates: int) -> JointCounts:
    """Nothing counted yet."""
    return _of(np.zeros((plates, 0), np.uint8))


def count_jointly(
    planes: Sequence[NDArray[np.uint8]], *, first_row: int, first_col: int = 0
) -> JointCounts:
    """Joint counts of planes (rows, cols), whose first pixel on the sheet is given."""
    rows, cols = slice(-first_row % STEP, None, STEP), slice(-first_col % STEP, None, STEP)
    return _of(np.stack([plane[rows, cols].ravel() for plane in planes]))


def _of(some: NDArray[np.uint8]) -> JointCounts:
    """Joint counts of pixels (I, n)."""
    bare, full_on_bare, products = _compiled(some) if are_compiled() else _plain(some)
    return JointCounts(
        pixels=some.shape[1],
        light=int(np.count_nonzero(some.sum(axis=0, dtype=np.uint16) <= LIGHT_TO)),
        bare=bare,
        full_on_bare=full_on_bare,
        sums=some.sum(axis=1, dtype=np.int64),
        products=products,
    )


_Counts = tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]


def _plain(some: NDArray[np.uint8]) -> _Counts:
    inked = some > 0
    others = inked.sum(axis=0) - inked
    bare = (others == 0).sum(axis=1)
    full_on_bare = ((others == 0) & (some >= FULL_FROM)).sum(axis=1)
    # Products of whole numbers below 2^53 are exact in float64, and BLAS is fast on them.
    wide = some.astype(np.float64)
    return bare, full_on_bare, (wide @ wide.T).astype(np.int64)


def _compiled(some: NDArray[np.uint8]) -> _Counts:
    from inkmix.base.kernels import blocks

    plates = len(some)
    bare, full_on_bare = (np.zeros(plates, np.int64) for _ in range(2))
    products = np.zeros((plates, plates), np.int64)
    blocks.together(some, bare, full_on_bare, products, FULL_FROM)
    return bare, full_on_bare, products
