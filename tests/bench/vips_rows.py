"""What a screen does, in libvips: each plate mapped to three bands, all multiplied.

pyvips is asked for here only; it is no dependency of inkmix.
"""

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

NOT_INSTALLED = "pyvips is not installed"


def library(*, threads: int) -> Any:
    """The module, set to a number of threads before it starts; None where it is missing."""
    os.environ["VIPS_CONCURRENCY"] = str(threads)
    try:
        import pyvips
    except (ImportError, OSError):  # the second where libvips itself is missing
        return None
    return pyvips


def multiplying(
    vips: Any, planes: NDArray[np.uint8], layer_srgb8: NDArray[np.uint8]
) -> Callable[[], object]:
    """Multiply planes (inks, rows, cols) in memory, each coloured by (256, 3) of its ink."""
    images = [_image(vips, plane[..., None], "uchar") for plane in planes]
    return lambda: _product(vips, images, layer_srgb8).write_to_memory()


def multiply_files(
    vips: Any, plates: Sequence[Path], target: Path, layer_srgb8: NDArray[np.uint8]
) -> None:
    """The same from files (black is ink) to a TIFF like the one that inkmix writes."""
    images = [vips.Image.new_from_file(str(path), access="sequential") for path in plates]
    layers = layer_srgb8[:, ::-1]  # of ink amounts; files hold light
    product = _product(vips, images, layers)
    product.tiffsave(str(target), compression="deflate", predictor="horizontal")


def _image(vips: Any, pixels: NDArray[Any], kind: str) -> Any:
    rows, cols, bands = pixels.shape
    data = np.ascontiguousarray(pixels).data
    return vips.Image.new_from_memory(data, cols, rows, bands, kind)


def _product(vips: Any, images: Sequence[Any], layer_srgb8: NDArray[np.uint8]) -> Any:
    """Tables of floating point and one rounding at the end: the fastest of seven ways tried."""
    tables = layer_srgb8.astype(np.float32)[:, None] / np.float32(255)
    layers = [
        image.maplut(_image(vips, table, "float"))
        for image, table in zip(images, tables, strict=True)
    ]
    product = layers[0]
    for layer in layers[1:]:
        product = product * layer
    return product.linear(255, 0.5, uchar=True)
