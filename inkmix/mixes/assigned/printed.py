"""The plates of a spread in the inks of several palettes: pictures, and who prints what.

Plates are read once; every palette is then coloured from a small table of its own.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.base.ordered_threads import in_order
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_srgb8
from inkmix.mixes.assigned.aims import Aimed
from inkmix.mixes.assigned.assign import Assigned, best_assignment, in_palette
from inkmix.mixes.assigned.plates import MainMixes, SampledPlates
from inkmix.mixes.assigned.table import SmallTable, small_table
from inkmix.press.condition import PressCondition

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedIn:
    """The plates in one palette.

    Parameters
    ----------
    assigned : Assigned
        Who prints what.
    srgb8 : (rows, cols, 3) array of uint8
        The predicted print.
    """

    assigned: Assigned
    srgb8: NDArray[np.uint8]


def printed_in(
    palettes: Sequence[PressCondition],
    sampled: SampledPlates,
    *,
    mixes: MainMixes,
    aimed: Aimed,
    progress: Progress = lambda done, of: None,
) -> tuple[PrintedIn | None, ...]:
    """The plates in each palette, its inks given to plates in the best way.

    Parameters
    ----------
    palettes : sequence of PressCondition
        None is given back for one with fewer inks than there are plates.
    mixes : MainMixes
        Of `sampled`.
    aimed : Aimed
        What the pictures are to look like.
    """
    found: list[PrintedIn | None] = []
    for one in in_order(lambda palette: _printed(palette, sampled, mixes, aimed), palettes):
        found.append(one)
        progress(len(found), len(palettes))
    return tuple(found)


def _printed(
    palette: PressCondition, sampled: SampledPlates, mixes: MainMixes, aimed: Aimed
) -> PrintedIn | None:
    names = tuple(ink.name for ink in palette.inks)
    if len(names) < len(sampled.names):
        return None
    table = small_table(palette)
    assigned = best_assignment(
        table, inks=names, plates=sampled.names, mixes=mixes, aim_lab=aimed.lab
    )
    way = tuple(names.index(ink) for ink in assigned.best.inks)
    tones = in_palette(sampled.tone_pct, way, inks=len(names))
    return PrintedIn(assigned=assigned, srgb8=picture_of(table, tones))


def picture_of(table: SmallTable, tone_pct: FloatArray) -> NDArray[np.uint8]:
    """The predicted print, (rows, cols, 3) uint8 sRGB, of tone values (rows, cols, I)."""
    srgb8, _ = xyz100_to_srgb8(lab_to_xyz100(table.lab_of(tone_pct)))
    return srgb8
