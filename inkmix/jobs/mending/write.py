"""The corrected copies of one spread, written in one pass over its windows.

What is to change is told by `find`; how a plate's file is copied, by export/plates. Counts are
integers, so that neither windows nor threads change a figure.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inkmix.base.arrays import IntArray
from inkmix.base.ordered_threads import each_in_order
from inkmix.checks.window import Planes, as_planes
from inkmix.export.plates.copies import (
    PackedPlates,
    PlateCopies,
    PlateCopy,
    PlateWriter,
    copies_of,
    picture_paths,
    plate_copies,
)
from inkmix.jobs.mending.find import SheetMending
from inkmix.jobs.mending.values import PlateMended
from inkmix.jobs.spread import Progress
from inkmix.plates.corrected import in_file
from inkmix.plates.files.raster import Samples
from inkmix.plates.set import PlateSet
from inkmix.plates.windows import Window, scaled


def write_copies(
    mending: SheetMending, folder: Path, *, to: Mapping[Path, Path], progress: Progress
) -> tuple[tuple[PlateMended, ...], tuple[str, ...]]:
    """Write the plates of a spread, corrected; what changed in each, and what a copy left out.

    Parameters
    ----------
    folder : Path
        Of the mended book.
    to : mapping of Path to Path
        Where the copy of each file goes.

    Raises
    ------
    OutputError
        Where a copy cannot be written; then none is.
    PlateError
        Where a file was changed meanwhile.
    """
    spread = mending.looked.spread
    copies, untouched = copies_of(spread.plates, mending.inks, to=to)
    is_doubted = any(survey.may_be_inverted for survey in spread.surveys)
    undoubted = () if is_doubted else tuple(to.values())
    copying = plate_copies(folder, copies, untouched=untouched, undoubted=undoubted)
    with copying as written, spread.seen.held():
        walk = _Walk(mending, copies, written, progress)
        # One at a time: each holds all plates as they are, as they become, and what is packed.
        each_in_order(walk.part, spread.plates.windows(), walk.take, threads=1)
    return tuple(walk.plates(folder, copies, written.digests)), written.notes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Changes:
    """How many pixels of each plate (I,) changed, and the most that any got and lost, in steps."""

    pixels: IntArray
    most_added: IntArray
    most_removed: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """One window: a block for each copy, and counts; `sheet_px` are those that went by."""

    blocks: tuple[PackedPlates, ...]
    changes: _Changes | None
    sheet_px: int


class _Walk:
    """One walk over the windows: `part` for any thread, `take` in raster order."""

    def __init__(
        self,
        mending: SheetMending,
        copies: Sequence[PlateCopy],
        written: PlateCopies,
        progress: Progress,
    ) -> None:
        self._mending, self._plates = mending, mending.looked.spread.plates
        self._copies, self._writers, self._progress = copies, written.writers, progress
        self._pixels, self._added, self._removed = np.zeros((3, len(self._plates.inks)), np.int64)
        self._done_px = 0

    def part(self, window: Window) -> _Part:
        rows, cols = window.rows, window.cols
        before = self._plates.read(rows, cols)
        after = self._mending.applied(before, rows=rows, cols=cols)
        pairs = zip(self._copies, self._writers, strict=True)
        return _Part(
            blocks=tuple(
                self._packed(copy, writer, window, (before, after)) for copy, writer in pairs
            ),
            changes=None if after is before else _changes(before, after),
            sheet_px=before[0].size,
        )

    def _packed(
        self, copy: PlateCopy, writer: PlateWriter, window: Window, pair: tuple[Planes, Planes]
    ) -> PackedPlates:
        """The plates of a page, packed; `pair` is the window as it is and as it becomes."""
        plates, (before, after) = self._plates, pair
        old, new = [], []
        for plate in copy.plates:
            index = plates.inks.index(plate.header.ink)
            fine = _in_own_pixels(plates, index, window, before)
            told = {"before": before[index], "after": after[index]}
            old.append(fine)
            new.append(fine if after is before else in_file(plates, index, fine, **told))
        factor = plates.factors[plates.inks.index(copy.plates[0].header.ink)]
        corner = {"row": window.rows.start * factor, "col": window.cols.start * factor}
        return writer.pack(as_planes(np.stack(old)), as_planes(np.stack(new)), **corner)

    def take(self, part: _Part) -> None:
        for writer, block in zip(self._writers, part.blocks, strict=True):
            writer.append(block)
        if part.changes is not None:
            self._pixels += part.changes.pixels
            self._added = np.maximum(self._added, part.changes.most_added)
            self._removed = np.maximum(self._removed, part.changes.most_removed)
        self._done_px += part.sheet_px
        self._progress("writing plates", self._done_px / self._sheet_px)

    @property
    def _sheet_px(self) -> int:
        return self._plates.sheet_px

    def plates(
        self, folder: Path, copies: Sequence[PlateCopy], digests: Mapping[str, str]
    ) -> Iterator[PlateMended]:
        """What changed, plate by plate; `digests` are those of the files that are there."""
        step_pct = 100 / self._plates.full
        for copy in copies:
            beside = iter(picture_paths(copy, copies))
            for plate, added, removed in zip(copy.plates, beside, beside, strict=True):
                index = self._plates.inks.index(plate.header.ink)
                if self._pixels[index]:
                    yield PlateMended(
                        ink=plate.header.ink,
                        file=_name(copy.to, folder),
                        added=_there(added, folder, digests),
                        removed=_there(removed, folder, digests),
                        changed_pct=100 * int(self._pixels[index]) / self._sheet_px,
                        most_added_pct=int(self._added[index]) * step_pct,
                        most_removed_pct=int(self._removed[index]) * step_pct,
                    )


def _changes(before: Planes, after: Planes) -> _Changes:
    counts = np.zeros((3, len(before)), np.int64)
    for index, (old, new) in enumerate(zip(before, after, strict=True)):
        if not np.array_equal(old, new):
            more = new.astype(np.int32) - old
            counts[:, index] = np.count_nonzero(more), more.max(), -more.min()
    pixels, added, removed = counts
    return _Changes(pixels=pixels, most_added=added, most_removed=removed)


def _in_own_pixels(plates: PlateSet, index: int, window: Window, before: Planes) -> Samples:
    """A window of a plate as its file has it."""
    if plates.is_as_in_file(index):
        there: Samples = before[index]
        return there
    plate, factor = plates.plates[index], plates.factors[index]
    rows, cols = scaled(window.rows, factor), scaled(window.cols, factor)
    height, width = plate.header.height_px, plate.header.width_px
    return plate.read(
        slice(rows.start, min(rows.stop, height)), slice(cols.start, min(cols.stop, width))
    )


def _name(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix()


def _there(path: Path, folder: Path, digests: Mapping[str, str]) -> str | None:
    """The name of a picture of ink that was written."""
    name = _name(path, folder)
    return name if name in digests else None
