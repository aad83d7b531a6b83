"""Numbers as a zlib stream, packed by whatever is fast on such."""

from typing import Any

import imagecodecs
import numpy as np
from numpy.typing import NDArray

_GRAIN_LEVEL, _FLAT_LEVEL = 1, 2
"""Of libdeflate on grain, of zlib-ng where most pixels are as their left neighbours: 16 and 1 ns a
pixel, the other way round 29 and 7, and neither makes larger files."""
_FLAT_SHARE = 0.25
"""Segments are flat where fewer of their differences are not zero."""


def deflated(differences: NDArray[Any]) -> bytes:
    """A zlib stream of the bytes of an array of differences from pixel to pixel."""
    buffer: Any = differences
    is_flat = np.count_nonzero(differences) < _FLAT_SHARE * differences.size
    if is_flat and imagecodecs.ZLIBNG.available:
        return bytes(imagecodecs.zlibng_encode(buffer, level=_FLAT_LEVEL))
    return bytes(imagecodecs.deflate_encode(buffer, level=_GRAIN_LEVEL))
