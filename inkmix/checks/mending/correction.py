"""What every correction of plates can do; how one is found is told where each is made."""

from typing import Protocol

from inkmix.checks.window import Planes


class Correction(Protocol):
    """A change of plates, built once for a sheet."""

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after it; any thread may ask."""
