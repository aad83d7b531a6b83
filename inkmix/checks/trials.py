"""Remedies tried on the pixels: the same counts as the checks make, after the steps.

Where the pixels come from is told by a PixelSource; nothing is opened here. A trial reads one
rectangle in bands of bounded size, so its memory does not grow with the sheet.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.arrays import FloatArray
from inkmix.checks.finding import PASS, Step
from inkmix.checks.night import NightCheck, NightResult
from inkmix.checks.night_counts import NightCounts, NightOutcome, count_night, no_counts
from inkmix.checks.steps import StepGround, apply_steps
from inkmix.checks.window import Counts, Mask, Planes, full_scale, steps_at_most

BAND_PX = 1 << 21
"""Pixels read at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PixelSource:
    """How trials see the pixels of a sheet.

    Parameters
    ----------
    read : (rows, cols) -> (planes (I, rows, cols), ink_sum (rows, cols) int32)
        Plates and total ink of a rectangle, as the pass sees them.
    lightness : planes -> (rows, cols) int16
        L* of the predicted print times `lookup.LIGHTNESS_SCALE`.
    night_mask : (name, rows, cols) -> (rows, cols) bool
        Mask of a night area.
    """

    read: Callable[[slice, slice], tuple[Planes, NDArray[np.int32]]]
    lightness: Callable[[Planes], NDArray[np.int16]]
    night_mask: Callable[[str, slice, slice], Mask]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """What steps did inside one rectangle.

    Parameters
    ----------
    max_total_pct : float
        Highest total ink afterwards, %.
    over_px : int
        Pixels still over the ink limit.
    most_taken_pct : (I,) ndarray
        Most that any pixel lost of each plate, in points.
    mean_taken_pct : (I,) ndarray
        Mean loss of each plate over the pixels that lost anything.
    nights : mapping of name to NightOutcome
        The night areas that lie in the rectangle, as wholes.
    """

    max_total_pct: float
    over_px: int
    most_taken_pct: FloatArray
    mean_taken_pct: FloatArray
    nights: Mapping[str, NightOutcome]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Excess:
    """Pixels over the ink limit: their mean mix (I,), mean and greatest excess, all in %."""

    mix_pct: FloatArray
    mean_pct: float
    most_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    """One band before and after."""

    before: Planes
    after: Planes
    ink_sum: Counts
    masks: Mapping[str, Mask]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """The sheet on which steps are tried, with its night areas as they are without them."""

    source: PixelSource
    ground: StepGround
    nights: Sequence[tuple[NightCheck, NightResult]]

    def run(self, steps: Sequence[Step], rows: slice, cols: slice) -> Trial:
        """Do the steps inside a rectangle and count."""
        touched = [pair for pair in self.nights if _overlap(pair[1].box, rows, cols)]
        tally = _Tally(len(self.ground.plates), touched)
        for band in self._bands(steps, rows, cols, [check.name for check, _ in touched]):
            tally.add(band, self.source, self.ground.ink_limit_pct)
        return tally.trial()

    def excess(self, rows: slice, cols: slice) -> "Excess | None":
        """What is over the ink limit in a rectangle; None where nothing is."""
        most = px = over = 0
        sums = np.zeros(len(self.ground.plates), dtype=np.int64)
        for part in _bands(rows, cols):
            planes, ink_sum = self.source.read(part, cols)
            full = full_scale(planes)
            limit = steps_at_most(self.ground.ink_limit_pct or 0.0, full)
            is_over = ink_sum > limit
            sums += planes[:, is_over].sum(axis=1, dtype=np.int64)
            px += int(is_over.sum())
            over += int((ink_sum[is_over] - limit).sum(dtype=np.int64))
            most = max(most, int(ink_sum.max()) - limit)
        if px == 0:
            return None
        mix = np.asarray(100 * sums / (px * full))
        return Excess(mix_pct=mix, mean_pct=100 * over / (px * full), most_pct=100 * most / full)

    def spoilt_by(self, trial: Trial) -> tuple[str, ...]:
        """Night areas that passed before and do not after the trial."""
        passed = (check.name for check, res in self.nights if res.outcome.verdict == PASS)
        return tuple(
            name for name in passed if name in trial.nights and trial.nights[name].verdict != PASS
        )

    def _bands(
        self, steps: Sequence[Step], rows: slice, cols: slice, names: Sequence[str]
    ) -> Iterator[_Band]:
        needed = {*names, *(step.area for step in steps if step.area is not None)}
        for part in _bands(rows, cols):
            planes, ink_sum = self.source.read(part, cols)
            masks = {name: self.source.night_mask(name, part, cols) for name in sorted(needed)}
            after = apply_steps(
                planes,
                steps,
                ground=self.ground,
                rows=part,
                cols=cols,
                nights=masks,
                ink_sum=ink_sum,
            )
            change = after.sum(axis=0, dtype=np.int64) - planes.sum(axis=0, dtype=np.int64)
            yield _Band(before=planes, after=after, ink_sum=ink_sum + change, masks=masks)


class _Tally:
    """Counts of a trial while its bands go by."""

    def __init__(self, plates: int, nights: Sequence[tuple[NightCheck, NightResult]]) -> None:
        self.nights = nights
        self.full = 1
        self.highest = 0
        self.over_px = 0
        self.most = np.zeros(plates, dtype=np.int64)
        self.taken = np.zeros(plates, dtype=np.int64)
        self.changed_px = 0
        self.before = [no_counts(plates) for _ in nights]
        self.after = [no_counts(plates) for _ in nights]

    def add(self, band: _Band, source: PixelSource, limit_pct: float | None) -> None:
        """Count one band."""
        self.full = full_scale(band.before)
        self.highest = max(self.highest, int(band.ink_sum.max()))
        if limit_pct is not None:
            self.over_px += int((band.ink_sum > steps_at_most(limit_pct, self.full)).sum())
        lost = np.maximum(band.before.astype(np.int64) - band.after, 0)
        self.most = np.maximum(self.most, lost.max(axis=(1, 2)))
        self.taken += lost.sum(axis=(1, 2))
        self.changed_px += int(lost.any(axis=0).sum())
        if self.nights:
            self._add_nights(band, source)

    def _add_nights(self, band: _Band, source: PixelSource) -> None:
        before, after = source.lightness(band.before), source.lightness(band.after)
        for k, (check, _) in enumerate(self.nights):
            mask = band.masks[check.name]
            self.before[k] = self.before[k].plus(count_night(band.before, before, mask))
            self.after[k] = self.after[k].plus(count_night(band.after, after, mask))

    def trial(self) -> Trial:
        """The result of all bands."""
        scale = 100 / self.full
        return Trial(
            max_total_pct=self.highest * scale,
            over_px=self.over_px,
            most_taken_pct=np.asarray(self.most * scale, dtype=np.float64),
            mean_taken_pct=np.asarray(self.taken * scale / max(1, self.changed_px)),
            nights={
                check.name: check.judge(_replaced(result.counts, self.before[k], self.after[k]))
                for k, (check, result) in enumerate(self.nights)
            },
        )


def _replaced(whole: NightCounts, before: NightCounts, after: NightCounts) -> NightCounts:
    """Counts of a whole night area once a part of it has changed."""
    return whole.minus(before).plus(after)


def _bands(rows: slice, cols: slice) -> Iterator[slice]:
    """Rows of a rectangle in bands of at most BAND_PX pixels."""
    height = max(1, BAND_PX // max(1, cols.stop - cols.start))
    for top in range(rows.start, rows.stop, height):
        yield slice(top, min(top + height, rows.stop))


def _overlap(box: tuple[slice, slice] | None, rows: slice, cols: slice) -> bool:
    if box is None:
        return False
    box_rows, box_cols = box
    meets_rows = box_rows.start < rows.stop and rows.start < box_rows.stop
    meets_cols = box_cols.start < cols.stop and cols.start < box_cols.stop
    return bool(meets_rows and meets_cols)
