"""Where on a sheet a correction changes most: the place that is shown of it, before and after.

The report and the page on mended plates show the same place.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.checks.finding import Remedy
from inkmix.checks.mending.correction import ChangeMap, Correction
from inkmix.checks.window import Box, Planes, as_planes
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.jobs.spread import Spread
from inkmix.plates.corrected import held
from inkmix.plates.overview import factor_for
from inkmix.press.table.colouring import Colouring

WIDTH_PX, HEIGHT_PX = 320, 240
"""Size of a crop; two stand side by side on A4, one on a phone."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Places of one sheet.

    Parameters
    ----------
    reduced_tone_pct : (rows, cols, I) ndarray
        Reduced plates, by which the place that changes most is found where no map was made.
    """

    spread: Spread
    colouring: Colouring
    reduced_tone_pct: FloatArray

    def most_changed(self, remedy: Remedy, correction: Correction) -> Box:
        """The crop over which the colour changes most; the first of equals."""
        return self._window(self._changes(remedy, correction))

    def about(self, row: int, col: int) -> Box:
        """A crop around a pixel, inside the sheet."""
        sheet = self.spread.sheet
        return (
            _span(row, HEIGHT_PX, sheet.height_px),
            _span(col, WIDTH_PX, sheet.width_px),
        )

    def applied(
        self, correction: Correction, planes: Planes, *, rows: slice, cols: slice
    ) -> Planes:
        """Planes after a correction, as the plates can hold them; both hits of a plate change."""
        after = correction.applied(planes, rows=rows, cols=cols)
        return as_planes(held(self.spread.plates, planes, after))

    def _changes(self, remedy: Remedy, correction: Correction) -> ChangeMap:
        change = remedy.change
        if change is not None and change.cells is not None:
            return change.cells
        return self._reduced_changes(correction)

    def _reduced_changes(self, correction: Correction) -> ChangeMap:
        """What a correction does to the reduced plates, which stand for the pixels."""
        sheet = self.spread.sheet
        factor = factor_for(
            sheet.width_px, sheet.height_px, longest_px=max(self.reduced_tone_pct.shape[:2])
        )
        full = self.spread.plates.full
        kind = np.uint8 if full == 255 else np.uint16
        reduced = np.rint(self.reduced_tone_pct * full / 100).astype(kind)
        planes = as_planes(np.moveaxis(reduced, -1, 0))
        after = planes.copy()
        middles = np.minimum(np.arange(planes.shape[2]) * factor + factor // 2, sheet.width_px - 1)
        for row in range(planes.shape[1]):
            at = min(row * factor + factor // 2, sheet.height_px - 1)
            line = as_planes(planes[:, row : row + 1].repeat(factor, 2)[:, :, : sheet.width_px])
            across = slice(0, sheet.width_px)
            changed = self.applied(correction, line, rows=slice(at, at + 1), cols=across)
            after[:, row] = changed[:, 0, middles]
        de00 = self._change(planes, after)
        return ChangeMap(de00=de00, row=0, col=0, side=factor)

    def _change(self, before: Planes, after: Planes) -> NDArray[np.float32]:
        """dE00 (rows, cols) between planes (I, rows, cols)."""
        de00 = np.zeros(before.shape[1:], np.float32)
        changed = (before != after).any(axis=0)
        if changed.any():
            labs = (
                lab_of(self.colouring.srgb8(as_planes(some[:, changed]))[0])
                for some in (before, after)
            )
            de00[changed] = delta_e00(*labs)
        return de00

    def _window(self, changes: ChangeMap) -> Box:
        """The crop over which the colour changes most; the first of equals."""
        down, across = (max(1, side // changes.side) for side in (HEIGHT_PX, WIDTH_PX))
        down, across = (min(a, b) for a, b in zip((down, across), changes.de00.shape, strict=True))
        sums = np.pad(changes.de00.astype(np.float64), ((1, 0), (1, 0))).cumsum(0).cumsum(1)
        over = (
            sums[down:, across:] - sums[:-down, across:]
            - sums[down:, :-across] + sums[:-down, :-across]
        )  # fmt: skip
        row, col = np.unravel_index(int(np.argmax(np.round(over, 6))), over.shape)
        return self.about(
            changes.row + int((row + down / 2) * changes.side),
            changes.col + int((col + across / 2) * changes.side),
        )


def lab_of(srgb8: NDArray[np.uint8]) -> FloatArray:
    """Lab of screen colours (..., 3)."""
    return xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255))


def _span(middle: int, length: int, limit: int) -> slice:
    length = min(length, limit)
    start = min(max(0, middle - length // 2), limit - length)
    return slice(start, start + length)
