"""The lit harbour across the water: hill, houses, church."""

from dataclasses import dataclass

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Polygon
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import halo, windows
from inkmix.demo.shapes import box, line, outline, ribbon, ridge, rounded
from inkmix.demo.tones import PAINTS, Mix

LEFT_MM, RIGHT_MM = 84.0, 236.0
WALLS: tuple[Mix, ...] = (
    PAINTS["quay brick"],
    {"Soot": 72, "Fjord": 56, "Rowan": 24},
    {"Soot": 52, "Rowan": 52, "Brass": 44, "Fjord": 14},
    {"Soot": 62, "Fjord": 30, "Rowan": 50},
    {"Soot": 46, "Fjord": 44, "Rowan": 20, "Fog": 20},
)
DARK: Mix = {"Soot": 92, "Fjord": 56, "Rowan": 14}


@dataclass(frozen=True, slots=True, kw_only=True)
class Street:
    """A row of houses: how far up the hill, from where to where, how large; all mm but size."""

    up: float
    left: float
    right: float
    size: float


STREETS = (  # from the top of the hill down to the water
    Street(up=17.0, left=120, right=206, size=0.62),
    Street(up=8.5, left=100, right=222, size=0.8),
    Street(up=0.0, left=88, right=232, size=1.0),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """One house front seen from the water."""

    x: float
    base: float
    width: float
    wall: float
    peak: float
    paint: int

    def front(self) -> Polygon:
        """Front with its gable."""
        x, eaves = self.x, self.base - self.wall
        peak = (x + self.width / 2, eaves - self.peak)
        return outline(
            (x, self.base), (x, eaves), peak, (x + self.width, eaves), (x + self.width, self.base)
        )

    def roof(self) -> Polygon:
        """Roof edge, a dark chevron."""
        eaves = self.base - self.wall
        peak = (self.x + self.width / 2, eaves - self.peak - 0.5)
        path = [(self.x - 0.7, eaves + 0.4), peak, (self.x + self.width + 0.7, eaves + 0.4)]
        return ribbon(path, [1.3, 1.5, 1.3])


def _row(random: np.random.Generator, street: Street) -> list[House]:
    """Houses side by side along a street, now and then with a gap."""
    houses = []
    x, size = street.left + random.uniform(0, 4), street.size
    while x < street.right - 8:
        width = size * random.uniform(5.5, 11)
        houses.append(
            House(
                x=x,
                base=HORIZON_MM + 0.6 - street.up,
                width=width,
                wall=size * random.uniform(7, 15.5),
                peak=width * random.uniform(0.3, 0.62),
                paint=int(random.integers(len(WALLS))),
            )
        )
        x += width + random.choice([0.0, 0.3, 2.5 * size], p=[0.45, 0.3, 0.25])
    return houses


def _panes(random: np.random.Generator, house: House) -> list[Polygon]:
    """Those windows of a house in which somebody is still up."""
    columns = max(int(house.width / 2.6), 1)
    pitch = house.width / columns
    panes = []
    for row in range(int(house.wall / 4.0)):
        for col in range(columns):
            if random.random() < 0.42:
                x = house.x + (col + 0.5) * pitch
                y = house.base - house.wall + 1.4 + 3.6 * row
                panes.append(
                    box(x - 0.55, y, 1.1 * random.uniform(0.8, 1.2), random.uniform(1.5, 2.1))
                )
    return panes


def paint_town(brush: Brush) -> None:
    """Hill, houses and church, then the lights in them."""
    if not brush.near(LEFT_MM, RIGHT_MM + 10):
        return
    random = brush.random("town")
    heights = (3, 11, 22, 29, 25, 31, 22, 12, 7, 2)
    hill = ridge(random, left=74, right=250, base=HORIZON_MM + 0.5, heights=heights, rough=0.7)
    brush.canvas.lay(DARK, brush.cut([hill], rough_mm=0.35, dry=0.6))
    warm = halo(brush, x=164, y=HORIZON_MM - 6, radius=62, squash=0.42)
    brush.canvas.glaze({"Rowan": 34, "Brass": 22}, warm)
    brush.canvas.lift({"Soot": 24}, warm)
    for street in STREETS[:2]:
        _paint_houses(brush, random, _row(random, street))
    _paint_church(brush)
    _paint_houses(brush, random, _row(random, STREETS[2]))
    _paint_waterfront(brush)


def _paint_houses(brush: Brush, random: np.random.Generator, houses: list[House]) -> None:
    for index, paint in enumerate(WALLS):
        fronts = [house.front() for house in houses if house.paint == index]
        brush.canvas.lay(paint, brush.cut(fronts, rough_mm=0.15, dry=0.55))
    brush.canvas.lay(DARK, brush.cut([house.roof() for house in houses], rough_mm=0.12, dry=0.4))
    windows(brush, [pane for house in houses for pane in _panes(random, house)])


def _paint_waterfront(brush: Brush) -> None:
    top, foot = HORIZON_MM + 0.2, HORIZON_MM + 2.6
    wall = outline((80, top), (239, top), (243, foot), (77, foot))
    stone = {"Soot": 66, "Fjord": 46, "Rowan": 26, "Fog": 16}
    brush.canvas.lay(stone, brush.cut([wall], rough_mm=0.2, dry=0.6))
    street = halo(brush, x=166, y=HORIZON_MM - 1, radius=74, squash=0.2, power=0.8)
    brush.canvas.lift({"Soot": 34, "Fjord": 20}, street)
    brush.canvas.glaze({"Rowan": 12, "Brass": 26}, street)
    windows(brush, [box(x, HORIZON_MM - 1.2, 0.9, 0.9) for x in np.arange(92, 238, 9.7)])


def _paint_church(brush: Brush) -> None:
    tower = outline((177, 74), (177, 53), (180.2, 31), (183.4, 53), (183.4, 74))
    nave = outline((183, 76), (183, 63), (190, 57.5), (201, 57.5), (204, 64), (204, 76))
    brush.canvas.lay(
        {"Soot": 84, "Fjord": 44, "Rowan": 26}, brush.cut([tower, nave], rough_mm=0.2, dry=0.5)
    )
    cross = [line((180.2, 32), (180.2, 26.5), 0.5), line((178.8, 28.2), (181.6, 28.2), 0.5)]
    brush.canvas.lay(DARK, brush.cut(cross, rough_mm=0.08, dry=0.2))
    arches = [
        rounded([(x, 71), (x, 66), (x + 0.9, 64.4), (x + 1.8, 66), (x + 1.8, 71)], times=1)
        for x in (187, 191.4, 195.8)
    ]
    clock = [rounded(box(179.0, 55.5, 2.4, 2.4), times=2)]
    windows(brush, arches + clock)
