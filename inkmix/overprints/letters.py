"""Type on the sheet: which font draws a text, and how wide it is.

The fonts are those that come with the drawing library, taken by their files, so that no font of the
machine changes a sheet. Only here and in draw.py is that library known.
"""

from functools import cache
from pathlib import Path
from typing import Any

PLAIN, ITALIC = "STIXGeneral.ttf", "STIXGeneralItalic.ttf"
FALLBACK = "DejaVuSans.ttf"
"""For letters that the first choice lacks."""

MISSING = "\N{WHITE SQUARE}"
"""Stands for a letter that no font here has."""


def drawable(text: str, font: str) -> tuple[str, str]:
    """A text on one line and the font that has most of its letters; others become squares."""
    text = "".join(" " if one.isspace() or not one.isprintable() else one for one in text)
    for choice in (font, FALLBACK):
        if all(ord(letter) in _letters(choice) for letter in text):
            return text, choice
    known = _letters(FALLBACK)
    return "".join(one if ord(one) in known else MISSING for one in text), FALLBACK


def width_mm(text: str, *, font: str, size_pt: float) -> float:
    """Width of a line, unhinted."""
    from matplotlib.ft2font import LoadFlags

    text, font = drawable(text, font)
    face = _face(font)
    face.set_text(text, 0.0, flags=LoadFlags.NO_HINTING)
    return float(face.get_width_height()[0] / 64 * size_pt / _MEASURED_PT * _MM_PER_PT)


def font_file(name: str) -> Path:
    """The file of one of the fonts."""
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name


_MEASURED_PT = 100
_MM_PER_PT = 25.4 / 72


@cache
def _face(name: str) -> Any:
    from matplotlib.ft2font import FT2Font

    face = FT2Font(str(font_file(name)))
    face.set_size(_MEASURED_PT, 72)
    return face


@cache
def _letters(name: str) -> frozenset[int]:
    return frozenset(_face(name).get_charmap())
