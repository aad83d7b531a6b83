"""Outlines of the pixels that a finding speaks of: their edges followed and made simple.

Cells in, polygons in mm out. What lies close together is joined first, so that grain does not turn
an outline into lace.
"""

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.checks.finding import Shape

JOINED_MM = 1.0
"""Cells nearer to one another than twice this share an outline."""

_MOST_POINTS = 3000
_LEAST_MM2 = 1.0  # of a loop, unless all are smaller

Point = tuple[int, int]


def outlines(shape: Shape, *, fine_mm: float) -> list[FloatArray]:
    """Closed polygons (N, 2) of x and y in mm, largest first; holes are polygons too.

    Parameters
    ----------
    fine_mm : float
        No edge lies farther from the true one, unless there are too many points.
    """
    loops = [np.array(loop, np.float64) for loop in _loops(_joined(shape))]
    loops.sort(key=lambda loop: -abs(_doubled_area(loop)))
    large = [one for one in loops if abs(_doubled_area(one)) * shape.cell_mm**2 > 2 * _LEAST_MM2]
    kept, fine = large or loops[:1], max(fine_mm / shape.cell_mm, 0.75)
    simple = [_simplified(loop, fine) for loop in kept]
    while sum(map(len, simple)) > _MOST_POINTS:
        fine *= 2
        simple = [_simplified(loop, fine) for loop in kept]
    return [loop * shape.cell_mm + (shape.x_mm, shape.y_mm) for loop in simple]


def _joined(shape: Shape) -> BoolArray:
    """The cells with gaps between them closed, a bare cell all around."""
    from scipy.ndimage import binary_closing

    reach = int(np.ceil(JOINED_MM / shape.cell_mm))
    padded = np.pad(shape.cells, reach + 1)
    closed = binary_closing(padded, np.ones((2 * reach + 1, 2 * reach + 1)))
    inner = slice(reach, -reach)
    return np.asarray(closed[inner, inner])


def _loops(cells: BoolArray) -> list[list[Point]]:
    """Corners (x, y) of the edges of cells, marked ones at the right hand; (0, 0) is padding's."""
    ways = _ways(cells)
    loops = []
    while ways:
        start = next(iter(ways))
        loop, at, came = [start], start, (0, 0)
        while True:
            ahead = ways[at]
            step = ahead.pop(_sharpest(ahead, came))
            if not ahead:
                del ways[at]
            at = at[0] + step[0], at[1] + step[1]
            if at == start:
                break
            if step == came:
                loop[-1] = at
            else:
                loop.append(at)
            came = step
        loops.append(loop)
    return loops


def _sharpest(ahead: list[Point], came: Point) -> int:
    """Where cells meet at a corner only: the turn to the left, which joins them."""
    left = came[1], -came[0]
    return ahead.index(left) if left in ahead else 0


def _ways(cells: BoolArray) -> dict[Point, list[Point]]:
    """From each corner the steps along edges, in raster order of the corners."""
    ways: dict[Point, list[Point]] = {}
    sides = (
        (cells[1:] & ~cells[:-1], (0, 0), (1, 0)),
        (cells[:-1] & ~cells[1:], (1, 0), (-1, 0)),
        (cells[:, :-1] & ~cells[:, 1:], (0, 0), (0, 1)),
        (cells[:, 1:] & ~cells[:, :-1], (0, 1), (0, -1)),
    )
    for is_edge, (right, down), step in sides:
        lies_across = step[1] == 0
        for row, col in np.argwhere(is_edge).tolist():
            x, y = (col - 1, row) if lies_across else (col, row - 1)
            ways.setdefault((x + right, y + down), []).append(step)
    return dict(sorted(ways.items(), key=lambda way: (way[0][1], way[0][0])))


def _doubled_area(loop: FloatArray) -> float:
    x, y = loop.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _simplified(loop: FloatArray, fine: float) -> FloatArray:
    """The loop with fewer corners, none farther than `fine` from what is left.

    References
    ----------
    Douglas & Peucker 1973, Algorithms for the reduction of the number of points required to
    represent a digitized line or its caricature, Cartographica 10, 112-122.
    """
    if len(loop) < 4:
        return loop
    far = int(np.argmax(((loop - loop[0]) ** 2).sum(axis=1)))
    keep = np.zeros(len(loop) + 1, np.bool_)
    closed = np.vstack([loop, loop[:1]])
    keep[[0, far]] = True
    spans = [(0, far), (far, len(loop))]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        away = _from_line(closed[first + 1 : last], closed[first], closed[last])
        if away.max() > fine:
            middle = first + 1 + int(np.argmax(away))
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return loop[keep[:-1]] if keep[:-1].sum() > 2 else loop


def _from_line(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    along = end - start
    length = float(np.hypot(*along))
    if not length:
        return np.asarray(np.hypot(*(points - start).T))
    across = points - start
    return np.asarray(np.abs(across[:, 0] * along[1] - across[:, 1] * along[0]) / length)
