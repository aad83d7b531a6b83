"""Connected areas of one window, eight neighbours: their table, and which lie along its edges.

Compiled from runs of set pixels, or with `scipy.ndimage`; both number areas by their first pixel in
raster order.
"""

import numpy as np
from numpy.typing import NDArray

from inkmix.base.loops import are_compiled
from inkmix.checks.areas.edges import Edges, bare_edges
from inkmix.checks.areas.table import AXIS_BITS, AreaTable, table_of_labels
from inkmix.checks.window import Mask


def areas_in(
    mask: Mask, values: NDArray[np.integer], *, corner: tuple[int, int]
) -> tuple[AreaTable, Edges]:
    """Areas of a mask (rows, cols) with `values` (rows, cols), and their numbers along its edges.

    Parameters
    ----------
    corner : (int, int)
        Row and column on the sheet of the first pixel.
    """
    find = _from_runs if are_compiled() else _from_labels
    return find(mask, values, corner)


def _from_runs(
    mask: Mask, values: NDArray[np.integer], corner: tuple[int, int]
) -> tuple[AreaTable, Edges]:
    from inkmix.base.kernels import runs

    is_set, values = np.ascontiguousarray(mask).view(np.uint8), np.ascontiguousarray(values)
    most = runs.count_runs(is_set)
    extent, parent = np.empty((most, 4), np.int64), np.empty(most, np.int32)
    peak, pixels, marks = (np.empty(most, np.int64) for _ in range(3))
    edges = bare_edges(mask.shape)
    count = runs.areas_of(
        is_set, values, (*corner, AXIS_BITS), parent, (extent, peak, pixels, marks), tuple(edges)
    )
    found = slice(0, count)
    table = AreaTable(
        extent=extent[found].copy(),
        peak=peak[found].copy(),
        pixels=pixels[found].copy(),
        marks=marks[found].copy(),
    )
    return table, edges


def _from_labels(
    mask: Mask, values: NDArray[np.integer], corner: tuple[int, int]
) -> tuple[AreaTable, Edges]:
    """The same with a library that is loaded only where loops are not compiled."""
    from scipy.ndimage import label

    edges = bare_edges(mask.shape)
    rows, cols = _span(np.any(mask, axis=1)), _span(np.any(mask, axis=0))
    inside = mask[rows, cols]
    labels = np.zeros(inside.shape, dtype=np.int32)
    count = label(inside, structure=np.ones((3, 3), np.int8), output=labels)
    first = (corner[0] + rows.start, corner[1] + cols.start)
    table = table_of_labels(labels, count, values[rows, cols], corner=first)
    if rows.start == 0:
        edges.top[cols] = labels[0].astype(np.int64) - 1
    if rows.stop == len(mask):
        edges.bottom[cols] = labels[-1].astype(np.int64) - 1
    if cols.start == 0:
        edges.left[rows] = labels[:, 0].astype(np.int64) - 1
    if cols.stop == mask.shape[1]:
        edges.right[rows] = labels[:, -1].astype(np.int64) - 1
    return table, edges


def _span(is_set: Mask) -> slice:
    """From the first to the last set element; there is one."""
    places = np.flatnonzero(is_set)
    return slice(int(places[0]), int(places[-1]) + 1)
