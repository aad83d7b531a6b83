"""What the pixels of each plate hold: one pass over the set, before or beside the colours.

A window is counted here; what the counts mean is told in suspicion.py; how it is said, in
surveyed.py.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import combinations
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from inkmix.plates.files.raster import Samples
from inkmix.plates.found.duplicates import file_digests
from inkmix.plates.overview import BlockPart, BlockSum, factor_for
from inkmix.plates.plate import FilePlate, Plate
from inkmix.plates.resampling import fine_bands
from inkmix.plates.set import PlateSet
from inkmix.plates.survey.joint_counts import JointCounts, count_jointly, no_joint_counts
from inkmix.plates.survey.lost_highlights import LONGEST_BLOCKS, lights_are_hidden_by
from inkmix.plates.survey.screened import box_mean
from inkmix.plates.survey.surveyed import PlateSurvey
from inkmix.plates.survey.suspicion import (
    doubtful_plate,
    doubtful_plates,
    ends_at_32768,
    has_lights,
    inverted_plate,
    is_fine_two_tone,
)
from inkmix.plates.survey.tally import PlateTally, are_equal, no_pixels, tally_of
from inkmix.plates.windows import Window, scaled

#: Ink amount (rows, cols) of the plate of an index, rows and columns in its own pixels.
ReadPlate = Callable[[int, slice, slice], Samples]
Pair = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurveyPart:
    """Counts of some rows of a set; integers only, so that no cut changes a bit.

    Parameters
    ----------
    tallies : tuple of PlateTally
        Each plate at its own resolution.
    together : JointCounts
        Joint counts at the set's resolution, 8 bits.
    blocks : BlockPart
        Sums over the blocks that polarity is judged on.
    alike : frozenset of (int, int)
        Pairs of plates, the earlier first, that are the same so far.
    """

    tallies: tuple[PlateTally, ...]
    together: JointCounts
    blocks: BlockPart
    alike: frozenset[Pair]


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """How the plates of a set are counted; `part` may be asked of several threads at once."""

    plate_set: PlateSet

    def start(self) -> SurveyPart:
        """The part that has seen nothing."""
        plates = self.plate_set.plates
        return SurveyPart(
            tallies=tuple(no_pixels(plate.header.full) for plate in plates),
            together=no_joint_counts(len(plates)),
            blocks=self._blocks().start(),
            alike=frozenset(
                (i, j)
                for i, j in combinations(range(len(plates)), 2)
                if _size(plates[i]) == _size(plates[j])
            ),
        )

    def part(self, window: Window, read: ReadPlate | None = None) -> SurveyPart:
        """Counts of one window.

        Parameters
        ----------
        read : callable or None
            Where the pixels come from, if somebody has them already; None to read the plates.
        """
        read = read or self._read
        counted = [self._counted(index, window, read) for index in range(len(self._plates))]
        tallies, planes = zip(*counted, strict=True)
        first_row, first_col = window.rows.start, window.cols.start
        return SurveyPart(
            tallies=tallies,
            together=count_jointly(planes, first_row=first_row, first_col=first_col),
            blocks=self._blocks().part(first_row, planes, first_col=first_col),
            alike=frozenset(self._alike(tallies, window, read)),
        )

    def merge(self, first: SurveyPart, second: SurveyPart) -> SurveyPart:
        """Counts of both parts."""
        pairs = zip(first.tallies, second.tallies, strict=True)
        return SurveyPart(
            tallies=tuple(one.plus(other) for one, other in pairs),
            together=first.together.plus(second.together),
            blocks=first.blocks.plus(second.blocks),
            alike=first.alike & second.alike,
        )

    def finish(
        self, part: SurveyPart, digests: Mapping[Path, str] | None = None
    ) -> tuple[PlateSurvey, ...]:
        """What the counts of the whole set say, in lay-down order.

        Parameters
        ----------
        digests : mapping of Path to str, or None
            SHA-256 of the files, where `file_digests` was asked already.
        """
        if digests is None:
            digests = file_digests([plate.header for plate in self._plates])
        alone = [
            _survey_of(plate, tally, digests)
            for plate, tally in zip(self._plates, part.tallies, strict=True)
        ]
        surveys = [_compared(alone, index, part.alike) for index in range(len(alone))]
        blocks = self._blocks()
        blocks.take(part.blocks)
        return _suspected(surveys, part.together, blocks)

    @property
    def _plates(self) -> tuple[Plate, ...]:
        return self.plate_set.plates

    def _blocks(self) -> BlockSum:
        """Sums of every plate over the blocks that polarity is judged on."""
        size = {"width_px": self.plate_set.width_px, "height_px": self.plate_set.height_px}
        factor = factor_for(**size, longest_px=LONGEST_BLOCKS)
        return BlockSum(**size, channels=len(self._plates), factor=factor)

    def _read(self, index: int, rows: slice, cols: slice) -> Samples:
        return self._plates[index].read(rows, cols)

    def _bands(self, index: int, window: Window) -> Iterator[tuple[Window, Window]]:
        """Bands of a window in the set's pixels, and in those of a plate, as far as it goes."""
        header, factor = self._plates[index].header, self.plate_set.factors[index]
        for band in fine_bands(window.rows, window.cols, factor=factor):
            rows, cols = scaled(band, factor), scaled(window.cols, factor)
            fine = Window(
                rows=slice(rows.start, min(rows.stop, header.height_px)),
                cols=slice(cols.start, min(cols.stop, header.width_px)),
            )
            yield Window(rows=band, cols=window.cols), fine

    def _counted(
        self, index: int, window: Window, read: ReadPlate
    ) -> tuple[PlateTally, NDArray[np.uint8]]:
        """Counts of a plate at its own resolution, and the plate at the set's, at 8 bits."""
        factor, tallies, parts = self.plate_set.factors[index], [], []
        for band, fine in self._bands(index, window):
            amount = read(index, fine.rows, fine.cols)
            tallies.append(self._tally(index, fine, amount))
            parts.append(_at_set_size(amount, band.shape, factor))
        plane = parts[0] if len(parts) == 1 else np.concatenate(parts)
        return reduce(PlateTally.plus, tallies), plane

    def _tally(self, index: int, fine: Window, amount: Samples) -> PlateTally:
        """Counts of a rectangle, with changes from the pixels left of it, where these count."""
        tally = tally_of(amount, full=self._plates[index].header.full)
        start = fine.cols.start
        if start == 0 or not tally.is_two_tone:
            return tally
        left = self._read(index, fine.rows, slice(start - 1, start))
        seam = int(np.count_nonzero(left[:, 0] != amount[:, 0]))
        return replace(tally, changes=tally.changes + seam)

    def _alike(
        self, tallies: Sequence[PlateTally], window: Window, read: ReadPlate
    ) -> Iterator[Pair]:
        """Pairs of plates that are the same in a window; most differ in their counts already."""
        for i, j in combinations(range(len(tallies)), 2):
            if _size(self._plates[i]) != _size(self._plates[j]):
                continue
            if not np.array_equal(tallies[i].counts, tallies[j].counts):
                continue
            if tallies[i].is_even or self._equal(i, j, window, read):
                yield i, j

    def _equal(self, i: int, j: int, window: Window, read: ReadPlate) -> bool:
        if _source(self._plates[i]) == _source(self._plates[j]):
            return True
        return all(
            are_equal(read(i, fine.rows, fine.cols), read(j, fine.rows, fine.cols))
            for _, fine in self._bands(i, window)
        )


def _size(plate: Plate) -> tuple[int, int, int]:
    """Plates that differ in this are not the same."""
    return plate.header.width_px, plate.header.height_px, plate.header.full


def _source(plate: Plate) -> tuple[object, ...]:
    """Plates that agree in this are the same without looking."""
    header = plate.header
    if not isinstance(plate, FilePlate):
        return (header.ink,)
    return header.path, header.page, header.channel, plate.invert, plate.dot_range


def _suspected(
    surveys: Sequence[PlateSurvey], together: JointCounts, blocks: BlockSum
) -> tuple[PlateSurvey, ...]:
    """The surveys, with what the plates together say of their polarity; the surest word counts."""
    headers, counts = [s.header for s in surveys], [s.histogram for s in surveys]
    turned = inverted_plate(headers, counts, together)
    full = None if turned is not None else doubtful_plate(headers, counts)
    hiding: tuple[int, ...] = ()
    if turned is None and full is None and not has_lights(together):
        once = [index for index, counted in enumerate(surveys) if counted.repeats is None]
        tone = blocks.mean().reshape(-1, len(surveys)).T[once] / 255
        hiding = doubtful_plates(headers, [once[k] for k in lights_are_hidden_by(tone)])
    return tuple(
        replace(
            counted,
            looks_inverted=index == turned,
            may_be_inverted=index == full or index in hiding,
            hides_lights=index in hiding,
        )
        for index, counted in enumerate(surveys)
    )


def _at_set_size(amount: Samples, shape: tuple[int, int], factor: int) -> NDArray[np.uint8]:
    """8 bits at the resolution of the set; where fine pixels are short, the edge goes on."""
    plane: NDArray[np.integer] = amount
    if amount.dtype == np.uint16:
        plane = np.right_shift(amount, 8, out=np.empty(amount.shape, np.uint8), casting="unsafe")
    short = (shape[0] * factor - plane.shape[0], shape[1] * factor - plane.shape[1])
    if any(short):
        plane = np.pad(plane, ((0, short[0]), (0, short[1])), mode="edge")
    return box_mean(plane, factor=factor).astype(np.uint8, copy=False)


def _compared(surveys: Sequence[PlateSurvey], index: int, alike: frozenset[Pair]) -> PlateSurvey:
    """The survey of a plate, with the earlier plates that have the same pixels."""
    before = [o for i, o in enumerate(surveys[:index]) if (i, index) in alike and not o.blank]
    first_hit = surveys[index].header.first_hit
    return replace(
        surveys[index],
        same_pixels_as=_first_ink(o for o in before if o.header.first_hit != first_hit),
        repeats=_first_ink(o for o in before if o.header.first_hit == first_hit),
    )


def _first_ink(surveys: Iterator[PlateSurvey]) -> str | None:
    return next((counted.header.ink for counted in surveys), None)


def _survey_of(plate: Plate, tally: PlateTally, digests: Mapping[Path, str]) -> PlateSurvey:
    """One plate, by itself."""
    header, counts = plate.header, tally.counts
    used, total = np.flatnonzero(counts), int(counts.sum())
    ink = sum(int(value) * int(counts[value]) for value in used)
    histogram = tally.in_256_steps
    histogram.flags.writeable = False
    two_tone = tally.is_two_tone and is_fine_two_tone(counts[[0, -1]], tally.changes)
    return PlateSurvey(
        header=header,
        mean_tone_pct=100 * ink / (total * header.full),
        max_tone_pct=100 * int(used[-1]) / header.full,
        min_tone_pct=100 * int(used[0]) / header.full,
        inked_area_pct=100 * (1 - int(counts[0]) / total),
        histogram=histogram,
        digest=digests[header.path] if header.path else None,
        blank=int(used[-1]) == 0,
        screened=header.screened or two_tone,
        ends_at_32768=ends_at_32768(counts, inverted=_turns(plate)),
    )


def _turns(plate: Plate) -> bool:
    """Whether ink amount runs against the numbers of the file."""
    return isinstance(plate, FilePlate) and plate.invert
