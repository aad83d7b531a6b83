"""One bit a pixel of a sheet, packed: areas are large and plain, so they take little room.

Rows are put in from top to bottom and read in any order, by any thread.
"""

import zlib

import numpy as np
from numpy.typing import NDArray

_BAND_ROWS = 64
_LEVEL = 1


class BitRows:
    """Bits of `width_px` columns, in packed bands of rows."""

    def __init__(self, *, width_px: int) -> None:
        self._width_px = width_px
        self._bands: list[bytes] = []
        self._waiting = np.empty((0, -(-width_px // 8)), np.uint8)
        self.marked = 0

    def append(self, rows: NDArray[np.uint8]) -> None:
        """Put in the next rows, (rows, bytes), eight pixels a byte along them."""
        self.marked += int(np.bitwise_count(rows).sum())
        rows = np.concatenate([self._waiting, rows])
        whole = len(rows) - len(rows) % _BAND_ROWS
        for start in range(0, whole, _BAND_ROWS):
            self._pack(rows[start : start + _BAND_ROWS])
        self._waiting = rows[whole:].copy()

    def finish(self) -> None:
        """Put in what is left."""
        if len(self._waiting):
            self._pack(self._waiting)
            self._waiting = self._waiting[:0]

    def _pack(self, rows: NDArray[np.uint8]) -> None:
        self._bands.append(zlib.compress(rows.tobytes(), _LEVEL))

    def read(self, rows: slice, cols: slice) -> NDArray[np.bool_]:
        """Which pixels of a rectangle are set, (rows, cols)."""
        first = cols.start // 8
        parts = [
            self._band(number)[self._within(rows, number), first : -(-cols.stop // 8)]
            for number in range(rows.start // _BAND_ROWS, -(-rows.stop // _BAND_ROWS))
        ]
        some = parts[0] if len(parts) == 1 else np.concatenate(parts)
        bits = np.unpackbits(some, axis=1, count=cols.stop - 8 * first)
        return np.ascontiguousarray(bits[:, cols.start - 8 * first :]).view(np.bool_)

    def _band(self, number: int) -> NDArray[np.uint8]:
        unpacked = zlib.decompress(self._bands[number])
        return np.frombuffer(unpacked, np.uint8).reshape(-1, -(-self._width_px // 8))

    def _within(self, rows: slice, number: int) -> slice:
        """The part of a band that lies in a span of rows."""
        top = number * _BAND_ROWS
        return slice(max(rows.start - top, 0), min(rows.stop - top, _BAND_ROWS))
