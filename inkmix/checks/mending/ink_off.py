"""A correction that takes ink off smoothly where total ink is over the limit.

What is wanted stands in `InkOff`, plain values that can be kept and used on fresh exports of the
plates. What follows from the plates as they are is found here, in one pass over the places near
the limit: where to act, and which plates to take ink from in each mix that occurs there.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.base.ordered_threads import in_order
from inkmix.checks.mending.ink_off_least import InkTaking
from inkmix.checks.mending.ink_off_near import cells_of, weights_beside, weights_near
from inkmix.checks.mending.ink_off_pixels import SHARE_ONE, InkOffTables, mark_nodes, take_off
from inkmix.checks.total_ink.counts import ink_sum
from inkmix.checks.window import Box, Planes, bands_of, full_scale, overlap, steps_at_most
from inkmix.press.condition import PressCondition
from inkmix.sheet.geometry import Sheet

if TYPE_CHECKING:
    from inkmix.checks.check import Ground

KNEE_PCT = 5.0
"""Totals from so far below the limit come down a little, so that no edge shows where ink comes off.
With 10 points colours change 7 to 9 % more than the limit makes them, with 5 points 4 to 5 %."""

FADE_MM = 5.0
"""Around places over the limit the correction fades out over this distance."""

GRID = {1: 2, 2: 17, 3: 13, 4: 9, 5: 7, 6: 5, 7: 4, 8: 3}
"""Nodes along each axis, by the number of plates, some 17,000 at most: with five plates the mean
change is 3 % greater than where each mix is solved by itself, with 5 nodes 4 %."""

_LEAST_PCT = 2.0  # taken at nodes where hardly any is over: the direction counts there

Read = Callable[[slice, slice], tuple[Planes, NDArray[np.int32]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class InkOff:
    """What is wanted: a recipe.

    Parameters
    ----------
    limit_pct : float
        No total is higher afterwards.
    knee_pct : float
        Totals that lie lower than the limit by this much stay as they are.
    fade_mm : float
        Over this distance around places over the limit the correction fades out.
    lightness_worth : float
        A change of lightness counts for so many of chroma or hue; more keeps darks darker.
    """

    limit_pct: float
    knee_pct: float = KNEE_PCT
    fade_mm: float = FADE_MM
    lightness_worth: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkOffGround:
    """What ink is taken off.

    Parameters
    ----------
    read : (rows, cols) -> (planes (I, rows, cols), ink_sum (rows, cols) int32)
        Ink amounts of a rectangle, and total ink, for which plates made of dots are averaged.
    condition : PressCondition
        Inks in the order of the planes; those whose plates are made of dots are left alone.
    printed_from : tuple of int
        For each ink, the first one that is printed from the same plate.
    """

    read: Read
    condition: PressCondition
    sheet: Sheet
    printed_from: tuple[int, ...]

    @property
    def full(self) -> int:
        """Steps that make 100 %."""
        return full_scale(self.read(slice(0, 1), slice(0, 1))[0])

    @property
    def has_dots(self) -> bool:
        """Whether any plate is made of dots."""
        return any(ink.is_screened for ink in self.condition.inks)

    @property
    def plates(self) -> tuple[int, ...]:
        """The plates that may give ink, by their first ink."""
        first = (k for k, plate in enumerate(self.printed_from) if k == plate)
        return tuple(k for k in first if not self.condition.inks[k].is_screened)

    @property
    def hits(self) -> tuple[int, ...]:
        """How often each of these is printed."""
        return tuple(self.printed_from.count(k) for k in self.plates)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkOffCorrection:
    """Ink taken off a sheet; made by `ink_off_correction`.

    Parameters
    ----------
    boxes : tuple of (rows, cols)
        Rectangles outside of which no pixel changes; none lies over another.
    """

    wanted: InkOff
    tables: InkOffTables
    ground: InkOffGround
    boxes: tuple[Box, ...]

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after it; any thread may ask."""
        if not any(overlap(box, (rows, cols)) for box in self.boxes):
            return planes
        after = planes.copy(order="C")
        total = self._total(after, rows, cols)
        take_off(after, total, self.tables, rows=rows, cols=cols)
        for ink, plate in enumerate(self.ground.printed_from):
            after[ink] = after[plate]  # a plate that prints twice
        return after

    def _total(self, planes: Planes, rows: slice, cols: slice) -> NDArray[np.int32]:
        """Total ink; that of plates made of dots is as it was, whatever was done to others."""
        if not self.ground.has_dots:
            return ink_sum(planes)
        before, total = self.ground.read(rows, cols)
        dots = total - _of_plates(before, self.ground)
        return np.asarray(dots + _of_plates(planes, self.ground))


def ink_off_correction(
    wanted: InkOff, ground: InkOffGround, over: BoolArray, *, kept: BoolArray | None = None
) -> InkOffCorrection | None:
    """The correction for a sheet; None where nothing is over the limit, or no plate can give.

    Parameters
    ----------
    over : (rows, cols) ndarray of bool
        Cells of the sheet (`ink_off_near.cells_of`) in which any pixel is over the limit.
    kept : (rows, cols) ndarray of bool or None
        Cells that stay as they are, over the limit or not.
    """
    cells = cells_of(ground.sheet)
    if kept is not None:
        over = over & ~kept
    if not over.any() or not ground.plates:
        return None
    fade = wanted.fade_mm * ground.sheet.px_per_mm / cells.side
    near = weights_near(over, fade=fade)
    if kept is not None:
        near = weights_beside(near, kept, fade=fade)
    boxes = tuple(cells.boxes(near) if kept is None else cells.boxes_apart(near))
    bare = _bare_tables(wanted, ground, near, cells.side)
    shares = _shares(wanted, ground, bare, _seen(ground, bare, boxes))
    return InkOffCorrection(
        wanted=wanted,
        tables=replace(bare, shares=shares),
        ground=ground,
        boxes=boxes,
    )


def ink_off_ground(spread: "Ground", read: Read) -> InkOffGround:
    """A spread as ground, its pixels as `read` gives them."""
    return InkOffGround(
        read=read,
        condition=spread.condition,
        sheet=spread.sheet,
        printed_from=printed_from(spread),
    )


def printed_from(spread: "Ground") -> tuple[int, ...]:
    """For each ink, the first one that is printed from the same plate."""
    plates = [ink.plate or ink.name for ink in spread.book.inks]
    return tuple(plates.index(plate) for plate in plates)


def excess_table(wanted: InkOff, *, full: int, inks: int) -> NDArray[np.int32]:
    """What is taken off each total (inks * full + 1,), in steps; never too little for the limit.

    Totals that lie as far above the limit as the knee lies below come down to it exactly; between
    the two the curve is a parabola, with no kink where it begins or ends.
    """
    total = np.arange(inks * full + 1, dtype=np.int64)
    limit = steps_at_most(wanted.limit_pct, full)
    knee = wanted.knee_pct * full / 100
    into = np.clip(total - (limit - knee), 0, 2 * knee)
    after = np.where(total < limit + knee, total - into**2 / max(4 * knee, 1e-9), limit)
    return np.asarray(total - np.floor(np.minimum(after, limit) + 1e-9), dtype=np.int32)


def _bare_tables(
    wanted: InkOff, ground: InkOffGround, near: NDArray[np.uint16], side: int
) -> InkOffTables:
    """All but the shares, of which there are none yet."""
    limit, plates = steps_at_most(wanted.limit_pct, ground.full), len(ground.plates)
    return InkOffTables(
        plates=np.array(ground.plates, np.int64),
        hits=np.array(ground.hits, np.int64),
        grid=GRID[plates],
        limit=limit,
        knee=max(0, limit - steps_at_most(wanted.knee_pct, ground.full)),
        excess=excess_table(wanted, full=ground.full, inks=len(ground.printed_from)),
        near=near,
        side=side,
        shares=np.zeros((GRID[plates] ** plates, plates), np.int32),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """The mixes near the limit: nodes around them (N,), and what plates hold (I,) on average."""

    nodes: IntArray
    mean_pct: FloatArray


def _seen(ground: InkOffGround, tables: InkOffTables, boxes: Sequence[Box]) -> _Seen:
    """What lies in the boxes, looked at band by band."""
    nodes, sums = np.zeros(len(tables.shares), np.uint8), np.zeros(len(ground.printed_from))

    def part(box: Box) -> tuple[NDArray[np.uint8], IntArray]:
        planes, total = ground.read(*box)
        found = np.zeros_like(nodes)
        mark_nodes(found, planes, total, tables, rows=box[0], cols=box[1])
        return found, planes.sum(axis=(1, 2), dtype=np.int64)

    for found, more in in_order(part, bands_of(boxes)):
        nodes |= found
        sums += more
    pixels = sum((rows.stop - rows.start) * (cols.stop - cols.start) for rows, cols in boxes)
    return _Seen(nodes=np.flatnonzero(nodes), mean_pct=sums * (100 / (pixels * ground.full)))


def _shares(
    wanted: InkOff, ground: InkOffGround, tables: InkOffTables, seen: _Seen
) -> NDArray[np.int32]:
    """Shares (nodes, P) at the nodes that were seen; plates made of dots hold their mean there."""
    axes = (tables.grid,) * len(ground.plates)
    nodes = np.stack(np.unravel_index(seen.nodes, axes), axis=-1)
    tone_pct = np.asarray(nodes * (100 / (tables.grid - 1)), np.float64)
    taking = InkTaking(
        lab=lambda tones: ground.condition.lab(_mixes(tones, ground, seen.mean_pct)),
        hits=tables.hits.astype(np.float64),
        lightness_worth=wanted.lightness_worth,
    )
    over_pct = _mixes(tone_pct, ground, seen.mean_pct).sum(axis=-1) - wanted.limit_pct
    take_pct = np.minimum(np.maximum(over_pct, _LEAST_PCT), tone_pct @ taking.hits)
    taken = taking.least(tone_pct, take_pct) / np.maximum(take_pct, 1e-9)[:, None]
    shares = np.zeros_like(tables.shares)
    shares[seen.nodes] = np.rint(SHARE_ONE * taken)
    return shares


def _mixes(tone_pct: FloatArray, ground: InkOffGround, others_pct: FloatArray) -> FloatArray:
    """Mixes (..., I) of all inks: those of the plates (..., P) that give, the others as told."""
    mixes = np.broadcast_to(others_pct, (*tone_pct.shape[:-1], len(others_pct))).copy()
    for ink, plate in enumerate(ground.printed_from):
        if plate in ground.plates:
            mixes[..., ink] = tone_pct[..., ground.plates.index(plate)]
    return mixes


def _of_plates(planes: Planes, ground: InkOffGround) -> NDArray[np.int32]:
    """Total ink of the plates that give, as often as they are printed."""
    inks = [ink for ink, plate in enumerate(ground.printed_from) if plate in ground.plates]
    return ink_sum(planes[inks])
