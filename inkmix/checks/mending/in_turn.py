"""Corrections one after the other: curves for nights, then ink off what they leave.

Every later one is found on the plates that the earlier ones have corrected.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.ordered_threads import in_order
from inkmix.checks.mending.correction import Correction
from inkmix.checks.mending.ink_off import (
    InkOff,
    InkOffCorrection,
    InkOffGround,
    Read,
    ink_off_correction,
)
from inkmix.checks.mending.ink_off_near import cells_of
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.window import Box, Planes, bands_of, steps_at_most


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InTurn:
    """Corrections of one sheet in the order in which they act."""

    parts: tuple[Correction, ...]

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after all of them; any thread may ask."""
        for part in self.parts:
            planes = part.applied(planes, rows=rows, cols=cols)
        return planes


def corrected(read: Read, correction: Correction) -> Read:
    """How a sheet is read once a correction is made."""

    def after(rows: slice, cols: slice) -> tuple[Planes, NDArray[np.int32]]:
        planes, total = read(rows, cols)
        done = correction.applied(planes, rows=rows, cols=cols)
        return done, total - ink_sum(planes) + ink_sum(done)

    return after


def ink_off_after(
    wanted: InkOff, ground: InkOffGround, boxes: Sequence[Box]
) -> InkOffCorrection | None:
    """Ink off where rectangles of a sheet, as `ground` reads it, are over the limit."""
    cells, limit = cells_of(ground.sheet), steps_at_most(wanted.limit_pct, ground.full)

    def over(box: Box) -> NDArray[np.int64]:
        _, total = ground.read(*box)
        return cells.marked(total > limit, rows=box[0], cols=box[1])

    return ink_off_correction(wanted, ground, cells.map_of(in_order(over, bands_of(boxes))))
