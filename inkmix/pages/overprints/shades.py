"""Colours that the drawing itself needs: type on a field, hatching, quiet lines.

Values of sRGB, 0-1; none of them is a colour of the palette.
"""

from inkmix.colour.colorimetry import decode_srgb1
from inkmix.jobs.overprints.fields import Field, Triple8

INK = (0.114, 0.106, 0.094)
SOFT = (0.361, 0.337, 0.298)
SECOND = (0.153, 0.278, 0.361)
LEAST_CONTRAST = 4.5
"""Of type on its ground (WCAG 2.2, 1.4.3); on any colour white or black reach it."""

_WHITE, _BLACK = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)

Shade = tuple[float, float, float]


def shade(srgb8: Triple8) -> Shade:
    """An 8-bit colour as the canvas takes it."""
    red, green, blue = (value / 255 for value in srgb8)
    return red, green, blue


def contrast(one: Shade, other: Shade) -> float:
    """Contrast of two colours, 1-21 (WCAG 2.2, contrast ratio)."""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def is_dark(srgb8: Triple8) -> bool:
    """Whether white type can be read on it: on all dark and mid colours."""
    return contrast(shade(srgb8), _WHITE) >= LEAST_CONTRAST


def type_on(srgb8: Triple8) -> Shade:
    """The colour of type on a field."""
    return _WHITE if is_dark(srgb8) else _BLACK


def on(field: Field, *, part: float) -> Shade:
    """A shade for lines on a field: this part of the way to the colour of its type."""
    return between(shade(field.srgb8), type_on(field.srgb8), part=part)


def _luminance(colour: Shade) -> float:
    """Relative luminance, 0-1 (WCAG 2.2; IEC 61966-2-1)."""
    red, green, blue = decode_srgb1(colour).tolist()
    return float(0.2126 * red + 0.7152 * green + 0.0722 * blue)


def between(first: Shade, second: Shade, *, part: float) -> Shade:
    """A mixture of two shades."""
    red, green, blue = (a + (b - a) * part for a, b in zip(first, second, strict=True))
    return red, green, blue
