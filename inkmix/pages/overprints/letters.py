"""Type on the sheet: which font draws a text, how wide it is, and what fits a line.

The fonts are those that come with the drawing library, taken by their files, so that no font of the
machine changes a sheet. Only here and in canvas.py is that library known.
"""

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

PLAIN, ITALIC = "STIXGeneral.ttf", "STIXGeneralItalic.ttf"
FALLBACK = "DejaVuSans.ttf"
"""For letters that the first choice lacks."""

LEAST_PT = 5.5
"""Smaller type is not set: what has no room says less (common practice in print: 6 pt, never 5)."""

MISSING = "\N{WHITE SQUARE}"
"""Stands for a letter that no font here has."""

MM_PER_PT = 25.4 / 72
_MEASURED_PT = 100
_CUT = "…"


@lru_cache(maxsize=4096)
def drawable(text: str, font: str) -> tuple[str, str]:
    """A text on one line, and the font that has all of its letters; none has the squares' ones."""
    text = "".join(" " if one.isspace() or not one.isprintable() else one for one in text)
    for choice in (font, FALLBACK):
        if all(ord(letter) in _letters(choice) for letter in text):
            return text, choice
    known = _letters(FALLBACK)
    return "".join(one if ord(one) in known else MISSING for one in text), FALLBACK


def width_mm(text: str, *, font: str = PLAIN, size_pt: float) -> float:
    """Width of a line, unhinted."""
    return _width(text, font) * size_pt * MM_PER_PT


def sizes_on(scale: float, sizes_pt: Sequence[float]) -> tuple[float, ...]:
    """Sizes of an A3 page on one of another scale, the largest first, none below LEAST_PT.

    >>> sizes_on(1.0, (7.0, 5.0)), sizes_on(0.5, (14.0, 5.0, 4.0))
    ((7.0, 5.5), (7.0, 5.5))
    """
    return tuple(dict.fromkeys(max(size * scale, LEAST_PT) for size in sizes_pt))


def fitted(
    text: str, *, font: str = PLAIN, sizes_pt: Sequence[float], room_mm: float
) -> tuple[str, float]:
    """A line in the largest size that fits; in the smallest it is cut."""
    for size_pt in sizes_pt:
        if width_mm(text, font=font, size_pt=size_pt) <= room_mm:
            return text, size_pt
    smallest = sizes_pt[-1]
    while text and width_mm(text + _CUT, font=font, size_pt=smallest) > room_mm:
        text = text[:-1]
    return text.rstrip() + _CUT, smallest


def wrapped(text: str, *, size_pt: float, room_mm: float) -> Iterator[str]:
    """Lines of a text that are no wider than the room; a longer word is cut."""
    line = ""
    for word in text.split(" "):
        longer = f"{line} {word}" if line else word
        if not line or width_mm(longer, size_pt=size_pt) <= room_mm:
            line = longer
        else:
            yield fitted(line, sizes_pt=(size_pt,), room_mm=room_mm)[0]
            line = word
    yield fitted(line, sizes_pt=(size_pt,), room_mm=room_mm)[0]


def font_file(name: str) -> Path:
    """The file of one of the fonts."""
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name


@lru_cache(maxsize=16384)
def _width(text: str, font: str) -> float:
    """Width of a line over the type size."""
    from matplotlib.ft2font import LoadFlags

    text, font = drawable(text, font)
    face = _face(font)
    face.set_text(text, 0.0, flags=LoadFlags.NO_HINTING)
    return float(face.get_width_height()[0]) / 64 / _MEASURED_PT


@cache
def _face(name: str) -> Any:
    from matplotlib.ft2font import FT2Font

    face = FT2Font(str(font_file(name)))
    face.set_size(_MEASURED_PT, 72)
    return face


@cache
def _letters(name: str) -> frozenset[int]:
    return frozenset(_face(name).get_charmap())
