"""The ferry leaving: hull, decks, funnel, lights and wake on the water."""

import numpy as np

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.canvas import Polygon
from inkmix.demo.light import column, halo, windows
from inkmix.demo.shapes import box, disc, line, mirrored, outline, ribbon, rounded, shifted
from inkmix.demo.tones import PAINTS

WATERLINE_MM = 107.0
LEFT_MM, RIGHT_MM = 150.0, 345.0
HULL = outline(
    (234.5, 91.0), (240, 92.6), (262, 94.2), (290, 93.2), (310, 89.6), (324, 84.8), (318, 97.0),
    (313.5, WATERLINE_MM), (239.5, WATERLINE_MM), (236.0, 99.0),
)  # fmt: skip
DECKS = (
    outline((246, 94), (247, 85), (301, 85), (303, 93)),
    outline((252, 85), (253, 77.6), (297, 77.6), (298.5, 85)),
    outline((284, 77.6), (284.6, 71.8), (295, 71.8), (296.4, 77.6)),
)
FUNNEL = outline((266, 77.6), (263.6, 60.5), (272.4, 60.5), (276, 77.6))
BAND = outline((263.9, 64.0), (263.2, 59.8), (272.4, 59.8), (273.5, 64.0))


def paint_ferry(brush: Brush) -> None:
    """The ship herself, from the farthest part to the nearest."""
    if not brush.near(LEFT_MM, RIGHT_MM):
        return
    _paint_water_beneath(brush)
    glow = halo(brush, x=274, y=84, radius=44, squash=0.55)
    brush.canvas.lift({"Soot": 40, "Fjord": 26}, glow)
    brush.canvas.glaze({"Rowan": 20, "Brass": 16}, glow)
    _paint_rig(brush)
    brush.canvas.lay(PAINTS["funnel"], brush.cut([FUNNEL], rough_mm=0.15, dry=0.5))
    brush.canvas.lay(PAINTS["silhouette"], brush.cut([BAND], rough_mm=0.1, dry=0.3))
    brush.canvas.glaze(
        {"Soot": 46, "Fjord": 20},
        brush.cut(
            [outline((264, 60), (267, 60), (269.5, 77.6), (266, 77.6))], rough_mm=0.3, dry=0.9
        ),
    )
    brush.canvas.lay(PAINTS["white paintwork"], brush.cut(list(DECKS), rough_mm=0.15, dry=0.4))
    shadows = [
        box(246, 85, 56, 1.1),
        box(252, 77.6, 46, 0.9),
        outline((284, 72), (287, 72), (286, 77.6), (284, 77.6)),
    ]
    brush.canvas.glaze({"Soot": 44, "Fjord": 50}, brush.cut(shadows, rough_mm=0.2, dry=0.5))
    brush.canvas.lay(PAINTS["hull"], brush.cut([HULL], rough_mm=0.15, dry=0.35))
    _paint_hull_trim(brush)
    brush.canvas.lay(PAINTS["window"], brush.cut(_lights(), rough_mm=0.1, dry=0.3))
    brush.canvas.glaze({"Brass": 26, "Rowan": 10}, brush.cut(_lights(), rough_mm=0.9, dry=0.0))
    _paint_foam(brush)


def _lights() -> list[Polygon]:
    lower = [box(249.5 + 3.7 * k, 87.4, 2.3, 3.0) for k in range(14)]
    upper = [box(255.5 + 3.9 * k, 79.6, 2.2, 2.6) for k in range(11) if k not in (3, 8)]
    bridge = [box(286.6 + 2.7 * k, 73.4, 2.0, 1.7) for k in range(3)]
    ports = [disc(246 + 5.2 * k, 98.4 - 0.04 * k, 0.72) for k in range(12) if k % 5 != 3]
    return lower + upper + bridge + ports


def _paint_rig(brush: Brush) -> None:
    masts = [
        line((306, 91), (304.2, 55), 0.8), line((245, 93), (243.6, 63), 0.7),
        line((304.6, 62), (299, 66), 0.35), line((304.6, 62), (310, 66), 0.35),
    ]  # fmt: skip
    ropes = [
        line((304.2, 56), (322.8, 86), 0.22), line((304.2, 56), (290, 72.5), 0.22),
        line((243.7, 64), (235.5, 91.6), 0.2), line((243.7, 64), (263.6, 62), 0.2),
        line((304.2, 56.5), (272.6, 61), 0.2),
    ]  # fmt: skip
    brush.canvas.lay(
        {"Soot": 60, "Fjord": 40, "Rowan": 20, "Fog": 20},
        brush.cut(masts + ropes, rough_mm=0.06, dry=0.2),
    )
    lamps = [disc(304.2, 58.5, 0.8), disc(243.6, 65, 0.7)]
    windows(brush, lamps)


def _paint_hull_trim(brush: Brush) -> None:
    boot = outline((238.6, 104.6), (314.6, 104.6), (313.4, WATERLINE_MM), (239.5, WATERLINE_MM))
    brush.canvas.lay(
        {"Rowan": 84, "Soot": 34, "Brass": 10}, brush.cut([boot], rough_mm=0.15, dry=0.7)
    )
    sheer = ribbon(shifted(HULL[:6], y=0.55), np.full(6, 0.7))
    brush.canvas.lay(PAINTS["foam"], brush.cut([sheer], rough_mm=0.08, dry=0.6))
    boats = [
        rounded([(x, 75.6), (x + 7, 75.4), (x + 6, 78), (x + 1, 78)], times=2)
        for x in (254.0, 276.5)
    ]
    brush.canvas.lay({"Fog": 22, "Brass": 10}, brush.cut(boats, rough_mm=0.1, dry=0.4))


def _paint_water_beneath(brush: Brush) -> None:
    random = brush.random("under the ferry")
    echo = mirrored([HULL, *DECKS], at=WATERLINE_MM, squash=0.75)
    brush.canvas.lay({"Soot": 93, "Fjord": 74, "Rowan": 8}, brush.cut(echo, rough_mm=1.0, dry=1.3))
    for x in np.arange(248, 304, 4.6):
        column(
            brush,
            random,
            x=float(x + random.normal(0, 0.6)),
            top=WATERLINE_MM + 1.5,
            length=float(random.uniform(16, 40)),
            width=2.6,
            mix=PAINTS["lamp glow"],
            count=24,
        )
    column(
        brush,
        random,
        x=270.0,
        top=WATERLINE_MM + 12,
        length=28,
        width=5.0,
        mix={"Rowan": 78, "Soot": 40},
        count=26,
    )


def _paint_foam(brush: Brush) -> None:
    random = brush.random("wake")
    count = 260
    back = random.beta(0.9, 1.6, count)
    x = 238 - 92 * back
    y = WATERLINE_MM + random.normal(0, 0.5 + 3.4 * back) + 2.5 * back
    wake = strokes(
        random,
        x=x,
        y=y,
        long_mm=random.uniform(1.5, 6.5, count),
        thick_mm=random.uniform(0.3, 0.85, count),
    )
    x = random.uniform(238, 319, 90)
    skirt = strokes(
        random,
        x=x,
        y=WATERLINE_MM + random.normal(0.2, 0.35, 90),
        long_mm=random.uniform(1.5, 5, 90),
        thick_mm=random.uniform(0.35, 0.8, 90),
    )
    bow = rounded([(310, 107.6), (316, 103.4), (319.5, 105.0), (327, 107.8), (318, 108.3)], times=2)
    brush.canvas.lay({"Soot": 14, "Fjord": 34, "Fog": 44}, brush.cut(wake, rough_mm=0.12, dry=1.0))
    brush.canvas.lay(PAINTS["foam"], brush.cut(skirt, rough_mm=0.12, dry=0.9))
    brush.canvas.lay(PAINTS["foam"], brush.cut([bow], rough_mm=0.3, dry=1.0))
