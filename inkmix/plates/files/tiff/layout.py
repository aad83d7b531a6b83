"""How the numbers of one TIFF page lie in its file: strips or tiles, planes, packing.

Arithmetic only; decoding is in segments.py.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import imagecodecs
import numpy as np
from numpy.typing import NDArray

_PADDING = 16
"""Writers that fill up to whole words of their machine fill up to less than this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Strips or tiles of a page; offsets and byte counts are those of the file.

    `filled_rows` are the rows to which the file says strips are cut (RowsPerStrip), which may be
    more than the picture has; 0 where that says nothing.
    """

    width_px: int
    height_px: int
    samples: int
    bits: int
    byteorder: str
    compression: int
    predictor: int
    fill_order: int
    planar: bool
    tiled: bool
    segment_rows: int
    segment_cols: int
    offsets: tuple[int, ...]
    byte_counts: tuple[int, ...]
    filled_rows: int = 0

    @property
    def across(self) -> int:
        """Segments side by side."""
        return math.ceil(self.width_px / self.segment_cols)

    @property
    def down(self) -> int:
        """Segments one below the other, in one plane."""
        return math.ceil(self.height_px / self.segment_rows)

    @property
    def count(self) -> int:
        """Segments that the page must have."""
        return self.across * self.down * (self.samples if self.planar else 1)

    @property
    def segment_px(self) -> int:
        """Numbers in one segment."""
        return self.segment_rows * self.segment_cols * (1 if self.planar else self.samples)

    @property
    def row_bytes(self) -> int:
        """Bytes of one unpacked row of a strip."""
        return math.ceil(self.width_px * (1 if self.planar else self.samples) * self.bits / 8)

    @property
    def segment_row_bytes(self) -> int:
        """Bytes of one unpacked row of a strip or tile."""
        return math.ceil(self.segment_cols * self.shape[3] * self.bits / 8)

    @property
    def spare_bytes(self) -> int:
        """Bytes behind the last row that do no harm: less than a row, or 15 of a narrow one."""
        return max(self.segment_row_bytes, _PADDING) - 1

    def needed_bytes(self, index: int) -> int:
        """Unpacked bytes of the rows of a strip or tile."""
        return self.segment_shape(index)[0] * self.segment_row_bytes

    @property
    def filled_bytes(self) -> int:
        """Unpacked bytes of a strip that was filled up, though the picture ends in it."""
        return 0 if self.tiled else self.filled_rows * self.segment_row_bytes

    def may_hold(self, index: int, count: int) -> bool:
        """Whether a strip or tile of so many unpacked bytes, or more than it needs, is as told."""
        needed = self.needed_bytes(index)
        sizes = (needed, max(needed, self.filled_bytes))
        return any(0 <= count - size <= self.spare_bytes for size in sizes)

    @property
    def dtype(self) -> type[np.uint8] | type[np.uint16]:
        """Type of a number."""
        return np.uint16 if self.bits == 16 else np.uint8

    @property
    def shape(self) -> tuple[int, int, int, int]:
        """(planes, rows, cols, channels in a plane)."""
        planes, channels = (self.samples, 1) if self.planar else (1, self.samples)
        return planes, self.height_px, self.width_px, channels

    @property
    def is_plain(self) -> bool:
        """Whether rows can be read where they lie."""
        return self.compression == 1 and not self.tiled and self.fill_order == 1

    @property
    def is_bytes(self) -> bool:
        """Whether strips or tiles are bytes of the picture, as they are."""
        return (self.compression, self.fill_order, self.predictor, self.bits) == (1, 1, 1, 8)

    def touched(self, rows: slice, cols: slice, sample: int) -> Iterator[tuple[int, int, int]]:
        """Segments under a rectangle: (index, top row, left column)."""
        base = sample * self.across * self.down if self.planar else 0
        downs = range(rows.start // self.segment_rows, -(-rows.stop // self.segment_rows))
        acrosses = range(cols.start // self.segment_cols, -(-cols.stop // self.segment_cols))
        for down in downs:
            for across in acrosses:
                index = base + down * self.across + across
                yield index, down * self.segment_rows, across * self.segment_cols

    def rows_of(self, index: int) -> tuple[int, int]:
        """First row of a segment, and the row after its last, inside the picture."""
        top = index // self.across % self.down * self.segment_rows
        return top, min(top + self.segment_rows, self.height_px)

    def place_of(self, index: int) -> str:
        """A segment in words, counted from 1, with its rows, counted from 0."""
        top, stop = self.rows_of(index)
        kind = "tile" if self.tiled else "strip"
        return f"{kind} {index + 1} (rows {top}-{stop - 1})"

    def segment_shape(self, index: int) -> tuple[int, int, int]:
        """(rows, cols, channels) as stored: tiles are whole, the last strip may be short."""
        top, stop = self.rows_of(index)
        rows = self.segment_rows if self.tiled else stop - top
        return rows, self.segment_cols, self.shape[3]

    def finish(self, out: NDArray[Any]) -> None:
        """Byte order, then differences to the left (TIFF 6.0, section 14), undone in place.

        `out` is (rows, cols, channels) as unpacked from the file.
        """
        if self.bits == 16 and np.dtype(f"{self.byteorder}u2") != np.dtype(np.uint16):
            out.byteswap(inplace=True)
        if self.predictor == 2:
            imagecodecs.delta_decode(out, axis=1, out=out)

    def unpack_rows(self, data: bytes) -> NDArray[Any]:
        """Unpacked bytes of whole rows as (rows, cols, channels)."""
        channels = self.shape[3]
        if self.bits == 1:
            packed = np.frombuffer(data, np.uint8).reshape(-1, self.row_bytes)
            bits = np.unpackbits(packed, axis=1, bitorder=self._bit_order)
            return bits[:, : self.width_px * channels].reshape(-1, self.width_px, channels)
        dtype = np.dtype(f"{self.byteorder}u{self.bits // 8}")
        return np.frombuffer(data, dtype).reshape(-1, self.width_px, channels)

    @property
    def _bit_order(self) -> Literal["big", "little"]:
        return "big" if self.fill_order == 1 else "little"
