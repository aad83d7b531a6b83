"""What one window of the pass hands to the checks, and the integer scales it is counted in.

Only integers travel here, so that neither the height of a window nor the order of merging can
change a bit of a result. No file is opened and no colour is computed.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Planes = NDArray[np.uint8] | NDArray[np.uint16]
Mask = NDArray[np.bool_]
Counts = NDArray[np.int64]
Box = tuple[slice, slice]
"""Rows and columns of a rectangle of the plates."""

BAND_PX = 1 << 20
"""Pixels of a rectangle that a thread looks at together, after the pass."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckedWindow:
    """A rectangle of all plates with what the pass computed there.

    Parameters
    ----------
    rows, cols : slice
        Where it lies on the plates.
    planes : (I, rows, cols) ndarray of uint8 or uint16
        Ink amounts for total ink, 0 = none, full scale = 100 %; screened plates already averaged
        over a disc.
    lightness : (rows, cols) ndarray of int16
        L* of the predicted print times `lookup.LIGHTNESS_SCALE`.
    amounts : (I, rows, cols) ndarray or None
        Ink amounts for colour, where screened plates grow at their edges; None: `planes`.
    srgb8 : (rows, cols, 3) ndarray of uint8 or None
        Predicted colour, clipped to sRGB; None where nothing but lightness was asked for.
    """

    rows: slice
    cols: slice
    planes: Planes
    lightness: NDArray[np.int16]
    amounts: Planes | None = None
    srgb8: NDArray[np.uint8] | None = None

    @property
    def for_colour(self) -> Planes:
        """Ink amounts as they are looked up."""
        return self.planes if self.amounts is None else self.amounts

    @property
    def full(self) -> int:
        """Steps that make 100 %: 255 or 65535."""
        return full_scale(self.planes)


def as_planes(values: NDArray[Any]) -> Planes:
    """Ink amounts of 8 or 16 bits as they are, laid out for compiled loops."""
    planes: Planes = np.ascontiguousarray(values)
    return planes


def full_scale(planes: Planes) -> int:
    """Steps that make 100 % at the depth of these planes."""
    return int(np.iinfo(planes.dtype).max)


def steps_at_most(pct: float, full: int) -> int:
    """Most steps that do not exceed a percentage; a sum of steps exceeds it if it exceeds this."""
    return math.floor(pct * full / 100)


def bands_of(boxes: Iterable[Box], *, most_px: int = BAND_PX) -> Iterator[Box]:
    """The same rectangles in bands of at most so many pixels, or of one row."""
    for rows, cols in boxes:
        height = max(1, most_px // max(1, cols.stop - cols.start))
        for top in range(rows.start, rows.stop, height):
            yield slice(top, min(top + height, rows.stop)), cols


def overlap(one: Box, other: Box) -> bool:
    """Whether two rectangles share a pixel."""
    return all(a.start < b.stop and b.start < a.stop for a, b in zip(one, other, strict=True))
