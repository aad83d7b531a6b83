"""Remedies tried on the pixels: the same counts as the checks make, after the steps.

Where the pixels come from is told by a PixelSource; nothing is opened here. A trial reads one
rectangle in bands of bounded size, so its memory does not grow with the sheet.
"""

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.base.ordered_threads import each_in_order, in_order
from inkmix.checks.finding import PASS, Step
from inkmix.checks.mending.correction import Correction
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.trials.steps import StepGround, apply_steps
from inkmix.checks.trials.tally import Band, BandCounts, Lightness, Tally, TouchedNight, Trial
from inkmix.checks.window import Counts, Mask, Planes, full_scale, steps_at_most
from inkmix.plates.masks.mask import Mask as Area

BAND_PX = 1 << 20
"""Pixels read at once by a thread."""

Box = tuple[slice, slice]
Look = Callable[[Planes], tuple[NDArray[np.uint8], NDArray[np.int16]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PixelSource:
    """How trials see the pixels of a sheet.

    Parameters
    ----------
    read : (rows, cols) -> (planes (I, rows, cols), ink_sum (rows, cols) int32)
        Plates and total ink of a rectangle, as the pass sees them.
    lightness : planes -> (rows, cols) int16
        L* of the predicted print times `lookup.LIGHTNESS_SCALE`.
    look : planes -> (rows, cols, 3) uint8, (rows, cols) int16
        8-bit sRGB of the predicted print, and the same L*.
    night_mask : (name, rows, cols) -> (rows, cols) bool
        Mask of a night area.
    """

    read: Callable[[slice, slice], tuple[Planes, NDArray[np.int32]]]
    lightness: Lightness
    look: Look
    night_mask: Callable[[str, slice, slice], Mask]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Guard:
    """A night area that no remedy may spoil, as it is without any."""

    check: NightCheck
    result: NightResult
    mask: Area


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Excess:
    """Pixels over the ink limit: their mean mix (I,), mean and greatest excess, all in %."""

    mix_pct: FloatArray
    mean_pct: float
    most_pct: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _ExcessPart:
    """The same of one band, in steps: pixels, sum and greatest excess, sums of plates (I,)."""

    full: int
    pixels: int
    steps: int
    most: int
    sums: Counts


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """The sheet on which steps are tried, with its night areas as they are without them."""

    source: PixelSource
    ground: StepGround
    guards: Sequence[Guard] = ()

    @property
    def passed(self) -> frozenset[str]:
        """Night areas that pass without any step."""
        return frozenset(
            one.check.name for one in self.guards if one.result.outcome.verdict == PASS
        )

    def run(
        self,
        steps: Sequence[Step],
        rows: slice,
        cols: slice,
        *,
        nights: Container[str] | None = None,
    ) -> Trial:
        """Do the steps inside a rectangle and count.

        Parameters
        ----------
        nights : container of str or None
            Night areas that are asked for; None for all that the rectangle touches.
        """
        tally = self._tally(rows, cols, nights)
        needed = {night.check.name for night in tally.nights}
        needed |= {step.area for step in steps if step.area is not None}

        def count(part: slice) -> BandCounts:
            return tally.part(self._band(steps, part, cols, needed=sorted(needed)))

        each_in_order(count, _bands(rows, cols), tally.take)
        return tally.trial()

    def corrected(
        self,
        correction: Correction,
        rows: slice,
        cols: slice,
        *,
        nights: Container[str] | None = None,
    ) -> Trial:
        """The same for a correction."""
        tally = self._tally(rows, cols, nights)
        needed = [night.check.name for night in tally.nights]

        def count(part: slice) -> BandCounts:
            before, ink_sum = self.source.read(part, cols)
            after = correction.applied(before, rows=part, cols=cols)
            more = after.sum(axis=0, dtype=np.int32) - before.sum(axis=0, dtype=np.int32)
            masks = {name: self.source.night_mask(name, part, cols) for name in needed}
            return tally.part(Band(before=before, after=after, ink_sum=ink_sum + more, masks=masks))

        each_in_order(count, _bands(rows, cols), tally.take)
        return tally.trial()

    def _tally(self, rows: slice, cols: slice, nights: Container[str] | None) -> Tally:
        touched = self._touched(rows, cols)
        return Tally(
            [night for night in touched if nights is None or night.check.name in nights],
            plates=len(self.ground.plates),
            limit_pct=self.ground.ink_limit_pct,
            lightness=self.source.lightness,
        )

    def excess(self, rows: slice, cols: slice) -> Excess | None:
        """What is over the ink limit in a rectangle; None where nothing is."""
        found = list(in_order(lambda part: self._excess(part, cols), _bands(rows, cols)))
        px = sum(part.pixels for part in found)
        if px == 0:
            return None
        scale = 100 / found[0].full
        return Excess(
            mix_pct=np.asarray(np.sum([part.sums for part in found], axis=0) * scale / px),
            mean_pct=sum(part.steps for part in found) * scale / px,
            most_pct=max(part.most for part in found) * scale,
        )

    def _excess(self, rows: slice, cols: slice) -> "_ExcessPart":
        """What is over the ink limit in a band."""
        planes, ink_sum = self.source.read(rows, cols)
        full = full_scale(planes)
        more = ink_sum - np.int32(steps_at_most(self.ground.ink_limit_pct or 0, full))
        is_over = more > 0
        return _ExcessPart(
            full=full,
            pixels=int(np.count_nonzero(is_over)),
            steps=int(more[is_over].sum(dtype=np.int64)),
            most=int(more.max()),
            sums=np.asarray(planes[:, is_over].sum(axis=1, dtype=np.int64)),
        )

    def spoilt_by(self, trial: Trial) -> tuple[str, ...]:
        """Night areas that passed before and do not after the trial."""
        names = (one.check.name for one in self.guards if one.check.name in self.passed)
        return tuple(
            name for name in names if name in trial.nights and trial.nights[name].verdict != PASS
        )

    def _touched(self, rows: slice, cols: slice) -> Iterator[TouchedNight]:
        for one in self.guards:
            check, result = one.check, one.result
            if result.box is not None and _overlap(result.box, (rows, cols)):
                is_whole = _holds((rows, cols), result.box)
                yield TouchedNight(check=check, counts=result.counts, is_whole=is_whole)

    def _band(
        self, steps: Sequence[Step], rows: slice, cols: slice, *, needed: Sequence[str]
    ) -> Band:
        planes, ink_sum = self.source.read(rows, cols)
        masks = {name: self.source.night_mask(name, rows, cols) for name in needed}
        after, total = apply_steps(
            planes,
            steps,
            ground=self.ground,
            rows=rows,
            cols=cols,
            nights=masks,
            ink_sum=ink_sum,
        )
        return Band(before=planes, after=after, ink_sum=total, masks=masks)


def _bands(rows: slice, cols: slice) -> Iterator[slice]:
    """Rows of a rectangle in bands of at most BAND_PX pixels."""
    height = max(1, BAND_PX // max(1, cols.stop - cols.start))
    for top in range(rows.start, rows.stop, height):
        yield slice(top, min(top + height, rows.stop))


def _overlap(one: Box, other: Box) -> bool:
    return all(a.start < b.stop and b.start < a.stop for a, b in zip(one, other, strict=True))


def _holds(outer: Box, inner: Box) -> bool:
    return all(a.start <= b.start and b.stop <= a.stop for a, b in zip(outer, inner, strict=True))
