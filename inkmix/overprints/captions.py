"""What is written in a field: as much as its size can hold, in quiet type.

Chooses among wordings from the whole to nothing, and breaks lines; draws nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkmix.overprints import letters
from inkmix.overprints.fields import RAMP, Field
from inkmix.overprints.layout import Box
from inkmix.overprints.sheet import OverprintSheet

LINE = 1.22
"""Line to line, in type sizes."""

MM_PER_PT = 25.4 / 72
SIZES_PT = (7.0, 6.3, 5.6, 5.0, 4.5, 4.0)
"""Type of captions on an A3 sheet; other pages scale them."""

LEAST_PT = 3.6
"""Smaller type is not set: the table has the figures."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """Lines of type in a field, and their size."""

    lines: tuple[str, ...]
    size_pt: float

    @property
    def height_mm(self) -> float:
        """From the top of the first line to the foot of the last."""
        return len(self.lines) * LINE * self.size_pt * MM_PER_PT


def caption_for(
    sheet: OverprintSheet, field: Field, box: Box, *, kind: str, scale: float
) -> Caption | None:
    """The fullest caption that fits a field, in the largest type; None where none does.

    Parameters
    ----------
    scale : float
        Of the page over A3.
    """
    pad = pad_mm(box)
    width, height = box.width - 2 * pad, box.height - 2 * pad
    for parts in _wordings(sheet, field, kind):
        for size_pt in (size * scale for size in SIZES_PT):
            if size_pt < LEAST_PT:
                continue
            lines = _broken(parts, width=width, size_pt=size_pt)
            if lines and len(lines) * LINE * size_pt * MM_PER_PT <= height:
                return Caption(lines=lines, size_pt=size_pt)
    return None


def pad_mm(box: Box) -> float:
    """Room between the edge of a field and its type."""
    return min(1.6, 0.09 * min(box.width, box.height) + 0.25)


def mix_words(names: Sequence[str], field: Field) -> str:
    """A mix: names alone where all are solid, else with their tone values."""
    used = [(name, tone) for name, tone in zip(names, field.tone_pct, strict=True) if tone]
    if not used:
        return "bare paper"
    if all(tone == 100 for _, tone in used):
        return " + ".join(name for name, _ in used)
    return " + ".join(f"{name} {tone:g}" for name, tone in used)


def _wordings(
    sheet: OverprintSheet, field: Field, kind: str
) -> Iterator[tuple[tuple[str, ...], ...]]:
    """Wordings from the fullest; each is parts, which are pieces that a line break may part."""
    L, error = f"L* {field.lab[0]:.1f} ± {field.error_L:.1f}", f"dE00 ± {field.error_de00:.1f}"
    ink = f"{field.total_pct:g} % ink"
    names = tuple(mix_words(sheet.inks, field).replace(" + ", "\n+ ").split("\n"))
    signs = mix_words(sheet.signs, field).replace(" + ", " ")
    bare = L.removeprefix("L* ")
    if kind == RAMP:
        (tone,) = (tone for tone in field.tone_pct if tone)
        yield ((f"{tone:g} %   {L}   {error}",),)
        yield ((f"{tone:g}   {bare}",),)
        yield ((f"{tone:g}",),)
        return
    yield names, (L,), (ink, f"· {error}")
    yield names, (L,), (f"{field.total_pct:g} %",)
    yield (signs,), (bare,), (f"{field.total_pct:g} %",)
    yield tuple(signs.split()), (bare,), (f"{field.total_pct:g} %",)
    yield (signs,), (f"{field.lab[0]:.0f}",)


def _broken(
    parts: Sequence[tuple[str, ...]], *, width: float, size_pt: float
) -> tuple[str, ...] | None:
    """Lines no wider than the room, each part beginning a new one; None if a piece is wider."""
    lines: list[str] = []
    for pieces in parts:
        line = ""
        for piece in pieces:
            longer = f"{line} {piece}".strip()
            if _width(longer, size_pt) <= width:
                line = longer
                continue
            if not line or _width(piece, size_pt) > width:
                return None
            lines.append(line)
            line = piece
        lines.append(line)
    return tuple(lines)


def _width(text: str, size_pt: float) -> float:
    return letters.width_mm(text, font=letters.PLAIN, size_pt=size_pt)
