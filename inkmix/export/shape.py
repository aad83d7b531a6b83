"""Size of a picture that is written in blocks, and the size of these; numbers only."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureShape:
    """A picture and its blocks.

    Parameters
    ----------
    width_px, height_px : int
        Size of the picture.
    block_rows, block_cols : int
        Size of every block, but for those at the right and lower edge, which may be smaller.
        Blocks narrower than the picture have sides that are multiples of 16.
    channels, bits : int
        3 for RGB, 1 for grey where 0 is black; 8 or 16 bits each.
    """

    width_px: int
    height_px: int
    block_rows: int
    block_cols: int
    channels: int = 3
    bits: int = 8

    @property
    def pixel_bytes(self) -> int:
        """Bytes of a pixel."""
        return self.channels * self.bits // 8

    @property
    def dtype(self) -> type[np.uint8] | type[np.uint16]:
        """Type of a number."""
        return np.uint16 if self.bits == 16 else np.uint8

    def block_at(self, row: int, col: int) -> tuple[int, int] | None:
        """(rows, cols) of the block whose first pixel is given; None where none begins there."""
        if row % self.block_rows or col % self.block_cols:
            return None
        rows = min(self.block_rows, self.height_px - row)
        cols = min(self.block_cols, self.width_px - col)
        return (rows, cols) if rows > 0 and cols > 0 else None
