"""Total ink of the pixels of one window, counted; what it means is told in total_ink.py."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled
from inkmix.checks.total_ink.facts import BAND_PCT
from inkmix.checks.window import Counts, Planes, full_scale

BANDS = 100  # up to 1000 %: more than eight plates can hold
NO_LIMIT_STEPS = 1 << 30
_PIECE_PX = 4096  # of a row, summed at once: stays in the first cache


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkCounts:
    """Total ink of one window.

    Parameters
    ----------
    highest : int
        Highest sum, in steps of the planes' depth.
    place : (int, int)
        Row and column in the window of the first pixel in raster order that has it.
    over_px : int
        Pixels over the limit.
    bands : (BANDS,) ndarray of int64
        Pixels in bars of BAND_PCT.
    """

    highest: int
    place: tuple[int, int]
    over_px: int
    bands: Counts


def count_ink(planes: Planes, *, limit: int = NO_LIMIT_STEPS) -> InkCounts:
    """Counts of planes (I, rows, cols); `limit` is the highest sum allowed, in steps."""
    count = _compiled if are_compiled() else _plain
    return count(planes, limit)


def ink_sum(planes: Planes) -> NDArray[np.int32]:
    """Sum of planes (I, rows, cols) at each pixel, (rows, cols)."""
    if not are_compiled():
        return np.asarray(planes.sum(axis=0, dtype=np.int32))
    from inkmix.base.kernels import counts

    total = np.empty(planes.shape[1:], np.int32)
    counts.ink_sum(np.ascontiguousarray(planes), total)
    return total


def _plain(planes: Planes, limit: int) -> InkCounts:
    total = planes.sum(axis=0, dtype=np.int32)
    first = int(np.argmax(total))
    bands = np.bincount(_band(total.ravel(), full_scale(planes)), minlength=BANDS)
    return InkCounts(
        highest=int(total.flat[first]),
        place=divmod(first, total.shape[1]),
        over_px=int(np.count_nonzero(total > limit)),
        bands=bands.astype(np.int64),
    )


def _compiled(planes: Planes, limit: int) -> InkCounts:
    from inkmix.base.kernels import counts

    full = full_scale(planes)
    is_deep = planes.dtype == np.uint16
    piece = np.empty(_PIECE_PX, np.int32 if is_deep else np.uint16)
    lanes = np.zeros((4, BANDS if is_deep else full * len(planes) + 1), np.uint32)
    highest, first, over_px = counts.total_ink(np.ascontiguousarray(planes), limit, piece, lanes)
    seen = lanes.sum(axis=0, dtype=np.int64)
    bands = np.zeros(BANDS, np.int64)
    sums = np.arange(len(seen), dtype=np.int32)
    np.add.at(bands, sums if is_deep else _band(sums, full), seen)
    place = divmod(int(first), planes.shape[2])
    return InkCounts(highest=int(highest), place=place, over_px=int(over_px), bands=bands)


def _band(total: NDArray[np.int32], full: int) -> NDArray[np.int32]:
    """Bar of each sum."""
    return total * np.int32(100 // BAND_PCT) // np.int32(full)
