"""The darkest mixes under the rules of aims: as they come, neutral, or tinted as asked."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.errors import Fault, UsageError
from inkmix.mixes.choose import EQUAL_L, in_order_of_choice
from inkmix.mixes.lattice import lattice_of
from inkmix.mixes.room import Room, ink_sets, room_of
from inkmix.mixes.settle import descended
from inkmix.mixes.values import Aims, Mix, mixes_of
from inkmix.press.condition import MAX_INKS, PressCondition

NEUTRAL_CHROMA = 2.0
"""A dark this near to grey passes for neutral: beside paper nobody names its hue."""

TINT_CHROMA = 4.0
"""A tinted dark has at least so much chroma, so that its hue is seen."""

CAST_WORTH_L = 2.0
"""Every point of a*, b* off the cast that was asked for counts as so many points of L*."""

Cast = None | Literal["neutral"] | float | tuple[float, float]
"""None: whatever is darkest; "neutral"; a hue of 0-360 degrees, or a direction (a*, b*)."""

_SETS = 48  # of the darkest, searched in full
_STARTS = 2
_SIZES = (16, 8, 4, 2, 1)  # of moves, in steps


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
        Aims out of range, or no room for a second hit.
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
    room = room_of(condition, aims)
    sets = ink_sets(room)
    if double_hits:
        sets = _no_second_hit_alone(condition, sets)
    aim = _aim(condition, cast)
    places, held = _starts(aim, room, sets)
    sizes = tuple(size for size in _SIZES if size <= max(1, len(room.ladder) // 6))
    places, score = descended(aim.score, room, places, held=held, sizes=sizes)
    chosen = _chosen(places, room, score, most=most, equal_L=equal_L)
    return tuple(mixes_of(condition, room.ladder[places[chosen]], None))


def darkest_ink(condition: PressCondition, aims: Aims) -> str:
    """The ink whose solid is darkest, of those that may be used; the first of equals."""
    columns = list(room_of(condition, aims).columns)
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
    first = names.index(names[-1].removesuffix(" 2"))
    return sets[~sets[:, -1] | sets[:, first]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Aim:
    """What is to be least.

    Parameters
    ----------
    hue : (2,) array
        Direction in a*, b*; zero for neutral.
    wanted : bool
        Whether any cast is asked for.
    """

    condition: PressCondition
    hue: FloatArray
    wanted: bool

    def score(self, tone_pct: FloatArray, row: IntArray) -> FloatArray:
        """L*, and what is off the cast in points of L*."""
        return self.of_lab(self.condition.lab(tone_pct))

    def of_lab(self, lab: FloatArray) -> FloatArray:
        """The same of colours (N, 3)."""
        if not self.wanted:
            return lab[:, 0]
        along = np.maximum(lab[:, 1:] @ self.hue, TINT_CHROMA if self.hue.any() else 0.0)
        off = np.linalg.norm(lab[:, 1:] - along[:, None] * self.hue, axis=1)
        return np.asarray(lab[:, 0] + CAST_WORTH_L * np.maximum(off - NEUTRAL_CHROMA, 0))


def _aim(condition: PressCondition, cast: Cast) -> _Aim:
    """The aim of a cast as the caller tells it."""
    if cast is None or isinstance(cast, str):
        if cast not in (None, "neutral"):
            expected = "neutral, a hue of 0 to 360 degrees, or a direction a, b"
            raise UsageError(Fault(where="cast", found=repr(cast), expected=expected))
        return _Aim(condition=condition, hue=np.zeros(2), wanted=cast is not None)
    if isinstance(cast, tuple):
        direction = np.array(cast, dtype=np.float64)
    else:
        direction = np.array([np.cos(np.radians(cast)), np.sin(np.radians(cast))])
    length = float(np.linalg.norm(direction))
    if direction.shape != (2,) or not 0 < length < np.inf:
        expected = "a direction a, b other than 0, 0 is needed"
        raise UsageError(Fault(where="cast", found=repr(cast), expected=expected))
    return _Aim(condition=condition, hue=direction / length, wanted=True)


def _starts(aim: _Aim, room: Room, sets: BoolArray) -> tuple[IntArray, BoolArray]:
    """Places (R, I) where to begin, and the inks held there: the best nodes of the best sets."""
    lattice = lattice_of(aim.condition, room, sets)
    score = aim.of_lab(lattice.lab)
    nodes = [
        begin + np.argsort(score[begin:end], kind="stable")[:_STARTS]
        for begin, end in zip(lattice.first[:-1], lattice.first[1:], strict=True)
    ]
    nodes.sort(key=lambda of_set: float(score[of_set[0]]))
    begin_at = np.concatenate(nodes[:_SETS])
    tones = lattice.tone_pct[begin_at]
    places = np.searchsorted(room.ladder, tones + 1e-6, side="right") - 1
    return places, tones > 0


def _chosen(
    places: IntArray, room: Room, score: FloatArray, *, most: int, equal_L: float
) -> list[int]:
    """Rows of the best mixes of differing sets of inks."""
    total = room.ladder[places].sum(axis=1)
    order = np.lexsort((total, score))
    sets, first = np.unique(places[order] > 0, axis=0, return_index=True)
    best = order[first]
    ranked = in_order_of_choice(score[best], sets, total[best], equal=equal_L, keep=-np.inf)
    return [int(row) for row in best[ranked[:most]]]
