"""Bounded pictures of huge sheets, gathered window by window.

Everything is added up in integers over square blocks of pixels, so the order and size of windows
cannot change a bit. A fault is kept by counting: a block with one faulty pixel still shows. No
files here.
"""

import numpy as np
from numpy.typing import NDArray

LINEAR_ONE = 65535
_VALUES_AT_ONCE = 1 << 18  # widened to 64 bits on the way: 2 MB
_STEPS = np.arange(256) / 255.0
_LINEAR = np.where(_STEPS <= 0.04045, _STEPS / 12.92, ((_STEPS + 0.055) / 1.055) ** 2.4)
LINEAR_OF_SRGB8 = np.rint(_LINEAR * LINEAR_ONE).astype(np.uint16)  # IEC 61966-2-1


class BlockSum:
    """Sums over blocks of `factor` x `factor` pixels of a picture too large to hold.

    Parameters
    ----------
    width_px, height_px : int
        Size of the whole.
    channels : int
        Values a pixel.
    factor : int
        Pixels along one side of a block; blocks at the right and bottom edge may be smaller.
    """

    def __init__(self, *, width_px: int, height_px: int, channels: int, factor: int) -> None:
        self.factor = factor
        self.width_px, self.height_px = width_px, height_px
        shape = (-(-height_px // factor), -(-width_px // factor), channels)
        self.sums: NDArray[np.int64] = np.zeros(shape, np.int64)

    def add(self, first_row: int, values: NDArray[np.generic]) -> None:
        """Add full-width rows of integers, (rows, width_px, channels), starting at `first_row`."""
        step = max(1, _VALUES_AT_ONCE // (self.width_px * self.sums.shape[2]))
        for start in range(0, len(values), step):
            self._add(first_row + start, values[start : start + step])

    def _add(self, first_row: int, values: NDArray[np.generic]) -> None:
        columns = np.arange(0, self.width_px, self.factor)
        along = np.add.reduceat(values, columns, axis=1, dtype=np.int64)
        block_rows = np.arange(first_row, first_row + len(values)) // self.factor
        starts = np.flatnonzero(np.diff(block_rows, prepend=-1))
        self.sums[block_rows[starts]] += np.add.reduceat(along, starts, axis=0)

    def mean(self) -> NDArray[np.float64]:
        """Mean of each block, (block rows, block cols, channels)."""
        rows = np.diff(np.append(np.arange(0, self.height_px, self.factor), self.height_px))
        cols = np.diff(np.append(np.arange(0, self.width_px, self.factor), self.width_px))
        mean: NDArray[np.float64] = self.sums / (rows[:, None] * cols)[..., None]
        return mean


def factor_for(width_px: int, height_px: int, *, longest_px: int) -> int:
    """Smallest whole factor that brings the longer side to at most `longest_px`."""
    return max(1, -(-max(width_px, height_px) // longest_px))


class ColourOverview:
    """A reduced picture, averaged in linear light as the eye at a distance does."""

    def __init__(self, *, width_px: int, height_px: int, longest_px: int) -> None:
        factor = factor_for(width_px, height_px, longest_px=longest_px)
        self._sum = BlockSum(width_px=width_px, height_px=height_px, channels=3, factor=factor)

    @property
    def factor(self) -> int:
        """Pixels of the plate along one pixel of the picture."""
        return self._sum.factor

    def add(self, first_row: int, srgb8: NDArray[np.uint8]) -> None:
        """Add full-width rows, (rows, width_px, 3)."""
        self._sum.add(first_row, LINEAR_OF_SRGB8[srgb8])

    def srgb8(self) -> NDArray[np.uint8]:
        """The picture, (rows, cols, 3)."""
        linear = self._sum.mean() / LINEAR_ONE
        encoded = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
        srgb8: NDArray[np.uint8] = np.rint(encoded * 255).astype(np.uint8)
        return srgb8
