"""Bounded pictures of huge sheets, gathered window by window.

Everything is added up in integers over square blocks of pixels, so the order and size of windows
cannot change a bit. A fault is kept by counting: a block with one faulty pixel still shows. No
files here.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled

LINEAR_ONE = 65535
_FACTOR_32_BITS = 256  # numbers of 16 bits over so many rows and columns
_FACTOR_TABLED = 2  # blocks with a quarter of a million sums: less than a picture has values
_VALUES_AT_ONCE = 1 << 18  # widened to 64 bits on the way: 2 MB
_STEPS = np.arange(256) / 255.0
_LINEAR = np.where(_STEPS <= 0.04045, _STEPS / 12.92, ((_STEPS + 0.055) / 1.055) ** 2.4)
LINEAR_OF_SRGB8 = np.rint(_LINEAR * LINEAR_ONE).astype(np.uint16)  # IEC 61966-2-1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlockPart:
    """Sums of a rectangle, (block rows, block cols, channels), from block (`row`, `col`) on.

    Blocks that it shares with other rectangles hold only its own pixels.
    """

    row: int
    col: int
    sums: NDArray[np.integer]

    def plus(self, other: "BlockPart") -> "BlockPart":
        """Sums of both."""
        if not self.sums.size or not other.sums.size:
            return self if self.sums.size else other
        row, col = min(self.row, other.row), min(self.col, other.col)
        bottom, right = (max(ends) for ends in zip(self._ends, other._ends, strict=True))
        sums = np.zeros((bottom - row, right - col, self.sums.shape[2]), np.int64)
        both = BlockPart(row=row, col=col, sums=sums)
        for part in (self, other):
            both.take(part)
        return both

    def take(self, part: "BlockPart") -> None:
        """Add a part that lies inside."""
        rows, cols, _ = part.sums.shape
        row, col = part.row - self.row, part.col - self.col
        place = self.sums[row : row + rows, col : col + cols]
        np.add(place, part.sums, out=place, casting="unsafe")  # what is summed fits

    @property
    def _ends(self) -> tuple[int, int]:
        return self.row + self.sums.shape[0], self.col + self.sums.shape[1]


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
        kind = np.uint32 if factor <= _FACTOR_32_BITS else np.int64
        self._whole = BlockPart(row=0, col=0, sums=np.zeros(shape, kind))

    @property
    def sums(self) -> NDArray[np.integer]:
        """All sums so far, (block rows, block cols, channels)."""
        return self._whole.sums

    def start(self) -> BlockPart:
        """The part that has seen nothing."""
        return BlockPart(row=0, col=0, sums=np.zeros((0, 0, self.sums.shape[2]), np.int64))

    def part(
        self, first_row: int, planes: Sequence[NDArray[np.integer]], *, first_col: int = 0
    ) -> BlockPart:
        """Sums of a rectangle, one plane (rows, cols) a channel, whose first pixel is given."""
        part = self._empty_part(first_row, first_col, planes[0].shape)
        for channel, plane in enumerate(planes):
            into = np.zeros(part.sums.shape[:2], np.int64)
            for cols, blocks in _block_columns(first_col, plane.shape[1], self.factor):
                _add_blocks(plane[:, cols], into[:, blocks], row=first_row, factor=self.factor)
            part.sums[:, :, channel] = into
        return part

    def part_of_colour(
        self, first_row: int, srgb8: NDArray[np.uint8], *, first_col: int = 0
    ) -> BlockPart:
        """Sums of a rectangle of colours, (rows, cols, 3), in linear light."""
        if not are_compiled():
            linear = LINEAR_OF_SRGB8[srgb8]
            return self.part(first_row, list(np.moveaxis(linear, -1, 0)), first_col=first_col)
        from inkmix.base.kernels import blocks

        part = self._empty_part(first_row, first_col, srgb8.shape[:2])
        for cols, columns in _block_columns(first_col, srgb8.shape[1], self.factor):
            some, into = np.ascontiguousarray(srgb8[:, cols]), part.sums[:, columns]
            sums = np.zeros(into.shape, np.int64)
            blocks.block_sums_of_colour(some, LINEAR_OF_SRGB8, first_row, self.factor, sums)
            into += sums
        return part

    def _empty_part(self, first_row: int, first_col: int, shape: tuple[int, ...]) -> BlockPart:
        row, col = first_row // self.factor, first_col // self.factor
        bottom = -(-(first_row + shape[0]) // self.factor)
        right = -(-(first_col + shape[1]) // self.factor)
        sums = np.zeros((bottom - row, right - col, self.sums.shape[2]), np.int64)
        return BlockPart(row=row, col=col, sums=sums)

    def take(self, part: BlockPart) -> None:
        """Add a part to the whole."""
        self._whole.take(part)

    def add(self, first_row: int, values: NDArray[np.integer]) -> None:
        """Add full-width rows of integers, (rows, width_px, channels), starting at `first_row`."""
        self.take(self.part(first_row, list(np.moveaxis(values, -1, 0))))

    def mean(self) -> NDArray[np.float64]:
        """Mean of each block, (block rows, block cols, channels)."""
        rows, cols = self.sides()
        return self.sums / (rows[:, None] * cols)[:, :, None]

    def sides(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Height in pixels of each row of blocks, width of each column."""
        rows, cols = (
            np.diff(np.append(np.arange(0, side, self.factor), side))
            for side in (self.height_px, self.width_px)
        )
        return rows, cols


def _block_columns(first_col: int, cols: int, factor: int) -> Iterator[tuple[slice, slice]]:
    """Columns of a rectangle and the blocks they lie in: the rest of a begun block, then others."""
    head = min(-first_col % factor, cols)
    if head:
        yield slice(0, head), slice(0, 1)
    if head < cols:
        yield slice(head, cols), slice(1 if head else 0, None)


def _add_blocks(
    plane: NDArray[np.integer], sums: NDArray[np.int64], *, row: int, factor: int
) -> None:
    """Add a plane to the sums of its blocks (block rows, block cols); `row` is that of the sheet.

    The plane begins with a block along its rows.
    """
    if plane.dtype.itemsize <= 2 and plane.dtype.kind == "u" and are_compiled():
        from inkmix.base.kernels import blocks

        into = np.zeros(sums.shape, np.int64)
        blocks.block_sums(np.ascontiguousarray(plane), row, factor, into)
        sums += into
        return
    step = max(1, _VALUES_AT_ONCE // plane.shape[1])
    for start in range(0, len(plane), step):
        band = plane[start : start + step]
        along = np.add.reduceat(band, np.arange(0, plane.shape[1], factor), axis=1, dtype=np.int64)
        first = row + start
        block_rows = np.arange(first, first + len(band)) // factor - row // factor
        starts = np.flatnonzero(np.diff(block_rows, prepend=-1))
        sums[block_rows[starts]] += np.add.reduceat(along, starts, axis=0)


def factor_for(width_px: int, height_px: int, *, longest_px: int) -> int:
    """Smallest whole factor that brings the longer side to at most `longest_px`."""
    return max(1, -(-max(width_px, height_px) // longest_px))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reduced:
    """A picture (rows, cols, 3), each of its pixels `factor` x `factor` of a sheet."""

    srgb8: NDArray[np.uint8]
    factor: int


class ColourOverview:
    """A reduced picture, averaged in linear light as the eye at a distance does."""

    def __init__(self, *, width_px: int, height_px: int, factor: int) -> None:
        self._sum = BlockSum(width_px=width_px, height_px=height_px, channels=3, factor=factor)

    @property
    def factor(self) -> int:
        """Pixels of the plate along one pixel of the picture."""
        return self._sum.factor

    def part(self, first_row: int, srgb8: NDArray[np.uint8], *, first_col: int = 0) -> BlockPart:
        """Sums of a rectangle, (rows, cols, 3); several threads may ask at once."""
        return self._sum.part_of_colour(first_row, srgb8, first_col=first_col)

    def take(self, part: BlockPart) -> None:
        """Add a part to the whole, in any order."""
        self._sum.take(part)

    def add(self, first_row: int, srgb8: NDArray[np.uint8]) -> None:
        """Add full-width rows, (rows, width_px, 3)."""
        self.take(self.part(first_row, srgb8))

    def reduced(self) -> Reduced:
        """The picture with its factor."""
        return Reduced(srgb8=self.srgb8(), factor=self.factor)

    def srgb8(self) -> NDArray[np.uint8]:
        """The picture, (rows, cols, 3)."""
        rows, cols = self._sum.sides()
        srgb8 = np.empty(self._sum.sums.shape, np.uint8)
        for picture, height, sums in zip(srgb8, rows, self._sum.sums, strict=True):
            tabled = self._tabled(height)
            if tabled:
                picture[:tabled] = _srgb8_of_sums(self.factor).take(sums[:tabled])
            if tabled < len(cols):
                means = sums[tabled:] / (height * cols[tabled:])[:, None]
                picture[tabled:] = _encoded(means / LINEAR_ONE)
        return srgb8

    def _tabled(self, height: int) -> int:
        """How many blocks of a row of blocks are whole and small."""
        is_whole = height == self.factor <= _FACTOR_TABLED
        return self._sum.width_px // self.factor if is_whole else 0


@lru_cache(maxsize=2)
def _srgb8_of_sums(factor: int) -> NDArray[np.uint8]:
    """8-bit sRGB for every sum that a block of `factor` x `factor` pixels can have."""
    sums = np.arange(LINEAR_ONE * factor**2 + 1)
    return _encoded(sums / factor**2 / LINEAR_ONE)


def _encoded(linear: NDArray[np.float64]) -> NDArray[np.uint8]:
    """8-bit sRGB of linear light 0-1."""
    encoded = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)
    srgb8: NDArray[np.uint8] = np.rint(encoded * 255).astype(np.uint8)
    return srgb8
