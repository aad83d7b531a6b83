"""The tone values that a mix may take: steps, smallest dot, ink limit, inks.

Every search works on places in a ladder of allowed tone values, so that none can leave it. Here
belongs what is allowed, and what is refused; no colour.
"""

import math
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import nearest
from inkmix.mixes.values import EXACT_STEP_PCT, Aims
from inkmix.press.condition import PressCondition

_DUST = 1e-9  # of rounding, in percent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Constraints:
    """What is allowed.

    Parameters
    ----------
    ladder : (K,) array
        Allowed tone values, rising from 0 to 100.
    columns : tuple of int
        Inks that may be used.
    inks : int
        How many there are.
    limit_pct : float
        Greatest total ink; infinite for none.
    may_omit : bool
        Whether a mix of a set may leave out some of its inks; else each takes its smallest dot.
    """

    ladder: FloatArray
    columns: tuple[int, ...]
    inks: int
    limit_pct: float
    may_omit: bool = False

    @property
    def least_pct(self) -> float:
        """The lowest tone value above 0."""
        return float(self.ladder[1])

    @property
    def lowest_place(self) -> int:
        """Of an ink that is held."""
        return 0 if self.may_omit else 1

    @property
    def floor_pct(self) -> float:
        """Below it no ink that is held goes, in any step."""
        return float(self.ladder[self.lowest_place])

    def holds(self, places: IntArray, held: BoolArray) -> BoolArray:
        """Which places (..., I) of inks held (..., I) are in the ladder and within the limit."""
        inside = ((places >= 0) & (places < len(self.ladder))).all(axis=-1)
        total = self.ladder[np.clip(places, 0, len(self.ladder) - 1)].sum(axis=-1)
        inked = places > 0
        as_held = (inked <= held if self.may_omit else inked == held).all(axis=-1)
        return np.asarray(inside & (total <= self.limit_pct + _DUST) & as_held, dtype=np.bool_)


def constraints_of(condition: PressCondition, aims: Aims) -> Constraints:
    """The constraints that aims leave.

    Raises
    ------
    UsageError
        If an ink is not of this condition, a number is out of range, or no ink fits in the limit.
    """
    names = tuple(ink.name for ink in condition.inks)
    faults = [*_ink_faults(names, aims), *_number_faults(aims)]
    if faults:
        raise UsageError(faults)
    chosen = aims.inks or names
    return Constraints(
        ladder=_ladder(aims.step_pct, aims.least_pct),
        columns=tuple(k for k, name in enumerate(names) if name in chosen),
        inks=len(names),
        limit_pct=math.inf if aims.ink_limit_pct is None else aims.ink_limit_pct,
    )


def constraints_omitting(aims: Aims, *, inks: int) -> Constraints:
    """The same for sets of so many inks, whichever these are, each of which may be left out."""
    return Constraints(
        ladder=_ladder(aims.step_pct, aims.least_pct),
        columns=tuple(range(inks)),
        inks=inks,
        limit_pct=math.inf if aims.ink_limit_pct is None else aims.ink_limit_pct,
        may_omit=True,
    )


def ink_sets(constraints: Constraints, *, most_inks: int | None = None) -> BoolArray:
    """Sets of inks (S, I) that fit in, fewest inks first; the first is the bare paper."""
    fit = math.floor(min(constraints.inks, (constraints.limit_pct + _DUST) / constraints.least_pct))
    most = min(fit, len(constraints.columns) if most_inks is None else most_inks)
    sets = [held for size in range(most + 1) for held in combinations(constraints.columns, size)]
    table = np.zeros((len(sets), constraints.inks), dtype=np.bool_)
    for row, held in zip(table, sets, strict=True):
        row[list(held)] = True
    return table


def _ladder(step_pct: float, least_pct: float) -> FloatArray:
    """0, the multiples of the step from the smallest dot on, and 100: a solid needs no screen."""
    multiples = np.round(step_pct * np.arange(1, math.floor(100 / step_pct + _DUST) + 1), 6)
    held = multiples[multiples >= least_pct - _DUST]
    return np.unique([0.0, *held.tolist(), 100.0])


def _ink_faults(names: tuple[str, ...], aims: Aims) -> list[Fault]:
    if aims.inks is not None and not aims.inks:
        return [Fault(where="mix", found="no ink may be used", expected="at least one is needed")]
    return [
        Fault(
            where="mix",
            found=f"no ink named {name}",
            expected=f"the inks are {', '.join(names)}",
            do=f"did you mean {near}?" if (near := nearest(name, names)) else "",
        )
        for name in aims.inks or ()
        if name not in names
    ]


def _number_faults(aims: Aims) -> list[Fault]:
    faults = []
    step, least, limit = aims.step_pct, aims.least_pct, aims.ink_limit_pct
    if not EXACT_STEP_PCT <= step <= 100:
        expected = f"{EXACT_STEP_PCT:g} to 100 % is needed"
        faults.append(Fault(where="step", found=f"{step:g} %", expected=expected))
    if not 0 <= least <= 100:
        expected = "0 to 100 % is needed"
        faults.append(Fault(where="smallest dot", found=f"{least:g} %", expected=expected))
    if limit is not None and not max(least, _DUST) <= limit < math.inf:
        expected = f"the smallest dot takes {least:g} %" if least else "more than 0 % is needed"
        do = "no ink can be printed within it; raise the limit"
        faults.append(Fault(where="ink limit", found=f"{limit:g} %", expected=expected, do=do))
    return faults
