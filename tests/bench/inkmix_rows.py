"""inkmix at work on windows in memory, by one thread: colour only, and colour with the checks."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from book_text import press_text
from numpy.typing import NDArray

from inkmix.book.meant.condition import resolve_condition
from inkmix.book.read import parse_book
from inkmix.checks import table
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.total_ink.check import TotalInkCheck, TotalInkResult
from inkmix.checks.window import CheckedWindow
from inkmix.colour.colorimetry import xyz100_to_srgb8
from inkmix.press.condition import PressCondition
from inkmix.press.table.colouring import Colouring
from inkmix.sheet.geometry import Sheet

PPI = 600.0
INK_LIMIT_PCT = 280.0
LIGHTEST_L = 29.0

Planes = NDArray[np.uint8]


def bench_condition() -> PressCondition:
    """The five inks and the paper of the Night Ferry."""
    text = press_text(width_px=20400, height_px=8480, ppi=PPI)
    return resolve_condition(
        parse_book(text.encode(), path=Path("book.toml"), form=table.book_form())
    )


def layer_srgb8(condition: PressCondition) -> NDArray[np.uint8]:
    """Colours (inks, 256, 3) of each ink alone, for what multiplies layers."""
    count = len(condition.inks)
    tone_pct = np.zeros((count, 256, count))
    for ink in range(count):
        tone_pct[ink, :, ink] = np.linspace(0, 100, 256)
    return xyz100_to_srgb8(condition.xyz100(tone_pct))[0]


def colouring_only(colouring: Colouring, windows: Planes) -> Callable[[], object]:
    """Colours of windows (windows, inks, rows, cols)."""

    def run() -> None:
        for planes in windows:  # each is handed on before the next, as in a pass
            colouring.srgb8(planes)

    return run


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Checking:
    """Colour, total ink and one night of a sheet; where tones are used is left out.

    Parameters
    ----------
    windows : (windows, inks, rows, cols) uint8 ndarray
        From the top of the sheet to its foot, each as wide as the sheet.
    masks : (windows, rows, cols) bool ndarray
        What belongs to the night.
    ink_limit_pct, lightest_L : float or None
        Without limits everything is counted, but no areas beyond a limit are searched for.
    """

    condition: PressCondition
    colouring: Colouring
    windows: Planes
    masks: NDArray[np.bool_]
    ink_limit_pct: float | None = INK_LIMIT_PCT
    lightest_L: float | None = LIGHTEST_L

    def run(self) -> tuple[TotalInkResult, NightResult]:
        """Everything that one thread does, merged window by window."""
        total_ink, night = self._checks()
        inks, dark = total_ink.start(), night.start()
        for index, planes in enumerate(self.windows):
            coloured = self.colouring.coloured(planes)
            window = self._window(index, coloured.lightness)
            inks = total_ink.merge(inks, total_ink.part(window))
            dark = night.merge(dark, night.part(window, self.masks[index]))
        return total_ink.finish(inks), night.finish(dark)

    def _window(self, index: int, lightness: NDArray[np.int16]) -> CheckedWindow:
        height, width = self.windows.shape[2:]
        rows = slice(index * height, (index + 1) * height)
        planes = self.windows[index]
        return CheckedWindow(rows=rows, cols=slice(0, width), planes=planes, lightness=lightness)

    def _checks(self) -> tuple[TotalInkCheck, NightCheck]:
        count, _, height, width = self.windows.shape
        sheet = Sheet(width_px=width, height_px=count * height, ppi=PPI)
        night = NightCheck(
            sheet=sheet,
            condition=self.condition,
            name="sky",
            mask_words="the white of a mask",
            lightest_L=self.lightest_L,
            share_pct=95,
        )
        return TotalInkCheck(sheet=sheet, limit_pct=self.ink_limit_pct, whose="user"), night
