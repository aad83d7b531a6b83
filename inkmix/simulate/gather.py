"""One pass over a spread: what the checks counted, and bounded pictures of it.

Windows are only handed round here; what is counted in them is told in checks and overview.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.night import NightCheck, NightPart, NightResult
from inkmix.checks.total_ink import TotalInkCheck, TotalInkPart, TotalInkResult
from inkmix.checks.window import Planes
from inkmix.lookup import LIGHTNESS_SCALE, Lookup, outside_srgb, srgb_to_srgb8
from inkmix.overview import BlockSum, ColourOverview
from inkmix.passes import ColouredWindow, coloured_windows
from inkmix.plates.mask import Mask
from inkmix.simulate.spread import Progress, Spread

OVERVIEW_PX = 2000  # longest side of the pair of pictures; 40 windows of a report's page
THUMB_PX = 700  # longest side of a plate's picture, and of the sample of mixes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """What one pass brought.

    Parameters
    ----------
    as_printed, on_screen : (rows, cols, 3) uint8 ndarray
        The pair of pictures.
    mean_tone_pct : (rows, cols, I) ndarray
        Reduced plates, tone values 0-100; those made of dots after growth.
    whole_tone_pct : (I,) ndarray
        The mean of each over the whole sheet.
    mean_lightness_miss : float
        Mean L* of the print less mean L* of the layers multiplied on screen.
    """

    total_ink: TotalInkResult
    nights: tuple[NightResult, ...]
    as_printed: NDArray[np.uint8]
    on_screen: NDArray[np.uint8]
    mean_tone_pct: NDArray[np.float64]
    whole_tone_pct: NDArray[np.float64]
    outside_srgb_pct: float
    mean_lightness_miss: float


class Gathering:
    """The parts that one pass fills, window by window."""

    def __init__(
        self,
        spread: Spread,
        *,
        total_ink: TotalInkCheck,
        nights: Sequence[tuple[NightCheck, Mask]],
    ) -> None:
        width, height = spread.plates.width_px, spread.plates.height_px
        self.spread, self.total_check, self.night_checks = spread, total_ink, tuple(nights)
        self.on_screen = spread.as_on_screen().plates
        self.total_part: TotalInkPart = total_ink.start()
        self.night_parts: list[NightPart] = [check.start() for check, _ in nights]
        self.printed, self.screen = (
            ColourOverview(width_px=width, height_px=height, longest_px=OVERVIEW_PX)
            for _ in range(2)
        )
        self.thumbs = BlockSum(
            width_px=width,
            height_px=height,
            channels=len(spread.plates.inks),
            factor=max(1, -(-max(width, height) // THUMB_PX)),
        )
        self.outside_px = 0
        self.lightness_miss = 0

    def add(self, window: ColouredWindow, screen: Lookup) -> None:
        """Take one window into every part."""
        checked, first = window.checked, window.checked.rows.start
        self.total_part = self.total_check.update(self.total_part, checked)
        for index, (check, mask) in enumerate(self.night_checks):
            inside = mask.read(checked.rows, checked.cols, checked.planes)
            self.night_parts[index] = check.update(self.night_parts[index], checked, inside)
        screen_srgb, screen_lightness = screen.evaluate(self._amounts_on_screen(window))
        self.printed.add(first, srgb_to_srgb8(window.srgb))
        self.screen.add(first, srgb_to_srgb8(screen_srgb))
        self.thumbs.add(first, np.moveaxis(window.amounts, 0, -1))
        self.outside_px += int(outside_srgb(window.srgb).sum())
        miss = checked.lightness.sum(dtype=np.int64) - screen_lightness.sum(dtype=np.int64)
        self.lightness_miss += int(miss)

    def _amounts_on_screen(self, window: ColouredWindow) -> Planes:
        if not any(self.spread.plates.screened):
            return window.amounts
        return self.on_screen.read(window.checked.rows, window.checked.cols)

    def result(self) -> Gathered:
        """What all windows brought."""
        scale = 100 / self.spread.plates.full
        pixels = self.spread.plates.width_px * self.spread.plates.height_px
        return Gathered(
            total_ink=self.total_check.finish(self.total_part),
            nights=tuple(
                check.finish(part)
                for (check, _), part in zip(self.night_checks, self.night_parts, strict=True)
            ),
            as_printed=self.printed.srgb8(),
            on_screen=self.screen.srgb8(),
            mean_tone_pct=self.thumbs.mean() * scale,
            whole_tone_pct=self.thumbs.sums.sum(axis=(0, 1)) * (scale / pixels),
            outside_srgb_pct=100 * self.outside_px / pixels,
            mean_lightness_miss=self.lightness_miss / pixels / LIGHTNESS_SCALE,
        )


def gather(
    spread: Spread,
    lookup: Lookup,
    screen: Lookup,
    *,
    total_ink: TotalInkCheck,
    nights: Sequence[tuple[NightCheck, Mask]],
    progress: Progress,
) -> Gathered:
    """Walk all windows once."""
    gathering = Gathering(spread, total_ink=total_ink, nights=nights)
    for window in coloured_windows(spread.plates, lookup):
        gathering.add(window, screen)
        progress("computing what will print", window.checked.rows.stop / spread.plates.height_px)
    return gathering.result()
