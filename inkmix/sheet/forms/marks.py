"""Marks of a form, as rectangles in layers: corners, register marks, lines and gaps.

Later rectangles lie on earlier ones; those of the layer PAPER take away. Every edge of a line is a
whole number of pixels, so that a plate holds it as it is told.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkmix.sheet.box import Box
from inkmix.sheet.geometry import MM_PER_INCH

PAPER = -1

CORNER_MM = 6.0
_RING, _CORE = 0.2, 0.24
"""Of a corner mark: width of the ring, and side of the odd one's core, as shares of its side."""

LINES_MM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
GAPS_MM = (0.0, 0.1, 0.2, 0.3, 0.5)
TARGET_MM = (44.0, 7.0)
"""Width and height of a target of lines or gaps."""
REGISTER_MM = 6.0
FINE_LINE_MM = 0.15
"""Of register marks and angles, where the process holds it."""
_GROUP_MM = 10.0
_ANGLE_MM = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Layered:
    """A rectangle full of one ink, or of none."""

    box: Box
    layer: int


def corner_mark(box: Box, ink: int, *, is_odd: bool) -> Iterator[Layered]:
    """A square with a square hole; in the hole of the odd one stands a smaller square."""
    side = box.width
    yield Layered(box=box, layer=ink)
    yield Layered(box=_inset(box, _RING * side), layer=PAPER)
    if is_odd:
        yield Layered(box=_inset(box, (1 - _CORE) / 2 * side), layer=ink)


def paper_mark(box: Box, ink: int, *, line_mm: float) -> Iterator[Layered]:
    """Angles around the corners of a patch that nothing is printed in; none lies in the patch."""
    line = line_mm
    for is_right in (False, True):
        for is_low in (False, True):
            x = box.right if is_right else box.x - line
            y = box.bottom if is_low else box.y - line
            left = x + line - _ANGLE_MM if is_right else x
            top = y + line - _ANGLE_MM if is_low else y
            yield Layered(box=Box(x=left, y=y, width=_ANGLE_MM, height=line), layer=ink)
            yield Layered(box=Box(x=x, y=top, width=line, height=_ANGLE_MM), layer=ink)


def register_mark(box: Box, first: int, second: int, *, line_mm: float) -> Iterator[Layered]:
    """A cross whose left and upper arms are of one ink and whose others are of another.

    In register both make straight lines. The arms do not meet, so nothing is printed twice.
    """
    x, y = box.middle
    half, line, hole = box.width / 2, line_mm, 0.08 * box.width
    arm = half - hole
    for layer, at in ((first, -half), (second, hole)):
        yield Layered(box=Box(x=x + at, y=y - line / 2, width=arm, height=line), layer=layer)
        yield Layered(box=Box(x=x - line / 2, y=y + at, width=line, height=arm), layer=layer)


def widths_at(nominal_mm: Sequence[float], *, ppi: float) -> tuple[float, ...]:
    """The widths, mm, of whole pixels that come nearest, each once; 0 stays 0.

    >>> widths_at((0.0, 0.05, 0.1, 0.3), ppi=254)
    (0.0, 0.1, 0.3)
    """
    per_mm = ppi / MM_PER_INCH
    pixels = {max(round(width * per_mm), 1) if width else 0 for width in nominal_mm}
    return tuple(round(count / per_mm, 6) for count in sorted(pixels))


def line_target(box: Box, ink: int, widths_mm: Sequence[float]) -> Iterator[Layered]:
    """Lines of each width: down and across in ink, then down and across left open in a solid."""
    step = (box.width - _GROUP_MM) / 3
    for group in range(4):
        room = Box(x=box.x + group * step, y=box.y, width=_GROUP_MM, height=box.height)
        is_negative, is_across = group >= 2, group % 2 == 1
        if is_negative:
            yield Layered(box=room, layer=ink)
        lines = _lines(room, widths_mm, is_across=is_across, inset_mm=0.8 * is_negative)
        yield from (Layered(box=line, layer=PAPER if is_negative else ink) for line in lines)


def gap_target(box: Box, first: int, second: int, gaps_mm: Sequence[float]) -> Iterator[Layered]:
    """Solids of two inks side by side, with wider and wider gaps between them."""
    step = box.width / len(gaps_mm)
    width = (step - 1.5 - max(gaps_mm)) / 2
    for place, gap in enumerate(gaps_mm):
        x = box.x + place * step
        left = Box(x=x, y=box.y, width=width, height=box.height)
        right = Box(x=x + width + gap, y=box.y, width=width, height=box.height)
        yield Layered(box=left, layer=first)
        yield Layered(box=right, layer=second)


def _lines(
    room: Box, widths_mm: Sequence[float], *, is_across: bool, inset_mm: float
) -> Iterator[Box]:
    along = (room.height if is_across else room.width) - 2 * inset_mm
    step = along / len(widths_mm)
    for place, width in enumerate(widths_mm):
        at = inset_mm + (place + 0.5) * step - width / 2
        if is_across:
            length = room.width - 2 * inset_mm
            yield Box(x=room.x + inset_mm, y=room.y + at, width=length, height=width)
        else:
            length = room.height - 2 * inset_mm
            yield Box(x=room.x + at, y=room.y + inset_mm, width=width, height=length)


def _inset(box: Box, by: float) -> Box:
    return Box(x=box.x + by, y=box.y + by, width=box.width - 2 * by, height=box.height - 2 * by)


def snapped(box: Box, *, ppi: float) -> Box:
    """The box as pixels hold it: its corner on the grid, each side a whole number of pixels."""
    per_mm = ppi / MM_PER_INCH
    x, y = round(box.x * per_mm), round(box.y * per_mm)
    width, height = (max(round(side * per_mm), 1) for side in (box.width, box.height))
    return Box(x=x / per_mm, y=y / per_mm, width=width / per_mm, height=height / per_mm)


def snapped_edges(box: Box, *, ppi: float) -> Box:
    """The box with each edge on the grid of pixels: boxes that touch still touch."""
    per_mm = ppi / MM_PER_INCH
    x, y = round(box.x * per_mm), round(box.y * per_mm)
    right, bottom = round(box.right * per_mm), round(box.bottom * per_mm)
    return Box(x=x / per_mm, y=y / per_mm, width=(right - x) / per_mm, height=(bottom - y) / per_mm)
