"""Colours that the drawing itself needs: type on a field, hatching, quiet lines.

Values of sRGB, 0-1; none of them is a colour of the palette.
"""

from inkmix.colour.colorimetry import decode_srgb1
from inkmix.jobs.overprints.fields import Field, Triple8

INK = (0.114, 0.106, 0.094)
SOFT = (0.361, 0.337, 0.298)
SECOND = (0.153, 0.278, 0.361)
_MIDDLE = 0.179  # luminance against which black and white contrast equally by (Y + 0.05)
_WHITE, _BLACK = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)

Shade = tuple[float, float, float]


def shade(srgb8: Triple8) -> Shade:
    """An 8-bit colour as the canvas takes it."""
    red, green, blue = (value / 255 for value in srgb8)
    return red, green, blue


def is_dark(srgb8: Triple8) -> bool:
    """Whether white type reads better than black: by relative luminance of what is shown."""
    red, green, blue = (float(light) for light in decode_srgb1([value / 255 for value in srgb8]))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue < _MIDDLE


def on(field: Field, *, part: float) -> Shade:
    """A shade for what is drawn on a field: this part of the way to white, or to black."""
    target = _WHITE if is_dark(field.srgb8) else _BLACK
    return between(shade(field.srgb8), target, part=part)


def between(first: Shade, second: Shade, *, part: float) -> Shade:
    """A mixture of two shades."""
    red, green, blue = (a + (b - a) * part for a, b in zip(first, second, strict=True))
    return red, green, blue
