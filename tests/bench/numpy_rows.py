"""What a screen does, in NumPy: coloured layers multiplied in float32; and a bare copy."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

_CHUNK_PX = 1 << 16  # intermediate arrays stay in the cache

Planes = NDArray[np.uint8]


def copying(windows: Planes) -> Callable[[], object]:
    """Copy planes (windows, inks, pixels) as they lie."""
    target = np.empty_like(windows)
    return lambda: np.copyto(target, windows)


def multiplying(windows: Planes, layer_srgb8: NDArray[np.uint8]) -> Callable[[], object]:
    """Multiply layers of planes (windows, inks, pixels), each coloured by (256, 3) of its ink."""
    layers = layer_srgb8.astype(np.float32) / 255

    def run() -> NDArray[np.uint8]:
        out = np.empty((windows.shape[0], windows.shape[2], 3), np.uint8)
        for window, target in zip(windows, out, strict=True):
            for start in range(0, window.shape[1], _CHUNK_PX):
                part = slice(start, start + _CHUNK_PX)
                target[part] = _multiplied(window[:, part], layers)
        return out

    return run


def _multiplied(planes: Planes, layers: NDArray[np.float32]) -> NDArray[np.float32]:
    product = layers[0].take(planes[0], axis=0)
    for plane, layer in zip(planes[1:], layers[1:], strict=True):
        product *= layer.take(plane, axis=0)
    product *= np.float32(255)
    product += np.float32(0.5)
    return product
