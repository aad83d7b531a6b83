"""Sums of linear light over a grid that divides a picture unevenly.

The twin is in checks/reference/reduced.py.
"""

from typing import Any

import numpy as np

from inkmix.base.kernels.jit import inner, loop


@loop
def add_to_cells(
    srgb8: Any, linear: Any, down: Any, starts: Any, beyond: Any, whole: int, sums: Any
) -> None:
    """Add pixels (rows, cols, 3) to the cells that they lie in, (cell rows, cell cols, 3) int64.

    Parameters
    ----------
    linear : (256,) uint16 ndarray
    down : (rows, 3) int64 ndarray
        Of each row of pixels: cell, part in it, part in the next one.
    starts : (cells + 1,) int64 ndarray
        First column that starts in each cell, and the end.
    beyond : (cells,) int64 ndarray
        Part in the next cell of the last of them.
    whole : int
        All parts of a pixel along a row.
    """
    line = np.empty((beyond.shape[0] + 1, 3), np.int64)
    for row in range(srgb8.shape[0]):
        line[:] = 0
        _add_row(srgb8[row], linear, starts, beyond, whole, line)
        cell = down[row, 0]
        _add_line(line, down[row, 1], sums[cell])
        if down[row, 2]:
            _add_line(line, down[row, 2], sums[cell + 1])


@inner
def _add_row(pixels: Any, linear: Any, starts: Any, beyond: Any, whole: int, line: Any) -> None:
    for cell in range(beyond.shape[0]):
        red = green = blue = np.int64(0)
        for col in range(starts[cell], starts[cell + 1]):
            red += np.int64(linear[pixels[col, 0]])
            green += np.int64(linear[pixels[col, 1]])
            blue += np.int64(linear[pixels[col, 2]])
        last = pixels[starts[cell + 1] - 1]
        for channel in range(3):
            over = beyond[cell] * np.int64(linear[last[channel]])
            line[cell + 1, channel] += over
            line[cell, channel] -= over
        line[cell, 0] += whole * red
        line[cell, 1] += whole * green
        line[cell, 2] += whole * blue


@inner
def _add_line(line: Any, weight: int, into: Any) -> None:
    for cell in range(into.shape[0]):
        for channel in range(3):
            into[cell, channel] += weight * line[cell, channel]
