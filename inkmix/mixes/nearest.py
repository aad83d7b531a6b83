"""The nearest mixes to colours, few or thousands, under the rules of aims.

The exact model is asked, never the table: a lattice says where to begin in every set of inks, steps
downhill lead to the nearest tone values, and these are brought to the allowed steps. No randomness:
same inks, same mixes, however many colours are asked for at once.
"""

from collections.abc import Generator
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from inkmix.arrays import FloatArray, IntArray
from inkmix.colorimetry import delta_e00
from inkmix.errors import Fault, UsageError
from inkmix.inorder import in_order
from inkmix.mixes.choose import EQUAL_DE00, in_order_of_choice
from inkmix.mixes.lattice import Lattice, lattice_of
from inkmix.mixes.relax import Rows, relaxed
from inkmix.mixes.room import Room, ink_sets, room_of
from inkmix.mixes.settle import descended, settled
from inkmix.mixes.values import EXACT_STEP_PCT, REACH_DE00, Aims, Found, Mix, Reached, mixes_of
from inkmix.press.condition import PressCondition

COLOURS_AT_ONCE = 32
"""Worked on together; a few thousand mixes are then on their way."""


def nearest_mixes(
    condition: PressCondition, lab: npt.ArrayLike, aims: Aims, *, most: int = 5
) -> tuple[Mix, ...]:
    """The nearest mixes of differing sets of inks in the steps of `aims`, best first."""
    return _one(condition, lab, aims, most=most).mixes


def exact_mix(condition: PressCondition, lab: npt.ArrayLike, aims: Aims) -> Mix:
    """The nearest mix with tone values to a tenth of a percent."""
    return reach(condition, lab, aims).mix


def reach(condition: PressCondition, lab: npt.ArrayLike, aims: Aims) -> Reached:
    """How near the inks come to a colour, and whether that is near enough to call it reached."""
    return _one(condition, lab, aims, most=1).reached


def found_for_all(
    condition: PressCondition, labs: npt.ArrayLike, aims: Aims, *, most: int = 1
) -> Generator[Found]:
    """What is found for each of many colours (N, 3), in their order, as it is found."""
    colours = _checked(labs)
    search = _Search(
        condition=condition,
        room=room_of(condition, aims),
        fine=room_of(condition, replace(aims, step_pct=EXACT_STEP_PCT)),
        most=most,
    )
    search.lattice()  # once, before threads ask for it
    parts = [colours[k : k + COLOURS_AT_ONCE] for k in range(0, len(colours), COLOURS_AT_ONCE)]
    for found in in_order(search.found, parts):
        yield from found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Search:
    """A search for colours under one set of aims.

    Parameters
    ----------
    room, fine : Room
        With the steps that were asked for, and with those of an exact mix.
    most : int
        Mixes a colour.
    """

    condition: PressCondition
    room: Room
    fine: Room
    most: int

    def lattice(self) -> Lattice:
        """Where to begin."""
        return lattice_of(self.condition, self.fine, ink_sets(self.fine))

    def found(self, labs: FloatArray) -> list[Found]:
        """What is found for some colours (T, 3)."""
        lattice = self.lattice()
        colour, of_set, node = lattice.starts(labs)
        rows = relaxed(
            self.condition,
            self.fine,
            tone_pct=lattice.tone_pct[node],
            held=lattice.sets[of_set],
            target=labs[colour],
        )
        exact = self._best(self.fine, rows, colour, most=1)
        stepped = self._best(self.room, rows, colour, most=self.most)
        return [
            Found(
                lab=(float(lab[0]), float(lab[1]), float(lab[2])),
                reached=reached_by(mixes[0]),
                mixes=tuple(others),
            )
            for lab, mixes, others in zip(labs, exact, stepped, strict=True)
        ]

    def _best(self, room: Room, rows: Rows, colour: IntArray, *, most: int) -> list[list[Mix]]:
        """The best mixes of each colour in a room, in order of choice."""
        places, left = settled(self.condition, room, rows)
        chosen = _chosen(room, places, left, colour, most=most)
        places, held, target = places[chosen], rows.held[chosen], rows.target[chosen]

        def score(tone_pct: FloatArray, row: IntArray) -> FloatArray:
            return delta_e00(self.condition.lab(tone_pct), target[row])

        places, left = descended(score, room, places, held=held, sizes=(1,))
        again = _chosen(room, places, left, colour[chosen], most=most)
        mixes = mixes_of(self.condition, room.ladder[places[again]], target[again])
        of_colour: list[list[Mix]] = [[] for _ in range(int(colour.max()) + 1)]
        for k, mix in zip(colour[chosen][again].tolist(), mixes, strict=True):
            of_colour[k].append(mix)
        return of_colour


def reached_by(mix: Mix) -> Reached:
    """What a nearest mix says of its colour."""
    assert mix.de00 is not None  # it was looked for
    assert mix.error_de00 is not None
    return Reached(
        mix=mix, de00=mix.de00, error_de00=mix.error_de00, in_reach=mix.de00 <= REACH_DE00
    )


def _chosen(
    room: Room, places: IntArray, left: FloatArray, colour: IntArray, *, most: int
) -> IntArray:
    """Rows of the first `most` mixes of each colour, in order of colours and of choice."""
    total = room.ladder[places].sum(axis=1)
    order = np.lexsort((total, left, colour))
    chosen: list[int] = []
    for rows in np.split(order, np.flatnonzero(np.diff(colour[order])) + 1):
        sets, first = np.unique(places[rows] > 0, axis=0, return_index=True)
        best = rows[first]
        ranked = in_order_of_choice(
            left[best], sets, total[best], equal=EQUAL_DE00, keep=REACH_DE00
        )
        chosen += best[ranked[:most]].tolist()
    return np.array(chosen, dtype=np.int64)


def _one(condition: PressCondition, lab: npt.ArrayLike, aims: Aims, *, most: int) -> Found:
    return next(found_for_all(condition, np.asarray(lab, dtype=np.float64)[None], aims, most=most))


def _checked(labs: npt.ArrayLike) -> FloatArray:
    """Colours (N, 3)."""
    colours = np.asarray(labs, dtype=np.float64)
    if colours.ndim != 2 or colours.shape[1] != 3 or not np.isfinite(colours).all():
        found = f"an array of shape {colours.shape}"
        expected = "three finite numbers L, a, b are needed for each colour"
        raise UsageError(Fault(where="colours", found=found, expected=expected))
    return colours
