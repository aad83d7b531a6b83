"""How many colours of a palette are clearly different, and how much room they take in Lab."""

from itertools import product

import numpy as np

from inkmix.base import loops
from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00

DIFFERENT_DE00 = 5.0
"""Seen as another colour at a glance, side by side or not (common practice)."""

GRID_PCT = {1: 5, 2: 10, 3: 20, 4: 25, 5: 100 / 3, 6: 50, 7: 50, 8: 50}
"""Step of the grid on which mixes are counted, by the number of inks: 256 to 6561 mixes from four
inks on."""


def grid_of_mixes(inks: int, *, limit_pct: float) -> FloatArray:
    """Tone values (N, I) of the grid within the ink limit, in a fixed order."""
    values = np.arange(0, 100 + 1e-6, GRID_PCT[inks])
    grid = np.array(list(product(values, repeat=inks)))
    return np.asarray(grid[grid.sum(axis=1) <= limit_pct + 1e-6])


def count_different(lab: FloatArray, *, least_de00: float = DIFFERENT_DE00) -> int:
    """Colours (N, 3) that are kept if each must differ so much from all that were kept before."""
    if loops.are_compiled():
        from inkmix.base.kernels import palette as kernel

        return int(kernel.count_different(lab, least_de00))
    kept = np.empty((0, 3))
    for colour in lab:
        if not (delta_e00(kept, colour) < least_de00).any():
            kept = np.vstack([kept, colour])
    return len(kept)


def hull_volume(points: FloatArray) -> float:
    """Volume of the convex hull of points (N, 3); 0 where they lie in one plane.

    Points are taken in one by one, the farthest from any face first: the faces that see it are
    replaced by those from their rim to the point.

    References
    ----------
    Barber, Dobkin & Huhdanpaa 1996, ACM Trans. Math. Software 22, 469-483.
    """
    faces = _first_faces(points)
    if faces is None:
        return 0.0
    inside = points[np.unique(faces)].mean(axis=0)
    room = 1e-9 * float(np.ptp(points, axis=0).max())
    normals, offsets = _planes(points, faces)
    outside = np.arange(len(points))
    while True:
        beyond = points[outside] @ normals.T - offsets
        most = beyond.max(axis=1)
        if not (most > room).any():
            return _volume(points, faces, inside)
        at = int(most.argmax())
        sees = beyond[at] > room
        added = _to_rim(faces[sees], int(outside[at]), len(points))
        new_normals, new_offsets = _planes(points, added)
        faces = np.concatenate([faces[~sees], added])
        normals = np.concatenate([normals[~sees], new_normals])
        offsets = np.concatenate([offsets[~sees], new_offsets])
        outside = outside[most > room]  # what is inside stays there


def _first_faces(points: FloatArray) -> IntArray | None:
    """Faces (4, 3) of a tetrahedron of points far apart, seen from outside counter-clockwise."""
    if len(points) < 4:
        return None
    room = 1e-9 * max(float(np.ptp(points, axis=0).max()), 1e-12)
    first = int(points[:, 0].argmin())
    away = points - points[first]
    second = int((away**2).sum(axis=1).argmax())
    axis = away[second] / max(float(np.linalg.norm(away[second])), 1e-300)
    aside = away - np.outer(away @ axis, axis)
    third = int((aside**2).sum(axis=1).argmax())
    height = away @ np.cross(away[second], away[third])
    fourth = int(np.abs(height).argmax())
    scale = float(np.linalg.norm(away[second]) * np.linalg.norm(aside[third]))
    if abs(height[fourth]) <= room * max(scale, 1e-300):
        return None
    if height[fourth] > 0:
        second, third = third, second
    corners = first, second, third, fourth
    return np.array([[corners[i] for i in face] for face in _TETRAHEDRON])


_TETRAHEDRON = ((0, 1, 2), (0, 3, 1), (1, 3, 2), (2, 3, 0))


def _planes(points: FloatArray, faces: IntArray) -> tuple[FloatArray, FloatArray]:
    """Outward unit normals (F, 3) and offsets (F,)."""
    a, b, c = points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]]
    normals = np.cross(b - a, c - a)
    normals /= np.maximum(np.sqrt((normals**2).sum(axis=1, keepdims=True)), 1e-300)
    return normals, (normals * a).sum(axis=1)


def _to_rim(seen: IntArray, point: int, count: int) -> IntArray:
    """Faces from a point, one of `count`, to the rim of the faces that it sees."""
    start = seen.ravel()
    end = seen[:, [1, 2, 0]].ravel()
    rim = ~np.isin(start * count + end, end * count + start)
    return np.column_stack([start[rim], end[rim], np.full(int(rim.sum()), point)])


def _volume(points: FloatArray, faces: IntArray, inside: FloatArray) -> float:
    a, b, c = (points[faces[:, corner]] - inside for corner in range(3))
    return float((a * np.cross(b, c)).sum() / 6)
