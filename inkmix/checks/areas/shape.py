"""The pixels of a finding as cells of the sheet."""

from collections.abc import Iterable

from inkmix.base.arrays import BoolArray
from inkmix.checks.finding import Shape
from inkmix.checks.mending.ink_off_near import OverCells
from inkmix.checks.window import Box
from inkmix.sheet.geometry import Sheet


def shape_of(
    sheet: Sheet, cells: OverCells, marked: BoolArray, boxes: Iterable[Box]
) -> Shape | None:
    """The marked cells (rows, cols) of a sheet in the places of a finding; None without any."""
    found = cells.within(marked, boxes)
    if found is None or not found[0].any():
        return None
    kept, (rows, cols) = found
    cell_mm = cells.side / sheet.px_per_mm
    return Shape(
        cells=kept,
        x_mm=cols.start * cell_mm - sheet.bleed_mm,
        y_mm=rows.start * cell_mm - sheet.bleed_mm,
        cell_mm=cell_mm,
    )
