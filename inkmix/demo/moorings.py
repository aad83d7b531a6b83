"""The water of the harbour: what the town's lights make of it, and two boats."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.ground import HORIZON_MM
from inkmix.demo.light import column, windows
from inkmix.demo.shapes import box, line, mirrored, ribbon, ridge, rounded
from inkmix.demo.tones import PAINTS
from inkmix.demo.town import DARK, LEFT_MM, RIGHT_MM


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
    for x, base, size, paint in (
        (121.0, 113.0, 1.15, {"Soot": 44, "Rowan": 92, "Brass": 18}),
        (146.0, 104.5, 0.75, PAINTS["hull"]),
    ):
        hull = [
            (x, base - 4.6 * size),
            (x + 18 * size, base - 5.6 * size),
            (x + 15 * size, base),
            (x + 2.5 * size, base),
        ]
        cabin = box(x + 3 * size, base - 9 * size, 5.5 * size, 4.8 * size)
        rig = [
            line((x + 9.5 * size, base - 4), (x + 9.5 * size, base - 24 * size), 0.55 * size),
            line((x + 9.5 * size, base - 23 * size), (x + 17.6 * size, base - 5.6 * size), 0.2),
            line((x + 9.5 * size, base - 23 * size), (x + 0.5, base - 4.6 * size), 0.2),
            line((x + 9.5 * size, base - 8 * size), (x + 16 * size, base - 13 * size), 0.4 * size),
        ]
        brush.canvas.lay(PAINTS["silhouette"], brush.cut(rig, rough_mm=0.1, dry=0.3))
        brush.canvas.lay(
            {"Soot": 30, "Fjord": 30, "Fog": 46, "Brass": 8},
            brush.cut([cabin], rough_mm=0.12, dry=0.35),
        )
        brush.canvas.lay(paint, brush.cut([rounded(hull, times=1)], rough_mm=0.12, dry=0.35))
        gunwale = ribbon(
            [(x + 0.4, base - 4.4 * size), (x + 17.4 * size, base - 5.3 * size)], [0.6, 0.6]
        )
        brush.canvas.lay(
            {"Fog": 36, "Fjord": 16, "Soot": 12}, brush.cut([gunwale], rough_mm=0.08, dry=0.4)
        )
        echo = mirrored([np.asarray(hull), cabin], at=base, squash=0.8)
        brush.canvas.shade(
            {"Soot": 95, "Fjord": 60, "Rowan": 8}, brush.cut(echo, rough_mm=0.5, dry=1.2)
        )
        windows(brush, [box(x + 4.4 * size, base - 8 * size, 1.8 * size, 1.6 * size)])
