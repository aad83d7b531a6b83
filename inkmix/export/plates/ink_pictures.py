"""Ink that a correction adds or takes off, as grey pictures of their own: dark is ink.

They have the size, resolution and depth of the plate, so that they can be laid over the artist's
master. A picture in which nothing would be is not written.
"""

from dataclasses import dataclass
from typing import BinaryIO

import numpy as np

from inkmix.export.picture import PackedBlock, grey_writer
from inkmix.export.shape import PictureShape
from inkmix.plates.files.raster import Samples


@dataclass(frozen=True, slots=True, kw_only=True)
class InkBlock:
    """A packed block, and whether any ink is in it."""

    packed: PackedBlock
    has_ink: bool


class InkPicture:
    """Takes the blocks of one such picture in raster order.

    Parameters
    ----------
    file : BinaryIO
        To write to; it stays empty where no block holds ink.
    shape : PictureShape
        One channel, of the plate's depth.
    is_png : bool
        PNG, else TIFF.
    ppi : float
        Resolution of the plate.
    """

    def __init__(self, file: BinaryIO, shape: PictureShape, *, is_png: bool, ppi: float) -> None:
        self._file, self._has_ink = file, False
        self._writer = grey_writer(file, shape, is_png=is_png, ppi=ppi)

    def pack(self, amounts: Samples, *, row: int, col: int) -> InkBlock:
        """A block of ink amounts (rows, cols); any thread may ask."""
        packed = self._writer.pack(~amounts[..., np.newaxis], row=row, col=col)
        return InkBlock(packed=packed, has_ink=bool(amounts.any()))

    def append(self, block: InkBlock) -> None:
        """Write the next block."""
        self._has_ink |= block.has_ink
        self._writer.append(block.packed)

    def finish(self) -> None:
        """Write what is left, or take back what was written where no ink was in it."""
        self._writer.finish()
        if not self._has_ink:
            self._file.seek(0)
            self._file.truncate()


def added(before: Samples, after: Samples) -> Samples:
    """Ink amount that comes, (...) of the same type."""
    ink: Samples = np.maximum(after, before) - before
    return ink


def removed(before: Samples, after: Samples) -> Samples:
    """Ink amount that goes."""
    return added(after, before)
