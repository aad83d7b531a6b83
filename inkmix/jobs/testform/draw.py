"""A form as areas and words: patches, marks, numbers, headings."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.words import listing, number
from inkmix.export.forms.drawing import GREYS, Area, FormDrawing, Words
from inkmix.export.forms.lettering import fitted, width_mm
from inkmix.jobs.testform.order import HEADING_PT
from inkmix.press.forms.values import FormInks, Mix
from inkmix.sheet.box import Box
from inkmix.sheet.forms.layout import FOOT_MM, FormLayout, row_name
from inkmix.sheet.forms.marks import Layered, snapped

NUMBER_PT, LETTER_PT, TITLE_PT, SMALL_PT, TARGET_PT = 5.5, 8.0, 10.0, 6.5, 5.5
LEAST_PT = 5.0
"""Smaller type is hard to read in print."""
_FULL8 = 255
_BETWEEN_MM = 2.5


@dataclass(slots=True, kw_only=True)
class Mixes:
    """All mixes of a form, each once; the first are those of the darkest ink by 255ths."""

    inks: FormInks
    darkest: int
    rows: list[Mix]
    index: dict[Mix, int]

    @classmethod
    def begun(cls, inks: FormInks, darkest: int) -> "Mixes":
        """With those of the darkest ink alone."""
        rows = [tuple(map(float, row)) for row in _by_255ths(inks, darkest)]
        return cls(inks=inks, darkest=darkest, rows=rows, index={})

    def of(self, tone_pct: Mix) -> int:
        """Number of a mix."""
        if tone_pct not in self.index:
            self.index[tone_pct] = len(self.rows)
            self.rows.append(tone_pct)
        return self.index[tone_pct]

    def greys_of(self, ink: int) -> int:
        """Number of the first of an ink's 255ths; a list of them is added."""
        if ink == self.darkest:
            return 0
        first = len(self.rows)
        self.rows += [tuple(map(float, row)) for row in _by_255ths(self.inks, ink)]
        return first

    def solid(self, ink: int) -> int:
        """Number of an ink's solid; none for PAPER."""
        if ink < 0:
            return 0
        return self.of(tuple(map(float, self.inks.tones_of([{ink: 100.0}])[0])))

    def by_name(self, tone_pct: Mix) -> dict[str, float]:
        """Tone values by name of ink."""
        names = [ink.name for ink in self.inks.condition.inks]
        return dict(zip(names, tone_pct, strict=True))

    def as_array(self) -> FloatArray:
        """All of them (K, I)."""
        return np.array(self.rows, dtype=np.float64)


def _by_255ths(inks: FormInks, ink: int) -> FloatArray:
    return inks.tones_of([{ink: 100 * k / _FULL8} for k in range(GREYS)])


def layered(marks: Sequence[Layered], mixes: Mixes, *, ppi: float) -> Iterator[Area]:
    """Marks as areas on whole pixels; what has no width is left out."""
    for mark in marks:
        if mark.box.width > 0 and mark.box.height > 0:
            yield Area(box=snapped(mark.box, ppi=ppi), mix=mixes.solid(mark.layer))


def numbers(layout: FormLayout) -> Iterator[Words]:
    """The number below each patch, and the letter of each row."""
    for at, cell in enumerate(layout.cells):
        box = cell.box
        y = box.bottom + FOOT_MM - 0.7
        yield Words(text=f"{at + 1}", x=box.middle[0], y=y, size_pt=NUMBER_PT, align="middle")
        if cell.place == 1:
            x, base = layout.corners[0].x + 3.0, box.middle[1] + 1.0
            yield Words(text=row_name(cell.row), x=x, y=base, size_pt=LETTER_PT, align="right")


def headings(layout: FormLayout) -> Iterator[Words]:
    """Names of runs."""
    for heading in layout.headings:
        yield Words(text=heading.words, x=heading.x, y=heading.y, size_pt=HEADING_PT)


def titles(
    layout: FormLayout, *, title: Sequence[str], told: Sequence[str], below: Sequence[str]
) -> Iterator[Words]:
    """What the form is, above; how to read it, below. Of each line the first wording that fits."""
    above, foot = layout.words
    lines = ((above, title, TITLE_PT, 2.9), (above, told, SMALL_PT, 5.9))
    for box, wordings, size_pt, down in (*lines, (foot, below, SMALL_PT, 2.5)):
        line, size_pt = _in_room(wordings, size_pt, box.width)
        yield Words(text=line, x=box.x, y=box.y + down, size_pt=size_pt)


def _in_room(wordings: Sequence[str], size_pt: float, room_mm: float) -> tuple[str, float]:
    """The first wording that fits, in type as large as it may be; else the last, cut."""
    for words in wordings:
        for size in np.arange(size_pt, LEAST_PT - 0.01, -0.5).tolist():
            if width_mm(words, size_pt=size) <= room_mm:
                return words, size
    return fitted(wordings[-1], size_pt=LEAST_PT, room_mm=room_mm), LEAST_PT


def names_of_plates(layout: FormLayout, mixes: Mixes) -> Iterator[Words]:
    """The name of every ink in itself, so that each plate says which it is."""
    box, plates = layout.words[1], mixes.inks.plates
    x, room = box.x, box.width / len(plates) - _BETWEEN_MM
    for plate in plates:
        name = fitted(mixes.inks.name(plate), size_pt=SMALL_PT, room_mm=room)
        first = mixes.greys_of(plate)
        yield Words(text=name, x=x, y=box.y + 5.5, size_pt=SMALL_PT, first=first)
        x += width_mm(name, size_pt=SMALL_PT) + _BETWEEN_MM


def target_heading(box: Box, inks: Sequence[str], sizes_mm: Sequence[float]) -> Words:
    """What a target shows, above it."""
    sizes = [number(size, 2) for size in sizes_mm]
    text = f"{' | '.join(inks)} {' '.join(sizes)} mm"
    if width_mm(text, size_pt=TARGET_PT) > box.width:
        ends = f" {sizes[0]} to {sizes[-1]} mm"
        room = box.width - width_mm(ends, size_pt=TARGET_PT)
        text = fitted(" | ".join(inks), size_pt=TARGET_PT, room_mm=room) + ends
    return Words(text=text, x=box.x, y=box.y - 0.9, size_pt=TARGET_PT)


def drawing_of(
    layout: FormLayout, mixes: Mixes, areas: Sequence[Area], words: Sequence[Words]
) -> FormDrawing:
    """All of it."""
    return FormDrawing(
        width_mm=layout.width_mm,
        height_mm=layout.height_mm,
        mixes=mixes.as_array(),
        areas=tuple(areas),
        words=tuple(words),
    )


def in_order(inks: Sequence[str]) -> str:
    """Inks as they are laid down, in words."""
    return f"printed in the order {listing(inks)}" if len(inks) > 1 else f"printed in {inks[0]}"
