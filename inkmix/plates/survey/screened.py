"""Line work and plates that are screened already: only ink or no ink in each pixel.

Such a plate gains by growth at its edges, not by a tone curve; and its total ink is the mean over a
small disc, since a single pixel says only 0 or 100 %. All arithmetic is on integers over
neighbours within a fixed halo, so the size of the window cannot change a bit.
"""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from inkmix.sheet.geometry import MM_PER_INCH

DISC_MM = 1.0
"""Diameter of the disc for total ink: two to ten cells of usual rulings, and well below a detail
that holds wet ink. A choice of this program, not a published figure."""

FULL = 255


def growth_halo(growth_px: float) -> int:
    """Pixels beyond a window that `grown` looks at."""
    return math.ceil(growth_px)


def grown(ink: NDArray[np.bool_], *, growth_px: float) -> NDArray[np.uint8]:
    """Coverage, 0-255, after every edge has moved outwards by `growth_px`.

    The edge of ink lies half a pixel outside the centre of an inked pixel; a pixel at distance d
    from the nearest one is covered by 1 + growth - d, between 0 and 1.

    Parameters
    ----------
    ink : (rows + 2 h, cols + 2 h) bool
        Inked pixels with a halo h = growth_halo(growth_px).
    growth_px : float
        Growth, 0 or more, pixels of the plate.

    Returns
    -------
    (rows, cols) uint8
    """
    halo = growth_halo(growth_px)
    rows, cols = (size - 2 * halo for size in ink.shape)
    out = np.zeros((rows, cols), np.uint8)
    for row, col, weight in _neighbours(growth_px):
        part = ink[halo + row : halo + row + rows, halo + col : halo + col + cols]
        np.maximum(out, part.view(np.uint8) * weight, out=out)
    return out


def _neighbours(growth_px: float) -> Iterator[tuple[int, int, np.uint8]]:
    """Offsets and the coverage that ink there gives to a pixel."""
    halo = growth_halo(growth_px)
    for row in range(-halo, halo + 1):
        for col in range(-halo, halo + 1):
            cover = min(1.0, 1.0 + growth_px - math.hypot(row, col))
            if (weight := round(cover * FULL)) > 0:
                yield row, col, np.uint8(weight)


def disc_radius_px(ppi: float) -> float:
    """Radius of the disc for total ink."""
    return DISC_MM / 2 * ppi / MM_PER_INCH


def disc_halo(radius_px: float) -> int:
    """Pixels beyond a window that `disc_mean` looks at."""
    return math.floor(radius_px)


def disc_mean(plane: NDArray[np.integer], *, radius_px: float) -> NDArray[np.integer]:
    """Mean over the disc around each pixel, rounded half up, same type as `plane`.

    Parameters
    ----------
    plane : (rows + 2 h, cols + 2 h) uint8 or uint16
        Ink amount with a halo h = disc_halo(radius_px).
    radius_px : float
        Radius; pixels whose centres lie inside count.
    """
    halo = disc_halo(radius_px)
    rows, cols = (size - 2 * halo for size in plane.shape)
    sums = np.zeros((plane.shape[0], plane.shape[1] + 1), np.int64)
    np.cumsum(plane, axis=1, out=sums[:, 1:])
    total, count = np.zeros((rows, cols), np.int64), 0
    for row in range(-halo, halo + 1):
        half = math.floor(math.sqrt(max(radius_px**2 - row**2, 0.0)))
        line = sums[halo + row : halo + row + rows]
        first, last = halo - half, halo + half + 1
        total += line[:, last : last + cols] - line[:, first : first + cols]
        count += 2 * half + 1
    mean: NDArray[np.integer] = ((total + count // 2) // count).astype(plane.dtype)
    return mean


def box_mean(plane: NDArray[np.integer], *, factor: int) -> NDArray[np.integer]:
    """Mean of blocks of `factor` x `factor`, rounded half up, same type as `plane`."""
    if factor == 1:
        return plane
    rows, cols = plane.shape[0] // factor, plane.shape[1] // factor
    # Rows first: that runs along memory and leaves little for the slow sum along a row.
    lines = plane.reshape(rows, factor, cols * factor).sum(axis=1, dtype=np.uint32)
    total = lines.reshape(rows, cols, factor).sum(axis=2, dtype=np.uint32)
    mean: NDArray[np.integer] = ((total + factor**2 // 2) // factor**2).astype(plane.dtype)
    return mean
