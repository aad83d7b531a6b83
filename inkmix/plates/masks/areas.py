"""Areas of a sheet: by a picture, by a rectangle, or by what the plates hold.

All are alike to those who use them: `read` gives the part of an area that lies in a window. Files
are read in mask.py.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault, PictureError
from inkmix.plates.files.raster import Samples
from inkmix.plates.masks.bits import BitRows
from inkmix.plates.set import PlateSet
from inkmix.sheet.geometry import Sheet

_SAMPLE_ROWS = 128
"""Rows that are looked at to see whether a mask is inverted."""
_LESS_INK = 0.5
"""A dark area of any size holds more than this part of the ink around it."""
_LESS_INK_OF_MOST = 0.9
"""A dark area that is most of the sheet is hardly lighter than the little that is left."""
_ENOUGH = 0.005


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
        Part of the sheet, 0-1.
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
        size = f"{sheet.trim_width_mm:.1f} x {sheet.trim_height_mm:.1f} mm"
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InvertedMaskCheck:
    """Whether pictures of dark areas hold much less ink than the rest of the sheet.

    That is how a mask looks whose black and white are the wrong way round: it holds less than half
    the ink of the rest, or it is most of the sheet and holds less than the rest. Some rows are
    looked at. Leave out masks whose polarity the person has told.

    Parameters
    ----------
    masks : mapping of str to PictureMask
        By the name of the area.
    height_px, full : int
        Rows of the plates, and their ink amount of 100 %.
    """

    masks: Mapping[str, PictureMask]
    height_px: int
    full: int

    def start(self) -> NDArray[np.int64]:
        """Nothing yet: (masks, inside and outside, ink and pixels)."""
        return np.zeros((len(self.masks), 2, 2), np.int64)

    def part(self, rows: slice, cols: slice, planes: Samples) -> NDArray[np.int64]:
        """What a window of ink amounts (I, rows, cols) adds; any number of threads may ask."""
        sums = self.start()
        for row in self.rows_in(rows) if self.masks else ():
            at = slice(row, row + 1)
            some = planes[:, row - rows.start : row - rows.start + 1]
            ink = some.sum(axis=0, dtype=np.int64)
            for index, mask in enumerate(self.masks.values()):
                sums[index] += _sums_in_and_out(ink, mask.read(at, cols, some))
        return sums

    def rows_in(self, rows: slice) -> list[int]:
        """Rows of a span that are looked at; evenly spaced over the sheet."""
        count = min(self.height_px, _SAMPLE_ROWS)
        every = ((2 * index + 1) * self.height_px // (2 * count) for index in range(count))
        return [row for row in every if rows.start <= row < rows.stop]

    def finish(self, sums: NDArray[np.int64]) -> tuple[Fault, ...]:
        """A fault for each mask that looks inverted, from the parts of all windows together."""
        return tuple(
            _inverted(name, mask, means)
            for (name, mask), some in zip(self.masks.items(), sums, strict=True)
            if (means := _means(some, scale=100 / self.full))
            and means[0] < (_LESS_INK if mask.share <= 0.5 else _LESS_INK_OF_MOST) * means[1]
        )


def inverted_mask_check(masks: Mapping[str, Mask], plate_set: PlateSet) -> InvertedMaskCheck:
    """The check for those of some masks that are pictures."""
    pictures = {name: mask for name, mask in masks.items() if isinstance(mask, PictureMask)}
    return InvertedMaskCheck(masks=pictures, height_px=plate_set.height_px, full=plate_set.full)


def inverted_mask_faults(masks: Mapping[str, Mask], plate_set: PlateSet) -> tuple[Fault, ...]:
    """What `InvertedMaskCheck` says, reading the rows that it looks at."""
    check = inverted_mask_check(masks, plate_set)
    sums, cols = check.start(), slice(0, plate_set.width_px)
    for row in check.rows_in(slice(0, plate_set.height_px)) if check.masks else ():
        rows = slice(row, row + 1)
        sums += check.part(rows, cols, plate_set.read(rows, cols))
    return check.finish(sums)


def _within(box: slice, span: slice) -> slice:
    """The part of a box that lies in a span, counted from the span's start."""
    start = min(max(box.start, span.start), span.stop)
    return slice(start - span.start, max(min(box.stop, span.stop), start) - span.start)


def _sums_in_and_out(ink: NDArray[np.int64], inside: NDArray[np.bool_]) -> NDArray[np.int64]:
    """((ink inside, pixels inside), (ink outside, pixels outside))."""
    held, count = int(ink[inside].sum()), int(np.count_nonzero(inside))
    return np.array([[held, count], [int(ink.sum()) - held, inside.size - count]], np.int64)


def _means(sums: NDArray[np.int64], *, scale: float) -> tuple[float, float] | None:
    """Mean total ink inside and outside, %; None where one of them is next to nothing."""
    if sums[:, 1].min() < _ENOUGH * sums[:, 1].sum():
        return None
    inside, outside = sums[:, 0] / sums[:, 1] * scale
    return float(inside), float(outside)


def _inverted(name: str, mask: PictureMask, means: tuple[float, float]) -> Fault:
    return Fault(
        where=mask.where,
        found=f"looks inverted: {name} would hold {means[0]:.0f} % ink on average",
        expected=f"the rest of the sheet holds {means[1]:.0f} %",
        do='swap black and white in the mask, or write mask_shows = "black" or "white" in the book',
    )
