"""Areas of a sheet: by a picture, by a rectangle, or by what the plates hold.

All are alike to those who use them: `read` gives the part of an area that lies in a window. Files
are read in picture.py.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PictureError
from inkmix.base.words import size_of
from inkmix.plates.files.raster import Samples
from inkmix.plates.masks.bits import BitRows
from inkmix.sheet.geometry import Sheet


class Mask(Protocol):
    """An area of a sheet."""

    def read(self, rows: slice, cols: slice, planes: Samples) -> NDArray[np.bool_]:
        """Where the area is, (rows, cols); `planes` are the plates there, (I, rows, cols)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PictureMask:
    """An area given by a picture.

    Parameters
    ----------
    bits : BitRows
        One bit a pixel of the sheet.
    share : float
        Part of the sheet, 0-1; 0 where it marks nothing.
    where : str
        File, as messages name it.
    notes : tuple of str
        What was accepted and has to be said.
    """

    bits: BitRows
    share: float
    where: str
    notes: tuple[str, ...] = ()

    def read(self, rows: slice, cols: slice, planes: Samples) -> NDArray[np.bool_]:
        """Where the area is, (rows, cols)."""
        return self.bits.read(rows, cols)


@dataclass(frozen=True, slots=True, kw_only=True)
class RectangleMask:
    """A rectangle of the sheet."""

    rows: slice
    cols: slice

    def read(self, rows: slice, cols: slice, planes: Samples) -> NDArray[np.bool_]:
        """Where the rectangle is, (rows, cols)."""
        inside = np.zeros((rows.stop - rows.start, cols.stop - cols.start), np.bool_)
        inside[_within(self.rows, rows), _within(self.cols, cols)] = True
        return inside


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What one plate must hold, tone value in %, both ends included."""

    ink: int
    at_least_pct: float = 0.0
    at_most_pct: float = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleMask:
    """Where plates hold what they must, all conditions together."""

    conditions: tuple[Condition, ...]

    def read(self, rows: slice, cols: slice, planes: Samples) -> NDArray[np.bool_]:
        """Where all conditions hold, (rows, cols)."""
        inside = np.ones(planes.shape[1:], np.bool_)
        full = int(np.iinfo(planes.dtype).max)
        for condition in self.conditions:
            plane = planes[condition.ink]
            least = math.ceil(condition.at_least_pct * full / 100)
            most = math.floor(condition.at_most_pct * full / 100)
            if least > 0:
                inside &= plane >= least
            if most < full:
                inside &= plane <= most
        return inside


def rectangle_mask(sheet: Sheet, rect_mm: Sequence[float]) -> RectangleMask:
    """The area of a rectangle (x, y, width, height) in mm from the top left corner of the trim.

    Raises
    ------
    PictureError
        If nothing of it lies on the sheet.
    """
    x, y, width, height = rect_mm
    rows, cols = sheet.pixels_of(x_mm=x, y_mm=y, width_mm=width, height_mm=height)
    if rows.start == rows.stop or cols.start == cols.stop:
        size = size_of(sheet.trim_width_mm, sheet.trim_height_mm, "mm", digits=1)
        raise PictureError(
            Fault(
                where=f"rectangle {x:g}, {y:g}, {width:g}, {height:g} mm",
                found="lies outside the sheet",
                expected=f"the sheet is {size}",
                do="give left, top, width and height from the trimmed corner",
            )
        )
    return RectangleMask(rows=rows, cols=cols)


def rule_mask(conditions: Sequence[tuple[str, float, float]], inks: Sequence[str]) -> RuleMask:
    """The area where each named plate holds between two tone values, %, ends included."""
    return RuleMask(
        conditions=tuple(
            Condition(ink=inks.index(ink), at_least_pct=least, at_most_pct=most)
            for ink, least, most in conditions
        )
    )


def _within(box: slice, span: slice) -> slice:
    """The part of a box that lies in a span, counted from the span's start."""
    start = min(max(box.start, span.start), span.stop)
    return slice(start - span.start, max(min(box.stop, span.stop), start) - span.start)
