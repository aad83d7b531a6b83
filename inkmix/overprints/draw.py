"""Draws a sheet on a canvas: fields, what marks them, and the words beside them.

Sizes on an A3 page; other pages scale all of it. Where fields lie is decided in layout.py, what is
written in them in captions.py.
"""

from inkmix.overprints import shades
from inkmix.overprints.canvas import Canvas, hatching
from inkmix.overprints.captions import LINE, MM_PER_PT, Caption, caption_for, pad_mm
from inkmix.overprints.fields import OVERPRINTS, PAIR, RAMP, Field
from inkmix.overprints.joins import bridges, letters_of
from inkmix.overprints.layout import PAGES_MM, Box, Frame, PlacedBlock, arranged
from inkmix.overprints.letters import ITALIC
from inkmix.overprints.sheet import OverprintSheet
from inkmix.overprints.words import facts, group_words, key_words, subtitle

A3_WIDTH_MM = 420.0
MARGIN, HEAD, FOOT = 15.0, 47.0, 19.0
LEFT_WIDTH, BETWEEN = 168.0, 14.0


def drawn(sheet: OverprintSheet, *, page: str) -> Canvas:
    """The sheet on a page of PAGES_MM, drawn."""
    width, height = PAGES_MM[page]
    return _Drawing(sheet, width, height).canvas


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
    """One sheet on its way to a canvas."""

    def __init__(self, sheet: OverprintSheet, width: float, height: float) -> None:
        self.sheet, self.k = sheet, width / A3_WIDTH_MM
        self.paper = shades.shade(sheet.blocks[0].fields[0].srgb8)
        self.canvas = Canvas(width, height, ground=self.paper)
        self.frame = frame_of(width, height)
        self.placed = arranged(sheet, self.frame)
        for placed in self.placed:
            self._fields(placed)
            self._joins(placed)
            self._names(placed)
        self._head()
        self._foot()

    def _fields(self, placed: PlacedBlock) -> None:
        fields = placed.block.fields
        self.canvas.fields(placed.fields, [shades.shade(field.srgb8) for field in fields])
        for field, box in zip(fields, placed.fields, strict=True):
            caption = None if placed.block.kind == PAIR else self._caption(placed, field, box)
            self._marks(field, box, caption)

    def _caption(self, placed: PlacedBlock, field: Field, box: Box) -> Caption | None:
        caption = caption_for(self.sheet, field, box, kind=placed.block.kind, scale=self.k)
        if caption is None:
            return None
        leading = LINE * caption.size_pt * MM_PER_PT
        x, y = box.x + pad_mm(box), box.bottom - pad_mm(box) - 0.28 * leading
        if placed.block.kind == RAMP:
            y = box.middle[1] + 0.3 * leading
        for number, line in enumerate(reversed(caption.lines)):
            self.canvas.text(
                line, x, y - number * leading, size_pt=caption.size_pt,
                colour=shades.on(field, part=0.82),
            )  # fmt: skip
        return caption

    def _marks(self, field: Field, box: Box, caption: Caption | None) -> None:
        """Bare paper gets an edge, too much ink is hatched, what sRGB lacks has a corner off."""
        if not any(field.tone_pct):
            self.canvas.outline(box, shades.on(field, part=0.28), width_mm=0.12 * self.k)
        if field.is_over:
            kept = 0.0 if caption is None else caption.height_mm + 2 * pad_mm(box)
            open_part = Box(x=box.x, y=box.y, width=box.width, height=max(box.height - kept, 0.0))
            step = min(2.4 * self.k, box.height / 2, box.width / 2)
            if open_part.height > 0.5 * step:
                lines = list(hatching(open_part, step_mm=step))
                self.canvas.lines(lines, shades.on(field, part=0.4), width_mm=0.13 * self.k)
        if not field.in_srgb:
            side = min(2.2 * self.k, 0.3 * box.height, 0.3 * box.width)
            corner = [(box.right - side, box.y), (box.right, box.y), (box.right, box.y + side)]
            self.canvas.shapes([corner], [self.paper])

    def _joins(self, placed: PlacedBlock) -> None:
        """Bridges in the colour of what they join; letters where fields lie apart."""
        fields = placed.block.fields
        found = list(bridges(placed, widest_mm=1.01 * self.frame.group_gap))
        shades_of = [shades.shade(fields[place].srgb8) for place, _ in found]
        self.canvas.fields([bridge for _, bridge in found], shades_of)
        if placed.block.kind != OVERPRINTS:
            return
        size_pt = 7.0 * self.k
        for place, letter in letters_of(placed.block).items():
            box, shade = placed.fields[place], shades.on(fields[place], part=0.82)
            x, y = box.right - 1.2 * self.k, box.y + 0.9 * size_pt * MM_PER_PT
            self.canvas.text(letter, x, y, size_pt=size_pt, colour=shade, font=ITALIC,
                             align="right")  # fmt: skip

    def _names(self, placed: PlacedBlock) -> None:
        for group, box in enumerate(placed.groups):
            self._name(group_words(group, len(self.sheet.inks)), box.x, box.y)
        if placed.block.kind != OVERPRINTS:
            box = placed.fields[0]
            self._name(self._block_words(placed), box.x, box.y)

    def _block_words(self, placed: PlacedBlock) -> str:
        inks = [self.sheet.inks[k] for k in placed.block.inks]
        if placed.block.kind == RAMP:
            return f"{placed.block.inks[0] + 1}  {inks[0]}"
        if placed.block.kind == PAIR:
            return f"{inks[0]} across, {inks[1]} down"
        return "the deepest darks"

    def _name(self, words: str, x: float, y: float) -> None:
        k = self.k
        self.canvas.text(words, x, y - 1.1 * k, size_pt=6.5 * k, colour=shades.SOFT, font=ITALIC)

    def _head(self) -> None:
        k, left = self.k, self.frame.left
        self.canvas.text(self.sheet.title, left.x, 27 * k, size_pt=34 * k, colour=shades.INK)
        self.canvas.text(
            subtitle(self.sheet), left.x, 35.5 * k, size_pt=11 * k, colour=shades.SECOND,
            font=ITALIC,
        )  # fmt: skip
        for number, line in enumerate(facts(self.sheet)):
            self.canvas.text(line, self.frame.right.x, (19.5 + 4.1 * number) * k, size_pt=8 * k,
                             colour=shades.INK)  # fmt: skip

    def _foot(self) -> None:
        k, y = self.k, self.canvas.height_mm - 9.5 * self.k
        for number, line in enumerate(key_words(self.sheet)):
            self.canvas.text(line, self.frame.left.x, y + 3.4 * number * k, size_pt=6.5 * k,
                             colour=shades.SOFT)  # fmt: skip
