"""What the pixels of each plate hold: one pass over the set, before any colour is computed.

Counting is here; what the counts mean is told in suspicion.py; how it is said, in surveyed.py.
"""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from inkmix.overview import BlockSum, factor_for
from inkmix.plates.common import fine_bands
from inkmix.plates.duplicates import file_digest
from inkmix.plates.lights import LONGEST_BLOCKS, lights_are_hidden_by
from inkmix.plates.plate import FilePlate, Plate
from inkmix.plates.raster import Samples
from inkmix.plates.screened import box_mean
from inkmix.plates.set import PlateSet
from inkmix.plates.surveyed import PlateSurvey, survey_faults, survey_notes
from inkmix.plates.suspicion import (
    doubtful_plate,
    doubtful_plates,
    ends_at_32768,
    inverted_plate,
    is_fine_two_tone,
)
from inkmix.plates.together import Together
from inkmix.plates.windows import Window, scaled

__all__ = ["PlateSurvey", "survey", "survey_faults", "survey_notes"]


def survey(plate_set: PlateSet) -> tuple[PlateSurvey, ...]:
    """Every plate of the set, counted in one pass; in lay-down order."""
    tallies = [_Tally(plate=plate) for plate in plate_set.plates]
    together, blocks = Together(len(tallies)), _blocks(plate_set)
    for window in plate_set.windows():
        planes = np.stack(list(_overview(plate_set, tallies, window)))
        together.add(planes)
        blocks.add(window.rows.start, np.moveaxis(planes, 0, -1))
    surveys: list[PlateSurvey] = []
    for tally in tallies:
        surveys.append(_compared(tally.result(), surveys))
    return _suspected(surveys, together, blocks)


def _blocks(plate_set: PlateSet) -> BlockSum:
    """Sums of every plate over the blocks that polarity is judged on."""
    size = {"width_px": plate_set.width_px, "height_px": plate_set.height_px}
    factor = factor_for(**size, longest_px=LONGEST_BLOCKS)
    return BlockSum(**size, channels=len(plate_set.plates), factor=factor)


def _suspected(
    surveys: Sequence[PlateSurvey], together: Together, blocks: BlockSum
) -> tuple[PlateSurvey, ...]:
    """The surveys, with what the plates together say of their polarity; the surest word counts."""
    headers, counts = [s.header for s in surveys], [s.histogram for s in surveys]
    turned = inverted_plate(headers, counts, together)
    full = None if turned is not None else doubtful_plate(headers, counts)
    hiding: tuple[int, ...] = ()
    if turned is None and full is None:
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


def _overview(
    plate_set: PlateSet, tallies: Iterable["_Tally"], window: Window
) -> Iterable[NDArray[np.uint8]]:
    """Count a window of each plate at its own resolution; give it at the set's, at 8 bits."""
    for tally, factor in zip(tallies, plate_set.factors, strict=True):
        yield np.concatenate(
            [
                _count_band(tally, Window(rows=band, cols=window.cols), factor)
                for band in fine_bands(window.rows, window.cols, factor=factor)
            ]
        )


def _count_band(tally: "_Tally", band: Window, factor: int) -> NDArray[np.uint8]:
    header = tally.plate.header
    rows, cols = scaled(band.rows, factor), scaled(band.cols, factor)
    rows = slice(rows.start, min(rows.stop, header.height_px))
    cols = slice(cols.start, min(cols.stop, header.width_px))
    amount = tally.plate.read(rows, cols)
    tally.add(amount)
    return _at_set_size(amount, band.shape, factor)


def _at_set_size(amount: Samples, shape: tuple[int, int], factor: int) -> NDArray[np.uint8]:
    """8 bits at the resolution of the set; where fine pixels are short, the edge goes on."""
    plane = (amount >> 8 if amount.dtype == np.uint16 else amount).astype(np.uint8, copy=False)
    short = (shape[0] * factor - plane.shape[0], shape[1] * factor - plane.shape[1])
    if any(short):
        plane = np.pad(plane, ((0, short[0]), (0, short[1])), mode="edge")
    return box_mean(plane, factor=factor).astype(np.uint8)


def _compared(survey: PlateSurvey, before: list[PlateSurvey]) -> PlateSurvey:
    """The survey, with the earlier plates that have the same pixels."""
    alike = [o.header for o in before if o.pixels == survey.pixels and not o.blank]
    first_hit = survey.header.first_hit
    return replace(
        survey,
        same_pixels_as=next((o.ink for o in alike if o.first_hit != first_hit), None),
        repeats=next((o.ink for o in alike if o.first_hit == first_hit), None),
    )


@dataclass(slots=True, kw_only=True)
class _Tally:
    """Counts of one plate so far."""

    plate: Plate
    counts: NDArray[np.int64] = field(init=False)
    hash: "hashlib._Hash" = field(default_factory=hashlib.sha256)
    changes: int = 0

    def __post_init__(self) -> None:
        header = self.plate.header
        self.counts = np.zeros(header.full + 1, np.int64)
        self.hash.update(f"{header.width_px} {header.height_px} {header.full}".encode())

    def add(self, amount: Samples) -> None:
        """Count one window; windows come in raster order."""
        self.counts += np.bincount(amount.ravel(), minlength=len(self.counts))
        self.hash.update(np.ascontiguousarray(amount).data)
        if self.two_tone():
            self.changes += int(np.count_nonzero(amount[:, 1:] != amount[:, :-1]))

    def two_tone(self) -> bool:
        """Whether there was nothing but no ink and full ink."""
        return not self.counts[1:-1].any()

    def fold(self) -> NDArray[np.int64]:
        """The counts in 256 steps."""
        folded: NDArray[np.int64] = self.counts.reshape(256, -1).sum(axis=1)
        return folded

    def result(self) -> PlateSurvey:
        """The plate, counted by itself."""
        header, counts = self.plate.header, self.counts
        used, total = np.flatnonzero(counts), int(counts.sum())
        ink = sum(int(value) * int(counts[value]) for value in used)
        histogram = self.fold()
        histogram.flags.writeable = False
        two_tone = self.two_tone() and is_fine_two_tone(counts[[0, -1]], self.changes)
        return PlateSurvey(
            header=header,
            mean_tone_pct=100 * ink / (total * header.full),
            max_tone_pct=100 * int(used[-1]) / header.full,
            min_tone_pct=100 * int(used[0]) / header.full,
            inked_area_pct=100 * (1 - int(counts[0]) / total),
            histogram=histogram,
            digest=file_digest(header.path) if header.path else None,
            pixels=self.hash.hexdigest(),
            blank=int(used[-1]) == 0,
            screened=header.screened or two_tone,
            ends_at_32768=ends_at_32768(counts, inverted=_turns(self.plate)),
        )


def _turns(plate: Plate) -> bool:
    """Whether ink amount runs against the numbers of the file."""
    return isinstance(plate, FilePlate) and plate.invert
