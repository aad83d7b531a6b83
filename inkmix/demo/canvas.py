"""The canvas: one upright slice of the strip with its five plates, painted in millimetres.

A slice knows where it lies on the whole strip, and everything painted is a function of that place,
so slices meet without a seam and memory stays that of one slice. No subject is drawn here.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.tones import CLEAN_LIMIT_PCT, INKS, Mix, mix_pct
from inkmix.sheet.geometry import MM_PER_INCH, Sheet, panels_in_a_row

PANELS = 8
PANEL_MM = (110.0, 150.0)
BLEED_MM = 3.0
FINE_PPI = 300.0  # up to here a slice is a panel; keeps a slice below about 3 Mpx
KNEE = 2.1  # total ink, 1 = 100 %, up to which nothing is held back

Plane = NDArray[np.float32]
Polygon = NDArray[np.float64]


def strip_sheet(ppi: float) -> Sheet:
    """The whole strip at one resolution, bleed included."""
    width_mm, height_mm = PANELS * PANEL_MM[0], PANEL_MM[1]
    return Sheet(
        width_px=round((width_mm + 2 * BLEED_MM) * ppi / MM_PER_INCH),
        height_px=round((height_mm + 2 * BLEED_MM) * ppi / MM_PER_INCH),
        ppi=ppi,
        bleed_mm=BLEED_MM,
        panels=panels_in_a_row(PANELS, width_mm=PANEL_MM[0], height_mm=PANEL_MM[1]),
    )


@dataclass(frozen=True)
class Tile:
    """An upright slice of the strip: columns start .. start + cols of the plates."""

    start: int
    rows: int
    cols: int
    px_per_mm: float

    @cached_property
    def x(self) -> Plane:
        """(1, cols) mm from the trim's left edge, at pixel centres."""
        columns = np.arange(self.start, self.start + self.cols)[None, :]
        return ((columns + 0.5) / self.px_per_mm - BLEED_MM).astype(np.float32)

    @cached_property
    def y(self) -> Plane:
        """(rows, 1) mm from the trim's top edge, at pixel centres."""
        rows = np.arange(self.rows)[:, None]
        return ((rows + 0.5) / self.px_per_mm - BLEED_MM).astype(np.float32)

    def to_px(self, points_mm: NDArray[Any]) -> NDArray[np.float64]:
        """(..., 2) x and y in mm to columns and rows of this slice."""
        pixels = (np.asarray(points_mm, dtype=np.float64) + BLEED_MM) * self.px_per_mm
        pixels[..., 0] -= self.start
        return pixels


def tiles_of(sheet: Sheet) -> Iterator[Tile]:
    """The strip cut into slices from left to right: one a panel, more above FINE_PPI."""
    slices = PANELS * int(np.ceil(sheet.ppi / FINE_PPI))
    edges = np.linspace(0, sheet.width_px, slices + 1).round().astype(int)
    for start, stop in pairwise(edges):
        yield Tile(
            start=int(start),
            rows=sheet.height_px,
            cols=int(stop - start),
            px_per_mm=sheet.px_per_mm,
        )


@dataclass(frozen=True)
class Stamp:
    """A shape with soft or dry edges: how much of it lies on each pixel of a window, 0-1."""

    rows: slice
    cols: slice
    alpha: Plane


def overlap(first: Stamp, second: Stamp) -> Stamp:
    """The part of the first stamp that lies on the second as well."""
    rows, cols = (
        slice(max(a.start, b.start), max(min(a.stop, b.stop), max(a.start, b.start)))
        for a, b in ((first.rows, second.rows), (first.cols, second.cols))
    )
    parts = [
        stamp.alpha[
            rows.start - stamp.rows.start : rows.stop - stamp.rows.start,
            cols.start - stamp.cols.start : cols.stop - stamp.cols.start,
        ]
        for stamp in (first, second)
    ]
    return Stamp(rows, cols, parts[0] * parts[1])


@dataclass
class Canvas:
    """Five plates being painted, and what is still untouched night.

    `planes` is (5, rows, cols) in 0-1, lay-down order; `untouched` (rows, cols) in 0-1 falls where
    anything but shading has been put over the ground.
    """

    tile: Tile
    planes: Plane = field(init=False)
    untouched: Plane = field(init=False)

    def __post_init__(self) -> None:
        shape = (self.tile.rows, self.tile.cols)
        self.planes = np.zeros((len(INKS), *shape), dtype=np.float32)
        self.untouched = np.ones(shape, dtype=np.float32)

    def lay(self, mix: Mix, stamp: Stamp) -> None:
        """Paint opaquely: the mix replaces what lies under the stamp on all plates."""
        self.shade(mix, stamp)
        self.untouched[stamp.rows, stamp.cols] *= 1 - stamp.alpha

    def shade(self, mix: Mix, stamp: Stamp) -> None:
        """Paint opaquely with something that is night itself: masks do not mind."""
        for plane, tone_pct in zip(self.planes, mix_pct(mix), strict=True):
            window = plane[stamp.rows, stamp.cols]
            window += (np.float32(tone_pct / 100) - window) * stamp.alpha

    def glaze(self, mix: Mix, stamp: Stamp) -> None:
        """Overprint: the inks of the mix come on top, the other plates stay."""
        for plane, tone_pct in zip(self.planes, mix_pct(mix), strict=True):
            if tone_pct > 0:
                window = plane[stamp.rows, stamp.cols]
                window += (1 - window) * (stamp.alpha * np.float32(tone_pct / 100))
        self.untouched[stamp.rows, stamp.cols] *= 1 - stamp.alpha

    def lift(self, amounts: Mix, stamp: Stamp) -> None:
        """Wash ink away: each named plate loses that % of what it holds under the stamp."""
        for plane, lost_pct in zip(self.planes, mix_pct(amounts), strict=True):
            if lost_pct > 0:
                plane[stamp.rows, stamp.cols] *= 1 - stamp.alpha * np.float32(lost_pct / 100)
        self.untouched[stamp.rows, stamp.cols] *= 1 - stamp.alpha


def hold_back(planes: Plane) -> None:
    """Bend total ink (in place) so that it nears the clean limit without a visible edge."""
    total = planes.sum(axis=0)
    room = CLEAN_LIMIT_PCT / 100 - KNEE
    over = np.maximum(total - KNEE, 0)
    bent = np.minimum(total, KNEE) + room * over / (over + room)
    planes *= bent / np.maximum(total, 1e-6)
