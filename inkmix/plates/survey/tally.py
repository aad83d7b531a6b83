"""Counts of one plate's pixels; what they mean is told in suspicion.py and surveyed.py."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled
from inkmix.plates.files.raster import Samples


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlateTally:
    """Counts of some rows of a plate, over its full width.

    Parameters
    ----------
    counts : (256,) or (65536,) ndarray of int64
        Pixels of each ink amount.
    changes : int
        Pixels that differ from their left neighbour; counted only where rows hold nothing but no
        ink and full ink.
    """

    counts: NDArray[np.int64]
    changes: int = 0

    def plus(self, other: "PlateTally") -> "PlateTally":
        """Counts of both."""
        counts = self.counts + other.counts
        return PlateTally(counts=counts, changes=self.changes + other.changes)

    @property
    def is_two_tone(self) -> bool:
        """Whether there was nothing but no ink and full ink."""
        return not self.counts[1:-1].any()

    @property
    def is_even(self) -> bool:
        """Whether all pixels have one ink amount."""
        return bool(np.count_nonzero(self.counts) <= 1)

    @property
    def in_256_steps(self) -> NDArray[np.int64]:
        """The counts in 256 equal steps."""
        folded: NDArray[np.int64] = self.counts.reshape(256, -1).sum(axis=1)
        return folded


def no_pixels(full: int) -> PlateTally:
    """Nothing counted yet, of a plate whose full ink is `full`."""
    return PlateTally(counts=np.zeros(full + 1, np.int64))


def tally_of(amount: Samples, *, full: int) -> PlateTally:
    """Counts of ink amounts (rows, cols)."""
    counted = PlateTally(counts=_histogram(amount, full + 1))
    if not counted.is_two_tone or counted.is_even:
        return counted
    return PlateTally(counts=counted.counts, changes=_changes(amount))


def are_equal(first: Samples, second: Samples) -> bool:
    """Whether two planes of one size and depth hold the same ink amounts."""
    if not are_compiled():
        return np.array_equal(first, second)
    from inkmix.base.kernels import counts

    return bool(counts.are_equal(np.ascontiguousarray(first), np.ascontiguousarray(second)))


def _histogram(amount: Samples, levels: int) -> NDArray[np.int64]:
    if not are_compiled():
        return np.bincount(amount.ravel(), minlength=levels).astype(np.int64)
    from inkmix.base.kernels import counts

    lanes = np.zeros((4 if levels == 256 else 1, levels), np.uint32)
    counts.histogram(np.ascontiguousarray(amount), lanes)
    counted: NDArray[np.int64] = lanes.sum(axis=0, dtype=np.int64)
    return counted


def _changes(amount: Samples) -> int:
    if not are_compiled():
        return int(np.count_nonzero(amount[:, 1:] != amount[:, :-1]))
    from inkmix.base.kernels import counts

    return int(counts.changes(np.ascontiguousarray(amount)))
