"""Words of a form as grey masks: one typeface for all, taken by its file.

The same words give the same pixels on every machine: the font comes with the drawing library, and
the plain layout of letters is asked for.
"""

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.sheet.geometry import MM_PER_INCH

_FONT = "DejaVuSans.ttf"
_PT_PER_INCH = 72
_MEASURED_PX = 200
_CUT = "…"


def word_mask(words: str, *, size_pt: float, ppi: float) -> tuple[NDArray[np.uint8], int, int]:
    """Ink of a line of type, 0-255, and where its first pixel lies from the start of its base line.

    Returns
    -------
    mask : (rows, cols) array of uint8
    row, col : int
        Of the mask's corner; negative rows lie above the base line.
    """
    from PIL import Image, ImageDraw

    font = _font(max(round(size_pt * ppi / _PT_PER_INCH), 4))
    left, top, right, bottom = (int(side) for side in font.getbbox(words, anchor="ls"))
    size = (max(right - left, 1), max(bottom - top, 1))
    picture = Image.new("L", size)
    ImageDraw.Draw(picture).text((-left, -top), words, fill=255, font=font, anchor="ls")
    return np.asarray(picture), top, left


def width_mm(words: str, *, size_pt: float) -> float:
    """Width of a line of type."""
    width = float(_font(_MEASURED_PX).getlength(words))
    return width / _MEASURED_PX * size_pt * MM_PER_INCH / _PT_PER_INCH


def fitted(words: str, *, size_pt: float, room_mm: float) -> str:
    """The line, or as much of it as has room."""
    if width_mm(words, size_pt=size_pt) <= room_mm:
        return words
    while words and width_mm(words + _CUT, size_pt=size_pt) > room_mm:
        words = words[:-1]
    return words.rstrip() + _CUT if words else ""


def wrapped(words: str, *, size_pt: float, room_mm: float) -> Iterator[str]:
    """Lines of a text, none wider than the room; a longer word is cut."""
    line = ""
    for word in words.split():
        longer = f"{line} {word}".lstrip()
        if line and width_mm(longer, size_pt=size_pt) > room_mm:
            yield fitted(line, size_pt=size_pt, room_mm=room_mm)
            longer = word
        line = longer
    yield fitted(line, size_pt=size_pt, room_mm=room_mm)


@cache
def _font(size_px: int) -> Any:
    import matplotlib
    from PIL import ImageFont

    file = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / _FONT
    return ImageFont.truetype(str(file), size_px, layout_engine=ImageFont.Layout.BASIC)
