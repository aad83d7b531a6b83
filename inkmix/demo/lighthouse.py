"""The lighthouse on its skerry: two beams, the tower, its light on the water."""

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import beam, core, halo
from inkmix.demo.shapes import box, line, outline, ridge
from inkmix.demo.tones import PAINTS, Mix

LIGHT_MM = (741.0, 46.0)
BEAMS = (((612.0, -4.0), 24.0), ((872.0, 16.0), 22.0))  # end in mm, width there
ROCK: Mix = PAINTS["silhouette"]


def paint_lighthouse(brush: Brush) -> None:
    """Two beams, the tower on its skerry, the light itself."""
    if not brush.near(600, 890):
        return
    for end, wide in BEAMS:
        stamp = beam(brush, source=LIGHT_MM, end=end, wide=wide)
        brush.canvas.lift({"Soot": 52, "Fjord": 40}, stamp)
        brush.canvas.glaze({"Brass": 34}, stamp)
    x, y = LIGHT_MM
    glow = halo(brush, x=x, y=y, radius=19, power=1.3)
    brush.canvas.lift({"Soot": 84, "Fjord": 80}, glow)
    brush.canvas.glaze({"Brass": 58, "Rowan": 12}, glow)
    _paint_tower(brush)
    _paint_water(brush)
    _paint_rock(brush)


def _paint_tower(brush: Brush) -> None:
    x, y = LIGHT_MM
    tower = outline((x - 4.4, 85), (x - 2.6, y + 5.4), (x + 2.6, y + 5.4), (x + 4.4, 85))
    brush.canvas.lay(
        {"Fog": 26, "Brass": 8, "Fjord": 6}, brush.cut([tower], rough_mm=0.12, dry=0.4)
    )
    bands = [
        outline((x - w0, y0), (x + w0, y0), (x + w1, y1), (x - w1, y1))
        for y0, y1, w0, w1 in ((57.5, 64, 2.9, 3.25), (70.5, 77, 3.6, 3.95))
    ]
    brush.canvas.lay(
        {"Rowan": 86, "Soot": 14, "Brass": 10}, brush.cut(bands, rough_mm=0.1, dry=0.4)
    )
    shade = outline((x - 4.4, 85), (x - 2.6, y + 5.4), (x - 0.9, y + 5.4), (x - 1.8, 85))
    brush.canvas.glaze({"Soot": 44, "Fjord": 44}, brush.cut([shade], rough_mm=0.3, dry=0.7))
    core(brush, [box(x - 1.9, y - 2.8, 3.8, 6.8)])


def _paint_water(brush: Brush) -> None:
    random = brush.random("lighthouse water")
    x, _ = LIGHT_MM
    echo = strokes(
        random,
        x=random.normal(x, 11, 60),
        y=HORIZON_MM + 2 + random.exponential(2.6, 60),
        long_mm=random.uniform(2, 12, 60),
        thick_mm=random.uniform(0.4, 0.9, 60),
    )
    brush.canvas.lay({"Soot": 70, "Fjord": 66, "Rowan": 8}, brush.cut(echo, rough_mm=0.15, dry=0.6))
    streak = strokes(
        random,
        x=random.normal(x, 0.8, 26),
        y=HORIZON_MM + 3.5 + random.exponential(7, 26),
        long_mm=random.uniform(1.5, 5, 26),
        thick_mm=random.uniform(0.4, 0.8, 26),
    )
    brush.canvas.lay({"Brass": 30, "Fog": 20}, brush.cut(streak, rough_mm=0.12, dry=0.7))


def _paint_rock(brush: Brush) -> None:
    random = brush.random("skerry")
    x, y = LIGHT_MM
    skerry = ridge(
        random,
        left=714,
        right=770,
        base=HORIZON_MM + 2.4,
        heights=(0, 3, 6.4, 9, 8.4, 5, 3.6, 0),
        rough=0.7,
    )
    iron = [
        box(x - 3.8, y + 4.0, 7.6, 1.5),
        outline((x - 3, y - 3), (x, y - 6.4), (x + 3, y - 3)),
        line((x, y - 6), (x, y - 9), 0.4),
        line((x - 2.1, y - 3), (x - 2.1, y + 4), 0.5),
        line((x + 2.1, y - 3), (x + 2.1, y + 4), 0.5),
    ]
    hut = outline((x + 6, 86), (x + 6, 80.5), (x + 9.5, 77.6), (x + 13, 80.5), (x + 13, 88))
    brush.canvas.lay(ROCK, brush.cut([*iron, skerry, hut], rough_mm=0.12, dry=0.4))
