"""Sums of linear light over a grid that divides a picture unevenly. Twin: checks/reduced.py."""

from typing import Any

import numpy as np

from inkmix.kernels.jit import inner, loop


@loop
def add_to_cells(srgb8: Any, linear: Any, down: Any, across: Any, sums: Any) -> None:
    """Add pixels (rows, cols, 3) to the cells that they lie in, (cell rows, cell cols, 3) int64.

    Parameters
    ----------
    linear : (256,) uint16 ndarray
    down, across : (rows, 3), (cols, 3) int64 ndarray
        Of each row or column of pixels: cell, part in it, part in the next one.
    """
    line = np.empty((sums.shape[1] + 1, 3), np.int64)
    for row in range(srgb8.shape[0]):
        line[:] = 0
        _add_row(srgb8[row], linear, across, line)
        cell, here, beyond = down[row, 0], down[row, 1], down[row, 2]
        _add_line(line, here, sums[cell])
        if beyond:
            _add_line(line, beyond, sums[cell + 1])


@inner
def _add_row(pixels: Any, linear: Any, across: Any, line: Any) -> None:
    for col in range(pixels.shape[0]):
        cell, here, beyond = across[col, 0], across[col, 1], across[col, 2]
        for channel in range(3):
            light = np.int64(linear[pixels[col, channel]])
            line[cell, channel] += here * light
            line[cell + 1, channel] += beyond * light


@inner
def _add_line(line: Any, weight: int, into: Any) -> None:
    for cell in range(into.shape[0]):
        for channel in range(3):
            into[cell, channel] += weight * line[cell, channel]
