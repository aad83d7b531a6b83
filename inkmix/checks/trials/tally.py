"""What is counted while a remedy is tried: total ink, ink taken away, the night areas touched.

Integers only until the end. Which pixels go by is decided in `trials`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.base.loops import are_compiled
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.counts import NightCounts, NightOutcome, count_night, no_counts
from inkmix.checks.total_ink.counts import NO_LIMIT_STEPS
from inkmix.checks.window import Counts, Mask, Planes, full_scale, steps_at_most

Lightness = Callable[[Planes], NDArray[np.int16]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Trial:
    """What steps did inside one rectangle.

    Parameters
    ----------
    max_total_pct : float
        Highest total ink afterwards, %.
    over_px, left_over_px : int
        Pixels still over the ink limit; those of them that the steps changed.
    most_taken_pct : (I,) ndarray
        Most that any pixel lost of each plate, in points.
    mean_taken_pct : (I,) ndarray
        Mean loss of each plate over the pixels that lost anything.
    nights : mapping of name to NightOutcome
        The night areas that lie in the rectangle, as wholes.
    counts : mapping of name to NightCounts
        Theirs.
    """

    max_total_pct: float
    over_px: int
    left_over_px: int
    most_taken_pct: FloatArray
    mean_taken_pct: FloatArray
    nights: Mapping[str, NightOutcome]
    counts: Mapping[str, NightCounts]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Band:
    """Some rows of the rectangle before and after the steps; `ink_sum` is that afterwards."""

    before: Planes
    after: Planes
    ink_sum: NDArray[np.int32]
    masks: Mapping[str, Mask]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Changes:
    """What steps did to one band, in steps of the planes' depth.

    Parameters
    ----------
    highest : int
        Highest total ink afterwards.
    over_px, left_over_px : int
        Pixels over the limit afterwards; those of them that changed.
    losing_px : int
        Pixels that lost anything.
    most, taken : (I,) ndarray of int64
        Greatest loss of each plate, and the sum of its losses.
    """

    highest: int
    over_px: int
    left_over_px: int
    losing_px: int
    most: Counts
    taken: Counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BandCounts:
    """Everything that one band brought; each night area after the steps, and before if needed."""

    full: int
    changes: Changes
    after: tuple[NightCounts, ...]
    before: tuple[NightCounts, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TouchedNight:
    """A night area that the rectangle touches, its counts without any step.

    Where the rectangle holds all of it, only its pixels after the steps need to be counted.
    """

    check: NightCheck
    counts: NightCounts
    is_whole: bool


class Tally:
    """Counts of one trial: `part` of a band for any thread, `take` in any order."""

    def __init__(
        self,
        nights: Sequence[TouchedNight],
        *,
        plates: int,
        limit_pct: float | None,
        lightness: Lightness,
    ) -> None:
        self.limit_pct, self.lightness = limit_pct, lightness
        self.full = 1
        self.highest = self.over_px = self.left_over_px = self.losing_px = 0
        self.most = np.zeros(plates, dtype=np.int64)
        self.taken = np.zeros(plates, dtype=np.int64)
        self.nights = nights
        self.before = [no_counts(plates) for _ in nights]
        self.after = [no_counts(plates) for _ in nights]

    def part(self, band: Band) -> "BandCounts":
        """Counts of one band; may be asked of several threads at once."""
        full, limit = full_scale(band.before), NO_LIMIT_STEPS
        if self.limit_pct is not None:
            limit = steps_at_most(self.limit_pct, full)
        needs_before = not all(night.is_whole for night in self.nights)
        return BandCounts(
            full=full,
            changes=count_changes(band, limit=limit),
            after=self._nights_of(band.after, band.masks) if self.nights else (),
            before=self._nights_of(band.before, band.masks) if needs_before else (),
        )

    def _nights_of(self, planes: Planes, masks: Mapping[str, Mask]) -> tuple[NightCounts, ...]:
        lightness = self.lightness(planes)
        return tuple(
            count_night(planes, lightness, masks[night.check.name]) for night in self.nights
        )

    def take(self, part: "BandCounts") -> None:
        """Add the counts of one band."""
        changes = part.changes
        self.full = part.full
        self.highest = max(self.highest, changes.highest)
        self.over_px += changes.over_px
        self.left_over_px += changes.left_over_px
        self.losing_px += changes.losing_px
        self.most = np.maximum(self.most, changes.most)
        self.taken += changes.taken
        for counts, more in ((self.after, part.after), (self.before, part.before)):
            for k, night in enumerate(more):
                counts[k] = counts[k].plus(night)

    def trial(self) -> Trial:
        """The result of all bands."""
        scale = 100 / self.full
        counts = {night.check.name: self._whole(k) for k, night in enumerate(self.nights)}
        return Trial(
            max_total_pct=self.highest * scale,
            over_px=self.over_px,
            left_over_px=self.left_over_px,
            most_taken_pct=np.asarray(self.most * scale, dtype=np.float64),
            mean_taken_pct=np.asarray(self.taken * scale / max(1, self.losing_px)),
            nights={
                night.check.name: night.check.judge(counts[night.check.name])
                for night in self.nights
            },
            counts=counts,
        )

    def _whole(self, k: int) -> NightCounts:
        """Counts of a night area as a whole, its part in the rectangle replaced."""
        night, after = self.nights[k], self.after[k]
        return after if night.is_whole else night.counts.minus(self.before[k]).plus(after)


def count_changes(band: Band, *, limit: int) -> Changes:
    """Counts of one band; `limit` is the highest total ink allowed, in steps."""
    return _compiled(band, limit) if are_compiled() else _plain(band, limit)


def _plain(band: Band, limit: int) -> Changes:
    is_over = band.ink_sum > limit
    is_changed = (band.before != band.after).any(axis=0)
    lost = np.maximum(band.before.astype(np.int32) - band.after, 0)
    return Changes(
        highest=int(band.ink_sum.max()),
        over_px=int(is_over.sum()),
        left_over_px=int((is_over & is_changed).sum()),
        losing_px=int(lost.any(axis=0).sum()),
        most=lost.max(axis=(1, 2)).astype(np.int64),
        taken=lost.sum(axis=(1, 2), dtype=np.int64),
    )


def _compiled(band: Band, limit: int) -> Changes:
    from inkmix.base.kernels import trial

    most, taken = (np.zeros(len(band.before), np.int64) for _ in range(2))
    before, after = np.ascontiguousarray(band.before), np.ascontiguousarray(band.after)
    total = np.ascontiguousarray(band.ink_sum)
    counted = trial.count_changes(before, after, total, limit, most, taken)
    highest, over_px, left_over_px, losing_px = (int(number) for number in counted)
    return Changes(
        highest=highest,
        over_px=over_px,
        left_over_px=left_over_px,
        losing_px=losing_px,
        most=most,
        taken=taken,
    )
