"""On board, near enough to touch: planks, lantern, rail and prow, people looking out."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.cabin import CABIN_FOOT_MM, PANES, paint_cabin, paint_saloon
from inkmix.demo.canvas import Polygon
from inkmix.demo.light import against_light, column, core, halo, lamp
from inkmix.demo.people import stand
from inkmix.demo.shapes import box, disc, line, outline, ribbon, rounded, shifted
from inkmix.demo.tones import PAINTS, Mix

LEFT_MM, RIGHT_MM = 570.0, 800.0
DECK_MM = 131.0
LANTERN_MM = (677.0, 64.0)
PLANK: Mix = {"Soot": 58, "Fjord": 52, "Rowan": 40, "Brass": 10}
PROW = ((664, 112.0), (700, 112.0), (735, 111.6), (760, 109.4), (776, 105.0), (787, 99.0))
STEM = outline(
    (787, 97.6), (789, 99.5), (783.5, 116), (777, 138), (772, 156), (764, 156), (772, 132),
    (780, 112), (785, 99.5),
)  # fmt: skip


def paint_deck(brush: Brush) -> None:
    """Hull and deck, cabin with its windows, lantern light over them, then rail and people."""
    if not brush.near(LEFT_MM, RIGHT_MM):
        return
    _paint_planks(brush)
    paint_cabin(brush)
    paint_saloon(brush)
    _paint_lantern(brush)
    _paint_rail(brush)
    _paint_people(brush)


def _paint_planks(brush: Brush) -> None:
    random = brush.random("planks")
    deck = outline(
        (584, 156),
        (590, DECK_MM),
        (700, DECK_MM),
        (738, 130),
        (764, 127.4),
        (781, 122.5),
        (776, 132),
        (758, 156),
    )
    brush.canvas.lay(PLANK, brush.cut([deck], rough_mm=0.25, dry=0.5))
    seams = [
        line((x, DECK_MM), (640 + (x - 640) * 1.34, 157), 0.35) for x in np.arange(594, 745, 5.2)
    ]
    brush.canvas.lay(
        {"Soot": 88, "Fjord": 50, "Rowan": 30}, brush.cut(seams, rough_mm=0.1, dry=0.9)
    )
    sheen: list[Polygon] = []
    for x in np.arange(596, 745, 5.2):
        near, far = random.uniform(0.35, 0.95), random.uniform(0, 0.3)
        ends = [(x + 2.4 + (x - 638) * 0.34 * t, DECK_MM + 26 * t) for t in (far, near)]
        sheen.append(line(ends[0], ends[1], 0.9))
    brush.canvas.lay(
        {"Soot": 44, "Fjord": 54, "Rowan": 32, "Fog": 14}, brush.cut(sheen, rough_mm=0.5, dry=1.0)
    )


def _paint_lantern(brush: Brush) -> None:
    x, y = LANTERN_MM
    lamp(brush, x=x, y=y, radius=40)
    _paint_light_on_planks(brush)
    half = np.array([(3.2, -5), (4.4, 0), (3.6, 5)])
    sides = np.concatenate([half, (half * [-1, 1])[::-1]])
    core(brush, [rounded(shifted(sides, x=x, y=y), times=2)])
    iron = [
        line((x, 45), (x, 54.5), 0.6),
        disc(x, 55.4, 1.3),
        outline((x - 4.6, 59.4), (x - 1.6, 56), (x + 1.6, 56), (x + 4.6, 59.4)),
        box(x - 4.2, y + 4.6, 8.4, 1.8),
        line((x - 2, y - 5), (x - 2.4, y + 5), 0.4),
        line((x + 2, y - 5), (x + 2.4, y + 5), 0.4),
    ]
    brush.canvas.lay(PAINTS["silhouette"], brush.cut(iron, rough_mm=0.1, dry=0.2))


def _paint_light_on_planks(brush: Brush) -> None:
    x, _ = LANTERN_MM
    for left, width in PANES:
        pool = outline(
            (left + 2, CABIN_FOOT_MM),
            (left + width + 2, CABIN_FOOT_MM),
            (640 + (left + width - 636) * 1.3, 151),
            (640 + (left - 640) * 1.25, 151),
        )
        stamp = brush.cut([pool], rough_mm=2.0, dry=0.6)
        brush.canvas.lift({"Soot": 44, "Fjord": 70}, stamp)
        brush.canvas.glaze({"Rowan": 12, "Brass": 44}, stamp)
    wet = halo(brush, x=x + 4, y=DECK_MM + 8, radius=42, squash=0.3, power=1.0)
    brush.canvas.lift({"Soot": 66, "Fjord": 84}, wet)
    brush.canvas.glaze({"Rowan": 26, "Brass": 66}, wet)
    column(
        brush,
        brush.random("lantern"),
        x=x + 2,
        top=DECK_MM + 3,
        length=20,
        width=7,
        mix={"Brass": 44, "Rowan": 6},
        count=30,
    )


def _paint_rail(brush: Brush) -> None:
    path = np.array(PROW)
    x = np.linspace(664, 787, 40)
    top = np.stack([x, np.interp(x, path[:, 0], path[:, 1])], axis=-1)
    lift = (x - 664) / 123
    rails = [
        ribbon(top + np.stack([-1.5 * lift * k, k * (6.3 + 1.2 * lift)], axis=-1), np.full(40, w))
        for k, w in ((0, 1.5), (1, 0.7), (2, 0.7))
    ]
    foot = top + np.stack([-8 * lift**2, 17.2 + 3 * lift**2], axis=-1)
    bulwark = np.concatenate([foot, outline((775, 131), (766, 156), (750, 156), (735, 134))])
    posts = [
        line((px, np.interp(px, x, top[:, 1])), (px - 0.5, np.interp(px, x, top[:, 1]) + 20), 0.9)
        for px in np.arange(667, 782, 9.4)
    ]
    brush.canvas.lay(
        {"Soot": 80, "Fjord": 72, "Rowan": 12}, brush.cut([bulwark], rough_mm=0.2, dry=0.5)
    )
    brush.canvas.lay(
        PAINTS["silhouette"], brush.cut([*rails, *posts, STEM], rough_mm=0.12, dry=0.3)
    )
    warm = ribbon(shifted(top[:16], y=-0.5), np.linspace(0.6, 0.1, 16))
    brush.canvas.lay(PAINTS["lamp glow"], brush.cut([warm], rough_mm=0.1, dry=0.9))
    cool = ribbon(shifted(top[20:], y=-0.5), np.linspace(0.1, 0.7, 20))
    brush.canvas.lay(
        {"Rowan": 20, "Fog": 40, "Brass": 10}, brush.cut([cool], rough_mm=0.1, dry=0.9)
    )


def _paint_people(brush: Brush) -> None:
    people = stand("at the rail", x=704, base=136, height=42.0)
    people += stand("child", x=720.5, base=135.5, height=27.0)
    against_light(brush, people, light=PAINTS["lamp glow"], from_left_mm=0.5)
