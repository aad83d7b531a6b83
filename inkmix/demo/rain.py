"""The rain front: a ragged hem of cloud, curtains below it, slanting streaks."""

import numpy as np

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.canvas import Polygon
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.shapes import rounded
from inkmix.demo.tones import PAINTS

RAIN_MM = (446.0, 650.0)
RAIN_LAYERS = (  # how many, longest and thickest mark in mm, mix: from the farthest to the nearest
    (900, 6.0, 0.26, {"Soot": 34, "Fjord": 46, "Fog": 48}),
    (380, 12.0, 0.34, {"Soot": 16, "Fjord": 36, "Fog": 52}),
    (70, 24.0, 0.46, {"Fjord": 18, "Fog": 44}),
)
CLOUD = {"Soot": 74, "Fjord": 70, "Rowan": 6}


def paint_rain_front(brush: Brush) -> None:
    """Heavy cloud with a ragged hem, and curtains slanting down from it."""
    if not brush.near(420, 690):
        return
    random = brush.random("rain front")
    left, wide = random.uniform(446, 650, 26), random.uniform(4, 22, 26)
    lean, top = random.uniform(14, 26, 26), random.uniform(-14, -8, 26)
    foot = HORIZON_MM - random.uniform(0, 14, 26) * (random.random(26) < 0.4)
    curtains = [
        np.array([(x, t), (x + w, t), (x + 0.75 * w - drift, f), (x + 0.1 * w - drift, f)])
        for x, w, drift, t, f in zip(left, wide, lean, top, foot, strict=True)
    ]
    brush.canvas.glaze({"Soot": 22, "Fjord": 16}, brush.cut(curtains[::2], rough_mm=2.4, dry=0.7))
    brush.canvas.lift({"Soot": 24, "Fjord": 10}, brush.cut(curtains[1::4], rough_mm=2.4, dry=0.7))
    brush.canvas.lift({"Soot": 28, "Fjord": 12}, brush.cut(curtains[3::4], rough_mm=1.6, dry=1.1))
    gloom = brush.cut([_hem(random, -7.0)], rough_mm=5.0, dry=0.5)
    brush.canvas.glaze({"Soot": 46, "Fjord": 16}, gloom)
    brush.canvas.lay(CLOUD, brush.cut([_hem(random, 0.0)], rough_mm=1.2, dry=1.0))
    brush.canvas.lay(PAINTS["deep night"], brush.cut([_hem(random, 11.0)], rough_mm=0.9, dry=1.0))


def _hem(random: np.random.Generator, higher: float) -> Polygon:
    x = np.linspace(428 + higher, 680 - 2 * higher, 26)
    sag = np.sin(np.linspace(0, np.pi, 26)) ** 0.6
    lower = 26 * sag - higher + random.uniform(-4.5, 4.5, 26)
    hem = np.stack([x, lower - 2], axis=-1)
    return rounded(np.concatenate([[[x[0], -9.0]], hem, [[x[-1], -9.0]]]), times=3)


def paint_rain(brush: Brush) -> None:
    """Slanting streaks, denser before the sky than before the black water."""
    if not brush.near(*RAIN_MM):
        return
    random = brush.random("rain")
    for count, longest, thickest, mix in RAIN_LAYERS:
        x = RAIN_MM[0] + (RAIN_MM[1] - RAIN_MM[0]) * random.beta(1.5, 1.5, count)
        marks = strokes(
            random,
            x=x,
            y=random.triangular(0, 52, 138, count),
            long_mm=longest * random.uniform(0.4, 1, count),
            thick_mm=thickest * random.uniform(0.6, 1, count),
            angle=random.normal(1.84, 0.03, count),
        )
        brush.canvas.lay(mix, brush.cut(marks, rough_mm=0.08, dry=0.8))
