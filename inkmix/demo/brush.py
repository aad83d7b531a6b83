"""Brush, paper and stamp: noise tied to the paper's millimetres, dry edges, strokes.

Nothing here knows what is being drawn. Noise comes from small lattices drawn once and enlarged
slice by slice, so that slices agree and any resolution shows the same paper.
"""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from inkmix.demo.canvas import BLEED_MM, PANEL_MM, PANELS, Canvas, Plane, Polygon, Stamp, Tile

HAND = 1907  # the picture's own seed: it is the same picture whatever faults are planted
MARGIN_MM = 8.0
SUPERSAMPLE = 2
Shapes = Sequence[Polygon] | NDArray[np.float64]  # polygons (n, 2), or many alike (N, n, 2)


@dataclass
class Paper:
    """Noise fields of the whole strip, drawn when first asked for."""

    lattices: dict[tuple[str, float, float], Image.Image] = field(default_factory=dict)

    def lattice(self, name: str, *, long_mm: float, thick_mm: float) -> Image.Image:
        """Random values 0-1 on a lattice of the given pitch over strip, bleed and margin."""
        key = (name, long_mm, thick_mm)
        if key not in self.lattices:
            border = 2 * (BLEED_MM + MARGIN_MM)
            cols = int((PANELS * PANEL_MM[0] + border) / long_mm) + 4
            rows = int((PANEL_MM[1] + border) / thick_mm) + 4
            random = np.random.default_rng([HAND, zlib.crc32(name.encode())])
            self.lattices[key] = Image.fromarray(random.random((rows, cols), dtype=np.float32))
        return self.lattices[key]


@dataclass
class Brush:
    """What a slice is painted with: its canvas and the paper."""

    canvas: Canvas
    paper: Paper

    @property
    def tile(self) -> Tile:
        """The slice being painted."""
        return self.canvas.tile

    def near(self, left_mm: float, right_mm: float) -> bool:
        """Whether the slice, with a margin, meets a span of the strip."""
        x = self.tile.x[0]
        return bool(x[0] - MARGIN_MM < right_mm and x[-1] + MARGIN_MM > left_mm)

    def random(self, name: str) -> np.random.Generator:
        """Random numbers for one subject: the same in every slice."""
        return np.random.default_rng([HAND, zlib.crc32(name.encode())])

    def noise(self, name: str, *, long_mm: float, thick_mm: float) -> Plane:
        """(rows, cols) smooth noise, mean 0.5, mostly 0-1; features long_mm by thick_mm."""
        lattice = self.paper.lattice(name, long_mm=long_mm, thick_mm=thick_mm)
        return _enlarge(lattice, self.tile, long_mm, thick_mm)

    @cached_property
    def tooth(self) -> Plane:
        """Tooth of the paper, about -1 to 1: what a dry brush skips."""
        fine = self.noise("tooth", long_mm=0.42, thick_mm=0.3)
        coarse = self.noise("felt", long_mm=1.3, thick_mm=0.7)
        return np.asarray(fine * 1.3 + coarse * 0.9 - 1.1, dtype=np.float32)

    @cached_property
    def bristle(self) -> Plane:
        """Level brush marks, about -1 to 1."""
        fine = self.noise("bristle", long_mm=9.0, thick_mm=0.4)
        broad = self.noise("sweep", long_mm=26.0, thick_mm=1.7)
        return np.asarray(fine * 1.1 + broad * 1.2 - 1.15, dtype=np.float32)

    def cut(self, shapes: Shapes, *, rough_mm: float = 0.25, dry: float = 0.5) -> Stamp:
        """Shapes (n, 2) in mm as one stamp, its edge blurred by rough_mm and broken by tooth."""
        rows, cols, alpha = _fill(shapes, self.tile, rough_mm)
        if dry > 0 and alpha.size:
            ragged = alpha + np.float32(0.5 * dry) * self.tooth[rows, cols]
            alpha = edge(ragged, soft=0.2 + 0.1 * dry) * (alpha > 0.02)
        return Stamp(rows, cols, alpha)


def edge(value: Plane, *, soft: float, at: float = 0.5) -> Plane:
    """0 below, 1 above, a smooth step of half-width `soft` between."""
    t = np.clip((value - (at - soft)) / (2 * soft), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), dtype=np.float32)


def strokes(
    random: np.random.Generator,
    *,
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    long_mm: NDArray[np.float64],
    thick_mm: NDArray[np.float64],
    angle: NDArray[np.float64] | float = 0.0,
) -> NDArray[np.float64]:
    """(N, 10, 2) tapered brush marks centred at x, y; each bends a little its own way."""
    along = np.array([-0.5, -0.3, -0.05, 0.2, 0.4, 0.5, 0.35, 0.1, -0.15, -0.35])
    across = np.array([0.0, -0.38, -0.5, -0.42, -0.2, 0.0, 0.3, 0.5, 0.45, 0.25])
    bend = random.uniform(-0.6, 0.6, (len(x), 1)) * thick_mm[:, None]
    u = along * long_mm[:, None]
    v = across * thick_mm[:, None] * random.uniform(0.7, 1.3, (len(x), 10))
    v = v + bend * np.cos(np.pi * along)
    cos, sin = np.cos(angle), np.sin(angle)
    cos, sin = (np.broadcast_to(value, len(x))[:, None] for value in (cos, sin))
    px = x[:, None] + u * cos - v * sin
    py = y[:, None] + u * sin + v * cos
    return np.stack([px, py], axis=-1)


def _enlarge(lattice: Image.Image, tile: Tile, long_mm: float, thick_mm: float) -> Plane:
    left = (tile.start / tile.px_per_mm + MARGIN_MM) / long_mm
    top = MARGIN_MM / thick_mm
    right = left + tile.cols / tile.px_per_mm / long_mm
    bottom = top + tile.rows / tile.px_per_mm / thick_mm
    enlarged = lattice.resize(
        (tile.cols, tile.rows), Image.Resampling.BICUBIC, box=(left, top, right, bottom)
    )
    return np.asarray(enlarged, dtype=np.float32)


def _fill(shapes: Shapes, tile: Tile, rough_mm: float) -> tuple[slice, slice, Plane]:
    """Coverage of the polygons on the part of the slice that they touch, blurred."""
    margin = int(np.ceil(4 * rough_mm * tile.px_per_mm)) + 2
    seen = _seen(shapes, tile, margin)
    if not seen:
        return slice(0, 0), slice(0, 0), np.zeros((0, 0), dtype=np.float32)
    low = np.floor(np.min([p.min(axis=0) for p in seen], axis=0)).astype(int) - margin
    high = np.ceil(np.max([p.max(axis=0) for p in seen], axis=0)).astype(int) + margin
    low = np.maximum(low, -margin)
    high = np.minimum(high, np.array([tile.cols, tile.rows]) + margin)
    image = Image.new("L", tuple((high - low) * SUPERSAMPLE))
    pen = ImageDraw.Draw(image)
    for points in seen:
        pen.polygon(((points - low) * SUPERSAMPLE).ravel().tolist(), fill=255)
    soft = image.reduce(SUPERSAMPLE).filter(ImageFilter.GaussianBlur(rough_mm * tile.px_per_mm))
    first = np.maximum(low, 0)
    last = np.maximum(np.minimum(high, [tile.cols, tile.rows]), first)
    inner = soft.crop((*(first - low).tolist(), *(last - low).tolist()))
    rows, cols = slice(int(first[1]), int(last[1])), slice(int(first[0]), int(last[0]))
    return rows, cols, np.asarray(inner, dtype=np.float32) / np.float32(255)


def _seen(shapes: Shapes, tile: Tile, margin: int) -> list[Polygon]:
    """The polygons, in pixels, whose bounding box meets the slice."""
    if isinstance(shapes, np.ndarray):
        pixels = tile.to_px(shapes)
        return list(pixels[_touches(pixels, tile, margin)])
    singly = (tile.to_px(shape) for shape in shapes)
    return [points for points in singly if _touches(points, tile, margin)]


def _touches(points: NDArray[np.float64], tile: Tile, margin: int) -> NDArray[np.bool_]:
    low, high = points.min(axis=-2), points.max(axis=-2)
    inside = (high > -margin) & (low < np.array([tile.cols, tile.rows]) + margin)
    return np.asarray(inside.all(axis=-1))
