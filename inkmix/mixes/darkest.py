"""The darkest mixes under the rules of aims: as they come, neutral, or tinted as asked."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.errors import Fault, UsageError
from inkmix.mixes.choose import EQUAL_L, in_order_of_choice
from inkmix.mixes.constraints import Constraints, constraints_of, ink_sets
from inkmix.mixes.goals import Darkness
from inkmix.mixes.lattice import OnePress, lattice_of
from inkmix.mixes.relax import Rows, begun
from inkmix.mixes.search import darkened
from inkmix.mixes.values import Aims, Mix, mixes_of
from inkmix.press.condition import PressCondition
from inkmix.press.values import MAX_INKS

Cast = None | Literal["neutral"] | float | tuple[float, float]
"""None: whatever is darkest; "neutral"; a hue of 0-360 degrees, or a direction (a*, b*)."""

_SETS = 48  # of the darkest, searched in full
_STARTS = 2


def darkest_mixes(
    condition: PressCondition,
    aims: Aims,
    *,
    cast: Cast = None,
    most: int = 5,
    double_hits: bool = False,
) -> tuple[Mix, ...]:
    """The darkest mixes of differing sets of inks, best first.

    Searched by descent from the darkest mixes of a lattice; exact as far as single steps and pairs
    of steps can tell. How far a dark may be trusted says its `error_L`.

    Parameters
    ----------
    condition : PressCondition
    aims : Aims
    cast : None, "neutral", hue in degrees or (a*, b*)
        What colour the dark should have. Off it, CAST_WORTH_L points of L* a point.
    most : int
        How many.
    double_hits : bool
        Let the darkest ink be printed twice; its second hit is named "NAME 2".

    Raises
    ------
    UsageError
        Aims out of range, or no constraints for a second hit.
    """
    return _darkest(condition, aims, cast=cast, most=most, double_hits=double_hits, equal_L=EQUAL_L)


def darkest_mix(
    condition: PressCondition,
    *,
    ink_limit_pct: float | None,
    inks: Sequence[str] | None = None,
    least_pct: float = 0,
) -> Mix:
    """The mix of least L*, to a percent, however many inks it takes; arguments as in Aims."""
    aims = Aims(
        ink_limit_pct=ink_limit_pct,
        step_pct=1,
        least_pct=least_pct,
        inks=None if inks is None else tuple(inks),
    )
    (mix,) = _darkest(condition, aims, cast=None, most=1, double_hits=False, equal_L=0.0)
    return mix


def _darkest(
    condition: PressCondition,
    aims: Aims,
    *,
    cast: Cast,
    most: int,
    double_hits: bool,
    equal_L: float,
) -> tuple[Mix, ...]:
    """The darkest mixes; within `equal_L` fewer inks are put first."""
    if double_hits:
        name = darkest_ink(condition, aims)
        condition, aims = with_second_hit(condition, aims, name)
    constraints = constraints_of(condition, aims)
    sets = ink_sets(constraints)
    if double_hits:
        sets = _no_second_hit_alone(condition, sets)
    places, score = darkened(constraints, _starts(condition, constraints, darkness_of(cast), sets))
    chosen = _chosen(places, constraints, score, most=most, equal_L=equal_L)
    return tuple(mixes_of(condition, constraints.ladder[places[chosen]], None))


def darkest_ink(condition: PressCondition, aims: Aims) -> str:
    """The ink whose solid is darkest, of those that may be used; the first of equals."""
    columns = list(constraints_of(condition, aims).columns)
    solids_L = condition.lab(100 * np.eye(len(condition.inks)))[columns, 0]
    return condition.inks[columns[int(np.argmin(solids_L))]].name


def with_second_hit(
    condition: PressCondition, aims: Aims, name: str
) -> tuple[PressCondition, Aims]:
    """The condition with an ink printed once more, and aims that may use it.

    Raises
    ------
    UsageError
        If there are as many inks as can be printed.
    """
    if len(condition.inks) >= MAX_INKS:
        expected = f"a second hit of {name} would be one more than the most, {MAX_INKS}"
        raise UsageError(
            Fault(where="double hit", found=f"{len(condition.inks)} inks", expected=expected)
        )
    twice = condition.double_hit(name)
    inks = None if aims.inks is None else (*aims.inks, twice.inks[-1].name)
    return twice, replace(aims, inks=inks)


def _no_second_hit_alone(condition: PressCondition, sets: BoolArray) -> BoolArray:
    """Sets without those that hold the second hit, which is the last ink, and not the first."""
    names = [ink.name for ink in condition.inks]
    first = names.index(names[-1].rpartition(" ")[0])
    return sets[~sets[:, -1] | sets[:, first]]


def darkness_of(cast: Cast) -> Darkness:
    """The goal of a cast as the caller tells it."""
    if cast is None or isinstance(cast, str):
        if cast not in (None, "neutral"):
            expected = "neutral, a hue of 0 to 360 degrees, or a direction a, b"
            raise UsageError(Fault(where="cast", found=repr(cast), expected=expected))
        return Darkness(hue=np.zeros(2), wanted=cast is not None)
    if isinstance(cast, tuple):
        direction = np.array(cast, dtype=np.float64)
    else:
        direction = np.array([np.cos(np.radians(cast)), np.sin(np.radians(cast))])
    length = float(np.linalg.norm(direction))
    if direction.shape != (2,) or not 0 < length < np.inf:
        expected = "a direction a, b other than 0, 0 is needed"
        raise UsageError(Fault(where="cast", found=repr(cast), expected=expected))
    return Darkness(hue=direction / length, wanted=True)


def _starts(
    condition: PressCondition, constraints: Constraints, goal: Darkness, sets: BoolArray
) -> Rows:
    """Where to begin: the best nodes of the best sets."""
    lattice = lattice_of(condition, constraints, sets)
    score = goal.of_lab(lattice.lab)
    starts = lattice.starts_of_each(score[None], _STARTS)
    rows = begun(OnePress(condition=condition), goal, starts)
    best = np.minimum.reduceat(score, lattice.first[:-1])
    best_sets = np.argsort(best, kind="stable")[:_SETS]
    return rows.part(np.concatenate([np.flatnonzero(starts.of_set == k) for k in best_sets]))


def _chosen(
    places: IntArray, constraints: Constraints, score: FloatArray, *, most: int, equal_L: float
) -> list[int]:
    """Rows of the best mixes of differing sets of inks."""
    total = constraints.ladder[places].sum(axis=1)
    order = np.lexsort((total, score))
    sets, first = np.unique(places[order] > 0, axis=0, return_index=True)
    best = order[first]
    ranked = in_order_of_choice(score[best], sets, total[best], equal=equal_L, keep=-np.inf)
    return [int(row) for row in best[ranked[:most]]]
