"""Integer counts of one night area, and what they say: L* reached, share, expected error, verdict.

Counts of windows add up and can be taken away again, so that a part of an area can be replaced by
what it would be after a remedy. Places and sentences are the business of `night`.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.checks.confidence import judge_on
from inkmix.checks.finding import NOT_CHECKED
from inkmix.checks.night.pixels import LEVELS, MIX_LEVELS, count_night_pixels
from inkmix.checks.window import Counts, Mask, Planes, full_scale
from inkmix.press.condition import PressCondition
from inkmix.press.table.lookup import LIGHTNESS_SCALE, STATED_ERROR_L

SURE_TABLE_INKS = 5
"""Up to so many inks the table's own error is left out of the expected error.

Its worst case there is L* 0.4 over random mixes, but 95 of 100 lie within 0.1, and 0.1 beside the
model's 0.4 or more (added as squares, for the two are independent) changes nothing.
"""

_TYPICAL_BINS = 2  # pixels within half an L* of the value are asked for their typical mix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightCounts:
    """Pixels of a night area.

    Parameters
    ----------
    levels : (LEVELS,) ndarray of int64
        Pixels of each lightness.
    mixes : (LEVELS / MIX_LEVELS, I) ndarray of int64
        Sum of each plate over the pixels of a quarter of L*, in steps of the plates' depth.
    full : int
        Steps that make 100 %; 0 while nothing was counted.
    """

    levels: Counts
    mixes: Counts
    full: int

    @property
    def pixels(self) -> int:
        """Size of the area."""
        return int(self.levels.sum())

    def plus(self, other: "NightCounts") -> "NightCounts":
        """Counts of both."""
        if other.full == 0:
            return self
        return NightCounts(
            levels=self.levels + other.levels,
            mixes=self.mixes + other.mixes,
            full=self.full or other.full,
        )

    def minus(self, other: "NightCounts") -> "NightCounts":
        """Counts without those of a part that is contained."""
        return NightCounts(
            levels=self.levels - other.levels, mixes=self.mixes - other.mixes, full=self.full
        )

    def quantile_level(self, share_pct: float) -> int:
        """Lightness level that this share of the area, darkest first, does not exceed."""
        rank = max(1, math.ceil(share_pct * self.pixels / 100 - 1e-9))
        return int(np.searchsorted(np.cumsum(self.levels), rank))

    def mean_mixes(self) -> tuple[FloatArray, Counts]:
        """Mean tone values (M, I) in % of each quarter of L* that occurs, and its pixels (M,)."""
        pixels = self.levels.reshape(-1, MIX_LEVELS).sum(axis=1)
        seen = pixels > 0
        return self._mean_pct(self.mixes[seen], pixels[seen, None]), pixels[seen]

    def typical_mix(self, level: int) -> FloatArray:
        """Mean tone values (I,) in % of the pixels about as light as `level`."""
        at = level // MIX_LEVELS
        near = slice(max(0, at - _TYPICAL_BINS), at + _TYPICAL_BINS + 1)
        pixels = self.levels.reshape(-1, MIX_LEVELS)[near].sum()
        return self._mean_pct(self.mixes[near].sum(axis=0), pixels)

    def mean_mix(self) -> FloatArray:
        """Mean tone values (I,) in % of the whole area."""
        return self._mean_pct(self.mixes.sum(axis=0), self.pixels)

    def _mean_pct(self, sums: Counts, pixels: Counts | int) -> FloatArray:
        """Tone values of sums; cut, since a screened plate may be averaged here and not there."""
        return np.clip(100 * sums / (pixels * self.full), 0.0, 100.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class NightOutcome:
    """What a night area reaches.

    Parameters
    ----------
    value_L : float
        The L* that the demanded share of the area does not exceed.
    reached_pct : float or None
        Share of the area that is dark enough; None without a limit.
    error_L : float
        95 % expected error of value_L, with the table's own where that counts.
    clears : bool
        Whether value_L lies below the limit by more than its expected error.
    """

    verdict: str
    value_L: float
    reached_pct: float | None
    error_L: float
    clears: bool
    involved_pct: tuple[float, ...]


def no_counts(plates: int) -> NightCounts:
    """Nothing counted yet."""
    return NightCounts(
        levels=np.zeros(LEVELS, dtype=np.int64),
        mixes=np.zeros((LEVELS // MIX_LEVELS, plates), dtype=np.int64),
        full=0,
    )


def count_night(planes: Planes, lightness: NDArray[np.int16], mask: Mask) -> NightCounts:
    """Counts of the masked pixels of one window: planes (I, rows, cols), others (rows, cols)."""
    counted = count_night_pixels(planes, lightness, mask)
    return NightCounts(levels=counted.levels, mixes=counted.mixes, full=full_scale(planes))


def judge_night(
    counts: NightCounts, condition: PressCondition, *, lightest_L: float | None, share_pct: float
) -> NightOutcome:
    """What the counts of a night area that is not empty say."""
    level = counts.quantile_level(share_pct)
    value = level / LIGHTNESS_SCALE
    mix = counts.typical_mix(level)
    error = night_error_L(condition, mix)
    involved = np.maximum(mix, counts.mean_mix())
    return NightOutcome(
        verdict=judge_on(condition, involved, value=value, limit=lightest_L, error=error),
        value_L=value,
        reached_pct=reached_pct(counts, lightest_L),
        error_L=error,
        clears=lightest_L is not None and value < lightest_L - error,
        involved_pct=tuple(involved.tolist()),
    )


def night_error_L(condition: PressCondition, tone_pct: FloatArray) -> float:
    """95 % expected error of the L* that the table gives for the mix (I,).

    The model's bound, and from six inks on the greatest error of the table on top of it: a night
    area is full of like mixes, whose error in the table is one and the same and does not average
    out. For pixels looked up in the table only; the exact model errs by its own bound alone.
    """
    of_model = float(condition.expected_error(tone_pct).L)
    inks = len(condition.inks)
    return of_model + (STATED_ERROR_L[inks] if inks > SURE_TABLE_INKS else 0.0)


def reached_pct(counts: NightCounts, lightest_L: float | None) -> float | None:
    """Share of the area that is dark enough; None without a limit."""
    if lightest_L is None:
        return None
    dark = counts.levels[: math.floor(lightest_L * LIGHTNESS_SCALE) + 1].sum()
    return 100 * int(dark) / counts.pixels


UNCOUNTED = NightOutcome(
    verdict=NOT_CHECKED,
    value_L=math.nan,
    reached_pct=None,
    error_L=math.nan,
    clears=False,
    involved_pct=(),
)
"""The outcome of a night area without a pixel."""
