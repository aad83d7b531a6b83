"""Pixels of a night area in one window, counted; what the counts say is told in night_counts.py."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled
from inkmix.checks.window import Counts, Mask, Planes
from inkmix.press.table.lookup import LIGHTNESS_SCALE

LEVELS = 1 << 15
"""Levels of lightness that are counted one by one: L* 0 to 128."""

MIX_LEVELS = LIGHTNESS_SCALE // 4
"""Levels that share one sum of ink amounts: a quarter of L*."""

NO_LIMIT_LEVEL = LEVELS
"""A level that nothing exceeds."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightPixels:
    """Masked pixels of one window.

    Parameters
    ----------
    levels : (LEVELS,) ndarray of int64
        Pixels of each lightness.
    mixes : (LEVELS / MIX_LEVELS, I) ndarray of int64
        Sum of each plate over the pixels of a quarter of L*, in steps of the planes' depth.
    rows, cols : slice
        Where masked pixels lie in the window; empty where none does.
    too_light_px : int
        Pixels above the limit.
    """

    levels: Counts
    mixes: Counts
    rows: slice
    cols: slice
    too_light_px: int


def count_night_pixels(
    planes: Planes, lightness: NDArray[np.int16], mask: Mask, *, limit: int = NO_LIMIT_LEVEL
) -> NightPixels:
    """Counts of planes (I, rows, cols) under a mask (rows, cols), by lightness (rows, cols).

    `limit` is the lightest level allowed.
    """
    count = _compiled if are_compiled() else _plain
    return count(planes, lightness, mask, limit)


def _plain(planes: Planes, lightness: NDArray[np.int16], mask: Mask, limit: int) -> NightPixels:
    inside = lightness[mask]
    level = np.maximum(inside, 0).astype(np.int64)
    sums = [
        np.bincount(level // MIX_LEVELS, weights=plane[mask], minlength=LEVELS // MIX_LEVELS)
        for plane in planes  # sums of float64 are exact here: far below 2**53
    ]
    return NightPixels(
        levels=np.bincount(level, minlength=LEVELS).astype(np.int64),
        mixes=np.stack(sums, axis=1).astype(np.int64),
        rows=_span(np.any(mask, axis=1)),
        cols=_span(np.any(mask, axis=0)),
        too_light_px=int(np.count_nonzero(inside > limit)),
    )


def _compiled(planes: Planes, lightness: NDArray[np.int16], mask: Mask, limit: int) -> NightPixels:
    from inkmix.base.kernels import night

    levels = np.zeros(LEVELS, np.int64)
    mixes = np.zeros((LEVELS // MIX_LEVELS, len(planes)), np.int64)
    extent = np.array([*mask.shape, 0, 0], np.int64)
    too_light = night.count(
        np.ascontiguousarray(planes),
        np.ascontiguousarray(lightness),
        np.ascontiguousarray(mask),
        (levels, mixes),
        extent,
        limit,
    )
    top, left, bottom, right = extent.tolist()
    is_empty = bottom == 0
    return NightPixels(
        levels=levels,
        mixes=mixes,
        rows=slice(0, 0) if is_empty else slice(top, bottom),
        cols=slice(0, 0) if is_empty else slice(left, right),
        too_light_px=int(too_light),
    )


def _span(is_set: Mask) -> slice:
    """From the first to the last set element."""
    places = np.flatnonzero(is_set)
    return slice(int(places[0]), int(places[-1]) + 1) if len(places) else slice(0, 0)
