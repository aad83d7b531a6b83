"""Pictures for the report as bytes: encoding, enlarging small crops, marking a place.

No colour of a mix is computed here.
"""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from inkmix.export.srgb_profile import srgb_profile

JPEG_QUALITY = 88
_DARK, _LIGHT = (20, 20, 20), (250, 250, 250)


def jpeg_bytes(srgb8: NDArray[np.uint8]) -> bytes:
    """A picture (rows, cols, 3) as JPEG with an sRGB profile."""
    return _encoded(Image.fromarray(srgb8))


def resized(srgb8: NDArray[np.uint8], *, width_px: int, height_px: int) -> NDArray[np.uint8]:
    """The picture at another size, by a box filter where it shrinks."""
    image = Image.fromarray(srgb8).resize((width_px, height_px), Image.Resampling.BOX)
    return np.asarray(image)


def marked_jpeg_bytes(
    srgb8: NDArray[np.uint8], *, rows: tuple[float, float], cols: tuple[float, float]
) -> bytes:
    """The same with a rectangle outlined right outside; dark and light lines, no colour.

    `rows` and `cols` are in pixels of the picture, the end not included.
    """
    image = Image.fromarray(srgb8)
    draw = ImageDraw.Draw(image)
    box = (cols[0], rows[0], max(cols[1] - 1, cols[0]), max(rows[1] - 1, rows[0]))
    for grow, colour in ((3, _DARK), (2, _LIGHT), (1, _DARK)):
        draw.rectangle((box[0] - grow, box[1] - grow, box[2] + grow, box[3] + grow), outline=colour)
    return _encoded(image)


def grey_png_bytes(grey8: NDArray[np.uint8]) -> bytes:
    """A map (rows, cols) as PNG: flat fields stay flat."""
    buffer = io.BytesIO()
    Image.fromarray(grey8).save(buffer, "PNG")
    return buffer.getvalue()


def _encoded(image: Image.Image) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=JPEG_QUALITY, subsampling=0, icc_profile=srgb_profile())
    return buffer.getvalue()
