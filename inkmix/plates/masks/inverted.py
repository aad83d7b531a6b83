"""Whether masks look as if black and white were the wrong way round, by the ink that they hold."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault
from inkmix.base.words import percent
from inkmix.plates.files.raster import Samples
from inkmix.plates.masks.mask import Mask, PictureMask
from inkmix.plates.set import PlateSet

_SAMPLE_ROWS = 128
"""Rows that are looked at to see whether a mask is inverted."""
_LESS_INK = 0.5
"""A dark area of any size holds more than this part of the ink around it."""
_LESS_INK_OF_MOST = 0.9
"""A dark area that is most of the sheet is hardly lighter than the little that is left."""
_ENOUGH = 0.005


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
        found=f"looks inverted: {name} would hold {percent(means[0])} ink on average",
        expected=f"the rest of the sheet holds {percent(means[1])}",
        do='swap black and white in the mask, or write mask_shows = "black" or "white" in the book',
    )
