"""What taking ink off does to the colour: a reduced map of dE00, and its figures.

Sampled: in every cell of the map the pixel in its middle, and the one that loses most ink. Both
are told by whole numbers, so that no cut of windows changes them.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.window import Planes, full_scale
from inkmix.colour.colorimetry import delta_e00

MOST_CELLS = 1 << 15

_PLACE_BITS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ColourChange:
    """How the predicted colour changes, in dE00.

    Parameters
    ----------
    de00 : (rows, cols) ndarray of float32
        The greatest change that was found in each cell; 0 where nothing changed.
    row, col : int
        The pixel of the sheet at which the map begins.
    side : int
        Of a cell, in pixels.
    mean, p95, most : float
        Over what changed: the mean, what 95 % do not exceed, the greatest.
    """

    de00: NDArray[np.float32]
    row: int
    col: int
    side: int
    mean: float
    p95: float
    most: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChangePart:
    """Samples of one window: numbers of cells (N,), keys (N,), mixes before and after (I, N)."""

    cells: IntArray
    keys: IntArray
    before: Planes
    after: Planes


ChangeParts = tuple[ChangePart, ChangePart]
"""The middles of cells, and their pixels that lose most."""


class ChangeTally:
    """Samples of a rectangle: `part` of a window for any thread, `take` in any order."""

    def __init__(self, rows: slice, cols: slice) -> None:
        height, width = rows.stop - rows.start, cols.stop - cols.start
        self._row, self._col, self._width = rows.start, cols.start, width
        self._side = max(1, math.ceil(math.sqrt(height * width / MOST_CELLS)))
        self._shape = -(-height // self._side), -(-width // self._side)
        self._middles: list[ChangePart] = []
        self._peaks: list[ChangePart] = []

    def part(self, before: Planes, after: Planes, *, rows: slice, cols: slice) -> ChangeParts:
        """Middles and peaks of one window."""
        lost = ink_sum(before) - ink_sum(after)
        row, col = np.nonzero(lost)
        down, right = row + (rows.start - self._row), col + (cols.start - self._col)
        cells = down // self._side * self._shape[1] + right // self._side
        keys = lost[row, col].astype(np.int64) << _PLACE_BITS
        keys -= down * self._width + right
        half = self._side // 2
        middles = np.flatnonzero((down % self._side == half) & (right % self._side == half))
        highest = np.zeros(self._shape, np.int64).reshape(-1)
        np.maximum.at(highest, cells, keys)
        peaks = np.flatnonzero(highest[cells] == keys)

        def some(at: IntArray) -> ChangePart:
            place = row[at], col[at]
            return ChangePart(
                cells=cells[at],
                keys=keys[at],
                before=before[:, *place],
                after=after[:, *place],
            )

        return some(middles), some(peaks)

    def take(self, part: ChangeParts) -> None:
        """Add the samples of a window."""
        self._middles.append(part[0])
        self._peaks.append(part[1])

    def change(self, lab: Callable[[FloatArray], FloatArray]) -> ColourChange:
        """The change, by the Lab of tone values (..., I) in %."""
        middles, peaks = (_highest(_joined(parts)) for parts in (self._middles, self._peaks))
        de00 = np.zeros(self._shape, np.float32)
        of_middles, of_peaks = (_de00(part, lab) for part in (middles, peaks))
        for part, found in ((middles, of_middles), (peaks, of_peaks)):
            np.maximum.at(de00.reshape(-1), part.cells, found.astype(np.float32))
        counted = of_middles if len(of_middles) else of_peaks
        return ColourChange(
            de00=de00,
            row=self._row,
            col=self._col,
            side=self._side,
            mean=float(counted.mean()) if len(counted) else 0.0,
            p95=float(np.quantile(counted, 0.95)) if len(counted) else 0.0,
            most=float(de00.max(initial=0.0)),
        )


def _joined(parts: list[ChangePart]) -> ChangePart:
    return ChangePart(
        cells=np.concatenate([part.cells for part in parts]),
        keys=np.concatenate([part.keys for part in parts]),
        before=np.concatenate([part.before for part in parts], axis=1),
        after=np.concatenate([part.after for part in parts], axis=1),
    )


def _highest(parts: ChangePart) -> ChangePart:
    """Of each cell the one with the highest key, in the order of cells."""
    order = np.lexsort((-parts.keys, parts.cells))
    at = order[np.flatnonzero(np.diff(parts.cells[order], prepend=-1))]
    return ChangePart(
        cells=parts.cells[at],
        keys=parts.keys[at],
        before=parts.before[:, at],
        after=parts.after[:, at],
    )


def _de00(part: ChangePart, lab: Callable[[FloatArray], FloatArray]) -> FloatArray:
    scale = 100 / full_scale(part.before)
    mixes = (np.asarray(planes.T * scale, np.float64) for planes in (part.before, part.after))
    before, after = mixes
    return delta_e00(lab(before), lab(after))
