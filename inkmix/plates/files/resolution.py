"""Pixels per inch out of what files say about it. Plain arithmetic."""

from pathlib import Path

from inkmix.base.errors import PlateError
from inkmix.base.words import size_of
from inkmix.plates.files.raster import KindFault, label

_SNAP = 6e-4
"""Relative: 78.7 px/cm is how one decimal writes 200 ppi (199.898, 5.1e-4 away)."""
_SQUARE = 2e-3


def ppi_of(
    path: Path, x: float | None, y: float | None, *, per_inch: float | None
) -> tuple[float | None, tuple[str, ...]]:
    """(ppi or None, notes) from horizontal and vertical resolution; `per_inch` turns the unit.

    Raises
    ------
    PlateError
        If pixels are not square.
    """
    if x is None or y is None or per_inch is None:
        return None, ()
    if abs(x - y) > _SQUARE * max(x, y):
        both = size_of(x * per_inch, y * per_inch, "ppi")
        raise PlateError(
            KindFault(
                where=label(path),
                found=f"has pixels that are not square ({both})",
                expected="plates have the same resolution both ways",
                do="resample it to one resolution",
            )
        )
    ppi = x * per_inch
    if ppi <= 1.0:
        return None, (f"its resolution of {ppi:g} ppi is meaningless and is ignored",)
    return snapped(ppi), ()


def snapped(ppi: float) -> float:
    """The whole number that a resolution stands for, where rounding in the file explains it."""
    whole = round(ppi)
    return float(whole) if abs(ppi - whole) <= _SNAP * ppi else ppi
