"""The press condition as an n-D table, and the plain NumPy evaluation of it.

The table holds, at a grid of ink amounts, unclipped sRGB and L* as four int16; pixels are looked up
in fixed point by simplex interpolation (sort the fractions, walk one corner at a time), so that
every way of evaluating it can give the same bits. No files and no plates here.

A table is built from a press condition for one depth of plate (8 or 16 bits). The tone curve lives
in the per-ink index tables: nodes are spaced evenly in coverage, not in tone value, which halves
the error.
"""

import hashlib
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkmix.colour.colorimetry import xyz100_to_lab, xyz100_to_srgb1

SRGB_SCALE = 64  # units of one 8-bit step of sRGB; int16 then spans -2 to 2 times white
LIGHTNESS_SCALE = 256  # units of one L*
FRACTION_ONE = 1 << 15  # weights of a simplex add up to this; times int16 it stays within int32
NODES = {
    1: 65,
    2: 33,
    3: 25,
    4: 17,
    5: 15,
    6: 10,
    7: 7,
    8: 6,
}  # keeps a table under 2 million nodes
# Largest dE00 and L* beside the exact model before rounding to 8 bits, by number of inks, of
# colours in sRGB; measured on the Night Ferry inks and FOGRA39L, tests/test_lookup.py holds them.
STATED_ERROR_DE00 = {1: 0.6, 2: 0.6, 3: 0.6, 4: 0.6, 5: 0.6, 6: 1.5, 7: 2.8, 8: 4.0}
STATED_ERROR_L = {1: 0.4, 2: 0.4, 3: 0.4, 4: 0.4, 5: 0.4, 6: 1.2, 7: 1.8, 8: 2.6}
ROUNDING_ERROR_DE00 = 0.6  # added by rounding sRGB to 8 bits

CHUNK_PX = 1 << 16  # pixels worked on at once, so that intermediate arrays stay in the cache
CHUNK_NODES = 1 << 11  # nodes worked on at once, likewise
SLAB_NODES = 1 << 16  # nodes that share what measured mixtures say; some megabytes for each ink
MAX_THREADS = 8  # each holds a slab of nodes

Int16Array = NDArray[np.int16]
Int32Array = NDArray[np.int32]
PlaneArray = NDArray[np.uint8] | NDArray[np.uint16]


class ColourModel(Protocol):
    """What a table is built from; a press condition is one."""

    def xyz100(self, tone_pct: ArrayLike) -> NDArray[np.float64]:
        """Predicted XYZ of tone values in %, (..., I) -> (..., 3)."""
        ...

    def xyz100_on_grid(self, tone_pct: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
        """XYZ (N, 3) of all combinations of tone values (V,) of each ink, the last one fastest."""
        ...

    def coverage(self, tone_pct: ArrayLike) -> NDArray[np.float64]:
        """Effective coverage 0-1 of tone values in %, (..., I) -> (..., I)."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lookup:
    """A press condition ready for pixels.

    Parameters
    ----------
    nodes : (G**I, 4) int16 ndarray
        sRGB (1.0 = 255 * SRGB_SCALE, unclipped) and L* (times LIGHTNESS_SCALE); the last ink varies
        fastest.
    offsets : (I, V) int32 ndarray
        For every plate value, node index of the cell's lower corner along that ink.
    fractions : (I, V) int32 ndarray
        Position inside the cell, 0 to FRACTION_ONE.
    strides : (I,) int32 ndarray
        Step between nodes along each ink.
    """

    nodes: Int16Array
    offsets: Int32Array
    fractions: Int32Array
    strides: Int32Array

    @property
    def inks(self) -> int:
        """Number of plates."""
        return len(self.strides)

    def digest(self) -> str:
        """SHA-256 of everything that decides a pixel."""
        sha = hashlib.sha256()
        for array in (self.nodes, self.offsets, self.fractions, self.strides):
            sha.update(np.ascontiguousarray(array).tobytes())
        return sha.hexdigest()

    def evaluate(self, planes: PlaneArray) -> tuple[Int16Array, Int16Array]:
        """sRGB (..., 3) and L* (...) as int16 of ink amounts (I, ...)."""
        flat = planes.reshape(self.inks, -1)
        out = np.empty((flat.shape[1], 4), np.int16)
        for start in range(0, flat.shape[1], CHUNK_PX):
            part = slice(start, start + CHUNK_PX)
            out[part] = self._evaluate_chunk(flat[:, part])
        shape = planes.shape[1:]
        return out[:, :3].reshape(*shape, 3), out[:, 3].reshape(shape)

    def _evaluate_chunk(self, values: PlaneArray) -> Int16Array:
        corner = self.offsets[0][values[0]]
        for ink in range(1, self.inks):
            corner += self.offsets[ink][values[ink]]
        keys = _sort_descending([self._keys(ink, values[ink]) for ink in range(self.inks)])
        packed = self.nodes.view(np.int64)[:, 0]
        total = np.full((len(corner), 4), FRACTION_ONE // 2, np.int32)
        above = np.full(len(corner), FRACTION_ONE, np.int32)
        for key in keys:
            fraction = key >> 3
            _add_corner(total, packed, corner, weight=above - fraction)
            corner += self.strides[key & 7]
            above = fraction
        _add_corner(total, packed, corner, weight=above)
        return (total >> 15).astype(np.int16)

    def _keys(self, ink: int, values: PlaneArray) -> Int32Array:
        keys: Int32Array = (self.fractions[ink] << 3 | ink).astype(np.int32)
        return keys[values]


def _add_corner(
    total: Int32Array, packed: NDArray[np.int64], corner: Int32Array, *, weight: Int32Array
) -> None:
    corners = packed.take(corner).view(np.int16).reshape(-1, 4)
    total += corners * weight[:, None]


def _sort_descending(keys: list[Int32Array]) -> list[Int32Array]:
    """Sort pixel by pixel, largest first, by compare-and-exchange of whole planes."""
    for end in range(len(keys) - 1, 0, -1):
        for index in range(end):
            first, second = keys[index], keys[index + 1]
            keys[index], keys[index + 1] = np.maximum(first, second), np.minimum(first, second)
    return keys


def build_lookup(model: ColourModel, *, inks: int, depth: int) -> Lookup:
    """Table of a press condition for plates of 8 or 16 bits.

    Parameters
    ----------
    model : ColourModel
        Predicts XYZ and coverage from tone values.
    inks : int
        Number of plates, 1-8.
    depth : int
        Bits of a plate value, 8 or 16.
    """
    grid = NODES[inks]
    values = np.arange(1 << depth)
    tone_pct = values * (100.0 / values[-1])
    coverage = coverage_curves(model, tone_pct, inks)
    strides = np.array([grid ** (inks - 1 - ink) for ink in range(inks)], np.int32)
    position = coverage * (grid - 1)
    base = np.minimum(np.floor(position), grid - 2).astype(np.int32)
    fractions = np.rint((position - base) * FRACTION_ONE).astype(np.int32)
    node_tone_pct = np.stack(
        [np.interp(np.linspace(0, 1, grid), curve, tone_pct) for curve in coverage]
    )
    return Lookup(
        nodes=_nodes(model, node_tone_pct),
        offsets=base * strides[:, None],
        fractions=fractions,
        strides=strides,
    )


def coverage_curves(
    model: ColourModel, tone_pct: NDArray[np.float64], inks: int
) -> NDArray[np.float64]:
    """(I, V) increasing coverage of each ink alone, exactly 0 at the start and 1 at the end."""
    alone = model.coverage(np.repeat(tone_pct[:, None], inks, axis=1)).T
    rising = np.maximum.accumulate(np.clip(alone, 0, 1), axis=1)
    slope = np.linspace(0, 1, len(tone_pct))  # keeps flat stretches invertible
    curves = 0.98 * rising + 0.02 * slope
    return (curves - curves[:, :1]) / (curves[:, -1:] - curves[:, :1])


def _nodes(model: ColourModel, node_tone_pct: NDArray[np.float64]) -> Int16Array:
    """All nodes; chunks are independent, so threads cannot change a bit."""
    inks, grid = node_tone_pct.shape
    nodes = np.empty((grid**inks, 4), np.int16)

    def fill(slab: tuple[slice, list[NDArray[np.float64]]]) -> None:
        rows, tone_pct = slab
        xyz100 = model.xyz100_on_grid(tone_pct)
        for start in range(0, len(xyz100), CHUNK_NODES):
            some = xyz100[start : start + CHUNK_NODES]
            part = nodes[rows][start : start + CHUNK_NODES]
            part[:, :3] = np.rint(xyz100_to_srgb1(some) * (255 * SRGB_SCALE))
            part[:, 3] = np.rint(xyz100_to_lab(some)[..., 0] * LIGHTNESS_SCALE)

    with ThreadPoolExecutor(min(os.cpu_count() or 1, MAX_THREADS)) as pool:
        list(pool.map(fill, _slabs(node_tone_pct)))  # raises what a slab raised
    return nodes


def _slabs(
    node_tone_pct: NDArray[np.float64],
) -> Iterator[tuple[slice, list[NDArray[np.float64]]]]:
    """Rows of the table and their tone values by ink, so many of the first inks held as needed."""
    inks, grid = node_tone_pct.shape
    held = next(held for held in range(inks) if grid ** (inks - held) <= SLAB_NODES)
    size = grid ** (inks - held)
    for number, index in enumerate(np.ndindex((grid,) * held)):
        fixed = [node_tone_pct[ink, [at]] for ink, at in enumerate(index)]
        yield slice(number * size, (number + 1) * size), [*fixed, *node_tone_pct[held:]]


def srgb_to_srgb8(srgb: Int16Array) -> NDArray[np.uint8]:
    """8-bit sRGB of table values, rounded and clipped to what sRGB holds."""
    rounded = srgb + np.int16(SRGB_SCALE // 2)
    rounded >>= 6  # SRGB_SCALE, rounding down below zero too
    return np.clip(rounded, 0, 255, out=rounded).astype(np.uint8)


def outside_srgb(srgb: Int16Array) -> NDArray[np.bool_]:
    """Where a colour lies outside sRGB by more than half an 8-bit step, (..., 3) -> (...)."""
    half = SRGB_SCALE // 2
    outside = srgb < -half
    outside |= srgb >= 255 * SRGB_SCALE + half
    return np.asarray(outside[..., 0] | outside[..., 1] | outside[..., 2])  # any() takes thrice
