"""The plates and masks of the strip as arrays: every slice painted in turn, at any resolution.

Order of painting and the last pass of texture; no subject is drawn here and no file written.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush, Paper
from inkmix.demo.canvas import Canvas, Plane, hold_back, strip_sheet, tiles_of
from inkmix.demo.dawn import paint_dawn, paint_dawn_path, paint_hills
from inkmix.demo.deck import paint_deck
from inkmix.demo.ferry import paint_ferry
from inkmix.demo.ground import paint_ground
from inkmix.demo.landing import paint_landing
from inkmix.demo.lighthouse import paint_lighthouse
from inkmix.demo.moorings import paint_boats, paint_reflections
from inkmix.demo.nights import AREAS, night_mask
from inkmix.demo.quay import paint_quay
from inkmix.demo.rain import paint_rain, paint_rain_front
from inkmix.demo.sea import paint_glitter, paint_waves
from inkmix.demo.sky import paint_moon, paint_night_sky, paint_stars
from inkmix.demo.smoke import paint_smoke
from inkmix.demo.swell import paint_buoy, paint_swell
from inkmix.demo.tones import INKS
from inkmix.demo.town import paint_town
from inkmix.sheet.geometry import Sheet

PPI = 200.0
SCENES: tuple[Callable[[Brush], None], ...] = (  # from the farthest to the nearest
    paint_ground,
    paint_night_sky,
    paint_stars,
    paint_moon,
    paint_rain_front,
    paint_dawn,
    paint_hills,
    paint_smoke,
    paint_town,
    paint_waves,
    paint_dawn_path,
    paint_lighthouse,
    paint_reflections,
    paint_swell,
    paint_glitter,
    paint_boats,
    paint_ferry,
    paint_buoy,
    paint_rain,
    paint_landing,
    paint_quay,
    paint_deck,
)
GRAIN = {"Soot": 0.10, "Fjord": 0.13, "Rowan": 0.20, "Brass": 0.14, "Fog": 0.18}
MARKS_MM = {
    "Soot": (5.0, 0.5),
    "Fjord": (2.4, 1.1),
    "Rowan": (1.1, 1.6),
    "Brass": (3.6, 0.6),
    "Fog": (1.8, 1.8),
}

Plates = dict[str, NDArray[np.uint8]]


def draw_strip(*, ppi: float = PPI) -> tuple[Plates, Plates]:
    """Clean plates by ink (ink amount, 0 = none), and night masks (0 or 255) by name of the area.

    Parameters
    ----------
    ppi : float
        Resolution, pixels per inch; 200 gives 6976 x 1228 px.
    """
    sheet = strip_sheet(ppi)
    plates = _blank(sheet, INKS)
    masks = _blank(sheet, tuple(AREAS))
    paper = Paper()
    for tile in tiles_of(sheet):
        canvas = Canvas(tile)
        brush = Brush(canvas, paper)
        for paint in SCENES:
            paint(brush)
        cols = slice(tile.start, tile.start + tile.cols)
        for name in AREAS:
            masks[name][:, cols] = night_mask(brush, name)
        _finish(brush)
        for ink, plane in zip(INKS, canvas.planes, strict=True):
            plates[ink][:, cols] = np.rint(plane * 255)
    return plates, masks


def _blank(sheet: Sheet, names: tuple[str, ...]) -> Plates:
    shape = (sheet.height_px, sheet.width_px)
    return {name: np.zeros(shape, dtype=np.uint8) for name in names}


def _finish(brush: Brush) -> None:
    """Let brush and paper show in every plate, each its own way, then hold back total ink."""
    for ink, plane in zip(INKS, brush.canvas.planes, strict=True):
        plane += 4 * plane * (1 - plane) * (GRAIN[ink] * _hand(brush, ink))
        np.clip(plane, 0, 1, out=plane)
    hold_back(brush.canvas.planes)


def _hand(brush: Brush, ink: str) -> Plane:
    """Texture of one plate, about -1 to 1: bristles, wash and grain of its own."""
    long_mm, thick_mm = MARKS_MM[ink]
    marks = brush.noise(f"{ink} marks", long_mm=long_mm, thick_mm=thick_mm)
    wash = brush.noise(f"{ink} wash", long_mm=17.0, thick_mm=9.0)
    grain = brush.noise(f"{ink} grain", long_mm=0.2, thick_mm=0.2)
    mixed = 0.9 * marks + 0.8 * wash + grain - 1.35 + 0.25 * brush.tooth
    return np.asarray(mixed, dtype=np.float32)
