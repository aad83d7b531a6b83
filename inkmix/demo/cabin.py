"""The saloon on deck: its wall, three lit windows, the passengers behind them."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Polygon, overlap
from inkmix.demo.people import stand
from inkmix.demo.shapes import box, disc, line, outline, ribbon, rounded
from inkmix.demo.tones import Mix

PANES = ((599.0, 20.0), (622.5, 20.0), (646.0, 14.0))  # left edge and width
PANE_TOP, PANE_HIGH = 60.0, 31.0
WALL: Mix = {"Soot": 66, "Fjord": 72, "Rowan": 14}
INSIDE: Mix = {"Soot": 66, "Fjord": 34, "Rowan": 62, "Brass": 18}
CABIN_FOOT_MM = 135.0
CABIN = outline((592, CABIN_FOOT_MM), (592, 45), (665, 45), (665, CABIN_FOOT_MM))
ROOF = outline((584, 41.5), (588, 38), (680, 38), (683, 41.5), (683, 45), (584, 45.5))


def paint_cabin(brush: Brush) -> None:
    """The boarded wall, roof, window frames and a lifebuoy."""
    brush.canvas.lay(WALL, brush.cut([CABIN], rough_mm=0.2, dry=0.4))
    boards = [line((592, y), (665, y), 0.35) for y in (52, 57, 94, 101, 108, 115, 122, 129)]
    brush.canvas.glaze({"Soot": 60}, brush.cut(boards, rough_mm=0.1, dry=0.9))
    lit = [line((592, y + 0.6), (665, y + 0.6), 0.3) for y in (94, 101, 108, 115)]
    brush.canvas.lift({"Soot": 50}, brush.cut(lit, rough_mm=0.1, dry=1.0))
    brush.canvas.lay(
        {"Soot": 90, "Fjord": 56, "Rowan": 16}, brush.cut([ROOF], rough_mm=0.15, dry=0.4)
    )
    edge = [line((584, 38.4), (682, 38.4), 0.8)]
    brush.canvas.lay({"Soot": 30, "Fjord": 40, "Fog": 44}, brush.cut(edge, rough_mm=0.12, dry=0.9))
    frames = [_pane(x - 1.5, PANE_TOP - 1.5, width + 3, PANE_HIGH + 3) for x, width in PANES]
    brush.canvas.lay(
        {"Soot": 88, "Fjord": 40, "Rowan": 40}, brush.cut(frames, rough_mm=0.12, dry=0.3)
    )
    ring = disc(629, 111, 8.2), disc(629, 111, 4.6)
    brush.canvas.lay(
        {"Rowan": 88, "Brass": 12, "Soot": 12}, brush.cut([ring[0]], rough_mm=0.15, dry=0.4)
    )
    quarters = [
        ribbon([(629 + r * np.cos(a), 111 + r * np.sin(a)) for r in (4.2, 8.6)], [2.2, 3.6])
        for a in (0.8, 2.37, 3.94, 5.5)
    ]
    brush.canvas.lay({"Fog": 30, "Brass": 10}, brush.cut(quarters, rough_mm=0.12, dry=0.4))
    brush.canvas.lay(WALL, brush.cut([ring[1]], rough_mm=0.15, dry=0.3))
    brush.canvas.glaze({"Soot": 34}, brush.cut([ring[1]], rough_mm=0.6, dry=0.6))


def _pane(x: float, y: float, width: float, height: float) -> Polygon:
    near_x, near_y, far_x, far_y = x + 2.2, y + 2.2, x + width - 2.2, y + height - 2.2
    right, bottom = x + width, y + height
    corners = [(x, near_y), (near_x, y), (far_x, y), (right, near_y)]
    corners += [(right, far_y), (far_x, bottom), (near_x, bottom), (x, far_y)]
    return rounded(corners, times=2)


def paint_saloon(brush: Brush) -> None:
    """Warm panes, hanging lamps, the passengers."""
    panes = [_pane(x, PANE_TOP, width, PANE_HIGH) for x, width in PANES]
    hem = brush.cut(panes, rough_mm=2.2, dry=0.0)
    brush.canvas.lift({"Soot": 60, "Fjord": 66}, hem)
    brush.canvas.glaze({"Rowan": 40, "Brass": 36}, hem)
    brush.canvas.lay({"Rowan": 22, "Brass": 80}, brush.cut(panes, rough_mm=0.15, dry=0.3))
    upper = [_pane(x + 0.8, PANE_TOP + 0.6, width - 1.6, 15) for x, width in PANES]
    brush.canvas.lift({"Rowan": 80, "Brass": 40}, brush.cut(upper, rough_mm=1.6, dry=1.0))
    low = [box(x, PANE_TOP + 23, width, PANE_HIGH - 23.3) for x, width in PANES]
    brush.canvas.glaze({"Rowan": 46, "Soot": 22}, brush.cut(low, rough_mm=0.4, dry=0.7))
    shade = [
        rounded([(x, 66.5), (x + 1.6, 63), (x + 3.4, 63), (x + 5, 66.5)], times=1)
        for x in (612.0, 625.5)
    ]
    cords = [line((614.5, 60), (614.5, 63.5), 0.3), line((628, 60), (628, 63.5), 0.3)]
    brush.canvas.lay({"Rowan": 86, "Brass": 30}, brush.cut([*shade, *cords], rough_mm=0.1, dry=0.2))
    _paint_passengers(brush, panes)


def _paint_passengers(brush: Brush, panes: list[Polygon]) -> None:
    people = stand("reader", x=606.5, base=91.0, height=19.5)
    people += stand("child", x=633.5, base=99.0, height=23.0)
    people += stand("child", x=639.0, base=97.5, height=17.0, facing=-1)
    people += stand("sleeper", x=653.0, base=91.0, height=20.0, facing=-1)
    inside = brush.cut(people, rough_mm=0.12, dry=0.2)
    mask = brush.cut(panes, rough_mm=0.12, dry=0.2)
    brush.canvas.lay(INSIDE, overlap(inside, mask))
    bar = brush.cut([line((632.5, 60), (632.5, 91), 0.7)], rough_mm=0.1, dry=0.2)
    brush.canvas.lay({"Soot": 88, "Fjord": 40, "Rowan": 40}, bar)
