"""Outlines in mm: boxes, discs, lines, rounded shapes, ridges, people. Geometry only, no paint."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkmix.demo.canvas import Polygon


def outline(*points_mm: tuple[float, float]) -> Polygon:
    """A polygon from its corners."""
    return np.array(points_mm, dtype=np.float64)


def box(x: float, y: float, width: float, height: float) -> Polygon:
    """An upright rectangle from its top left corner."""
    return outline((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def disc(x: float, y: float, radius: float, *, squash: float = 1.0) -> Polygon:
    """A circle, or an ellipse of relative height `squash`."""
    turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    return np.stack([x + radius * np.cos(turn), y + radius * squash * np.sin(turn)], axis=-1)


def arch(x: float, y: float, width: float, height: float) -> Polygon:
    """An opening with a round top and a straight sill, from its top left corner."""
    turn = np.linspace(np.pi, 2 * np.pi, 16)
    half = width / 2
    top = np.stack([x + half + half * np.cos(turn), y + half + half * np.sin(turn)], axis=-1)
    return np.concatenate([top, [[x + width, y + height], [x, y + height]]])


def rounded(points_mm: ArrayLike, *, times: int = 3) -> Polygon:
    """A closed shape with its corners cut again and again (Chaikin), so that it looks drawn."""
    points = np.asarray(points_mm, dtype=np.float64)
    for _ in range(times):
        after = np.roll(points, -1, axis=0)
        points = np.stack([0.75 * points + 0.25 * after, 0.25 * points + 0.75 * after], axis=1)
        points = points.reshape(-1, 2)
    return points


def ribbon(points_mm: ArrayLike, widths_mm: ArrayLike) -> Polygon:
    """A band along a path; one width for every point of the path."""
    path = np.asarray(points_mm, dtype=np.float64)
    ahead = np.gradient(path, axis=0)
    normal = np.stack([-ahead[:, 1], ahead[:, 0]], axis=-1)
    normal /= np.maximum(np.linalg.norm(normal, axis=-1, keepdims=True), 1e-9)
    half = 0.5 * np.asarray(widths_mm, dtype=np.float64).reshape(-1, 1)
    return np.concatenate([path + half * normal, (path - half * normal)[::-1]])


def line(start: tuple[float, float], end: tuple[float, float], width: float) -> Polygon:
    """A straight bar."""
    return ribbon([start, end], [width, width])


def ridge(
    random: np.random.Generator,
    *,
    left: float,
    right: float,
    base: float,
    heights: Sequence[float],
    rough: float,
) -> Polygon:
    """Hills from left to right standing on `base`: heights at even places, broken by `rough` mm."""
    x = np.linspace(left, right, 160)
    t = np.linspace(0, 1, len(heights))
    smooth = 0.5 - 0.5 * np.cos(np.pi * (((x - left) / (right - left) * (len(heights) - 1)) % 1))
    index = np.minimum(((x - left) / (right - left) * (len(heights) - 1)).astype(int), len(t) - 2)
    known = np.asarray(heights, dtype=np.float64)
    height = known[index] + (known[index + 1] - known[index]) * smooth
    height += rough * _wander(random, x)
    height[-1] = known[-1]
    top = np.stack([x, base - np.maximum(height, 0)], axis=-1)
    return np.concatenate([top, [[right, base], [left, base]]])


def _wander(random: np.random.Generator, x: NDArray[np.float64]) -> NDArray[np.float64]:
    waves = [
        np.sin(x / pitch + random.uniform(0, 6.3)) * pitch / 4 for pitch in (3.7, 1.9, 1.1, 0.6)
    ]
    return np.asarray(np.sum(waves, axis=0), dtype=np.float64)


def shifted(shape: Polygon, *, x: float = 0.0, y: float = 0.0) -> Polygon:
    """The same shape, moved."""
    return np.asarray(shape + np.array([x, y]), dtype=np.float64)


def placed(shape: ArrayLike, *, x: float, base: float, height: float, facing: int = 1) -> Polygon:
    """A shape in units of its own height, y upwards, set down on `base`; facing -1 mirrors it."""
    points = np.asarray(shape, dtype=np.float64)
    return np.stack([x + facing * height * points[:, 0], base - height * points[:, 1]], axis=-1)


def mirrored(shapes: Sequence[Polygon], *, at: float, squash: float) -> list[Polygon]:
    """Shapes upside down below the level `at`, as still water shows them."""
    return [np.stack([s[:, 0], at + squash * (at - s[:, 1])], axis=-1) for s in shapes]
