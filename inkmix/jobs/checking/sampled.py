"""What the screen shows, beside the print: a picture and a mean that samples are enough for.

Every pixel of large sheets would cost as much as the print itself; of each block of the picture a
grid of pixels is taken instead, at places that no cut of windows changes.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.jobs.printing.coloured_windows import ColouredWindow
from inkmix.jobs.spread import Spread
from inkmix.plates.overview import BlockPart, ColourOverview, factor_for
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import Int16Array, PlaneArray

SAMPLES = 4  # along a side of a block, at least, where it has so many pixels


MAX_PICTURE_PX = 1_250_000  # of a sheet that is nearly square: its sums are held while it is read


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnScreenPart:
    """Samples of one window."""

    blocks: BlockPart
    pixels: int
    lightness_miss: int


class OnScreen:
    """The layers of a spread multiplied on a screen; `part` for any thread, `take` in any order.

    Parameters
    ----------
    screen : Colouring
        The screen's table.
    longest_px : int
        Longest side of the picture.
    """

    def __init__(self, spread: Spread, screen: Colouring, *, longest_px: int) -> None:
        plates = spread.plates
        size = plates.width_px, plates.height_px
        least = max(factor_for(*size, longest_px=longest_px), _factor_by_area(*size))
        self._step = max(1, least // SAMPLES)
        self.factor = -(-least // self._step) * self._step
        self._overview = ColourOverview(
            width_px=-(-plates.width_px // self._step),
            height_px=-(-plates.height_px // self._step),
            factor=self.factor // self._step,
        )
        self._spread, self._screen = spread, screen
        self._files = spread.as_on_screen().plates
        self._pixels = self._lightness_miss = 0

    def part(self, window: ColouredWindow) -> OnScreenPart:
        """Samples of one window."""
        checked, step = window.checked, self._step
        rows, cols = checked.rows.start, checked.cols.start
        at = (slice(-rows % step, None, step), slice(-cols % step, None, step))
        amounts = self._amounts(window)[:, at[0], at[1]]
        coloured = self._screen.coloured(amounts)
        miss = _sum(checked.lightness[at]) - _sum(coloured.lightness)
        first_row, first_col = -(-rows // step), -(-cols // step)
        return OnScreenPart(
            blocks=self._overview.part(first_row, coloured.srgb8, first_col=first_col),
            pixels=coloured.lightness.size,
            lightness_miss=miss,
        )

    def _amounts(self, window: ColouredWindow) -> PlaneArray:
        """Ink amounts as files have them: nothing grows on a screen."""
        if not any(self._spread.plates.screened):
            return window.amounts
        checked = window.checked
        return self._files.read(checked.rows, checked.cols)

    def take(self, part: OnScreenPart) -> None:
        """Add the samples of a window."""
        self._overview.take(part.blocks)
        self._pixels += part.pixels
        self._lightness_miss += part.lightness_miss

    def srgb8(self) -> NDArray[np.uint8]:
        """The picture, (rows, cols, 3)."""
        return self._overview.srgb8()

    def mean_lightness_miss(self) -> float:
        """Mean L* of the print less that of the screen, in units of the table."""
        return self._lightness_miss / self._pixels


def _factor_by_area(width_px: int, height_px: int) -> int:
    """Smallest whole factor that keeps a picture within MAX_PICTURE_PX."""
    return math.ceil(math.sqrt(width_px * height_px / MAX_PICTURE_PX))


def _sum(lightness: Int16Array) -> int:
    return int(lightness.sum(dtype=np.int64))
