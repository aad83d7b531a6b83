"""A correction that is made, with the rectangles outside of which it changes nothing."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inkmix.checks.mending.correction import Correction
from inkmix.checks.window import Box, Planes, overlap
from inkmix.plates.kept import KeptPlanes

Held = Callable[[Planes, Planes], Planes]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """One step from the plates as they are to the plates as they become.

    Parameters
    ----------
    held : (before, after) -> (I, rows, cols)
        What the plates can hold of what the correction wants.
    kept : KeptPlanes or None
        Pixels after it that were computed already.
    """

    correction: Correction
    boxes: tuple[Box, ...]
    held: Held
    kept: KeptPlanes | None = None

    def on(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """Planes (I, rows, cols) after it: the very same where it changes nothing."""
        if not any(overlap(box, (rows, cols)) for box in self.boxes):
            return planes
        if (
            self.kept is not None
            and (kept := self.kept.over(planes, rows=rows, cols=cols)) is not None
        ):
            return planes if np.array_equal(kept, planes) else kept
        done = self.correction.applied(planes, rows=rows, cols=cols)
        return done if done is planes else self.held(planes, done)
