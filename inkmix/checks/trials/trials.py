"""Remedies tried on the pixels: the same counts as the checks make, after them.

Where the pixels come from is told by a PixelSource; nothing is opened here. A trial reads one
rectangle in bands of bounded size, so its memory does not grow with the sheet.
"""

from collections.abc import Callable, Container, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import each_in_order
from inkmix.checks.finding import PASS
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.ink_off_change import ChangeParts, ChangeTally
from inkmix.checks.night.check import NightCheck, NightResult
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.trials.change import Change, Held
from inkmix.checks.trials.ground import TrialGround
from inkmix.checks.trials.kept import Keeping
from inkmix.checks.trials.tally import Band, BandCounts, Lightness, Tally, TouchedNight, Trial
from inkmix.checks.window import Box, Mask, Planes, bands_of, overlap
from inkmix.plates.kept import KeptPlanes
from inkmix.plates.masks.mask import Mask as Area

_BAND_PX = 1 << 19  # all plates twice, and what is counted in them: half of what others look at
Look = Callable[[Planes], tuple[NDArray[np.uint8], NDArray[np.int16]]]


def as_wanted(before: Planes, after: Planes) -> Planes:
    """What plates hold that can hold anything."""
    return after


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """The sheet on which steps are tried, with its night areas as they are without them.

    Parameters
    ----------
    held : (before, after) -> (I, rows, cols)
        What the plates can hold of what a correction wants.
    fixed : frozenset of int
        Numbers of plates that no correction changes by themselves: they are made of dots, missing,
        or follow the plate whose second hit they are.
    changes : tuple of Change
        What was made of the plates as their files are, in this order.
    keeping : Keeping or None
        Keeps pixels after corrections, where that saves work.
    """

    source: PixelSource
    ground: TrialGround
    guards: Sequence[Guard] = ()
    held: Held = as_wanted
    fixed: frozenset[int] = frozenset()
    changes: tuple[Change, ...] = ()
    keeping: Keeping | None = None

    @property
    def changed(self) -> tuple[Box, ...]:
        """Rectangles outside of which the sheet is as its files are."""
        return tuple(box for change in self.changes for box in change.boxes)

    def corrected(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """Planes (I, rows, cols) of the files after all changes; any thread may ask."""
        for change in self.changes:
            planes = change.on(planes, rows=rows, cols=cols)
        return planes

    @property
    def passed(self) -> frozenset[str]:
        """Night areas that pass without any step."""
        return frozenset(
            one.check.name for one in self.guards if one.result.outcome.verdict == PASS
        )

    def run_correction(
        self,
        correction: Correction,
        boxes: Sequence[Box],
        *,
        change: ChangeTally | None = None,
        nights: Container[str] | None = None,
    ) -> Trial:
        """Do a correction inside rectangles, none over another, and count.

        Parameters
        ----------
        change : ChangeTally or None
            Gets samples of what it does to the colour, if anybody asks.
        nights : container of str or None
            Night areas that are asked for; None for all that the rectangles touch.
        """
        tally, kept = self._tally(boxes, nights), self._kept(correction, boxes)

        def count(box: Box) -> tuple[BandCounts, ChangeParts | None]:
            band = self._corrected(correction, *box, nights=tally.nights)
            if kept is not None:
                kept.put(band.after, rows=box[0], cols=box[1])
            if change is None:
                return tally.part(band), None
            seen = change.part(band.before, band.after, rows=box[0], cols=box[1])
            return tally.part(band), seen

        def take(part: tuple[BandCounts, ChangeParts | None]) -> None:
            counts, seen = part
            tally.take(counts)
            if change is not None and seen is not None:
                change.take(seen)

        each_in_order(count, bands_of(boxes, most_px=_BAND_PX), take)
        return tally.trial()

    def _kept(self, correction: Correction, boxes: Sequence[Box]) -> KeptPlanes | None:
        """Where pixels after a correction that is tried are kept."""
        if self.keeping is None:
            return None
        return self.keeping.tried(self.source, correction, boxes)

    def touched(self, boxes: Sequence[Box], nights: Container[str]) -> bool:
        """Whether rectangles touch any of these night areas."""
        return any(one.check.name in nights for one in self._touched(boxes))

    def _tally(self, boxes: Sequence[Box], nights: Container[str] | None) -> Tally:
        """Nothing counted yet; of the night areas that are touched, those that are asked for."""
        return Tally(
            [one for one in self._touched(boxes) if nights is None or one.check.name in nights],
            plates=len(self.ground.plates),
            limit_pct=self.ground.ink_limit_pct,
            lightness=self.source.lightness,
        )

    def spoilt_by(self, trial: Trial) -> tuple[str, ...]:
        """Night areas that passed before and do not after the trial."""
        names = (one.check.name for one in self.guards if one.check.name in self.passed)
        return tuple(
            name for name in names if name in trial.nights and trial.nights[name].verdict != PASS
        )

    def _touched(self, boxes: Sequence[Box]) -> Iterator[TouchedNight]:
        for one in self.guards:
            check, result, area = one.check, one.result, one.result.box
            if area is not None and any(overlap(area, box) for box in boxes):
                is_whole = any(_holds(box, area) for box in boxes)
                yield TouchedNight(check=check, counts=result.counts, is_whole=is_whole)

    def _corrected(
        self, correction: Correction, rows: slice, cols: slice, *, nights: Sequence[TouchedNight]
    ) -> Band:
        planes, total = self.source.read(rows, cols)
        after = self.held(planes, correction.applied(planes, rows=rows, cols=cols))
        names = [night.check.name for night in nights]
        return Band(
            before=planes,
            after=after,
            ink_sum=total - ink_sum(planes) + ink_sum(after),
            masks={name: self.source.night_mask(name, rows, cols) for name in names},
        )


def _holds(outer: Box, inner: Box) -> bool:
    return all(a.start <= b.start and b.stop <= a.stop for a, b in zip(outer, inner, strict=True))
