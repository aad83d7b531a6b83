"""Whether masks look as if black and white were the wrong way round, by what they hold."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.errors import Fault
from inkmix.base.words import percent
from inkmix.plates.files.raster import Samples
from inkmix.plates.masks.mask import PictureMask

_SAMPLE_ROWS = 128
"""Rows that are looked at to see whether a mask is inverted."""
_LESS_INK = 0.5
"""A dark area of any size holds more than this part of the ink around it."""
_LESS_INK_OF_MOST = 0.9
"""A dark area that is most of the sheet is hardly lighter than the little that is left."""
_ENOUGH = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectedMask:
    """A mask that looks inverted.

    Parameters
    ----------
    fault : Fault
        What was found, and what to do.
    is_sure : bool
        The area is too light where the rest of the sheet is dark enough within the ink limit; else
        it may be a right mask beside a ground of more ink.
    """

    fault: Fault
    is_sure: bool

    @property
    def note(self) -> str:
        """The same as a question."""
        fault = self.fault
        return f"{fault.where}: {fault.found}, but {fault.expected}; {fault.do}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DarkArea:
    """The picture of an area that must be dark; `lightest_level` is the limit, in levels of L*."""

    mask: PictureMask
    lightest_level: int
    share_pct: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InvertedMaskCheck:
    """Whether pictures of dark areas hold much less ink than the rest of the sheet and are lighter.

    That is how a mask looks whose black and white are the wrong way round: it holds less than half
    the ink of the rest, or it is most of the sheet and holds less than the rest. A night of little
    but dark ink beside much bright ink holds less, too, and is the darker one all the same. Some
    rows are looked at. Leave out masks whose polarity the person has told.

    Parameters
    ----------
    areas : mapping of str to DarkArea
        By the name of the area.
    height_px, full : int
        Rows of the plates, and their ink amount of 100 %.
    ink_limit_pct : float or None
        What a night may hold.
    """

    areas: Mapping[str, DarkArea]
    height_px: int
    full: int
    ink_limit_pct: float | None = None

    def start(self) -> NDArray[np.int64]:
        """Nothing yet: (masks, inside and outside, and of each ink, pixels, those that do as night,
        and levels of L*)."""
        return np.zeros((len(self.areas), 2, 4), np.int64)

    def part(
        self, rows: slice, cols: slice, planes: Samples, lightness: NDArray[np.int16]
    ) -> NDArray[np.int64]:
        """What a window adds; any number of threads may ask.

        Parameters
        ----------
        planes : (I, rows, cols) ndarray
            Ink amounts.
        lightness : (rows, cols) ndarray
            Levels of L*.
        """
        sums = self.start()
        for row in self.rows_in(rows) if self.areas else ():
            at, here = slice(row, row + 1), slice(row - rows.start, row - rows.start + 1)
            some = planes[:, here]
            ink = some.sum(axis=0, dtype=np.int64)
            for index, area in enumerate(self.areas.values()):
                does = self._does_as_night(area, ink, lightness[here])
                inside = area.mask.read(at, cols, some)
                sums[index] += _sums_in_and_out((ink, does, lightness[here]), inside)
        return sums

    def _does_as_night(
        self, area: DarkArea, ink: NDArray[np.int64], lightness: NDArray[np.int16]
    ) -> NDArray[np.bool_]:
        """Pixels that are dark enough for the area, within the ink limit."""
        is_dark = np.less_equal(lightness, area.lightest_level)
        if self.ink_limit_pct is None:
            return is_dark
        return np.logical_and(is_dark, 100 * ink <= self.ink_limit_pct * self.full)

    def rows_in(self, rows: slice) -> list[int]:
        """Rows of a span that are looked at; evenly spaced over the sheet."""
        count = min(self.height_px, _SAMPLE_ROWS)
        every = ((2 * index + 1) * self.height_px // (2 * count) for index in range(count))
        return [row for row in every if rows.start <= row < rows.stop]

    def finish(self, sums: NDArray[np.int64]) -> tuple[SuspectedMask, ...]:
        """Each mask that looks inverted, from the parts of all windows together."""
        return tuple(
            SuspectedMask(
                fault=_inverted(name, area.mask, means), is_sure=_is_sure(some, area.share_pct)
            )
            for (name, area), some in zip(self.areas.items(), sums, strict=True)
            if (means := _means(some, scale=100 / self.full))
            and _is_lighter(some)
            and means[0] < (_LESS_INK if area.mask.share <= 0.5 else _LESS_INK_OF_MOST) * means[1]
        )


def _sums_in_and_out(
    of_pixels: tuple[NDArray[np.int64], NDArray[np.bool_], NDArray[np.int16]],
    inside: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """(ink, pixels, pixels that do as night, levels of L*) inside, and the same outside."""
    ink, does, levels = of_pixels
    summed = (ink, np.ones_like(does), does, levels)
    within = np.array([some[inside].sum(dtype=np.int64) for some in summed])
    return np.array([within, [some.sum(dtype=np.int64) for some in summed] - within])


def _is_lighter(sums: NDArray[np.int64]) -> bool:
    """Whether the area is lighter than the rest, on average."""
    inside, outside = sums[:, 3] / sums[:, 1]
    return bool(inside > outside)


def _is_sure(sums: NDArray[np.int64], share_pct: float) -> bool:
    """Whether the rest would pass as the night, and the area does not."""
    inside, outside = 100 * sums[:, 2] / sums[:, 1]
    return bool(inside < share_pct <= outside)


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
        do='if it shows the wrong side, swap its black and white, or write mask_shows = "black" '
        'in the book; if it is right, write mask_shows = "white"',
    )
