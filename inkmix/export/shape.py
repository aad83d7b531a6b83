"""Size of a picture that is written in blocks, and the size of these; numbers only."""

from dataclasses import dataclass


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
    """

    width_px: int
    height_px: int
    block_rows: int
    block_cols: int
