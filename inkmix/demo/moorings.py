"""The water of the harbour: what the town's lights make of it, and two boats."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Polygon
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import column, windows
from inkmix.demo.shapes import box, line, mirrored, outline, ridge, rounded, shifted
from inkmix.demo.tones import PAINTS, Mix
from inkmix.demo.town import DARK, LEFT_MM, RIGHT_MM

BOAT_HULL = outline((0, -4.6), (18, -5.6), (15, 0), (2.5, 0))  # mm from the stern's waterline
BOAT_RIG = (
    line((9.5, -4), (9.5, -24), 0.55),
    line((9.5, -23), (17.6, -5.6), 0.2),
    line((9.5, -23), (0.5, -4.6), 0.2),
    line((9.5, -8), (16, -13), 0.4),
)


def paint_reflections(brush: Brush) -> None:
    """Dark of the hill and columns of light below the quay wall of the town."""
    if not brush.near(LEFT_MM, RIGHT_MM + 10):
        return
    random = brush.random("reflections")
    heights = (2, 8, 15, 12, 17, 15, 9, 4, 1)
    hill = ridge(random, left=78, right=246, base=HORIZON_MM, heights=heights, rough=1.2)
    brush.canvas.lay(
        DARK, brush.cut(mirrored([hill], at=HORIZON_MM + 2.4, squash=1.0), rough_mm=0.9, dry=0.9)
    )
    for x in np.sort(random.uniform(118, 232, 17)):
        lively = random.random()
        mix = PAINTS["lamp glow"] if lively < 0.55 else PAINTS["far light"]
        column(
            brush,
            random,
            x=float(x),
            top=HORIZON_MM + 3.0,
            length=18 + 34 * lively,
            width=1.3 + 1.5 * lively,
            mix=mix,
            count=int(22 + 24 * lively),
        )


def paint_boats(brush: Brush) -> None:
    """Two fishing boats at their moorings, masts against the lights."""
    if not brush.near(100, 170):
        return
    red: Mix = {"Soot": 44, "Rowan": 92, "Brass": 18}
    _paint_boat(brush, x=121.0, base=113.0, size=1.15, paint=red)
    _paint_boat(brush, x=146.0, base=104.5, size=0.75, paint=PAINTS["hull"])


def _paint_boat(brush: Brush, *, x: float, base: float, size: float, paint: Mix) -> None:
    def here(shape: Polygon) -> Polygon:
        return shifted(shape * size, x=x, y=base)

    hull, cabin = here(BOAT_HULL), here(box(3, -9, 5.5, 4.8))
    rig = [here(part) for part in BOAT_RIG]
    brush.canvas.lay(PAINTS["silhouette"], brush.cut(rig, rough_mm=0.1, dry=0.3))
    cabin_paint: Mix = {"Soot": 30, "Fjord": 30, "Fog": 46, "Brass": 8}
    brush.canvas.lay(cabin_paint, brush.cut([cabin], rough_mm=0.12, dry=0.35))
    brush.canvas.lay(paint, brush.cut([rounded(hull, times=1)], rough_mm=0.12, dry=0.35))
    gunwale = here(line((0.4, -4.4), (17.4, -5.3), 0.6))
    brush.canvas.lay(
        {"Fog": 36, "Fjord": 16, "Soot": 12}, brush.cut([gunwale], rough_mm=0.08, dry=0.4)
    )
    echo = mirrored([hull, cabin], at=base, squash=0.8)
    brush.canvas.shade(
        {"Soot": 95, "Fjord": 60, "Rowan": 8}, brush.cut(echo, rough_mm=0.5, dry=1.2)
    )
    windows(brush, [here(box(4.4, -8, 1.8, 1.6))])
