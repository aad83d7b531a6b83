"""What every correction of plates can do; how one is found is told where each is made."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.checks.window import Planes


class Correction(Protocol):
    """A change of plates, built once for a sheet."""

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after it; any thread may ask."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ChangeMap:
    """By how much a correction changes the predicted colour in each cell of a rectangle.

    Parameters
    ----------
    de00 : (rows, cols) ndarray of float32
        0 where nothing changes.
    row, col : int
        The pixel of the sheet at which it begins.
    side : int
        Of a cell, in pixels.
    """

    de00: NDArray[np.float32]
    row: int
    col: int
    side: int
