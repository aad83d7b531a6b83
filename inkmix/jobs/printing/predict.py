"""The predicted print as pictures at full size: all plates or some, on the paper or on white.

Colours come from tables of the press condition. All pictures that are wanted are written in one
pass over the windows; plates that were not counted before are counted in it as well.
"""

from collections.abc import Collection, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from inkmix.base.ordered_threads import each_in_order
from inkmix.export.picture import PackedBlock, PictureShape, PictureWriter, picture_writers
from inkmix.jobs.printing.coloured_windows import plate_reader
from inkmix.jobs.printing.screen import screen_model
from inkmix.jobs.printing.white import lookup_for
from inkmix.jobs.refusals import refuse_inks
from inkmix.jobs.spread import Progress, Spread, no_progress
from inkmix.plates.files.raster import Samples
from inkmix.plates.files.snapshots import TRIES, while_at_rest
from inkmix.plates.set import PlateSet
from inkmix.plates.survey.counting import Survey, SurveyPart
from inkmix.plates.survey.surveyed import PlateSurvey
from inkmix.plates.windows import Window
from inkmix.press.table.colouring import Colouring

OUTSIDE_SRGB = "of the pixels hold colours that sRGB cannot show; they are clipped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One picture to be written.

    Parameters
    ----------
    path : Path
        Ends in .png, .tif or .tiff.
    inks : tuple of str
        Only these plates; empty: all.
    on_screen : bool
        The layers multiplied on a screen, instead of the print.
    paper_white : bool
        The paper as the screen's white.
    """

    path: Path
    inks: tuple[str, ...] = ()
    on_screen: bool = False
    paper_white: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """One picture that was written.

    Parameters
    ----------
    outside_srgb_pct : float
        Share of its pixels that sRGB cannot show.
    """

    path: Path
    outside_srgb_pct: float


def write_predictions(
    spread: Spread, wanted: Sequence[Wanted], *, progress: Progress = no_progress
) -> tuple[Spread, tuple[Written, ...]]:
    """Write pictures of a spread; the spread, counted, and what was written.

    Raises
    ------
    PlateError
        With what only pixels show to be wrong; then no picture is written.
    OutputError
        Where a file cannot be written.
    """
    given: Spread | None = spread

    def predicted() -> tuple[Spread, tuple[Written, ...]]:
        nonlocal given
        first, given = given, None
        return _predicted(first or _anew(spread), wanted, progress)

    return while_at_rest(predicted, tries=TRIES if spread.again else 1)


def _anew(spread: Spread) -> Spread:
    """The spread as its files are by now."""
    assert spread.again is not None
    return spread.again()


def _predicted(
    spread: Spread, wanted: Sequence[Wanted], progress: Progress
) -> tuple[Spread, tuple[Written, ...]]:
    progress("preparing the press model", 0.0)
    walk = _Pass(spread, [_job(spread, picture) for picture in wanted], progress)
    walk.run()
    if walk.counted.plates.screened != spread.plates.screened:
        return _predicted(walk.counted, wanted, progress)
    return walk.counted, walk.written()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """A picture with all that makes it; `absent` are the plates that do not print in it."""

    path: Path
    plates: PlateSet
    colouring: Colouring
    absent: tuple[int, ...]


def _job(spread: Spread, wanted: Wanted) -> _Job:
    model = screen_model(spread.condition) if wanted.on_screen else spread.condition
    shown = spread.as_on_screen() if wanted.on_screen else spread
    return _Job(
        path=wanted.path,
        plates=shown.plates,
        colouring=Colouring(lookup_for(spread, model, paper_white=wanted.paper_white)),
        absent=_absent(spread, wanted.inks),
    )


def _absent(spread: Spread, inks: Collection[str]) -> tuple[int, ...]:
    """Plates that are left out where only some inks are wanted."""
    refuse_inks(spread.book, inks)
    known = spread.plates.inks
    return tuple(index for index, name in enumerate(known) if inks and name not in inks)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _WindowPart:
    """One window: of each picture a block and the pixels sRGB cannot show; counts."""

    blocks: tuple[PackedBlock, ...]
    outside_px: tuple[int, ...]
    survey: SurveyPart | None


class _Pass:
    """One walk over the windows of a spread: `part` for any thread, `take` in raster order."""

    def __init__(self, spread: Spread, jobs: Sequence[_Job], progress: Progress) -> None:
        self._spread, self.counted, self._plates = spread, spread, spread.plates
        self._jobs, self._progress = jobs, progress
        self._survey = None if spread.surveys else Survey(plate_set=spread.plates)
        self._counted = None if self._survey is None else self._survey.start()
        self._outside_px = [0] * len(jobs)
        self._done_px = 0

    def run(self) -> None:
        """Write the pictures; they appear when all is done."""
        paths = [job.path for job in self._jobs]
        with print_writers(self._plates, paths) as self._writers, self._spread.seen.held():
            # Inside, for there is to be no picture of changed or faulty plates.
            each_in_order(self._part, self._plates.windows(), self._take)
            self.counted = self._spread.counted(self._surveys())

    def _part(self, window: Window) -> _WindowPart:
        read: dict[tuple[bool, ...], Samples] = {}
        packed = []
        for job, writer in zip(self._jobs, self._writers, strict=True):
            marks = job.plates.screened
            if marks not in read:
                read[marks] = job.plates.read(window.rows, window.cols)
            srgb8, outside_px = job.colouring.srgb8(_without(read[marks], job.absent))
            block = writer.pack(srgb8, row=window.rows.start, col=window.cols.start)
            packed.append((block, outside_px))
        blocks, outside = zip(*packed, strict=True)
        return _WindowPart(blocks=blocks, outside_px=outside, survey=self._count(window, read))

    def _count(self, window: Window, read: Mapping[tuple[bool, ...], Samples]) -> SurveyPart | None:
        if self._survey is None:
            return None
        amounts = read.get(self._plates.screened)
        return self._survey.part(window, plate_reader(self._plates, window, amounts))

    def _take(self, part: _WindowPart) -> None:
        for index, (writer, block) in enumerate(zip(self._writers, part.blocks, strict=True)):
            writer.append(block)
            self._outside_px[index] += part.outside_px[index]
        if self._survey is not None and self._counted is not None and part.survey is not None:
            self._counted = self._survey.merge(self._counted, part.survey)
        self._done_px += part.blocks[0].pixels
        self._progress("writing pictures", self._done_px / self._pixels)

    def _surveys(self) -> tuple[PlateSurvey, ...]:
        if self._survey is None or self._counted is None:
            return self._spread.surveys
        return self._survey.finish(self._counted)

    def written(self) -> tuple[Written, ...]:
        """What was written."""
        return tuple(
            Written(path=job.path, outside_srgb_pct=100 * outside / self._pixels)
            for job, outside in zip(self._jobs, self._outside_px, strict=True)
        )

    @property
    def _pixels(self) -> int:
        return self._plates.width_px * self._plates.height_px


def _without(planes: Samples, absent: Sequence[int]) -> Samples:
    """Ink amounts (I, rows, cols) without some plates."""
    if not absent:
        return planes
    planes = planes.copy()
    planes[list(absent)] = 0
    return planes


def print_writers(
    plates: PlateSet, paths: Sequence[Path]
) -> AbstractContextManager[tuple[PictureWriter, ...]]:
    """Writers for pictures of a spread, whose blocks are the windows of its plates."""
    grid = plates.windows()
    shape = PictureShape(
        width_px=grid.width_px,
        height_px=grid.height_px,
        block_rows=grid.rows,
        block_cols=grid.cols,
    )
    return picture_writers(paths, shape, ppi=plates.ppi)
