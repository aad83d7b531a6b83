"""Small pictures of the whole print in which only some of its cells keep their colour."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from inkmix.base.arrays import BoolArray
from inkmix.checks.check import Answer
from inkmix.jobs.printing.pictures import jpeg_bytes, resized

PIXELS = 100_000
"""Of a picture, some ten kilobytes, whatever the shape of the sheet."""

FADED = 0.22
"""How much of its contrast the rest of the print keeps, in grey: enough to find one's way."""


def spotlights(answers: Iterable[Answer], printed: NDArray[np.uint8]) -> dict[str, bytes]:
    """JPEG for each key of the answers' cells; `printed` (rows, cols, 3) is the whole print."""
    height, width = printed.shape[:2]
    scale = min(1.0, (PIXELS / (height * width)) ** 0.5)
    size = {"width_px": max(1, round(width * scale)), "height_px": max(1, round(height * scale))}
    small = resized(printed, **size)
    cells = {key: where for answer in answers for key, where in answer.cells.items()}
    return {key: jpeg_bytes(_spotlight(small, where)) for key, where in cells.items()}


def _spotlight(srgb8: NDArray[np.uint8], cells: BoolArray) -> NDArray[np.uint8]:
    """Everything else in pale grey; cells as sharp as they are."""
    grey = srgb8.mean(axis=2, keepdims=True)
    faded = 255 - FADED * (255 - grey)
    height, width = srgb8.shape[:2]
    light = Image.fromarray(cells).resize((width, height), Image.Resampling.NEAREST)
    return np.where(np.asarray(light)[..., None], srgb8, faded).astype(np.uint8)
