"""Points of a grid counted by what their colour is near to.

The twin is in checks/tones/points.py, which tells what is counted.
"""

from typing import Any

from inkmix.base.kernels.jit import loop


@loop
def count_near(
    srgb: Any, planes: Any, tables: Any, first: Any, step: int, side: int, cells: Any, sums: Any
) -> None:
    """Add the points of a window to `cells` and `sums`.

    Parameters
    ----------
    srgb : (rows, cols, 3) uint8 ndarray
    planes : (I, rows, cols) ndarray of uint8 or uint16
    tables : tuple of ndarray
        Number of the tone of a colour, (2**(3 * bits),), and light of each step, (256,).
    first : (2,) int64 ndarray
        Row and column of the first pixel, counted from the corner of the first of the cells.
    step, side : int
        Pixels from point to point, and along a cell.
    cells : (rows, cols, T) int64 ndarray
        Points of each tone in each cell.
    sums : (T, 3 + I) int64 ndarray
        Light and ink amounts of each tone's points.
    """
    labels, light = tables
    bits = 0
    while 1 << 3 * bits < labels.shape[0]:
        bits += 1
    less = 8 - bits
    plates, rows, cols = planes.shape
    for row in range(-first[0] % step, rows, step):
        line, into = srgb[row], cells[(first[0] + row) // side]
        for col in range(-first[1] % step, cols, step):
            red, green, blue = line[col, 0], line[col, 1], line[col, 2]
            place = ((red >> less) << 2 * bits) | ((green >> less) << bits) | (blue >> less)
            tone = labels[place]
            if tone == 0:
                continue
            tone -= 1
            into[(first[1] + col) // side, tone] += 1
            of_tone = sums[tone]
            of_tone[0] += light[red]
            of_tone[1] += light[green]
            of_tone[2] += light[blue]
            for plate in range(plates):
                of_tone[3 + plate] += planes[plate, row, col]
