"""The ferry's long smoke, blown back over the town."""

import numpy as np

from inkmix.demo.brush import Brush
from inkmix.demo.shapes import ribbon, rounded, shifted
from inkmix.demo.tones import PAINTS

SMOKE_PATH = (
    (268, 59),
    (262, 51),
    (251, 46.5),
    (238, 47),
    (222, 42),
    (206, 31),
    (190, 25),
    (170, 24.5),
    (148, 17),
    (126, 12),
)
SMOKE_WIDTH = (2.6, 6.0, 6.5, 8.5, 9.5, 8.0, 10.0, 8.5, 6.0, 1.5)


def paint_smoke(brush: Brush) -> None:
    """Smoke blown back over the town, thick and thin, lit from below near the funnel."""
    if not brush.near(100, 290):
        return
    random = brush.random("smoke")
    at = np.linspace(0, 1, len(SMOKE_PATH))
    t = np.linspace(0, 1, 60)
    path = np.stack([np.interp(t, at, np.array(SMOKE_PATH)[:, axis]) for axis in (0, 1)], axis=-1)
    path = np.stack(
        [np.convolve(np.pad(p, 4, mode="edge"), np.ones(9) / 9, "valid") for p in path.T], axis=-1
    )
    width = np.interp(t, at, SMOKE_WIDTH) * (1 + 0.3 * np.sin(t * 46) * random.uniform(0.5, 1, 60))
    whole = ribbon(path, width)
    brush.canvas.lay(PAINTS["smoke"], brush.cut([rounded(whole)], rough_mm=0.7, dry=1.25))
    upper = ribbon(shifted(path, y=-1.1), 0.42 * width)
    brush.canvas.lay(
        {"Soot": 14, "Fjord": 32, "Rowan": 8, "Fog": 46},
        brush.cut([rounded(upper)], rough_mm=0.5, dry=1.5),
    )
    glow = ribbon(shifted(path[:14], y=1.2), 0.3 * width[:14])
    brush.canvas.glaze(
        {"Rowan": 46, "Brass": 26}, brush.cut([rounded(glow)], rough_mm=0.5, dry=1.2)
    )
