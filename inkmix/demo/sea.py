"""The water all along the strip: waves in the harbour and at dawn, and the moon's glitter."""

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush, strokes
from inkmix.demo.ground import BOTTOM_MM, HORIZON_MM
from inkmix.demo.sky import MOON_MM
from inkmix.demo.tones import PAINTS

DEPTH_MM = BOTTOM_MM - HORIZON_MM


def _marks(
    random: np.random.Generator, x: NDArray[np.float64], depth: NDArray[np.float64], *, size: float
) -> NDArray[np.float64]:
    """Level wave marks, larger the nearer they lie."""
    count = len(x)
    return strokes(
        random,
        x=x,
        y=HORIZON_MM + depth,
        long_mm=size * (1.6 + 0.26 * depth) * random.lognormal(0, 0.45, count),
        thick_mm=size * (0.3 + 0.022 * depth) * random.uniform(0.6, 1.5, count),
        angle=random.normal(0, 0.03, count),
    )


def paint_waves(brush: Brush) -> None:
    """Dark troughs everywhere, thin lights where the sky above is light."""
    random = brush.random("waves")
    count = 3600
    x, depth = random.uniform(90, 890, count), 0.6 + DEPTH_MM * random.beta(1.0, 1.5, count)
    troughs = _marks(random, x, depth, size=1.25)
    dark = {"Soot": 93, "Fjord": 78, "Rowan": 6}
    night, day = (x < 640) & ((x > 246) | (depth > 3.6)), x >= 700
    brush.canvas.shade(dark, brush.cut(troughs[night], rough_mm=0.15, dry=0.9))
    brush.canvas.lay(
        {"Soot": 34, "Fjord": 68}, brush.cut(troughs[day][::2], rough_mm=0.15, dry=0.9)
    )
    lights = _marks(
        random, random.uniform(745, 890, 420), 0.4 + 52 * random.beta(1, 1.7, 420), size=1.1
    )
    brush.canvas.lay(
        {"Rowan": 16, "Brass": 16, "Fog": 16}, brush.cut(lights, rough_mm=0.12, dry=0.8)
    )


def paint_glitter(brush: Brush) -> None:
    """The moon's path: scattered blue lights, and a narrower one of nearly bare paper."""
    x, _ = MOON_MM
    if not brush.near(x - 90, x + 90):
        return
    random = brush.random("glitter")
    depth = 0.3 + DEPTH_MM * random.beta(1.0, 1.5, 1100)
    wide = _marks(random, x + random.normal(0, 1, 1100) * (9 + 0.42 * depth), depth, size=1.0)
    brush.canvas.lay(PAINTS["moonlit water"], brush.cut(wide, rough_mm=0.12, dry=0.7))
    depth = 0.3 + DEPTH_MM * random.beta(1.0, 1.9, 520)
    bright = _marks(random, x + random.normal(0, 1, 520) * (3.4 + 0.24 * depth), depth, size=0.9)
    brush.canvas.lay(PAINTS["moon"], brush.cut(bright, rough_mm=0.1, dry=0.6))
