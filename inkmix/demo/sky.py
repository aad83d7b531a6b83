"""What hangs in the clear sky: stars, bluer arcs of night, the moon and its clouds."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.light import halo
from inkmix.demo.shapes import disc, ribbon, rounded, shifted
from inkmix.demo.tones import PAINTS

MOON_MM = (386.0, 36.0)
MOON_RADIUS_MM = 14.5
ARCS = ({"Soot": 87, "Fjord": 80, "Rowan": 4}, {"Soot": 93, "Fjord": 60, "Rowan": 16})


def paint_stars(brush: Brush) -> None:
    """A few stars over harbour and ferry, none of them regular."""
    if not brush.near(90, 360):
        return
    random = brush.random("stars")
    x, y = random.uniform(100, 352, 60), 2 + 58 * random.beta(1.1, 1.6, 60)
    sizes = random.choice([0.28, 0.36, 0.5, 0.75], 60, p=[0.4, 0.35, 0.18, 0.07])
    shapes = [
        disc(px, py, size, squash=random.uniform(0.7, 1.2))
        for px, py, size in zip(x, y, sizes, strict=True)
    ]
    brush.canvas.lay({"Fjord": 18, "Fog": 30}, brush.cut(shapes, rough_mm=0.08, dry=0.2))


def paint_night_sky(brush: Brush) -> None:
    """Broad arcs of bluer and of blacker night, only just apart."""
    if not brush.near(90, 360):
        return
    random = brush.random("night sky")
    t = np.linspace(0, 1, 24)
    for step, y in enumerate(np.arange(2.0, 62.0, 7.5)):
        x = np.linspace(86 + 6 * step, 350 - 5 * step, 24) + random.normal(0, 6)
        path = np.stack([x, y + 16 * (t - 0.45) ** 2 * 4 - 8 + random.normal(0, 1.2, 24)], axis=-1)
        arc = ribbon(path, random.uniform(1.5, 5.5) * np.sin(np.pi * t) ** 0.5)
        brush.canvas.shade(ARCS[step % 2], brush.cut([rounded(arc)], rough_mm=0.9, dry=1.4))


def paint_moon(brush: Brush) -> None:
    """Halo in steps, the disc with its seas, and clouds drawn across it."""
    x, y = MOON_MM
    if not brush.near(x - 75, x + 75):
        return
    brush.canvas.lift({"Soot": 80, "Fjord": 38}, halo(brush, x=x, y=y, radius=58, power=1.3))
    brush.canvas.lift(
        {"Soot": 90, "Fjord": 58, "Fog": 30}, halo(brush, x=x, y=y, radius=30, power=1.0)
    )
    brush.canvas.lay(
        PAINTS["moon"], brush.cut([disc(x, y, MOON_RADIUS_MM)], rough_mm=0.2, dry=0.35)
    )
    seas = [
        rounded(
            [
                (x - 10, y - 5),
                (x - 4, y - 10),
                (x + 2, y - 8),
                (x + 1, y - 3),
                (x - 3, y + 1),
                (x - 9, y + 3),
            ]
        ),
        rounded([(x + 1, y - 6), (x + 6, y - 7), (x + 7, y - 1), (x + 3, y + 2), (x - 1, y - 1)]),
        rounded([(x + 8, y - 4), (x + 11, y - 2), (x + 10, y + 3), (x + 7, y + 1)]),
        rounded([(x - 9, y + 3), (x - 4, y + 2), (x - 1, y + 5), (x - 4, y + 8), (x - 8, y + 6)]),
    ]
    brush.canvas.glaze({"Fog": 46, "Fjord": 5}, brush.cut(seas, rough_mm=0.7, dry=0.9))
    _paint_moon_clouds(brush)


def _paint_moon_clouds(brush: Brush) -> None:
    random = brush.random("moon clouds")
    x, y = MOON_MM
    places = (
        (-36, 16, 62, 5.5),
        (24, 21, 74, 6.5),
        (-8, 29, 66, 4.5),
        (40, -20, 54, 5.0),
        (-30, -26, 40, 4.0),
        (5, 8.5, 50, 3.0),
    )
    banks, rims = [], []
    for dx, dy, length, thick in places:
        t = np.linspace(-0.5, 0.5, 15)
        path = np.stack([x + dx + length * t, y + dy - 5 * t + random.normal(0, 0.5, 15)], axis=-1)
        width = thick * np.cos(np.pi * t) ** 0.7 * random.uniform(0.7, 1.25, 15)
        banks.append(rounded(ribbon(path, width)))
        rims.append(
            rounded(ribbon(shifted(path, y=-0.4 * thick), width * random.uniform(0.04, 0.28, 15)))
        )
    brush.canvas.lay({"Soot": 46, "Fjord": 70}, brush.cut(banks, rough_mm=0.8, dry=1.1))
    brush.canvas.lay({"Fjord": 36, "Fog": 40}, brush.cut(rims, rough_mm=0.4, dry=1.3))
