"""Draws the fields of a sheet, what marks them and what is written in them.

Sizes are those of an A3 page; other pages scale all of it. Where fields lie is decided in
layout.py, their captions in captions.py; head and foot are drawn by margins.py.
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate

from inkmix.base.words import number
from inkmix.jobs.overprints.fields import OVERPRINTS, PAIR, RAMP, Field
from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints import shades
from inkmix.pages.overprints.canvas import Canvas, hatching, own_style
from inkmix.pages.overprints.captions import COLUMNS, LINE, Caption, captions_for, pad_mm
from inkmix.pages.overprints.joins import bridges, letters_of
from inkmix.pages.overprints.layout import PAGES_MM, Frame, PlacedBlock, arranged
from inkmix.pages.overprints.letters import ITALIC, LEAST_PT, MM_PER_PT, fitted, sizes_on, width_mm
from inkmix.pages.overprints.margins import draw_foot, draw_head
from inkmix.pages.overprints.words import block_words, group_words
from inkmix.sheet.box import Box

A3_WIDTH_MM = 420.0
MARGIN, HEAD, FOOT = 15.0, 47.0, 22.0
LEFT_WIDTH, BETWEEN = 168.0, 14.0

NAME_PT = (6.5, 6.0, 5.5, 5.0, 4.5)
TICK_PT = (6.5, 6.0, 5.5)
QUIET, FAINT = 0.5, 0.28
"""How far hatching and edges stand off from their field."""


def drawn(sheet: OverprintSheet, *, page: str) -> Canvas:
    """The sheet on a page of PAGES_MM, drawn."""
    width, height = PAGES_MM[page]
    k, frame = width / A3_WIDTH_MM, frame_of(width, height)
    with own_style():
        canvas = Canvas(width, height, ground=shades.shade(sheet.blocks[0].fields[0].srgb8))
        for placed in arranged(sheet.blocks, frame):
            _Drawing(sheet, placed, frame, canvas, k).draw()
        draw_head(sheet, canvas, frame, k=k)
        draw_foot(sheet, canvas, frame, k=k)
    return canvas


def frame_of(width: float, height: float) -> Frame:
    """The measures of the design on a page."""
    k = width / A3_WIDTH_MM
    top, room = HEAD * k, height - (HEAD + FOOT) * k
    right = (MARGIN + LEFT_WIDTH + BETWEEN) * k
    return Frame(
        left=Box(x=MARGIN * k, y=top, width=LEFT_WIDTH * k, height=room),
        right=Box(x=right, y=top, width=width - MARGIN * k - right, height=room),
        gap=1.1 * k,
        group_gap=4.4 * k,
        head=4.4 * k,
        cell_gap=4.2 * k,
        tint_gap=0.5 * k,
    )


class _Drawing:
    """One block on its way to the canvas; `k` is the scale of the page over A3."""

    def __init__(
        self,
        sheet: OverprintSheet,
        placed: PlacedBlock,
        frame: Frame,
        canvas: Canvas,
        k: float,
    ) -> None:
        self.sheet, self.placed, self.frame, self.canvas, self.k = sheet, placed, frame, canvas, k
        self.fields, self.kind = placed.block.fields, placed.block.kind
        self.letters = letters_of(placed.block) if self.kind == OVERPRINTS else {}

    def draw(self) -> None:
        """Draw all of it."""
        shades_of = [shades.shade(field.srgb8) for field in self.fields]
        self.canvas.fields(self.placed.fields, shades_of)
        for start, end in self._groups():
            fields, boxes = self.fields[start:end], self.placed.fields[start:end]
            captions = self._captions(fields, boxes)
            for place, caption in zip(range(start, end), captions, strict=True):
                self._mark(place, caption)
                self._write(place, caption)
        if self.kind == PAIR:
            self._ticks()
        self._bridges(list(self._names()))

    def _groups(self) -> Iterator[tuple[int, int]]:
        """First field and end of what is worded alike."""
        sizes = self.placed.block.groups if self.kind == OVERPRINTS else (len(self.fields),)
        ends = list(accumulate(sizes))
        return zip([0, *ends[:-1]], ends, strict=True)

    def _captions(self, fields: Sequence[Field], boxes: Sequence[Box]) -> Sequence[Caption | None]:
        if self.kind == PAIR:
            return [None] * len(fields)
        found = captions_for(self.sheet, fields, boxes, kind=self.kind, scale=self.k)
        return found or [None] * len(fields)

    def _write(self, place: int, caption: Caption | None) -> None:
        field, box = self.fields[place], self.placed.fields[place]
        colour, pad = shades.type_on(field.srgb8), pad_mm(box, self.k)
        size_pt = min(max(5.0 * self.k, LEAST_PT), 0.5 * box.height / MM_PER_PT)
        base = box.bottom - pad
        if caption is not None:
            size_pt, base = caption.size_pt, base - 0.24 * caption.leading_mm
            if self.kind == RAMP:
                base = box.middle[1] + 0.3 * caption.leading_mm
            for number, line in enumerate(reversed(caption.lines)):
                y = base - number * caption.leading_mm
                for part, column in zip(line.split("\t"), COLUMNS, strict=False):
                    x = box.x + pad + column * (box.width - 2 * pad)
                    self.canvas.text(part, x, y, size_pt=size_pt, colour=colour)
        if place in self.letters:
            self.canvas.text(
                self.letters[place], box.right - pad, base, size_pt=size_pt, colour=colour,
                font=ITALIC, align="right",
            )  # fmt: skip

    def _ticks(self) -> None:
        """Tone values of the first line and the first column, where type of any size fits them."""
        side, box = len(self.placed.block.groups), self.placed.fields[0]
        room = min((box.width - 0.4 * self.k) / width_mm("100", size_pt=1.0),
                   box.height / (LINE * MM_PER_PT))  # fmt: skip
        size_pt = next((size for size in sizes_on(self.k, TICK_PT) if size <= room), None)
        if size_pt is None:
            return
        for place in (*range(side), *range(side, side * side, side)):
            field, box = self.fields[place], self.placed.fields[place]
            x, y = box.middle
            self.canvas.text(
                number(max(field.tone_pct)), x, y + 0.33 * size_pt * MM_PER_PT,
                size_pt=size_pt, colour=shades.type_on(field.srgb8), align="center",
            )  # fmt: skip

    def _mark(self, place: int, caption: Caption | None) -> None:
        """Bare paper gets an edge, too much ink is hatched, what sRGB lacks has a corner off."""
        field, box = self.fields[place], self.placed.fields[place]
        if not any(field.tone_pct):
            self.canvas.outline(box, shades.on(field, part=FAINT), width_mm=0.12 * self.k)
        if field.is_over:
            self._hatch(field, box, caption)
        if not field.in_srgb:
            side = min(2.2 * self.k, 0.3 * box.height, 0.3 * box.width)
            corner = [(box.right - side, box.y), (box.right, box.y), (box.right, box.y + side)]
            self.canvas.shapes([corner], [self.canvas.ground])

    def _hatch(self, field: Field, box: Box, caption: Caption | None) -> None:
        """Lines over what the caption leaves free."""
        kept = 0.0
        if caption is not None:
            kept = len(caption.lines) * caption.leading_mm + pad_mm(box, self.k)
        open_mm = box.height - kept
        step = min(2.2 * self.k, box.height / 2, box.width / 2)
        lines = hatching(Box(x=box.x, y=box.y, width=box.width, height=open_mm), step_mm=step)
        self.canvas.lines(list(lines), shades.on(field, part=QUIET), width_mm=0.14 * self.k)

    def _bridges(self, names: Sequence[Box]) -> None:
        """In the colour of what they join; not through a name."""
        gap = self.frame.gap if self.kind == OVERPRINTS else self.frame.group_gap
        found = [
            (place, bridge)
            for place, bridge in bridges(self.placed, gap_mm=gap, line_mm=0.9 * self.k)
            if not any(bridge.meets(name) for name in names)
        ]
        colours = [shades.shade(self.fields[place].srgb8) for place, _ in found]
        self.canvas.fields([bridge for _, bridge in found], colours)

    def _names(self) -> Iterator[Box]:
        """Write the names of groups or of the block; the room that each takes."""
        if self.kind == OVERPRINTS:
            count = len(self.sheet.inks)
            for group, box in enumerate(self.placed.groups):
                yield self._name([group_words(group, count)], box)
        else:
            yield self._name(block_words(self.sheet, self.placed.block), self.placed.box)

    def _name(self, wordings: Sequence[str], box: Box) -> Box:
        """The first wording that fits over a box, in italics."""
        k = self.k
        top = box.y if self.kind != OVERPRINTS else box.y - self.frame.head
        sizes = sizes_on(k, NAME_PT)
        fits = (
            words
            for words in wordings
            if width_mm(words, font=ITALIC, size_pt=sizes[-1]) <= box.width
        )
        words = next(fits, wordings[-1])
        words, size_pt = fitted(words, font=ITALIC, sizes_pt=sizes, room_mm=box.width)
        y = top + self.frame.head - 1.1 * k
        self.canvas.text(words, box.x, y, size_pt=size_pt, colour=shades.SOFT, font=ITALIC)
        width = width_mm(words, font=ITALIC, size_pt=size_pt)
        return Box(x=box.x, y=top, width=width + 2 * k, height=self.frame.head)
