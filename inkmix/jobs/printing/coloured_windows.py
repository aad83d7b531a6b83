"""Windows of a plate set with their colours: read and looked up.

What is done with a window is told elsewhere. A window may be coloured in any thread; whoever wants
all of a sheet goes through `each_in_order`, in raster order.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.window import CheckedWindow, Planes
from inkmix.plates.files.raster import Samples, bands
from inkmix.plates.set import PlateSet
from inkmix.plates.windows import Window
from inkmix.press.table.colouring import Colouring


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColouredWindow:
    """A window as the checks take it, with its colours.

    Parameters
    ----------
    checked : CheckedWindow
        Ink amounts as in the files, and L*.
    amounts : (I, rows, cols) uint8 or uint16 ndarray
        Ink amounts for colour; differ from the file's where a screened plate grows at its edges.
    srgb8 : (rows, cols, 3) uint8 ndarray
        Predicted colour, rounded and clipped to sRGB.
    outside_px : int
        Pixels that sRGB cannot show.
    """

    checked: CheckedWindow
    amounts: Planes
    srgb8: NDArray[np.uint8]
    outside_px: int


def coloured_window(plates: PlateSet, colouring: Colouring, window: Window) -> ColouredWindow:
    """One window with its colours."""
    amounts, tones = plates.read_both(window.rows, window.cols)
    coloured = colouring.coloured(amounts)
    checked = CheckedWindow(
        rows=window.rows,
        cols=window.cols,
        planes=tones,
        lightness=coloured.lightness,
        amounts=amounts,
        srgb8=coloured.srgb8,
    )
    return ColouredWindow(
        checked=checked, amounts=amounts, srgb8=coloured.srgb8, outside_px=coloured.outside_px
    )


def windows_of(region: Window) -> Iterator[Window]:
    """Windows of a region of a set, in raster order."""
    rows, cols = region.shape
    for band in bands(rows, cols):
        top = region.rows.start
        yield Window(rows=slice(top + band.start, top + band.stop), cols=region.cols)


def plate_reader(
    plates: PlateSet, window: Window, amounts: Samples | None
) -> Callable[[int, slice, slice], Samples]:
    """Ink amounts of the plate of an index as its file has them.

    Parameters
    ----------
    amounts : (I, rows, cols) ndarray or None
        The set's window, from which plates are taken that are the same there; others are read.
    """

    def read(index: int, rows: slice, cols: slice) -> Samples:
        is_there = amounts is not None and plates.is_as_in_file(index)
        if is_there and (rows, cols) == (window.rows, window.cols):
            there: Samples = amounts[index]  # type: ignore[index]
            return there
        return plates.plates[index].read(rows, cols)

    return read
