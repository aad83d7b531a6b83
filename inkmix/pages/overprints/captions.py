"""What is written in fields: as much as their size can hold, in quiet type.

All fields of a group are worded alike and set in one size. Chooses among wordings from the whole
to hardly anything, and breaks lines; draws nothing.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from inkmix.base.words import BARE, fixed, inks, mix, number, percent
from inkmix.jobs.overprints.fields import DARKEST, RAMP, Field
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints.letters import MM_PER_PT, sizes_on, width_mm
from inkmix.sheet.box import Box

LINE = 1.22
"""Line to line, in type sizes."""

SIZES_PT = (7.0, 6.3, 5.6, 5.0, 4.5, 4.0)
"""Type of captions on an A3 sheet; other pages scale them, down to LEAST_PT."""

LETTER_EM = 1.7
"""Room for the letter of fields that look alike, at the end of the last line, in type sizes."""

FREE_IF_OVER = 0.25
"""Share of a field over the limit that its caption leaves to the hatching."""

COLUMNS = (0.0, 0.2, 0.58)
"""Where the parts of a ramp's caption begin, in widths of the field."""

_TAB = "\t"
_Parts = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """Lines of type in a field, and their size; tabs part the columns of a ramp."""

    lines: tuple[str, ...]
    size_pt: float

    @property
    def leading_mm(self) -> float:
        """From line to line."""
        return LINE * self.size_pt * MM_PER_PT


def captions_for(
    sheet: OverprintSheet,
    fields: Sequence[Field],
    boxes: Sequence[Box],
    *,
    kind: str,
    scale: float,
) -> tuple[Caption, ...] | None:
    """The fullest captions that fit every field, in the largest type; None where none do.

    Parameters
    ----------
    kind : str
        Of the fields' block.
    scale : float
        Of the page over A3.
    """
    worded = [tuple(_wordings(sheet, field, kind)) for field in fields]
    for wording in zip(*worded, strict=True):
        for size_pt in sizes_on(scale, SIZES_PT):
            captions = [
                _set(
                    parts,
                    box,
                    size_pt=size_pt,
                    pad=pad_mm(box, scale),
                    over=field.is_over,
                    kind=kind,
                )
                for parts, box, field in zip(wording, boxes, fields, strict=True)
            ]
            if None not in captions:
                return tuple(caption for caption in captions if caption)
    return None


def pad_mm(box: Box, scale: float) -> float:
    """Room between the edge of a field and its type."""
    return min(1.6 * scale, 0.09 * min(box.width, box.height) + 0.25 * scale)


def mix_words(names: Sequence[str], field: Field) -> str:
    """A mix: names alone where all are solid, else with their tone values."""
    used = [(name, tone) for name, tone in zip(names, field.tone_pct, strict=True) if tone]
    if not used:
        return BARE
    if all(tone == 100 for _, tone in used):
        return inks([name for name, _ in used])
    return mix(dict(used))


def _wordings(sheet: OverprintSheet, field: Field, kind: str) -> Iterator[_Parts]:
    """Wordings from the fullest; each is parts, which are pieces that a line break may part."""
    bare = f"{fixed(field.lab[0])} ± {fixed(field.error_L)}"
    L, colour = f"L* {bare}", f"dE00 ± {fixed(field.error_de00)}"
    total = percent(field.total_pct)
    if kind == RAMP:
        yield ((f"{percent(max(field.tone_pct))}{_TAB}{L}{_TAB}{colour}",),)
        yield ((f"{number(max(field.tone_pct))}{_TAB}{L}",),)
        yield ((f"{number(max(field.tone_pct))}{_TAB}{bare}",),)
        yield ((number(max(field.tone_pct)),),)
        return
    mix = mix_words(sheet.inks, field)
    pieces = tuple(mix.replace(" + ", "\n+ ").split("\n"))
    named = ((f"{field.name}:", *pieces) if kind == DARKEST else pieces,)
    short = mix_words(sheet.signs, field).replace(" + ", " ")
    yield *named, (L,), (f"{total} ink, {colour}",)
    yield *named, (L,), (f"{total} ink",), (colour,)
    yield ((f"{' '.join(named[0])}     {L}     {total} ink  ·  {colour}",),)
    yield ((f"{short}     {L}     {total} ink  ·  {colour}",),)
    yield *named, (L,), (total,)
    yield (short,), (bare,), (total,)
    yield tuple(short.split()), (bare,), (total,)
    yield tuple(short.split()), (f"{fixed(field.lab[0])} · {total}",)
    yield ((fixed(field.lab[0], 0),),)


def _set(
    parts: _Parts, box: Box, *, size_pt: float, pad: float, over: bool, kind: str
) -> Caption | None:
    """The caption in this size; None if the field has no room for it."""
    lines = _broken(parts, width=box.width - 2 * pad, size_pt=size_pt)
    if lines is None:
        return None
    caption = Caption(lines=lines, size_pt=size_pt)
    if kind == RAMP:  # one line in the middle, without room around
        return caption if size_pt * MM_PER_PT <= box.height else None
    share = 1 - FREE_IF_OVER if over else 1.0
    room = min(box.height - 1.5 * pad, share * box.height - pad)
    return caption if len(lines) * caption.leading_mm <= room else None


def _broken(parts: _Parts, *, width: float, size_pt: float) -> tuple[str, ...] | None:
    """Lines no wider than the room, each part beginning a new one; None if a piece is wider."""
    lines: list[str] = []
    for place, pieces in enumerate(parts, 1):
        room = width - (LETTER_EM * size_pt * MM_PER_PT if place == len(parts) else 0.0)
        line = ""
        for piece in pieces:
            longer = f"{line} {piece}".strip() if line else piece
            if _fits(longer, room, size_pt):
                line = longer
                continue
            if not line or not _fits(piece, room, size_pt):
                return None
            lines.append(line)
            line = piece
        lines.append(line)
    return tuple(lines)


def _fits(line: str, room: float, size_pt: float) -> bool:
    """Whether a line, or each column of it, is narrow enough."""
    parts = line.split(_TAB)
    if len(parts) == 1:
        return width_mm(line, size_pt=size_pt) <= room
    ends = (*COLUMNS[1 : len(parts)], 1.0)
    return all(
        width_mm(part, size_pt=size_pt) + 0.4 * size_pt * MM_PER_PT <= room * (end - start)
        for part, start, end in zip(parts, COLUMNS, ends, strict=False)
    )
