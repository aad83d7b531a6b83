"""The dawn: the sun about to come, lit clouds, hills in layers, its path on the water."""

import numpy as np

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.canvas import Polygon
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import halo
from inkmix.demo.shapes import box, disc, ridge
from inkmix.demo.tones import Mix

SUN_MM = (812.0, 90.5)
HILLS: tuple[tuple[float, tuple[float, ...], float, Mix], ...] = (
    (700, (0, 5, 9, 6, 10, 7, 2.5, 6, 14, 19, 22), 0.4, {"Fjord": 26, "Rowan": 22, "Fog": 34}),
    (
        716,
        (0, 4, 6, 4, 2.6, 2.2, 3.4, 6, 12, 15, 17),
        0.5,
        {"Soot": 8, "Fjord": 44, "Rowan": 18, "Fog": 20},
    ),
    (838, (0, 2, 5, 10, 12), 0.6, {"Soot": 30, "Fjord": 58, "Rowan": 18}),
)


def paint_dawn(brush: Brush) -> None:
    """The sun about to come, long thin clouds lit from below."""
    if not brush.near(690, 890):
        return
    x, y = SUN_MM
    wide = halo(brush, x=x, y=y, radius=72, squash=0.62, power=1.2)
    brush.canvas.lift({"Soot": 90, "Fjord": 74, "Fog": 40}, wide)
    brush.canvas.glaze({"Rowan": 24, "Brass": 34}, wide)
    near = halo(brush, x=x, y=y, radius=30, squash=0.8, power=1.0)
    brush.canvas.lift({"Rowan": 50, "Fjord": 80, "Fog": 60}, near)
    brush.canvas.glaze({"Brass": 40}, near)
    brush.canvas.lay(
        {"Brass": 12}, brush.cut([_upper_half(disc(x, y, 10.5))], rough_mm=0.15, dry=0.3)
    )
    _paint_streaks(brush)


def _upper_half(shape: Polygon) -> Polygon:
    return np.stack([shape[:, 0], np.minimum(shape[:, 1], HORIZON_MM)], axis=-1)


def _paint_streaks(brush: Brush) -> None:
    random = brush.random("dawn clouds")
    count = 34
    y = random.uniform(8, 80, count)
    x = random.uniform(715, 890, count)
    bars = strokes(
        random,
        x=x,
        y=y,
        long_mm=random.uniform(16, 58, count),
        thick_mm=random.uniform(0.9, 3.0, count),
        angle=random.normal(-0.05, 0.03, count),
    )
    brush.canvas.glaze(
        {"Fjord": 26, "Rowan": 12, "Fog": 16}, brush.cut(bars[::2], rough_mm=0.5, dry=1.3)
    )
    brush.canvas.lay({"Rowan": 34, "Brass": 26}, brush.cut(bars[1::3], rough_mm=0.4, dry=1.4))


def paint_hills(brush: Brush) -> None:
    """Ridges paler the farther away, with mist lying between them."""
    if not brush.near(690, 890):
        return
    random = brush.random("hills")
    for left, heights, rough, mix in HILLS:
        hill = ridge(
            random, left=left, right=890, base=HORIZON_MM + 0.4, heights=heights, rough=rough
        )
        brush.canvas.lay(mix, brush.cut([hill], rough_mm=0.25, dry=0.6))
        mist = [box(left + 14, HORIZON_MM - 1.2, 200, 1.4)]
        brush.canvas.lay(
            {"Rowan": 14, "Brass": 14, "Fog": 34}, brush.cut(mist, rough_mm=1.1, dry=0.8)
        )


def paint_dawn_path(brush: Brush) -> None:
    """The sun's broken path on the water."""
    x, _ = SUN_MM
    if not brush.near(x - 70, x + 70):
        return
    random = brush.random("dawn path")
    depth = 0.4 + 60 * random.beta(1.0, 1.5, 380)
    marks = strokes(
        random,
        x=x + random.normal(0, 1, 380) * (5 + 0.24 * depth),
        y=HORIZON_MM + depth,
        long_mm=(2 + 0.2 * depth) * random.uniform(0.5, 1.5, 380),
        thick_mm=(0.35 + 0.02 * depth) * random.uniform(0.6, 1.4, 380),
    )
    brush.canvas.lay({"Rowan": 22, "Brass": 44}, brush.cut(marks[::2], rough_mm=0.12, dry=0.7))
    brush.canvas.lay({"Brass": 20, "Rowan": 5}, brush.cut(marks[1::2], rough_mm=0.12, dry=0.7))
