"""Sky and sea of the whole crossing: the grounds on which everything else is painted.

Each is a small table of mixes, place along the strip by height, looked up through brush noise:
broad flat steps with dry edges, as gouache leaves them, never a ramp.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Plane
from inkmix.demo.tones import PAINTS, Mix, mix_pct

HORIZON_MM = 90.0
LEFT_MM, TOP_MM, BOTTOM_MM = -3.0, -3.0, 153.0
STEPS = 10  # flat steps from top to horizon, and from horizon to bottom
PITCH_MM = 2.0  # along the strip
Column = tuple[float, Sequence[Mix]]

NIGHT: Mix = PAINTS["deep night"]
SEA: Mix = PAINTS["open sea"]
RAIN: Mix = PAINTS["rain"]
DAWN: Mix = PAINTS["dawn"]


def _m(soot: float, fjord: float, rowan: float = 0, brass: float = 0, fog: float = 0) -> Mix:
    return {"Soot": soot, "Fjord": fjord, "Rowan": rowan, "Brass": brass, "Fog": fog}


SKY: Sequence[Column] = (  # mm along the strip; four mixes from the top down to the horizon
    (-3, (_m(84, 66, 14), _m(70, 66, 26), _m(52, 60, 36, 10), _m(36, 50, 46, 22))),
    (70, (NIGHT, _m(82, 68, 16), _m(62, 64, 32, 8), _m(40, 52, 44, 22))),
    (118, (NIGHT, NIGHT, _m(82, 68, 16), _m(46, 54, 44, 22))),
    (200, (NIGHT, NIGHT, NIGHT, _m(50, 58, 42, 18))),
    (330, (NIGHT, NIGHT, NIGHT, _m(64, 68, 16))),
    (356, (_m(84, 72, 4), _m(62, 72), _m(66, 70), _m(52, 64, 4, 0, 16))),
    (386, (_m(62, 76), _m(16, 56, 0, 0, 16), _m(36, 66, 0, 0, 8), _m(24, 54, 0, 0, 26))),
    (420, (_m(76, 74), _m(56, 72), _m(54, 70), _m(40, 60, 0, 0, 24))),
    (462, (_m(76, 64, 0, 0, 20), _m(66, 60, 0, 0, 30), _m(46, 56, 0, 0, 44), RAIN)),
    (560, (_m(80, 64, 0, 0, 20), _m(64, 58, 0, 0, 34), _m(48, 56, 0, 0, 44), RAIN)),
    (640, (_m(82, 70, 4), _m(70, 68, 6), _m(54, 62, 10, 0, 14), _m(36, 54, 14, 0, 26))),
    (710, (_m(70, 74, 6), _m(50, 68, 10), _m(30, 58, 18), _m(14, 44, 26, 6, 20))),
    (770, (_m(38, 66, 4, 0, 10), _m(16, 54, 12, 0, 20), _m(4, 38, 22, 6, 22), DAWN)),
    (826, (_m(12, 54, 4, 0, 26), _m(0, 38, 14, 4, 26), _m(0, 14, 26, 18, 16), _m(0, 0, 30, 44))),
    (883, (_m(6, 46, 6, 0, 30), _m(0, 30, 16, 6, 26), _m(0, 8, 26, 20, 14), _m(0, 0, 28, 40))),
)
WATER: Sequence[Column] = (  # the same from the horizon down to the bottom
    (-3, (_m(56, 58, 34, 12), _m(76, 68, 18), SEA, SEA)),
    (200, (_m(60, 62, 30, 8), _m(80, 70, 12), SEA, SEA)),
    (325, (_m(70, 70, 8), _m(82, 72, 6), SEA, SEA)),
    (386, (_m(26, 56, 0, 0, 26), _m(38, 66, 0, 0, 12), _m(56, 72), _m(70, 74))),
    (436, (_m(72, 66, 0, 0, 16), _m(86, 70, 4), SEA, SEA)),
    (452, (SEA, SEA, SEA, SEA)),
    (600, (SEA, SEA, SEA, SEA)),
    (680, (_m(52, 62, 8, 0, 14), _m(70, 70, 6), _m(80, 72), SEA)),
    (760, (_m(10, 46, 20, 0, 24), _m(30, 58, 8, 0, 16), _m(48, 66), _m(62, 72))),
    (
        826,
        (_m(0, 10, 28, 30, 14), _m(2, 38, 16, 4, 26), _m(14, 54, 4, 0, 22), _m(30, 64, 0, 0, 10)),
    ),
    (883, (_m(0, 14, 26, 24, 18), _m(2, 38, 14, 0, 28), _m(16, 54, 4, 0, 22), _m(34, 64, 0, 0, 8))),
)


def paint_ground(brush: Brush) -> None:
    """Lay sky and sea over the whole slice."""
    tile = brush.tile
    drift = brush.noise("drift", long_mm=38.0, thick_mm=11.0) - np.float32(0.5)
    x = tile.x + 34 * drift + 2 * brush.bristle
    above = (tile.y - TOP_MM) / (HORIZON_MM - TOP_MM)
    below = np.sqrt(np.maximum(tile.y - HORIZON_MM, 0) / (BOTTOM_MM - HORIZON_MM))
    wobble = 0.042 * brush.bristle + 0.012 * brush.tooth
    horizon = int(np.searchsorted(tile.y[:, 0], HORIZON_MM))
    for columns, height, rows in (
        (SKY, above + wobble + 0.16 * drift, slice(0, horizon)),
        (WATER, below + wobble, slice(horizon, None)),
    ):
        table = _table(columns)
        place = _place(x[rows], height[rows], places=table.shape[2])
        for plane, ink in zip(brush.canvas.planes, table, strict=True):
            plane[rows] = ink.ravel()[place]


def _place(x: Plane, height: Plane, *, places: int) -> NDArray[np.int32]:
    """Index into one ink of a table, flattened, for every pixel."""
    col = np.clip((x - LEFT_MM) / PITCH_MM, 0, places - 1).astype(np.int32)
    step = np.clip(height * STEPS, 0, STEPS - 1).astype(np.int32)
    return np.asarray(step * np.int32(places) + col, dtype=np.int32)


def _table(columns: Sequence[Column]) -> NDArray[np.float32]:
    """(5, STEPS, places) tone values 0-1."""
    nodes = np.array([[mix_pct(mix) for mix in mixes] for _, mixes in columns]) / 100
    along = np.arange(LEFT_MM, columns[-1][0] + PITCH_MM, PITCH_MM)
    at = np.array([place for place, _ in columns])
    t = np.interp(along, at, np.arange(len(at)))
    heights = np.linspace(0, 3, STEPS)
    return np.stack([_bilinear(nodes[..., ink], t, heights) for ink in range(nodes.shape[2])])


def _bilinear(
    nodes: NDArray[np.float64], t: NDArray[np.float64], heights: NDArray[np.float64]
) -> NDArray[np.float32]:
    rows = np.array([np.interp(heights, np.arange(4), node) for node in nodes])  # (nodes, STEPS)
    columns = np.array([np.interp(t, np.arange(len(rows)), row) for row in rows.T])
    return columns.astype(np.float32)
