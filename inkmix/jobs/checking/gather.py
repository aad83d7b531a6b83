"""One pass over a spread: what the checks counted, bounded pictures of it, its full-size picture.

Windows are counted by threads and taken in raster order; what is counted in them is told in
checks, plates.survey and overview.
"""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import each_in_order
from inkmix.checks.check import OpenedCheck
from inkmix.checks.reference.check import ReferenceCheck, ReferencePart, ReferenceResult
from inkmix.export.picture import PackedBlock, PictureWriter
from inkmix.jobs.checking.sampled import OnScreen, OnScreenPart
from inkmix.jobs.printing.coloured_windows import ColouredWindow, coloured_window, plate_reader
from inkmix.jobs.spread import Progress, Spread
from inkmix.plates.found.duplicates import file_digests
from inkmix.plates.overview import BlockPart, BlockSum, ColourOverview, Reduced, factor_for
from inkmix.plates.survey.counting import Survey, SurveyPart
from inkmix.plates.survey.surveyed import PlateSurvey
from inkmix.plates.windows import Window
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import LIGHTNESS_SCALE

OVERVIEW_PX = 2000  # longest side of the pair of pictures; 40 windows of a report's page
THUMB_PX = 700  # longest side of a plate's picture, and of the sample of mixes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """What one pass brought.

    Parameters
    ----------
    surveys : tuple of PlateSurvey
        The plates, counted.
    results : tuple
        What each check made of its counts, in the order in which they were given.
    reference : ReferenceResult or None
        The comparison with the reference picture, where there is one.
    as_printed : Reduced
    on_screen : (rows, cols, 3) uint8 ndarray
        The pair of pictures.
    reduced_tone_pct : (rows, cols, I) ndarray
        Reduced plates, tone values 0-100; those made of dots after growth.
    whole_tone_pct : (I,) ndarray
        The mean of each over the whole sheet.
    mean_lightness_miss : float
        Mean L* of the print less mean L* of the layers multiplied on screen.
    """

    surveys: tuple[PlateSurvey, ...]
    results: tuple[Any, ...]
    reference: ReferenceResult | None
    as_printed: Reduced
    on_screen: NDArray[np.uint8]
    reduced_tone_pct: NDArray[np.float64]
    whole_tone_pct: NDArray[np.float64]
    outside_srgb_pct: float
    mean_lightness_miss: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WindowPart:
    """What one window brought; integers and packed pixels."""

    window: Window
    survey: SurveyPart
    checks: tuple[Any, ...]
    printed: BlockPart
    thumbs: BlockPart
    on_screen: OnScreenPart
    differences: ReferencePart | None
    outside_px: int
    block: PackedBlock | None


_Part = TypeVar("_Part")


class _Merging(Protocol[_Part]):
    def start(self) -> _Part: ...
    def merge(self, first: _Part, second: _Part) -> _Part: ...


class _InRasterOrder(Generic[_Part]):
    """Parts of windows joined as they come: a band from left to right, then with those above."""

    def __init__(self, check: _Merging[_Part], *, width_px: int) -> None:
        self._check, self._width_px = check, width_px
        self.whole, self._band = check.start(), check.start()

    def take(self, window: Window, part: _Part) -> None:
        self._band = self._check.merge(self._band, part)
        if window.cols.stop == self._width_px:
            self.whole = self._check.merge(self.whole, self._band)
            self._band = self._check.start()


class Gathering:
    """The counts of one pass: `part` for any thread, `take` in raster order."""

    def __init__(
        self,
        spread: Spread,
        *,
        printed: Colouring,
        screen: Colouring,
        checks: Sequence[OpenedCheck[Any, Any]],
        reference: ReferenceCheck | None,
        writer: PictureWriter | None,
    ) -> None:
        plates = spread.plates
        size = {"width_px": plates.width_px, "height_px": plates.height_px}
        self.spread, self.printing, self.writer = spread, printed, writer
        self.reference, self.survey, self.checks = reference, Survey(plate_set=plates), checks
        self.on_screen = OnScreen(spread, screen, longest_px=OVERVIEW_PX)
        self.as_printed = ColourOverview(**size, factor=self.on_screen.factor)
        self.thumbs = BlockSum(
            **size, channels=len(plates.inks), factor=factor_for(**size, longest_px=THUMB_PX)
        )
        width_px = plates.width_px
        self._survey = _InRasterOrder(self.survey, width_px=width_px)
        self._checks = [_InRasterOrder(check, width_px=width_px) for check in checks]
        self._differences = None if reference is None else reference.start()
        self._outside_px = 0

    def part(self, window: Window) -> WindowPart:
        """Everything about one window."""
        plates = self.spread.plates
        coloured = coloured_window(plates, self.printing, window)
        checked, place = coloured.checked, (window.rows.start, window.cols.start)
        return WindowPart(
            window=window,
            survey=self.survey.part(window, plate_reader(plates, window, coloured.amounts)),
            checks=tuple(check.part(checked) for check in self.checks),
            printed=self.as_printed.part(place[0], coloured.srgb8, first_col=place[1]),
            thumbs=self.thumbs.part(place[0], list(coloured.amounts), first_col=place[1]),
            on_screen=self.on_screen.part(coloured),
            differences=None
            if self.reference is None
            else self.reference.part(window.rows, window.cols, coloured.srgb8),
            outside_px=coloured.outside_px,
            block=self._packed(coloured, place),
        )

    def _packed(self, coloured: ColouredWindow, place: tuple[int, int]) -> PackedBlock | None:
        if self.writer is None:
            return None
        return self.writer.pack(coloured.srgb8, row=place[0], col=place[1])

    def take(self, part: WindowPart) -> None:
        """Join the next window in raster order."""
        if self.writer is not None and part.block is not None:
            self.writer.append(part.block)
        self._survey.take(part.window, part.survey)
        for check, counted in zip(self._checks, part.checks, strict=True):
            check.take(part.window, counted)
        self.as_printed.take(part.printed)
        self.thumbs.take(part.thumbs)
        self.on_screen.take(part.on_screen)
        if self.reference is not None and self._differences and part.differences:
            self._differences = self.reference.merge(self._differences, part.differences)
        self._outside_px += part.outside_px

    def result(self, digests: Mapping[Path, str]) -> Gathered:
        """What all windows brought; `digests` are those of the plate files."""
        scale = 100 / self.spread.plates.full
        pixels = self.spread.plates.width_px * self.spread.plates.height_px
        return Gathered(
            surveys=self.survey.finish(self._survey.whole, digests),
            results=tuple(
                check.finish(seen.whole)
                for check, seen in zip(self.checks, self._checks, strict=True)
            ),
            reference=None
            if self.reference is None or self._differences is None
            else self.reference.finish(self._differences),
            as_printed=self.as_printed.reduced(),
            on_screen=self.on_screen.srgb8(),
            reduced_tone_pct=self.thumbs.mean() * scale,
            whole_tone_pct=self.thumbs.sums.sum(axis=(0, 1)) * (scale / pixels),
            outside_srgb_pct=100 * self._outside_px / pixels,
            mean_lightness_miss=self.on_screen.mean_lightness_miss() / LIGHTNESS_SCALE,
        )


def gather(gathering: Gathering, *, progress: Progress) -> Gathered:
    """Walk all windows once."""
    plates = gathering.spread.plates
    done = 0

    def take(part: WindowPart) -> None:
        nonlocal done
        gathering.take(part)
        rows, cols = part.window.shape
        done += rows * cols
        progress("computing what will print", done / (plates.width_px * plates.height_px))

    with ThreadPoolExecutor(1) as beside:
        digests = beside.submit(file_digests, [plate.header for plate in plates.plates])
        each_in_order(gathering.part, plates.windows(), take)
        return gathering.result(digests.result())
