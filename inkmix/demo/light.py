"""Light in the dark: lamp glow, shining windows, broken reflections. Overprints, no subjects.

Light is made as an artist makes it on plates: dark inks are washed away around the source, then
Brass and Rowan are overprinted in steps with dry edges.
"""

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush, edge, strokes
from inkmix.demo.canvas import Plane, Polygon, Stamp, overlap
from inkmix.demo.shapes import shifted
from inkmix.demo.tones import PAINTS, Mix


def halo(
    brush: Brush, *, x: float, y: float, radius: float, squash: float = 1.0, power: float = 1.6
) -> Stamp:
    """A round light, 1 at the centre and 0 at `radius`, in four dry-edged steps."""
    tile = brush.tile
    rows, cols = _window(brush, x, y, radius, radius * squash)
    if rows.start >= rows.stop or cols.start >= cols.stop:
        return Stamp(slice(0, 0), slice(0, 0), np.zeros((0, 0), dtype=np.float32))
    away = np.hypot(tile.x[:, cols] - x, (tile.y[rows] - y) / squash) / radius
    fall = np.clip(1 - away, 0, 1) ** power
    ragged = fall * (1 + 0.22 * brush.tooth[rows, cols] + 0.3 * brush.bristle[rows, cols])
    return Stamp(rows, cols, (0.55 * _steps(ragged) + 0.45 * fall).astype(np.float32))


def beam(
    brush: Brush, *, source: tuple[float, float], end: tuple[float, float], wide: float
) -> Stamp:
    """A beam that widens to `wide` mm and dies away at its end, with dry flanks."""
    tile, start = brush.tile, np.array(source)
    reach = np.array(end) - start
    length = float(np.hypot(*reach))
    dx, dy = tile.x - start[0], tile.y - start[1]
    along = (dx * reach[0] + dy * reach[1]) / length**2
    across = np.abs(dy * reach[0] - dx * reach[1]) / length / (0.4 + 0.5 * wide * np.abs(along))
    flank = edge(1.0 - across + 0.16 * brush.tooth, soft=0.3, at=0.2)
    pale = np.clip(1 - along, 0, 1) * (along > 0) * (1 + 0.35 * brush.bristle)
    alpha = np.clip(flank * pale, 0, 1).astype(np.float32)
    return Stamp(slice(0, tile.rows), slice(0, tile.cols), alpha)


def lamp(brush: Brush, *, x: float, y: float, radius: float) -> None:
    """A lamp's glow over whatever is there: dark inks washed out, Brass and Rowan on top."""
    wide = halo(brush, x=x, y=y, radius=radius)
    near = halo(brush, x=x, y=y, radius=radius * 0.55)
    brush.canvas.lift({"Soot": 78, "Fjord": 82, "Fog": 60}, wide)
    brush.canvas.glaze({"Rowan": 46, "Brass": 30}, wide)
    brush.canvas.lift({"Rowan": 55, "Soot": 70, "Fjord": 80}, near)
    brush.canvas.glaze({"Brass": 72}, near)


def against_light(brush: Brush, people: list[Polygon], *, light: Mix, from_left_mm: float) -> None:
    """Silhouettes with a rim of light this wide on their left, or on their right if negative."""
    whole = brush.cut(people, rough_mm=0.12, dry=0.25)
    brush.canvas.lay(light, whole)
    moved = [shifted(part, x=from_left_mm, y=0.12) for part in people]
    brush.canvas.lay(PAINTS["silhouette"], overlap(whole, brush.cut(moved, rough_mm=0.12, dry=0.5)))


def core(brush: Brush, shapes: list[Polygon]) -> None:
    """The burning part itself: nearly bare paper with a breath of Brass."""
    brush.canvas.lay({"Brass": 16}, brush.cut(shapes, rough_mm=0.15, dry=0.2))


def column(
    brush: Brush,
    random: np.random.Generator,
    *,
    x: float,
    top: float,
    length: float,
    width: float,
    mix: Mix,
    count: int,
) -> None:
    """A light's reflection: level dashes below one another, wider and scarcer downwards."""
    down = np.sort(random.beta(1.0, 1.7, count))
    y = top + length * down
    spread = width * (0.25 + 0.9 * down)
    marks = strokes(
        random,
        x=x + random.normal(0, 0.35, count) * spread,
        y=y,
        long_mm=width * random.uniform(0.5, 1.5, count) * (0.6 + 0.8 * down),
        thick_mm=random.uniform(0.35, 0.75, count) * (0.7 + 0.8 * down),
    )
    brush.canvas.lay(mix, brush.cut(marks, rough_mm=0.12, dry=0.55))


def windows(brush: Brush, shapes: list[Polygon]) -> None:
    """Lit panes, each a flat warm patch with a soft hem of glow."""
    hem = brush.cut(shapes, rough_mm=0.8, dry=0.0)
    brush.canvas.lift({"Soot": 60, "Fjord": 60}, hem)
    brush.canvas.glaze({"Rowan": 34, "Brass": 30}, hem)
    brush.canvas.lay(PAINTS["window"], brush.cut(shapes, rough_mm=0.1, dry=0.3))


def _steps(value: Plane) -> Plane:
    levels = value * 4
    whole = np.floor(levels)
    return np.asarray((whole + edge(levels - whole, soft=0.22)) / 4, dtype=np.float32).clip(0, 1)


def _window(
    brush: Brush, x: float, y: float, reach_x: float, reach_y: float
) -> tuple[slice, slice]:
    tile = brush.tile
    corners: NDArray[np.float64] = tile.to_px(
        np.array([[x - reach_x, y - reach_y], [x + reach_x, y + reach_y]])
    )
    left, right = np.clip(corners[:, 0].round(), 0, tile.cols).astype(int)
    top, bottom = np.clip(corners[:, 1].round(), 0, tile.rows).astype(int)
    return slice(int(top), int(bottom)), slice(int(left), int(right))
