"""The quay where the story starts: wet stones, a lamp, people waiting."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Polygon
from inkmix.demo.light import against_light, column, core, halo, lamp
from inkmix.demo.people import stand
from inkmix.demo.shapes import box, disc, line, outline, ribbon, rounded, shifted
from inkmix.demo.tones import PAINTS, Mix
from inkmix.demo.warehouse import paint_walls

RIGHT_MM = 132.0
GROUND_MM = 122.0
LAMP_MM = (80.0, 62.0)
STONE: Mix = {"Soot": 70, "Fjord": 52, "Rowan": 22}


def paint_quay(brush: Brush) -> None:
    """Walls, ground, then the lamp over both, then the people against the light."""
    if not brush.near(-10, RIGHT_MM):
        return
    paint_walls(brush)
    _paint_stones(brush)
    _paint_lamp(brush)
    _paint_bollards(brush)
    _paint_people(brush)


def _paint_stones(brush: Brush) -> None:
    random = brush.random("cobbles")
    ground = outline((-6, GROUND_MM), (109, GROUND_MM - 1), (127, 156), (-6, 156))
    wall = outline((109, GROUND_MM - 1), (112.5, GROUND_MM - 0.6), (133, 156), (126, 156))
    brush.canvas.lay(PAINTS["silhouette"], brush.cut([wall], rough_mm=0.3, dry=0.6))
    brush.canvas.lay(STONE, brush.cut([ground], rough_mm=0.3, dry=0.6))
    stones: list[Polygon] = []
    for row in range(9):
        depth = 1.6 + 3.6 * row**1.06
        size = 2.2 + 0.5 * row
        for x in np.arange(-8 + (row % 2) * size / 2, 108 + 0.5 * depth, size * 1.16):
            squash = random.uniform(0.34, 0.5)
            stones.append(
                disc(x + random.normal(0, 0.25), GROUND_MM + depth, 0.5 * size, squash=squash)
            )
    some = random.random(len(stones))
    pale = brush.cut([stones[i] for i in np.flatnonzero(some < 0.62)], rough_mm=0.2, dry=0.9)
    dark = brush.cut([stones[i] for i in np.flatnonzero(some > 0.72)], rough_mm=0.2, dry=0.9)
    brush.canvas.lay({"Soot": 56, "Fjord": 56, "Rowan": 26, "Fog": 10}, pale)
    brush.canvas.lay({"Soot": 84, "Fjord": 56, "Rowan": 24}, dark)
    kerb = [ribbon([(-6, GROUND_MM + 0.3), (109, GROUND_MM - 0.8), (126, 156)], [0.8, 1.0, 2.6])]
    brush.canvas.lay(
        {"Soot": 40, "Fjord": 40, "Rowan": 18, "Fog": 34}, brush.cut(kerb, rough_mm=0.15, dry=1.0)
    )


def _paint_bollards(brush: Brush) -> None:
    shapes = []
    for x, base, size in ((104.5, 127.0, 1.0), (113.0, 143.0, 1.5)):
        half = np.array([(1.8, 0), (1.2, -4.5), (2.2, -5), (1.9, -6.6)]) * size
        foot = shifted(np.concatenate([half, (half * [-1, 1])[::-1]]), x=x, y=base)
        shapes.append(rounded(foot, times=1))
    sag = np.linspace(0, 1, 16)
    rope = np.stack([105 + 8 * sag, 122.5 + 11.5 * sag + 6.0 * np.sin(np.pi * sag)], axis=-1)
    shapes.append(ribbon(rope, np.full(16, 0.7)))
    brush.canvas.lay(PAINTS["silhouette"], brush.cut(shapes, rough_mm=0.12, dry=0.3))


def _paint_lamp(brush: Brush) -> None:
    x, y = LAMP_MM
    lamp(brush, x=x, y=y, radius=52)
    mist = halo(brush, x=x + 1, y=GROUND_MM - 12, radius=44, squash=0.62, power=0.9)
    brush.canvas.lift({"Soot": 66, "Fjord": 72}, mist)
    brush.canvas.glaze({"Rowan": 34, "Brass": 40}, mist)
    pool = halo(brush, x=x + 2, y=GROUND_MM + 7, radius=40, squash=0.3, power=1.0)
    brush.canvas.lift({"Soot": 62, "Fjord": 86}, pool)
    brush.canvas.glaze({"Rowan": 30, "Brass": 70}, pool)
    _paint_wet_stones(brush)
    _paint_lamp_post(brush)


def _paint_wet_stones(brush: Brush) -> None:
    random = brush.random("quay lamp")
    x, _ = LAMP_MM
    column(
        brush, random, x=x, top=GROUND_MM + 2, length=31, width=7, mix=PAINTS["lamp glow"], count=46
    )
    column(
        brush,
        random,
        x=x + 0.5,
        top=GROUND_MM + 2,
        length=26,
        width=3,
        mix={"Brass": 40, "Rowan": 4},
        count=22,
    )


def _paint_lamp_post(brush: Brush) -> None:
    x, y = LAMP_MM
    post = [
        ribbon([(x, y + 5), (x, 108), (x, 125)], [0.9, 1.3, 2.0]),
        box(x - 2.0, 122.6, 4.0, 3.0),
        box(x - 1.4, 104, 2.8, 1.2),
    ]
    arm = [line((x - 3.4, y + 7.6), (x + 3.4, y + 7.6), 0.6)]
    head = [outline((x - 2.2, y + 4.2), (x - 3.4, y - 3.6), (x + 3.4, y - 3.6), (x + 2.2, y + 4.2))]
    core(brush, head)
    cap = [
        outline((x - 4.4, y - 3.4), (x, y - 7.6), (x + 4.4, y - 3.4)),
        disc(x, y - 8, 0.8),
        box(x - 2.5, y + 3.9, 5, 1.1),
        line((x, y - 4), (x, y + 4), 0.4),
    ]
    brush.canvas.lay(PAINTS["silhouette"], brush.cut([*post, *arm, *cap], rough_mm=0.1, dry=0.25))


def _paint_people(brush: Brush) -> None:
    leaving = stand("traveller", x=91.5, base=128.5, height=26)
    staying = stand("woman", x=66.0, base=130.5, height=25.5)
    staying += stand("child", x=75.0, base=131, height=16, facing=-1)
    shadows = [
        outline((90, 128), (94, 128), (108, 146), (100, 147)),
        outline((64, 130), (69, 130), (57, 148), (48, 147)),
        outline((73.5, 131), (76.5, 131), (75, 143), (70, 143)),
    ]
    brush.canvas.glaze({"Soot": 64, "Fjord": 40}, brush.cut(shadows, rough_mm=0.6, dry=0.9))
    against_light(brush, leaving, light=PAINTS["lamp glow"], from_left_mm=0.4)
    against_light(brush, staying, light=PAINTS["lamp glow"], from_left_mm=-0.4)
