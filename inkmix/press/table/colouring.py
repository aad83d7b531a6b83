"""A table at work: windows of ink amounts to 8-bit sRGB and L*, compiled where that can be had.

The arithmetic is told in lookup.py, whose plain evaluation gives the same bits; nothing of it is
decided here.
"""

import threading
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.base import loops
from inkmix.press.table.lookup import Int16Array, Lookup, PlaneArray, outside_srgb, srgb_to_srgb8

_NODE_BITS = 21  # no table has more nodes
_NO_LIGHTNESS: Int16Array = np.empty(0, np.int16)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coloured:
    """Colours of a window.

    Parameters
    ----------
    srgb8 : (..., 3) uint8 ndarray
        Rounded, and clipped to what sRGB holds.
    lightness : (...) int16 ndarray
        L* times `lookup.LIGHTNESS_SCALE`.
    outside_px : int
        Pixels whose colour lies outside sRGB by half an 8-bit step or more.
    """

    srgb8: NDArray[np.uint8]
    lightness: Int16Array
    outside_px: int


class Colouring:
    """Colours of windows by one table; any number of threads may ask at once."""

    def __init__(self, lookup: Lookup) -> None:
        self.lookup = lookup
        self._local = threading.local()

    def coloured(self, planes: PlaneArray) -> Coloured:
        """Colours of ink amounts (I, ...)."""
        if not loops.are_compiled():
            srgb, lightness = self.lookup.evaluate(planes)
            return Coloured(
                srgb8=srgb_to_srgb8(srgb),
                lightness=lightness,
                outside_px=int(np.count_nonzero(outside_srgb(srgb))),
            )
        lightness = np.empty(planes.shape[1:], np.int16)
        srgb8 = np.empty((*planes.shape[1:], 3), np.uint8)
        outside_px = self._compiled(planes, srgb8.reshape(-1), lightness.reshape(-1))
        return Coloured(srgb8=srgb8, lightness=lightness, outside_px=outside_px)

    def srgb8(self, planes: PlaneArray) -> tuple[NDArray[np.uint8], int]:
        """8-bit sRGB (..., 3) of ink amounts (I, ...) without L*; pixels outside sRGB."""
        if not loops.are_compiled():
            coloured = self.coloured(planes)
            return coloured.srgb8, coloured.outside_px
        srgb8 = np.empty((*planes.shape[1:], 3), np.uint8)
        return srgb8, self._compiled(planes, srgb8.reshape(-1), _NO_LIGHTNESS)

    def lightness(self, planes: PlaneArray) -> Int16Array:
        """L* (...) times `lookup.LIGHTNESS_SCALE` of ink amounts (I, ...)."""
        if not loops.are_compiled():
            return self.lookup.evaluate(planes)[1]
        return self.coloured(planes).lightness

    def _compiled(self, planes: PlaneArray, srgb: NDArray[np.uint8], lightness: Int16Array) -> int:
        from inkmix.base.kernels import colour

        flat = np.ascontiguousarray(planes).reshape(len(planes), -1)
        cells, nodes = self._packed
        return colour.colours(
            tuple(flat), (0,) * len(flat), cells, nodes, self._cache(planes), srgb, lightness
        )

    @cached_property
    def _packed(self) -> tuple[NDArray[np.int64], NDArray[np.uint64]]:
        """The table as the compiled loops take it: one word a plate value, one a node."""
        lookup = self.lookup
        cells = lookup.fractions.astype(np.int64) << 2 * _NODE_BITS
        cells |= lookup.strides[:, None].astype(np.int64) << _NODE_BITS
        cells |= lookup.offsets
        nodes = np.zeros(len(lookup.nodes), np.uint64)
        for field in range(4):
            biased = lookup.nodes[:, field].astype(np.int64) + (1 << 15)
            nodes |= biased.astype(np.uint64) << np.uint64(16 * field)
        # Tables from disk lie the other way round: that would be a second version to compile.
        return np.ascontiguousarray(cells), nodes

    def _cache(self, planes: PlaneArray) -> Any:
        """Colours seen lately by this thread; none where ink amounts do not fit one word."""
        from inkmix.base.kernels import colour

        if len(planes) * planes.dtype.itemsize > 8:
            return np.empty((0, 2), np.uint64)
        if not hasattr(self._local, "cache"):
            self._local.cache = colour.new_cache()
        return self._local.cache
