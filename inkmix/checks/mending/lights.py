"""Lights of a night: moon, stars, windows, snow; connected, lighter than the sky around them.

The sky is told from what lies in it by a smooth surface through the lightness of the area, which
lights do not pull up. What stands out of it is a light; scattered grains are none. As many stay as
the book's share allows, those that stand out most. A pale area too large for the share is none:
it has to go dark.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.checks.mending.surroundings import Surroundings

LEAST_PX = 4
"""Smaller is a grain."""
LEAST_L = 6.0
"""What stands out by less is a cloud."""

_OUT_OF_GRAIN = 4.0  # times the spread of the sky; one pixel in 30,000 of a normal grain
_FRINGE = 0.4  # of that: pixels beside a light belong to it
_STEPS = (1.0, 1.4, 2.0, 3.0, 4.0)  # of that: a glow is cut down before a light goes out
_BRIGHT_L = 20.0  # what stands out by more is a light however large it is, else a pale area
_FITTED = 5_000  # cells
_ROUNDS = 12
_BISQUARE = 4.685  # Beaton & Tukey 1974, Technometrics 16, 147-185
_LEAST_SPREAD_L = 0.5
_NORMAL = 1.4826  # standard deviation of a normal spread by its median deviation


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """One light.

    Parameters
    ----------
    rows, cols : slice
        Its box in cells.
    pixels : int
        Those above the limit.
    stands_out_L : float
        How much lighter than the sky it is.
    """

    rows: slice
    cols: slice
    pixels: int
    stands_out_L: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lights:
    """The lights of an area.

    Parameters
    ----------
    cells, going_cells : (rows, cols) ndarray of bool
        Cells of those that stay, and all others that stand out of the sky and turn dark.
    from_L, level_L : (rows, cols) ndarray
        In a cell of those that stay, the L* from which a pixel is one of theirs, and their own.
    kept, lost : tuple of Light
        Those that stay, and those for which the share has no room.
    """

    cells: BoolArray
    going_cells: BoolArray
    from_L: FloatArray
    level_L: FloatArray
    kept: tuple[Light, ...]
    lost: tuple[Light, ...]

    @property
    def lost_by_size(self) -> tuple[Light, ...]:
        """Those that turn dark, largest first; of equals, what stands out most."""
        return tuple(sorted(self.lost, key=lambda one: (-one.pixels, -one.stands_out_L)))


def find_lights(
    lightness: FloatArray,
    inside: BoolArray,
    over_px: IntArray,
    *,
    sky: tuple[FloatArray, float],
    room_px: int,
) -> Lights:
    """The lights of an area and which of them may stay.

    Parameters
    ----------
    lightness : (rows, cols) ndarray
        L* of the lightest pixel of each cell.
    sky : ((rows, cols) ndarray, float)
        As `sky_of` tells it.
    inside : (rows, cols) ndarray of bool
        Cells of the area.
    over_px : (rows, cols) ndarray of int
        Pixels of each cell that are lighter than allowed.
    room_px : int
        So many of these may stay.
    """
    level, spread = sky
    above = np.where(inside, lightness - level, 0.0)
    least = max(LEAST_L, _OUT_OF_GRAIN * spread)
    where = inside & (over_px > 0)
    going = where & (above > least)
    field = _Field(
        above=above, over_px=over_px, sky_L=level, surroundings=Surroundings(above, inside)
    )
    found = [
        _chosen(_from(field, where, least, _STEPS[k:], room_px), going, field, room_px)
        for k in range(len(_STEPS))
    ]
    return max(found, key=lambda one: one[0])[1]  # of equals the first, which cuts least


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Field:
    """How much lighter than the sky each cell is, its pixels that are too light, what is around."""

    above: FloatArray
    over_px: IntArray
    sky_L: FloatArray
    surroundings: Surroundings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shape:
    """A light with its cells, by their place in the box, and from where above the sky it is one."""

    light: Light
    cells: BoolArray
    above_L: float
    fits: bool

    @property
    def box(self) -> tuple[slice, slice]:
        """Rows and columns."""
        return self.light.rows, self.light.cols


def _from(
    field: _Field, where: BoolArray, least_L: float, steps: Sequence[float], room_px: int
) -> list[_Shape]:
    """Lights found by rising steps: what is none at one step, or too large, may hold some higher.

    A piece of a pale area is lighter than the sky, but not than all that lies around it.
    """
    left = where.copy()
    shapes: list[_Shape] = []
    too_large: list[_Shape] = []
    for step in steps:
        for shape, contrast_L in _pieces(field, left, step * least_L, room_px):
            if contrast_L < LEAST_L:
                continue
            if shape.fits:
                shapes.append(shape)
                left[shape.box] &= ~shape.cells
            elif shape.light.stands_out_L >= _BRIGHT_L:
                too_large.append(shape)
    for shape in reversed(too_large):  # the smallest first
        if left[shape.box][shape.cells].all():  # and nothing in it is a light by itself
            shapes.append(shape)
            left[shape.box] &= ~shape.cells
    return shapes


def _pieces(
    field: _Field, where: BoolArray, least_L: float, room_px: int
) -> Iterator[tuple[_Shape, float]]:
    """What stands out by so much, connected, and by how much from what lies around it."""
    from scipy import ndimage

    above, over_px = field.above, field.over_px
    numbers, count = ndimage.label(where & (above > least_L), np.ones((3, 3)))
    if not count:
        return
    which = np.arange(1, count + 1)
    core_px = np.bincount(numbers.ravel(), over_px.ravel(), count + 1)[1:]
    fringe = ndimage.maximum_filter(numbers, 3)
    core_L = ndimage.mean(above, numbers, which)
    numbers = np.where((numbers == 0) & where & (above > _FRINGE * least_L), fringe, numbers)
    pixels = ndimage.sum_labels(over_px, numbers, which).astype(np.int64)
    stands_out = ndimage.mean(above, numbers, which)
    contrast_L = core_L - field.surroundings.lightest(numbers, count, none=fringe == 0)
    boxes = ndimage.find_objects(numbers)
    for k in np.flatnonzero(core_px >= LEAST_PX).tolist():
        rows, cols = boxes[k]
        light = Light(
            rows=rows, cols=cols, pixels=int(pixels[k]), stands_out_L=float(stands_out[k])
        )
        shape = _Shape(
            light=light,
            cells=numbers[rows, cols] == k + 1,
            above_L=least_L,
            fits=pixels[k] <= room_px,
        )
        yield shape, float(contrast_L[k])


def _chosen(
    shapes: Sequence[_Shape], going: BoolArray, field: _Field, room_px: int
) -> tuple[float, Lights]:
    """Those that stand out most stay, and what is saved by them."""
    cells = np.zeros(going.shape, np.bool_)
    from_L, level_L = np.zeros((2, *going.shape))
    kept: list[Light] = []
    lost: list[Light] = []
    for shape in sorted(shapes, key=lambda one: -one.light.stands_out_L):
        new = shape.cells & ~cells[shape.box]
        pixels = int(field.over_px[shape.box][new].sum())
        if pixels <= room_px:
            room_px -= pixels
            sky_L = field.sky_L[shape.box][new]
            from_L[shape.box][new] = sky_L + shape.above_L
            level_L[shape.box][new] = sky_L + shape.light.stands_out_L
            cells[shape.box] |= shape.cells
            kept.append(shape.light)
        else:
            lost.append(shape.light)
    saved = sum(light.pixels * light.stands_out_L for light in kept)
    lights = Lights(
        cells=cells,
        going_cells=going & ~cells,
        from_L=from_L,
        level_L=level_L,
        kept=tuple(kept),
        lost=tuple(lost),
    )
    return float(saved), lights


def sky_of(lightness: FloatArray, inside: BoolArray) -> tuple[FloatArray, float]:
    """L* of the sky at each cell, a surface of second degree, and its spread about that.

    Fitted by Tukey's bisquare, so that what stands out far has no say.
    """
    rows, cols = np.nonzero(inside)
    some = np.linspace(0, len(rows) - 1, min(len(rows), _FITTED)).astype(np.int64)
    rows, cols = rows[some], cols[some]
    terms, values = _terms(rows, cols, lightness.shape), lightness[rows, cols]
    weights = np.ones(len(values))
    factors: FloatArray = np.zeros(terms.shape[1])
    spread = _LEAST_SPREAD_L
    for _ in range(_ROUNDS):
        weighted = terms.T * weights**2
        fitted = np.linalg.lstsq(weighted @ terms, weighted @ values, rcond=None)[0]
        factors = np.asarray(fitted, dtype=np.float64)
        missed = values - terms @ factors
        off = missed - np.median(missed)
        spread = max(_NORMAL * float(np.median(np.abs(off))), _LEAST_SPREAD_L)
        weights = np.clip(1 - (off / (_BISQUARE * spread)) ** 2, 0, None) + 1e-6
    level = float(np.median(values - terms @ factors))
    return _surface(factors, lightness.shape) + level, spread


def _terms(rows: NDArray[np.int64], cols: NDArray[np.int64], shape: tuple[int, ...]) -> FloatArray:
    y, x = rows / shape[0] - 0.5, cols / shape[1] - 0.5
    return np.stack([np.ones_like(y), y, x, y * y, x * y, x * x], axis=-1)


def _surface(factors: FloatArray, shape: tuple[int, ...]) -> FloatArray:
    y, x = np.arange(shape[0])[:, None] / shape[0] - 0.5, np.arange(shape[1]) / shape[1] - 0.5
    one, down, right, down2, both, right2 = factors
    return np.asarray(one + down * y + right * x + down2 * y * y + both * x * y + right2 * x * x)
