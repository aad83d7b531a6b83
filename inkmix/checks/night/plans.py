"""Plans that could make a night area dark enough, ranked by how little they change its colour.

Everything here is reckoned with the exact model on the mean mixes of the area, a quarter of L*
each: a few hundred colours in place of millions of pixels. Whether a plan keeps its promise on the
pixels is found out in `remedies_night`.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.checks.night.counts import NightCounts, night_error_L
from inkmix.checks.window import Counts
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import PressCondition

_DARK_INKS = 2
_DARK_L = 60.0  # a paler solid does not deepen night
_PLATE_COST_DE00 = 0.5  # one plate more to retouch must be worth this much colour

Amounts = tuple[tuple[int, float], ...]
Found = TypeVar("Found")


@dataclass(frozen=True, slots=True, kw_only=True)
class NightPlan:
    """Plates (by number) raised to a share of one amount, others to a fixed tone value."""

    shares: Amounts
    fixed: Amounts = ()

    def floors(self, amount: int) -> dict[int, float]:
        """Whole tone value that each plate of the plan is raised to, by plate number."""
        return dict(self.fixed) | {
            k: float(min(100, np.ceil(share * amount))) for k, share in self.shares
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedPlan:
    """A plan, the least amount that should do, and what it costs: colour and plates to retouch."""

    plan: NightPlan
    amount: int
    cost_de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightPlanner:
    """A night area as mean mixes (M, I) in % with their pixels (M,), and what it must reach.

    `solids_L` is the L* of each solid (I,). Plates that are screened already cannot be raised or
    lowered by points and are left alone.
    """

    condition: PressCondition
    mixes: FloatArray
    pixels: Counts
    solids_L: FloatArray
    lightest_L: float
    share_pct: float
    ink_limit_pct: float | None

    def ranked(self, *, margin: bool) -> list[RankedPlan]:
        """Plans that should do, gentlest first; with `margin`, by more than the expected error."""
        plans = (self._rank(plan, margin) for plan in self._families())
        return sorted((plan for plan in plans if plan), key=lambda plan: plan.cost_de00)

    def palest_first(self, floors: dict[int, float]) -> list[int]:
        """Plates to lower where a plan goes over the ink limit; never those it raises."""
        return [k for k in reversed(self._darkest_first()) if k not in floors]

    def _darkest_first(self) -> list[int]:
        order = np.argsort(self.solids_L, kind="stable").tolist()
        return [k for k in order if not self.condition.inks[k].is_screened]

    def _families(self) -> Iterator[NightPlan]:
        """The black alone, a dark ink alone, both alike, half as much, or under a full black."""
        order = self._darkest_first()
        if not order:
            return
        black, *others = order
        yield NightPlan(shares=((black, 1.0),))
        dark = [k for k in others if self.solids_L[k] < _DARK_L]
        for other in dark[:_DARK_INKS]:
            yield NightPlan(shares=((other, 1.0),))
            yield NightPlan(shares=((black, 1.0), (other, 0.5)))
            yield NightPlan(shares=((black, 1.0), (other, 1.0)))
            yield NightPlan(shares=((other, 1.0),), fixed=((black, 100.0),))

    def _rank(self, plan: NightPlan, margin: bool) -> RankedPlan | None:
        def does(amount: int) -> bool | None:
            return self._would_do(plan.floors(amount), margin) or None

        most = self._most(plan)
        found = least_amount(does, guess=min(50, most), most=most) if most else None
        if found is None:
            return None
        floors = plan.floors(found[0])
        cost = self._change_de00(floors) + _PLATE_COST_DE00 * len(floors)
        return RankedPlan(plan=plan, amount=found[0], cost_de00=cost)

    def _most(self, plan: NightPlan) -> int:
        """Greatest amount whose raised plates alone keep the ink limit; 0 where none does."""
        limit = np.inf if self.ink_limit_pct is None else self.ink_limit_pct
        return max((a for a in range(1, 101) if sum(plan.floors(a).values()) <= limit), default=0)

    def _would_do(self, floors: dict[int, float], margin: bool) -> bool:
        mixes = self._raised(floors)
        lightness = self.condition.lab(mixes)[:, 0]
        order = np.argsort(lightness, kind="stable")
        enough = self.share_pct * self.pixels.sum() / 100
        reach = int(np.searchsorted(np.cumsum(self.pixels[order]), enough))
        at = order[min(reach, len(order) - 1)]
        if not margin or lightness[at] >= self.lightest_L:  # an error takes longest to reckon
            return bool(lightness[at] < self.lightest_L)
        error = night_error_L(self.condition, mixes[at])
        return bool(lightness[at] < self.lightest_L - error)

    def _raised(self, floors: dict[int, float]) -> FloatArray:
        """The mean mixes after raising, and after taking the palest inks out over the limit."""
        mixes = self.mixes.copy()
        for k, floor in floors.items():
            mixes[:, k] = np.maximum(mixes[:, k], floor)
        limit = self.ink_limit_pct
        for k in () if limit is None else self.palest_first(floors):
            excess = np.maximum(mixes.sum(axis=1) - limit, 0)
            mixes[:, k] -= np.minimum(excess, mixes[:, k])
        return mixes

    def _change_de00(self, floors: dict[int, float]) -> float:
        """Mean change of colour in the area, dE00."""
        before, after = self.condition.lab(self.mixes), self.condition.lab(self._raised(floors))
        return float((delta_e00(before, after) * self.pixels).sum() / self.pixels.sum())


def planner(
    condition: PressCondition,
    counts: NightCounts,
    *,
    lightest_L: float,
    share_pct: float,
    ink_limit_pct: float | None,
) -> NightPlanner:
    """A planner for the counts of a night area that is not empty."""
    mixes, pixels = counts.mean_mixes()
    return NightPlanner(
        condition=condition,
        mixes=mixes,
        pixels=pixels,
        solids_L=condition.lab(100 * np.eye(len(condition.inks)))[:, 0],
        lightest_L=lightest_L,
        share_pct=share_pct,
        ink_limit_pct=ink_limit_pct,
    )


def least_amount(
    does: Callable[[int], Found | None], *, guess: int, most: int = 100
) -> tuple[int, Found] | None:
    """Least amount of 1 to `most` for which `does` gives something, sought outwards from a guess.

    Takes for granted that more does if less does. None where nothing up to `most` does.
    """
    high, stride = guess, 1
    found = does(high)
    low = high if found is None else 0
    while found is None and high < most:
        low, high, stride = high, min(most, high + stride), 2 * stride
        found = does(high)
    if found is None:
        return None
    stride = 1 if low == 0 else 100
    while high - low > 1:
        middle = max((low + high) // 2, high - stride)
        less, stride = does(middle), 2 * stride
        if less is None:
            low, stride = middle, 100
        else:
            high, found = middle, less
    return high, found
