"""Head and foot of a sheet: title, what it is of, how sure it is, and the key to the marks."""

from collections.abc import Sequence

from inkmix.jobs.overprints.sheet import OverprintSheet
from inkmix.pages.overprints import shades
from inkmix.pages.overprints.canvas import Canvas, hatching
from inkmix.pages.overprints.layout import Frame
from inkmix.pages.overprints.letters import ITALIC, MM_PER_PT, fitted, sizes_on, width_mm, wrapped
from inkmix.pages.overprints.words import facts, figures_words, key_words, subtitle
from inkmix.sheet.box import Box

TITLE_PT = (34.0, 30.0, 26.0, 22.0, 18.0, 14.0)
FACTS_PT = (8.0, 7.4, 6.8, 6.2, 5.6, 5.0)
FACTS_TOP, FACTS_ROOM = 14.0, 30.0  # mm
LEADING = 1.34
KEY_PT = 6.5
SAMPLE_MM = 3.4


def draw_head(sheet: OverprintSheet, canvas: Canvas, frame: Frame, *, k: float) -> None:
    """Title on the left, facts on the right."""
    left, right = frame.left, frame.right
    title, size_pt = fitted(
        sheet.title, sizes_pt=[size * k for size in TITLE_PT], room_mm=left.width
    )
    canvas.text(title, left.x, 27 * k, size_pt=size_pt, colour=shades.INK)
    words, size_pt = fitted(
        subtitle(sheet), font=ITALIC, sizes_pt=sizes_on(k, (11.0, 9.0, 7.0)), room_mm=left.width
    )
    canvas.text(words, left.x, 35.5 * k, size_pt=size_pt, colour=shades.SECOND, font=ITALIC)
    lines, size_pt = _facts(sheet, right.width, k=k)
    for number, line in enumerate(lines):
        y = FACTS_TOP * k + number * LEADING * size_pt * MM_PER_PT
        canvas.text(line, right.x, y, size_pt=size_pt, colour=shades.INK)


def _facts(sheet: OverprintSheet, width: float, *, k: float) -> tuple[Sequence[str], float]:
    """The facts in lines, as large as all of them fit; in the smallest type the last are cut."""
    for size_pt in sizes_on(k, FACTS_PT):
        lines = [
            line for fact in facts(sheet) for line in wrapped(fact, size_pt=size_pt, room_mm=width)
        ]
        most = 1 + int(FACTS_ROOM * k / (LEADING * size_pt * MM_PER_PT))
        if len(lines) <= most:
            break
    return lines[:most], size_pt


def draw_foot(sheet: OverprintSheet, canvas: Canvas, frame: Frame, *, k: float) -> None:
    """Samples of the marks with their meaning, then what the figures are."""
    x, y, side = frame.left.x, frame.left.bottom + 7.5 * k, SAMPLE_MM * k
    (size_pt,) = sizes_on(k, (KEY_PT,))
    for kind, words in key_words(sheet):
        _sample(kind, canvas, Box(x=x, y=y - 0.78 * side, width=side, height=side), k=k)
        x += (2.3 if kind == "bridge" else 1.0) * side + 1.6 * k
        canvas.text(words, x, y, size_pt=size_pt, colour=shades.SOFT)
        x += width_mm(words, size_pt=size_pt) + 7 * k
    canvas.text(figures_words(sheet), frame.left.x, y + 5 * k, size_pt=size_pt, colour=shades.SOFT)


def _sample(kind: str, canvas: Canvas, box: Box, *, k: float) -> None:
    """One mark, as it looks on fields."""
    if kind == "letter":
        canvas.fields([box], [shades.SOFT])
        canvas.text("a", box.right - 0.5 * k, box.bottom - 0.7 * k, size_pt=6 * k,
                    colour=canvas.ground, font=ITALIC, align="right")  # fmt: skip
        return
    canvas.fields([box], [shades.SOFT])
    if kind == "bridge":
        other = Box(x=box.x + 1.3 * box.width, y=box.y, width=box.width, height=box.height)
        bridge = Box(x=box.right, y=box.y + 0.35 * box.height, width=0.3 * box.width,
                     height=0.3 * box.height)  # fmt: skip
        canvas.fields([other, bridge], [shades.SOFT, shades.SOFT])
    elif kind == "hatch":
        canvas.lines(list(hatching(box, step_mm=1.1 * k)), canvas.ground, width_mm=0.16 * k)
    elif kind == "corner":
        cut = 0.45 * box.width
        corner = [(box.right - cut, box.y), (box.right, box.y), (box.right, box.y + cut)]
        canvas.shapes([corner], [canvas.ground])
