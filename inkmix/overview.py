"""Bounded pictures of huge sheets, gathered window by window.

Everything is added up in integers over square blocks of pixels, so the order and size of windows
cannot change a bit. A fault is kept by counting: a block with one faulty pixel still shows. No
files here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.loops import are_compiled

LINEAR_ONE = 65535
_VALUES_AT_ONCE = 1 << 18  # widened to 64 bits on the way: 2 MB
_STEPS = np.arange(256) / 255.0
_LINEAR = np.where(_STEPS <= 0.04045, _STEPS / 12.92, ((_STEPS + 0.055) / 1.055) ** 2.4)
LINEAR_OF_SRGB8 = np.rint(_LINEAR * LINEAR_ONE).astype(np.uint16)  # IEC 61966-2-1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockPart:
    """Sums of some rows of a picture, (block rows, block cols, channels), from block row `first`.

    Blocks that they share with other rows hold only their own pixels.
    """

    first: int
    sums: NDArray[np.int64]

    def plus(self, other: "BlockPart") -> "BlockPart":
        """Sums of both."""
        first = min(self.first, other.first)
        behind = max(self.first + len(self.sums), other.first + len(other.sums))
        sums = np.zeros((behind - first, *self.sums.shape[1:]), np.int64)
        for part in (self, other):
            sums[part.first - first : part.first - first + len(part.sums)] += part.sums
        return BlockPart(first=first, sums=sums)


class BlockSum:
    """Sums over blocks of `factor` x `factor` pixels of a picture too large to hold.

    `part` may be called from several threads at once; the parts are taken in any order.

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

    def start(self) -> BlockPart:
        """The part that has seen nothing."""
        return BlockPart(first=0, sums=np.zeros((0, *self.sums.shape[1:]), np.int64))

    def part(self, first_row: int, planes: Sequence[NDArray[np.integer]]) -> BlockPart:
        """Sums of full-width rows, one plane (rows, width_px) a channel, from `first_row` on."""
        rows = len(planes[0])
        first, behind = first_row // self.factor, -(-(first_row + rows) // self.factor)
        sums = np.zeros((len(planes), behind - first, self.sums.shape[1]), np.int64)
        for plane, into in zip(planes, sums, strict=True):
            _add_blocks(plane, into, first_row=first_row, factor=self.factor)
        return BlockPart(first=first, sums=np.moveaxis(sums, 0, -1))

    def take(self, part: BlockPart) -> None:
        """Add a part to the whole."""
        self.sums[part.first : part.first + len(part.sums)] += part.sums

    def add(self, first_row: int, values: NDArray[np.integer]) -> None:
        """Add full-width rows of integers, (rows, width_px, channels), starting at `first_row`."""
        self.take(self.part(first_row, list(np.moveaxis(values, -1, 0))))

    def mean(self) -> NDArray[np.float64]:
        """Mean of each block, (block rows, block cols, channels)."""
        rows = np.diff(np.append(np.arange(0, self.height_px, self.factor), self.height_px))
        cols = np.diff(np.append(np.arange(0, self.width_px, self.factor), self.width_px))
        mean: NDArray[np.float64] = self.sums / (rows[:, None] * cols)[..., None]
        return mean


def _add_blocks(
    plane: NDArray[np.integer], sums: NDArray[np.int64], *, first_row: int, factor: int
) -> None:
    """Add a plane to the sums of its blocks (block rows, block cols), the first at `first_row`."""
    if plane.dtype.itemsize <= 2 and plane.dtype.kind == "u" and are_compiled():
        from inkmix.kernels import blocks

        blocks.block_sums(np.ascontiguousarray(plane), first_row, factor, sums)
        return
    step = max(1, _VALUES_AT_ONCE // plane.shape[1])
    for start in range(0, len(plane), step):
        band = plane[start : start + step]
        along = np.add.reduceat(band, np.arange(0, plane.shape[1], factor), axis=1, dtype=np.int64)
        first = first_row + start
        block_rows = np.arange(first, first + len(band)) // factor - first_row // factor
        starts = np.flatnonzero(np.diff(block_rows, prepend=-1))
        sums[block_rows[starts]] += np.add.reduceat(along, starts, axis=0)


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

    def part(self, first_row: int, srgb8: NDArray[np.uint8]) -> BlockPart:
        """Sums of full-width rows, (rows, width_px, 3); several threads may ask at once."""
        if not are_compiled():
            return self._sum.part(first_row, list(np.moveaxis(LINEAR_OF_SRGB8[srgb8], -1, 0)))
        from inkmix.kernels import blocks

        first, behind = first_row // self.factor, -(-(first_row + len(srgb8)) // self.factor)
        sums = np.zeros((behind - first, *self._sum.sums.shape[1:]), np.int64)
        blocks.block_sums_of_colour(
            np.ascontiguousarray(srgb8), LINEAR_OF_SRGB8, first_row, self.factor, sums
        )
        return BlockPart(first=first, sums=sums)

    def take(self, part: BlockPart) -> None:
        """Add a part to the whole, in any order."""
        self._sum.take(part)

    def add(self, first_row: int, srgb8: NDArray[np.uint8]) -> None:
        """Add full-width rows, (rows, width_px, 3)."""
        self.take(self.part(first_row, srgb8))

    def srgb8(self) -> NDArray[np.uint8]:
        """The picture, (rows, cols, 3)."""
        linear = self._sum.mean() / LINEAR_ONE
        encoded = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
        srgb8: NDArray[np.uint8] = np.rint(encoded * 255).astype(np.uint8)
        return srgb8
