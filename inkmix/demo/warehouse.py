"""The warehouses on the quay: brick, shade, windows, a hoist."""

import numpy as np

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.canvas import Polygon
from inkmix.demo.light import windows
from inkmix.demo.shapes import arch, box, disc, line, outline, ribbon
from inkmix.demo.tones import PAINTS

WAREHOUSE = outline(
    (-6, 125), (-6, 42), (2, 42), (2, 34), (8, 34), (8, 26), (14, 26), (14, 19), (24, 19), (24, 26),
    (30, 26), (30, 34), (36, 34), (36, 42), (43, 42), (43, 125),
)  # fmt: skip
ANNEXE = outline((43, 124), (43, 72), (54, 58), (65, 72), (65, 123))


def paint_walls(brush: Brush) -> None:
    """Both fronts, the shade on them, bricks, caps, windows."""
    brush.canvas.lay(
        {"Soot": 66, "Rowan": 62, "Fjord": 30, "Brass": 6},
        brush.cut([ANNEXE], rough_mm=0.2, dry=0.4),
    )
    brush.canvas.lay(PAINTS["quay brick"], brush.cut([WAREHOUSE], rough_mm=0.2, dry=0.4))
    shade = outline((-6, 125), (-6, 18), (12, 18), (10, 60), (16, 125))
    brush.canvas.glaze({"Soot": 40, "Fjord": 34}, brush.cut([shade], rough_mm=2.4, dry=1.0))
    _paint_bricks(brush)
    caps = [
        box(x, y - 0.8, 7.4, 1.5)
        for x, y in ((1.4, 34), (7.4, 26), (23.4, 26), (29.4, 34), (35.4, 42), (-6, 42))
    ]
    caps += [
        box(13.4, 18.2, 11.4, 1.6),
        ribbon([(42, 73.4), (54, 57.6), (66, 73.4)], [1.6, 1.8, 1.6]),
    ]
    brush.canvas.lay(
        {"Soot": 86, "Fjord": 50, "Rowan": 30}, brush.cut(caps, rough_mm=0.12, dry=0.4)
    )
    _paint_openings(brush)


def _paint_bricks(brush: Brush) -> None:
    random = brush.random("bricks")
    x, y = random.uniform(-4, 42, 420), 20 + 1.9 * random.integers(0, 55, 420)
    courses = strokes(
        random,
        x=x,
        y=y.astype(float),
        long_mm=random.uniform(1.6, 5, 420),
        thick_mm=random.uniform(0.2, 0.42, 420),
    )
    inside = (y > 44) | (np.abs(x - 19) < 19 - 0.72 * (44 - y))
    inside &= (x + 3 < 43) & (x > -6)
    brush.canvas.glaze(
        {"Soot": 46, "Rowan": 20}, brush.cut(courses[inside][::2], rough_mm=0.1, dry=0.9)
    )
    brush.canvas.lift(
        {"Soot": 46, "Fjord": 30}, brush.cut(courses[inside][1::2], rough_mm=0.1, dry=0.9)
    )


def _paint_openings(brush: Brush) -> None:
    lit: list[Polygon] = []
    dark: list[Polygon] = []
    for row, y in enumerate((48.0, 66.0, 84.0)):
        for col, x in enumerate((1.5, 16.0, 30.5)):
            pane = arch(x, y - 1, 6, 10.5)
            (lit if (row, col) in ((0, 1), (1, 0), (2, 2)) else dark).append(pane)
    lit += [box(49, 80, 3.6, 5.4), box(56.5, 80, 3.6, 5.4)]
    dark += [arch(13.5, 102, 11, 20), disc(19, 31, 2.4)]
    brush.canvas.lay(
        {"Soot": 90, "Fjord": 60, "Rowan": 20}, brush.cut(dark, rough_mm=0.12, dry=0.3)
    )
    windows(brush, lit)
    bars = [line((x + 3, y), (x + 3, y + 9), 0.5) for x, y in ((16, 48), (1.5, 66), (30.5, 84))]
    bars += [line((x, y + 4), (x + 6, y + 4), 0.5) for x, y in ((16, 48), (1.5, 66), (30.5, 84))]
    bars += [line((50.8, 80), (50.8, 85.4), 0.4), line((58.3, 80), (58.3, 85.4), 0.4)]
    hoist = [
        line((19, 24.4), (19, 24.5), 0.1),
        box(24, 22.6, 8.5, 1.1),
        line((31.6, 23), (31.6, 45), 0.3),
        disc(31.6, 46, 1.0),
    ]
    door = box(52, 104, 6.5, 20)
    brush.canvas.lay(PAINTS["silhouette"], brush.cut([*bars, *hoist, door], rough_mm=0.08, dry=0.2))
