"""The open sea: rows of steep waves, nearly black, their moonward faces lit; a buoy among them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush, edge, strokes
from inkmix.demo.canvas import Polygon, Stamp
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import column, halo
from inkmix.demo.shapes import box, disc, line, ribbon, rounded
from inkmix.demo.tones import PAINTS, Mix

SWELL_MM = (428.0, 640.0)
ROWS_MM = (3.5, 6.5, 10.0, 14.5, 20.0, 26.5, 34.5, 44.0, 55.0)  # below the horizon
BUOY_MM = (511.0, 119.0)
BACKS: tuple[Mix, ...] = (
    {"Soot": 93, "Fjord": 64, "Rowan": 10},
    {"Soot": 89, "Fjord": 76, "Rowan": 4},
)
FACE: Mix = {"Soot": 62, "Fjord": 80, "Fog": 6}
CREST: Mix = {"Soot": 22, "Fjord": 54, "Fog": 38}

_BACK = (  # a wave running to the right; half its width and its height are 1
    (-1.2, -0.1), (-0.55, 0.16), (-0.12, 0.55), (0.18, 1.12), (0.32, 0.86), (0.42, 0.5),
    (0.75, 0.14), (1.2, -0.1), (1.0, -0.5), (-1.0, -0.5),
)  # fmt: skip
_FACE = (
    (-0.86, 0.0), (-0.4, 0.2), (-0.05, 0.6), (0.19, 1.02), (0.18, 0.62), (0.06, 0.3),
    (-0.14, 0.1), (-0.45, -0.02),
)  # fmt: skip
_EDGE = ((-0.5, 0.15), (-0.3, 0.27), (-0.1, 0.5), (0.06, 0.75), (0.17, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """One wave: its place in mm, half its width and its height."""

    x: float
    y: float
    half: float
    high: float

    def at(self, shape: Sequence[tuple[float, float]]) -> Polygon:
        """A shape of the unit wave set down here."""
        points = np.array(shape)
        return np.stack(
            [self.x + self.half * points[:, 0], self.y - self.high * points[:, 1]], axis=-1
        )


def paint_swell(brush: Brush) -> None:
    """Row before row, each wave with its dark back, lit face, crest and a little spray."""
    if not brush.near(*SWELL_MM):
        return
    random = brush.random("swell")
    for row, depth in enumerate(ROWS_MM):
        waves = _row(random, depth)
        backs = brush.cut([rounded(wave.at(_BACK)) for wave in waves], rough_mm=0.2, dry=0.7)
        brush.canvas.shade(BACKS[row % 2], _ebbing(brush, backs))
        faces = brush.cut([rounded(wave.at(_FACE)) for wave in waves], rough_mm=0.25, dry=1.0)
        brush.canvas.lay(FACE, _ebbing(brush, faces))
        lit = [ribbon(wave.at(_EDGE), _taper(wave.high)) for wave in waves if random.random() < 0.7]
        brush.canvas.lay(CREST, _ebbing(brush, brush.cut(lit, rough_mm=0.12, dry=0.8)))
        spray = brush.cut(_spray(random, waves), rough_mm=0.1, dry=0.6)
        brush.canvas.lay(PAINTS["foam"], _ebbing(brush, spray))


def _row(random: np.random.Generator, depth: float) -> list[Wave]:
    waves = []
    x = SWELL_MM[0] + random.uniform(0, 12)
    while x < SWELL_MM[1]:
        size = random.lognormal(0, 0.3)
        half = (3.2 + 0.27 * depth) * size
        high = (0.9 + 0.115 * depth) * size
        waves.append(Wave(x=x, y=HORIZON_MM + depth + random.normal(0, 0.5), half=half, high=high))
        x += half * random.uniform(1.3, 2.7)
    return waves


def _taper(high: float) -> NDArray[np.float64]:
    return (0.22 + 0.1 * high) * np.array([0.1, 0.8, 1.0, 0.9, 0.3])


def _spray(random: np.random.Generator, waves: Sequence[Wave]) -> NDArray[np.float64]:
    """Flecks of foam blown back from the higher crests."""
    high = np.repeat([wave.high for wave in waves], 4)
    tip_x = np.repeat([wave.x + 0.2 * wave.half for wave in waves], 4)
    tip_y = np.repeat([wave.y - 0.95 * wave.high for wave in waves], 4)
    count = len(high)
    return strokes(
        random,
        x=tip_x - random.exponential(0.3 + 0.22 * high, count),
        y=tip_y + random.normal(0.1, 0.1 + 0.08 * high, count),
        long_mm=(0.35 + 0.2 * high) * random.uniform(0.4, 1.3, count),
        thick_mm=(0.16 + 0.05 * high) * random.uniform(0.6, 1.2, count),
        angle=-0.4,
    )


def _ebbing(brush: Brush, stamp: Stamp) -> Stamp:
    """The stamp, dying away in brush marks towards both ends of the swell."""
    x = brush.tile.x[:, stamp.cols] + 9 * brush.bristle[stamp.rows, stamp.cols]
    ends = edge(x, soft=11.0, at=SWELL_MM[0] + 20) * (1 - edge(x, soft=8.0, at=SWELL_MM[1] - 14))
    return Stamp(stamp.rows, stamp.cols, stamp.alpha * ends)


def paint_buoy(brush: Brush) -> None:
    """A leaning buoy with a red light: the one warm thing out there."""
    x, y = BUOY_MM
    if not brush.near(x - 30, x + 30):
        return
    glow = halo(brush, x=x + 2.6, y=y - 20.5, radius=19, power=1.2)
    brush.canvas.lift({"Soot": 76, "Fjord": 80}, glow)
    brush.canvas.glaze({"Rowan": 78, "Brass": 14}, glow)
    body = rounded(
        [(x - 6, y - 1), (x - 4.4, y - 5), (x + 6.0, y - 3.2), (x + 6, y + 0.8), (x, y + 3)]
    )
    brush.canvas.lay(PAINTS["silhouette"], brush.cut([body, *_cage(x, y)], rough_mm=0.1, dry=0.3))
    band = ribbon([(x - 4.2, y - 3.6), (x + 6, y - 1.9)], [1.8, 1.8])
    brush.canvas.lay(
        {"Rowan": 80, "Soot": 26, "Brass": 12}, brush.cut([band], rough_mm=0.12, dry=0.6)
    )
    burning = brush.cut([disc(x + 2.6, y - 20.6, 1.7)], rough_mm=0.15, dry=0.2)
    brush.canvas.lay({"Rowan": 52, "Brass": 30}, burning)
    random = brush.random("buoy")
    red = {"Rowan": 84, "Soot": 22, "Brass": 8}
    column(brush, random, x=x + 2, top=y + 3.5, length=28, width=4.0, mix=red, count=34)


def _cage(x: float, y: float) -> list[Polygon]:
    return [
        line((x - 3.6, y - 4), (x + 1.4, y - 18.2), 0.8),
        line((x + 5.4, y - 3), (x + 3.8, y - 18), 0.8),
        line((x - 1.8, y - 9), (x + 4.8, y - 8.2), 0.5),
        line((x - 0.2, y - 13.4), (x + 4.3, y - 12.9), 0.5),
        line((x - 1.8, y - 9), (x + 4.3, y - 12.9), 0.4),
        box(x + 0.2, y - 18.8, 4.8, 1.0),
    ]
