"""The nearest mixes to colours, few or thousands, under the rules of aims.

The exact model is asked, never the table: a lattice says where to begin in every set of inks, steps
downhill lead to the nearest tone values, and these are brought to the allowed steps. No randomness:
same inks, same mixes, however many colours are asked for at once.
"""

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.base.errors import Fault, UsageError
from inkmix.base.ordered_threads import in_order
from inkmix.mixes.choose import EQUAL_DE00, in_order_of_choice
from inkmix.mixes.constraints import Constraints, constraints_of, ink_sets
from inkmix.mixes.goals import Nearness
from inkmix.mixes.lattice import Lattice, OnePress, lattice_of
from inkmix.mixes.relax import Rows, relaxed, worth_going_on
from inkmix.mixes.settle import descended, exchanges, settled
from inkmix.mixes.values import EXACT_STEP_PCT, REACH_DE00, Aims, Found, Mix, left_of, mixes_of
from inkmix.press.condition import PressCondition

COLOURS_AT_ONCE = 64
"""Worked on together; a few thousand mixes are then on their way."""

_FINE_DE00 = 0.2  # more than fine steps change
_SIZES = (32, 8, 2, 1)  # of the last moves, in steps
_WIDEST_PCT = 5.0  # and the widest of them in tone value
_WORTH_DE00_BY_PCT = 2.0  # less than this a percent of the lowest tint is left as it is


def nearest_mixes(
    condition: PressCondition, lab: npt.ArrayLike, aims: Aims, *, most: int = 5
) -> tuple[Mix, ...]:
    """The nearest mixes of differing sets of inks in the steps of `aims`, best first.

    The first is the one of fewest inks among those within EQUAL_DE00 of the nearest; sets of inks
    that are BEHIND_DE00 farther off than the nearest are left out, as are those that hold more inks
    for nothing. Not meant to rank colours that are ten and more dE00 out of reach: no difference
    formula is.

    Parameters
    ----------
    lab : (3,) array_like
        Looked for, D50, 2 degree, absolute.
    aims : Aims
    most : int
        At most so many.

    Returns
    -------
    tuple of Mix
        With expected errors. None breaks the ink limit or holds a tint below the smallest dot.

    Raises
    ------
    UsageError
        Aims that cannot be kept, a colour that is none.

    Examples
    --------
    >>> from inkmix.press.condition import press_condition
    >>> from inkmix.press.processes import find_process
    >>> from inkmix.press.swatches.by_name import load_ink, load_paper
    >>> paper = load_paper("night-ferry/uncoated")
    >>> inks = [load_ink(f"night-ferry/{name}", paper=paper) for name in ("Soot", "Fjord", "Brass")]
    >>> condition = press_condition(paper, inks, process=find_process("sheet-fed offset"))
    >>> aims = Aims(ink_limit_pct=260, least_pct=3)
    >>> dict(nearest_mixes(condition, condition.lab([0, 40, 60]), aims)[0].tone_pct)
    {'Soot': 0.0, 'Fjord': 40.0, 'Brass': 60.0}
    """
    labs = np.asarray(lab, dtype=np.float64)[None]
    return next(found_for_all(condition, labs, aims, most=most)).mixes


def nearest_mix(
    condition: PressCondition,
    lab: npt.ArrayLike,
    *,
    ink_limit_pct: float | None,
    inks: Sequence[str] | None = None,
    step_pct: float = 1,
    least_pct: float = 0,
) -> Mix:
    """The mix that is nearest of all, however many inks it takes; arguments as in Aims."""
    aims = Aims(
        ink_limit_pct=ink_limit_pct,
        step_pct=step_pct,
        least_pct=least_pct,
        inks=None if inks is None else tuple(inks),
    )
    search = _search(condition, aims, most=1, equal_de00=0.0)
    (found,) = search.found(_checked(np.asarray(lab, dtype=np.float64)[None]))
    return found.mixes[0]


def found_for_all(
    condition: PressCondition, labs: npt.ArrayLike, aims: Aims, *, most: int = 1
) -> Generator[Found]:
    """What is found for each of many colours, in their order, as it is found.

    The same as one by one, in a quarter of the time; memory does not grow with their number.

    Parameters
    ----------
    labs : (N, 3) array_like
        Looked for, D50, 2 degree, absolute.
    most : int
        Mixes a colour in the steps of `aims`.

    Raises
    ------
    UsageError
        As for `nearest_mixes`.
    """
    colours = _checked(labs)
    search = _search(condition, aims, most=most, equal_de00=EQUAL_DE00)
    search.lattice(search.fine)  # once, before threads ask for it
    parts = [colours[k : k + COLOURS_AT_ONCE] for k in range(0, len(colours), COLOURS_AT_ONCE)]
    for found in in_order(search.found, parts):
        yield from found


def _search(condition: PressCondition, aims: Aims, *, most: int, equal_de00: float) -> "_Search":
    return _Search(
        condition=condition,
        constraints=constraints_of(condition, aims),
        fine=constraints_of(condition, replace(aims, step_pct=EXACT_STEP_PCT)),
        most=most,
        equal_de00=equal_de00,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Search:
    """A search for colours under one set of aims.

    Parameters
    ----------
    constraints, fine : Constraints
        With the steps that were asked for, and with those of an exact mix.
    most : int
        Mixes a colour.
    equal_de00 : float
        Within so much fewer inks are put first.
    """

    condition: PressCondition
    constraints: Constraints
    fine: Constraints
    most: int
    equal_de00: float

    def lattice(self, constraints: Constraints) -> Lattice:
        """Where to begin within constraints."""
        return lattice_of(self.condition, constraints, ink_sets(constraints))

    def _rows(self, constraints: Constraints, labs: FloatArray) -> Rows:
        """Mixes in any step near some colours (T, 3), of the sets of inks that fit in."""
        lattice = self.lattice(constraints)
        model, goal = OnePress(condition=self.condition), Nearness(targets=labs)
        return relaxed(model, constraints, goal, lattice.starts(labs))

    def found(self, labs: FloatArray) -> list[Found]:
        """What is found for some colours (T, 3)."""
        rows = self._rows(self.fine, labs)
        near = worth_going_on(rows, rows.left, EQUAL_DE00 + _FINE_DE00)
        exact = self._best(self.fine, rows.part(near), labs, most=1)
        if len(ink_sets(self.constraints)) < len(ink_sets(self.fine)):
            # the limit is tight for the steps
            rows = self._rows(self.constraints, labs)
        stepped = self._best(self.constraints, rows, labs, most=self.most)
        return [
            Found(
                lab=(float(lab[0]), float(lab[1]), float(lab[2])),
                nearest=_nearest_of(mixes[0], others),
                mixes=tuple(others),
            )
            for lab, mixes, others in zip(labs, exact, stepped, strict=True)
        ]

    def _best(
        self, constraints: Constraints, rows: Rows, labs: FloatArray, *, most: int
    ) -> list[list[Mix]]:
        """The best mixes of each colour (T, 3) within constraints, in order of choice."""
        places, left = settled(constraints, rows)
        chosen = self._chosen(constraints, places, left, rows.wish, most=most)
        rows = rows.part(chosen)
        places, left = _polished(constraints, rows, places[chosen], left[chosen])
        again = self._chosen(constraints, places, left, rows.wish, most=most)
        wish, places = rows.wish[again], places[again]
        mixes = mixes_of(self.condition, constraints.ladder[places], labs[wish])
        of_colour: list[list[Mix]] = [[] for _ in labs]
        for k, mix in zip(wish.tolist(), mixes, strict=True):
            of_colour[k].append(mix)
        return of_colour

    def _chosen(
        self,
        constraints: Constraints,
        places: IntArray,
        left: FloatArray,
        colour: IntArray,
        *,
        most: int,
    ) -> IntArray:
        """Rows of the first `most` mixes of each colour, in order of colours and of choice."""
        total = constraints.ladder[places].sum(axis=1)
        order = np.lexsort((total, left, colour))
        chosen: list[int] = []
        for rows in np.split(order, np.flatnonzero(np.diff(colour[order])) + 1):
            sets, first = np.unique(places[rows] > 0, axis=0, return_index=True)
            best = rows[first]
            ranked = in_order_of_choice(
                left[best], sets, total[best], equal=self.equal_de00, keep=REACH_DE00
            )
            chosen += best[ranked[:most]].tolist()
        return np.array(chosen, dtype=np.int64)


def _polished(
    constraints: Constraints, rows: Rows, places: IntArray, left: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Places (R, I) after the last moves downhill, and what is left (R,).

    Where the steps are fine, a colour that is met has nothing to gain.
    """
    places, left = places.copy(), left.copy()
    step_pct = np.diff(constraints.ladder).min()
    worth = np.flatnonzero(left > step_pct * _WORTH_DE00_BY_PCT)
    sizes = tuple(size for size in _SIZES if size * step_pct <= _WIDEST_PCT)
    places[worth], left[worth] = descended(
        constraints,
        rows.part(worth),
        places[worth],
        moves=exchanges(constraints),
        sizes=sizes or (1,),
    )
    return places, left


def _nearest_of(exact: Mix, stepped: list[Mix]) -> Mix:
    """The exact mix, unless one in coarser steps is found to be nearer than equally near."""
    nearest = min([exact, *stepped], key=left_of)
    gains = left_of(nearest) < left_of(exact) - EQUAL_DE00
    reaches = left_of(nearest) <= REACH_DE00 < left_of(exact)
    return nearest if gains or reaches else exact


def _checked(labs: npt.ArrayLike) -> FloatArray:
    """Colours (N, 3)."""
    colours = np.asarray(labs, dtype=np.float64)
    if colours.ndim != 2 or colours.shape[1] != 3 or not np.isfinite(colours).all():
        found = f"an array of shape {colours.shape}"
        expected = "three finite numbers L, a, b are needed for each colour"
        raise UsageError(Fault(where="colours", found=found, expected=expected))
    return colours
