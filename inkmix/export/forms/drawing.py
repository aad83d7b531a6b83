"""What is on a form, and its pixels: every pixel holds one mix out of a list.

A plate shows its part of the mix, a picture its colour, so that neither can differ from the other.
The first mixes are the darkest ink by 255ths, which the edges of words need; words in another ink
have such a list of their own.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.export.forms.lettering import word_mask
from inkmix.sheet.box import Box
from inkmix.sheet.geometry import MM_PER_INCH

GREYS = 256

Indices = NDArray[np.uint16]


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A rectangle full of one mix."""

    box: Box
    mix: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """A line of type; x and y are of one end or the middle of its base line.

    `first` is the mix without ink from which the 255ths of its ink are counted: 0 for the darkest.
    """

    text: str
    x: float
    y: float
    size_pt: float
    align: Literal["left", "middle", "right"] = "left"
    first: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormDrawing:
    """A form ready to become pixels.

    Parameters
    ----------
    mixes : (K, I) array
        Tone values, %; the first GREYS are those of the darkest ink by 255ths.
    areas : tuple of Area
        Later ones lie on earlier ones.
    words : tuple of Words
        On all of them.
    """

    width_mm: float
    height_mm: float
    mixes: FloatArray
    areas: tuple[Area, ...]
    words: tuple[Words, ...]


class FormPixels:
    """The drawing at one resolution; any rows of it can be asked for."""

    def __init__(self, drawing: FormDrawing, *, ppi: float) -> None:
        self.width_px, self.height_px = size_px(drawing.width_mm, drawing.height_mm, ppi=ppi)
        self._per_mm = ppi / MM_PER_INCH
        self._areas = [(*self._span(area.box), area.mix) for area in drawing.areas]
        self._words = [self._placed(words, ppi) for words in drawing.words if words.text]

    def rows(self, start: int, stop: int) -> Indices:
        """Index of the mix of every pixel, (rows, cols)."""
        pixels = np.zeros((stop - start, self.width_px), np.uint16)
        for top, bottom, left, right, mix in self._areas:
            if top < stop and bottom > start:
                pixels[max(top - start, 0) : bottom - start, left:right] = mix
        for mask, top, left, none in self._words:
            first, last = max(top, start), min(top + len(mask), stop)
            if first < last:
                room = pixels[first - start : last - start, left : left + mask.shape[1]]
                part = mask[first - top : last - top, : room.shape[1]]
                np.copyto(room, none + part.astype(np.uint16), where=part > 0)
        return pixels

    def _span(self, box: Box) -> tuple[int, int, int, int]:
        """Rows and columns of a box; whatever has a width keeps a pixel."""
        top, left = round(box.y * self._per_mm), round(box.x * self._per_mm)
        bottom = top + max(round(box.height * self._per_mm), 1)
        right = left + max(round(box.width * self._per_mm), 1)
        return max(top, 0), bottom, max(left, 0), right

    def _placed(self, words: Words, ppi: float) -> tuple[NDArray[np.uint8], int, int, int]:
        mask, row, col = word_mask(words.text, size_pt=words.size_pt, ppi=ppi)
        shift = {"left": 0, "middle": -mask.shape[1] // 2, "right": -mask.shape[1]}[words.align]
        top, left = round(words.y * self._per_mm) + row, round(words.x * self._per_mm) + shift
        left += col if words.align == "left" else 0
        cut = mask[max(-top, 0) :, max(-left, 0) :]
        return cut, max(top, 0), max(left, 0), words.first


def size_px(width_mm: float, height_mm: float, *, ppi: float) -> tuple[int, int]:
    """Width and height in pixels."""
    return round(width_mm * ppi / MM_PER_INCH), round(height_mm * ppi / MM_PER_INCH)
