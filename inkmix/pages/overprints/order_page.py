"""A page of tones that another lay-down order would change: two fields side by side, words below.

Left in the order that is predicted, right after the move. Drawn with the canvas, the letters and
the shades of the overprint sheet; what hangs on the order is decided elsewhere.
"""

from collections.abc import Iterator, Sequence
from pathlib import Path

from inkmix.base.words import mix, number
from inkmix.checks.orders.facts import ToneOrder
from inkmix.colour.colorimetry import xyz100_to_triple8
from inkmix.export.picture import write_picture
from inkmix.jobs.orders import BookOrders
from inkmix.pages.overprints import shades
from inkmix.pages.overprints.canvas import Canvas, own_style
from inkmix.pages.overprints.letters import ITALIC, MM_PER_PT, fitted, wrapped
from inkmix.press.inks import Paper
from inkmix.sheet.box import Box

WIDTH_MM, MARGIN, BETWEEN = 210.0, 14.0, 10.0
HEAD, FOOT = 36.0, 22.0
FIELD_MM, WORDS_MM, ROW_GAP = 30.0, 31.0, 3.0
COLUMNS = 2
PPI = 200.0
MOST = 40
"""More tones make a picture that nobody looks at; the sentences hold all of them."""

_TITLE_PT, _TEXT_PT, _NAME_PT, _SMALL_PT = 20.0, 9.0, 10.0, 7.5
_LEADING = 1.4
CAUTION = (
    "Both sides are predicted from the inks alone, for measured mixtures hold for one order. A "
    "prediction on a screen is not a proof: the printer decides the order."
)


def order_page(
    orders: Sequence[ToneOrder], *, title: str, inks: Sequence[str], paper: Paper
) -> Canvas:
    """The page, drawn on the colour of the paper.

    Parameters
    ----------
    orders : sequence of ToneOrder
        At least one; the first MOST are drawn.
    inks : sequence of str
        In the order that is predicted.
    """
    shown = orders[:MOST]
    rows = -(-len(shown) // COLUMNS)
    height = HEAD + rows * (FIELD_MM + WORDS_MM + ROW_GAP) + FOOT
    ground = shades.shade(xyz100_to_triple8(paper.xyz100))
    with own_style():
        canvas = Canvas(WIDTH_MM, height, ground=ground)
        _head(canvas, title, inks)
        for one, box in zip(shown, _boxes(), strict=False):
            _pair(canvas, one, box)
        left_out = len(orders) - len(shown)
        more = f" {left_out} more are not drawn." if left_out else ""
        _lines(canvas, CAUTION + more, Box(x=MARGIN, y=height - FOOT + 8, width=_room(), height=9),
               size_pt=_SMALL_PT, colour=shades.SOFT)  # fmt: skip
    return canvas


def write_order_page(path: Path, orders: BookOrders) -> None:
    """Write the page of a book's orders as a picture, .png or .tif.

    Raises
    ------
    OutputError
        Where it cannot be written, or a file is there that inkmix did not write.
    """
    book, paper = orders.book, orders.condition.paper
    page = order_page(orders.changes, title=book.title, inks=book.ink_names, paper=paper)
    write_picture(path, page.srgb8(ppi=PPI), ppi=PPI)


def _room() -> float:
    return WIDTH_MM - 2 * MARGIN


def _boxes() -> Iterator[Box]:
    """Where pairs of fields lie, row by row."""
    width = (_room() - (COLUMNS - 1) * BETWEEN) / COLUMNS
    for place in range(MOST):
        row, column = divmod(place, COLUMNS)
        y = HEAD + row * (FIELD_MM + WORDS_MM + ROW_GAP)
        yield Box(x=MARGIN + column * (width + BETWEEN), y=y, width=width, height=FIELD_MM)


def _head(canvas: Canvas, title: str, inks: Sequence[str]) -> None:
    sizes = [_TITLE_PT, 16.0, 12.0]
    words, size_pt = fitted(title, sizes_pt=sizes, room_mm=_room())
    canvas.text(words, MARGIN, 16, size_pt=size_pt, colour=shades.INK)
    words = f"What another lay-down order would change. This one: {', then '.join(inks)}."
    box = Box(x=MARGIN, y=20, width=_room(), height=12)
    _lines(canvas, words, box, size_pt=_TEXT_PT, colour=shades.SECOND)


def _pair(canvas: Canvas, one: ToneOrder, box: Box) -> None:
    """Two fields that touch, what each is, and what the move does."""
    half = box.width / 2
    sides = [Box(x=box.x + at * half, y=box.y, width=half, height=box.height) for at in range(2)]
    canvas.fields(sides, [shades.shade(one.srgb8), shades.shade(one.other_srgb8)])
    y = box.bottom + 4
    labels = (("this order", one.lab), (f"{one.ink} {one.to}", one.other_lab))
    for side, (label, lab) in zip(sides, labels, strict=True):
        figures = " ".join(number(value, 0) for value in lab)
        words, size_pt = fitted(f"{label}: Lab {figures}", font=ITALIC,
                                sizes_pt=[_SMALL_PT, 6.5, 5.5], room_mm=half - 1.5)  # fmt: skip
        canvas.text(words, side.x, y, size_pt=size_pt, colour=shades.SOFT, font=ITALIC)
    words, size_pt = fitted(one.name, sizes_pt=[_NAME_PT, 8.5, 7], room_mm=box.width)
    canvas.text(words, box.x, y + 6, size_pt=size_pt, colour=shades.INK)
    under = Box(x=box.x, y=y + 7, width=box.width, height=WORDS_MM - 12)
    _lines(canvas, f"{mix(one.mix_pct)}. {one.sentence}.", under, size_pt=_TEXT_PT,
           colour=shades.INK)  # fmt: skip


def _lines(canvas: Canvas, words: str, box: Box, *, size_pt: float, colour: shades.Shade) -> None:
    """Words in as many lines as they take, in smaller type where the box has no room for them."""
    size = size_pt
    while True:
        lines = list(wrapped(words, size_pt=size, room_mm=box.width))
        leading = _LEADING * size * MM_PER_PT
        if len(lines) * leading <= box.height or size <= 5:
            break
        size -= 0.5
    for place, line in enumerate(lines, 1):
        canvas.text(line, box.x, box.y + place * leading, size_pt=size, colour=colour)
