"""The landing place: boathouses on piles, a jetty, somebody waiting, gulls."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.light import against_light
from inkmix.demo.people import stand
from inkmix.demo.shapes import box, disc, line, mirrored, outline, ribbon, rounded
from inkmix.demo.tones import PAINTS

EAVES = np.array([(-1.2, 1.4), (0.0, -0.5), (1.2, 1.4)])  # how far a roof reaches over its walls


def paint_landing(brush: Brush) -> None:
    """Boathouses on piles, a jetty, somebody waiting; their reflections; gulls."""
    if not brush.near(790, 890):
        return
    _paint_boathouses(brush)
    waiting = stand("woman", x=836, base=108.4, height=16.5, facing=-1)
    against_light(brush, waiting, light={"Rowan": 40, "Brass": 60}, from_left_mm=0.3)
    _paint_gulls(brush)


def _paint_boathouses(brush: Brush) -> None:
    houses = [
        outline((846, 108), (846, 90), (853, 81), (860, 90), (860, 108)),
        outline((862, 108), (862, 86), (871, 75), (880, 86), (880, 108)),
        outline((881, 108), (881, 92), (888, 84), (890, 86), (890, 108)),
    ]
    jetty = box(828, 108, 62, 2.2)
    piles = [line((x, 109), (x, 119 + (x % 3)), 1.2) for x in np.arange(831, 889, 7.5)]
    echo = mirrored([*houses, jetty], at=112.0, squash=0.85)
    brush.canvas.glaze(
        {"Soot": 34, "Fjord": 30, "Rowan": 50}, brush.cut(echo, rough_mm=0.8, dry=0.9)
    )
    brush.canvas.lay(
        {"Soot": 26, "Rowan": 78, "Brass": 16, "Fjord": 8},
        brush.cut(houses[:1] + houses[2:], rough_mm=0.15, dry=0.4),
    )
    brush.canvas.lay(
        {"Soot": 40, "Rowan": 40, "Brass": 50, "Fjord": 10},
        brush.cut(houses[1:2], rough_mm=0.15, dry=0.4),
    )
    roofs = [ribbon(house[1:4] + EAVES, [1.7, 1.9, 1.7]) for house in houses]
    wood = [*roofs, jetty, *piles, box(851, 97, 4.5, 11), box(868.5, 98, 5, 10)]
    brush.canvas.lay(
        {"Soot": 78, "Fjord": 60, "Rowan": 26}, brush.cut(wood, rough_mm=0.12, dry=0.4)
    )
    panes = [box(864.6, 89.5, 3.2, 4.2), box(874.2, 89.5, 3.2, 4.2)]
    brush.canvas.lay(PAINTS["window"], brush.cut(panes, rough_mm=0.12, dry=0.3))


def _paint_gulls(brush: Brush) -> None:
    wings = []
    for x, y, size in (
        (790, 40, 5.0),
        (801, 33, 3.6),
        (811, 44, 3.0),
        (824, 30, 2.4),
        (778, 52, 3.2),
    ):
        path = [
            (x - size, y - 0.35 * size),
            (x - 0.45 * size, y - 0.5 * size),
            (x, y),
            (x + 0.5 * size, y - 0.62 * size),
            (x + size, y - 0.3 * size),
        ]
        wings.append(ribbon(path, np.array([0.05, 0.16, 0.2, 0.15, 0.05]) * size))
    brush.canvas.lay(
        {"Soot": 40, "Fjord": 60, "Rowan": 10}, brush.cut(wings, rough_mm=0.1, dry=0.3)
    )
    body = [rounded(disc(790, 40.2, 1.0, squash=0.5), times=1)]
    brush.canvas.lay({"Soot": 40, "Fjord": 60}, brush.cut(body, rough_mm=0.1, dry=0.2))
