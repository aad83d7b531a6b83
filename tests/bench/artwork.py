"""Plates drawn for measuring: flat artwork, the same as scanned, and noise. Pixels only, no files.

Invented; any block of rows can be drawn by itself, so a sheet of any size needs little memory. What
is measured hangs on how often colours repeat: flat artwork repeats its colours over long runs,
scanned artwork hardly ever, random plates never.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

KINDS = ("flat", "grainy", "random")
INKS = 5
BLOCK_ROWS = 64
"""Noise is drawn in blocks of so many rows, each by a seed of its own."""

_MOTIF_PX = (2000, 4000)  # 85 x 169 mm at 600 ppi; larger sheets repeat it
_SHAPES = 14  # of one ink on a motif
_GRAIN_STEPS = 4.0  # standard deviation, of 255
_FULL = 255

Plane = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True)
class Artwork:
    """Five plates of one kind, 8 bits, 0 for no ink.

    Parameters
    ----------
    kind : str
        One of KINDS.
    width_px : int
    seed : int
    """

    kind: str
    width_px: int
    seed: int = 1

    def rows(self, ink: int, rows: slice) -> Plane:
        """Rows of one plate, from a multiple of BLOCK_ROWS on."""
        starts = range(rows.start, rows.stop, BLOCK_ROWS)
        blocks = [self._block(ink, row, min(BLOCK_ROWS, rows.stop - row)) for row in starts]
        return np.concatenate(blocks)

    def planes(self, height_px: int) -> Plane:
        """All plates (INKS, height_px, width_px)."""
        return np.stack([self.rows(ink, slice(0, height_px)) for ink in range(INKS)])

    def _block(self, ink: int, row: int, rows: int) -> Plane:
        rng = np.random.default_rng((self.seed, ink, row))
        if self.kind == "random":
            return rng.integers(0, _FULL + 1, (rows, self.width_px), dtype=np.uint8)
        flat = self._flat(ink, row, rows)
        return flat if self.kind == "flat" else _scanned(flat, rng)

    def _flat(self, ink: int, row: int, rows: int) -> Plane:
        motif = _motif(ink, self.seed)
        across = -(-self.width_px // motif.shape[1])
        lines = motif[np.arange(row, row + rows) % motif.shape[0]]
        return np.ascontiguousarray(np.tile(lines, (1, across))[:, : self.width_px])


def _scanned(flat: Plane, rng: np.random.Generator) -> Plane:
    """Grain on every inked pixel; bare stays bare."""
    grain = rng.standard_normal(flat.shape, dtype=np.float32)
    grain *= _GRAIN_STEPS
    grain += flat
    np.rint(grain, out=grain)
    np.clip(grain, 0, _FULL, out=grain)
    grain[flat == 0] = 0
    return grain.astype(np.uint8)


@lru_cache(maxsize=INKS)
def _motif(ink: int, seed: int) -> Plane:
    """Large shapes with soft edges on top of each other, every fourth a gradient."""
    rng = np.random.default_rng((seed, ink))
    plate = np.zeros(_MOTIF_PX, np.float32)
    ramp = np.linspace(0, 1, len(plate), dtype=np.float32)[:, None]
    for shape in range(_SHAPES):
        tone = 0 if shape % 3 == 1 else int(rng.integers(20, _FULL + 1))  # a third knocks out
        _paint(plate, rng, tone=tone * (ramp if shape % 4 == 0 else np.ones_like(ramp)))
    return np.rint(plate).astype(np.uint8)


def _paint(
    plate: NDArray[np.float32], rng: np.random.Generator, *, tone: NDArray[np.float32]
) -> None:
    """One ellipse, its edge one to four pixels wide, of a tone (rows, 1)."""
    height, width = plate.shape
    y, x = np.ogrid[:height, :width]
    radius = np.float32(rng.uniform(0.1, 0.5) * height)
    stretch = np.float32(rng.uniform(0.4, 1.5))
    down = y.astype(np.float32) - np.float32(rng.uniform(0, height))
    along = (x.astype(np.float32) - np.float32(rng.uniform(0, width))) * stretch
    inside = np.clip((radius - np.hypot(down, along)) / np.float32(rng.uniform(1, 4)), 0, 1)
    plate += inside * (tone - plate)
