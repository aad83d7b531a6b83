"""One pass over the windows of a plate set: read, look up, hand on.

What is done with a window is told elsewhere; here it is only read, changed if a remedy is being
tried, and turned into colour. Windows come in raster order.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from inkmix.checks.window import CheckedWindow, Planes
from inkmix.lookup import Int16Array, Lookup
from inkmix.plates.raster import bands
from inkmix.plates.set import PlateSet
from inkmix.plates.windows import Window

#: Changes ink amounts (I, rows, cols) of a window, as a remedy would; returns new planes.
Change = Callable[[Planes, Window], Planes]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColouredWindow:
    """A window as the checks take it, with its colours.

    Parameters
    ----------
    checked : CheckedWindow
        Ink amounts as in the files, total ink and L*.
    amounts : (I, rows, cols) uint8 or uint16 ndarray
        Ink amounts for colour; differ from the file's where a screened plate grows at its edges.
    srgb : (rows, cols, 3) int16 ndarray
        Predicted colour, unclipped, in units of the table.
    """

    checked: CheckedWindow
    amounts: Planes
    srgb: Int16Array


def coloured_windows(
    plates: PlateSet,
    lookup: Lookup,
    *,
    region: Window | None = None,
    change: Change | None = None,
) -> Iterator[ColouredWindow]:
    """Windows of the set, or of a region of it, in raster order, with colour and total ink.

    Parameters
    ----------
    region : Window or None
        Rectangle to look at; None for the whole sheet.
    change : Change or None
        Applied to the ink amounts before anything is computed.
    """
    for window in plates.windows() if region is None else _windows_of(region):
        amounts = plates.read(window.rows, window.cols)
        tones = amounts
        if any(plates.screened):
            tones = plates.read_for_total(window.rows, window.cols)
        if change is not None:
            amounts, tones = change(amounts, window), change(tones, window)
        yield _coloured(window, lookup, amounts=amounts, tones=tones)


def _coloured(window: Window, lookup: Lookup, *, amounts: Planes, tones: Planes) -> ColouredWindow:
    srgb, lightness = lookup.evaluate(amounts)
    checked = CheckedWindow(
        rows=window.rows,
        cols=window.cols,
        planes=tones,
        ink_sum=tones.sum(axis=0, dtype=np.int32),
        lightness=lightness,
    )
    return ColouredWindow(checked=checked, amounts=amounts, srgb=srgb)


def _windows_of(region: Window) -> Iterator[Window]:
    rows, cols = region.shape
    for band in bands(rows, cols):
        top = region.rows.start
        yield Window(rows=slice(top + band.start, top + band.stop), cols=region.cols)
