"""What is shown of a correction, before and after: the largest light that turns dark by it, and
where most changes.

The report and the page on mended plates show the same places.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import FloatArray
from inkmix.checks.finding import Remedy
from inkmix.checks.mending.correction import ChangeMap, Correction
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.window import Box, Planes, as_planes, bands_of
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.jobs.answer import BeforeAfter
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.spread import Spread
from inkmix.plates.corrected import held
from inkmix.plates.overview import ColourOverview, factor_for
from inkmix.press.table.colouring import Colouring

WIDTH_PX, HEIGHT_PX = 320, 240
"""Size of a crop; two stand side by side on A4, one on a phone."""

_MARGIN = 1 / 4  # of a light, shown on each side of it
_SAME_PLACE = 0.5  # crops that share more show the same
_BAND_PX = 1 << 18  # drawn at once
_MOST_OF_IT = 0.5  # of a light: curves that cannot darken it change its rim at most
_SAME_TONE_DE00 = 3.0  # a light so near to a named tone is called by its name


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """Pixels that are shown, and those of a light that turns dark, where it is shown for that.

    `factor` pixels of the plates make one of the picture, along and across.
    """

    window: Box
    lost: Box | None
    factor: int = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Places of one sheet.

    Parameters
    ----------
    reduced_tone_pct : (rows, cols, I) ndarray
        Reduced plates, by which the place that changes most is found where no map was made.
    """

    spread: Spread
    colouring: Colouring
    reduced_tone_pct: FloatArray

    def crops(self, remedy: Remedy, correction: Correction) -> Iterator[Crop]:
        """About the largest light that is lost, then where most changes, if that lies elsewhere."""
        window = self._window(self._changes(remedy, correction))
        light = self._largest_lost(correction)
        if light is not None:
            yield light
        if light is None or _shared(light.window, window) <= _SAME_PLACE:
            yield Crop(window=window, lost=None)

    def before_after(
        self, crop: Crop, key: str, after: Callable[[Planes, slice, slice], Planes]
    ) -> tuple[BeforeAfter, dict[str, bytes]]:
        """A crop as it prints, without and with what `after` makes of its planes; the pictures."""
        before_srgb8, after_srgb8 = self._drawn(crop, after)
        rows, cols = crop.window
        place_of, lost = self.spread.sheet.place_of, crop.lost
        shown = BeforeAfter(
            before=f"{key}, before",
            after=f"{key}, after",
            place=place_of(rows, cols),
            lost=None if lost is None else place_of(*lost),
            lost_tone=None if lost is None else self._tone_of(before_srgb8, crop),
            factor=crop.factor,
        )
        pictures = {
            shown.before: jpeg_bytes(before_srgb8),
            shown.after: jpeg_bytes(after_srgb8),
        }
        return shown, pictures

    def _drawn(
        self, crop: Crop, after: Callable[[Planes, slice, slice], Planes]
    ) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
        """A crop before and after, band by band, for a reduced one may be most of the sheet."""
        rows, cols = crop.window
        size = {"width_px": cols.stop - cols.start, "height_px": rows.stop - rows.start}
        both = tuple(ColourOverview(**size, factor=crop.factor) for _ in range(2))
        for band, _ in bands_of([crop.window], most_px=_BAND_PX):
            planes = as_planes(self.spread.plates.read(band, cols))
            for drawn, some in zip(both, (planes, after(planes, band, cols)), strict=True):
                drawn.add(band.start - rows.start, self.colouring.srgb8(as_planes(some))[0])
        before, changed = both
        return before.srgb8(), changed.srgb8()

    def _tone_of(self, srgb8: NDArray[np.uint8], crop: Crop) -> str | None:
        """The named tone that a light is drawn in, if it is near to any: "moon"."""
        assert crop.lost is not None
        down, across = (
            slice(side.start // crop.factor, -(-side.stop // crop.factor))
            for side in _part(crop.lost, *crop.window)
        )
        lab = lab_of(srgb8[down, across]).reshape(-1, 3)
        light = lab[lab[:, 0] >= np.median(lab[:, 0])].mean(axis=0)
        spread = self.spread
        named = [(tone.name, tone.mix_pct) for tone in spread.book.tones]
        if not named:
            return None
        inks = [ink.name for ink in spread.tone_condition.inks]
        mixes = np.array([[dict(mix).get(ink, 0.0) for ink in inks] for _, mix in named])
        apart = delta_e00(spread.tone_condition.lab(mixes), light)
        nearest = int(np.argmin(apart))
        return named[nearest][0] if apart[nearest] <= _SAME_TONE_DE00 else None

    def _largest_lost(self, correction: Correction) -> Crop | None:
        """The largest light that turns dark; none where it stays light all the same."""
        if not isinstance(correction, NightCorrection) or not correction.lights.lost:
            return None
        light = correction.lights.lost_by_size[0]
        box = correction.cells.box_of(light.rows, light.cols)
        rows, cols = self._about(*(_middle(side) for side in box))
        planes = as_planes(self.spread.plates.read(rows, cols))
        changed = (self.applied(correction, planes, rows=rows, cols=cols) != planes).any(axis=0)
        part = _part(box, rows, cols)
        shade_L = lab_of(self.colouring.srgb8(as_planes(planes[:, *part]))[0])[..., 0]
        pale = shade_L >= (shade_L.min() + shade_L.max()) / 2
        is_lost = changed[part][pale].mean() > _MOST_OF_IT
        if not is_lost:
            return None
        factor = _factor_of(box)
        window = self._about(*(_middle(side) for side in box), factor=factor)
        return Crop(window=window, lost=box, factor=factor)

    def _about(self, row: int, col: int, *, factor: int = 1) -> Box:
        """A crop around a pixel, inside the sheet."""
        sheet = self.spread.sheet
        return (
            _span(row, factor * HEIGHT_PX, sheet.height_px),
            _span(col, factor * WIDTH_PX, sheet.width_px),
        )

    def applied(
        self, correction: Correction, planes: Planes, *, rows: slice, cols: slice
    ) -> Planes:
        """Planes after a correction, as the plates can hold them; both hits of a plate change."""
        after = correction.applied(planes, rows=rows, cols=cols)
        return as_planes(held(self.spread.plates, planes, after))

    def _changes(self, remedy: Remedy, correction: Correction) -> ChangeMap:
        change = remedy.change
        if change is not None and change.cells is not None:
            return change.cells
        return self._reduced_changes(correction)

    def _reduced_changes(self, correction: Correction) -> ChangeMap:
        """What a correction does to the reduced plates, which stand for the pixels."""
        sheet = self.spread.sheet
        factor = factor_for(
            sheet.width_px, sheet.height_px, longest_px=max(self.reduced_tone_pct.shape[:2])
        )
        full = self.spread.plates.full
        kind = np.uint8 if full == 255 else np.uint16
        reduced = np.rint(self.reduced_tone_pct * full / 100).astype(kind)
        planes = as_planes(np.moveaxis(reduced, -1, 0))
        after = planes.copy()
        middles = np.minimum(np.arange(planes.shape[2]) * factor + factor // 2, sheet.width_px - 1)
        for row in range(planes.shape[1]):
            at = min(row * factor + factor // 2, sheet.height_px - 1)
            line = as_planes(planes[:, row : row + 1].repeat(factor, 2)[:, :, : sheet.width_px])
            across = slice(0, sheet.width_px)
            changed = self.applied(correction, line, rows=slice(at, at + 1), cols=across)
            after[:, row] = changed[:, 0, middles]
        de00 = self._change(planes, after)
        return ChangeMap(de00=de00, row=0, col=0, side=factor)

    def _change(self, before: Planes, after: Planes) -> NDArray[np.float32]:
        """dE00 (rows, cols) between planes (I, rows, cols)."""
        de00 = np.zeros(before.shape[1:], np.float32)
        changed = (before != after).any(axis=0)
        if changed.any():
            labs = (
                lab_of(self.colouring.srgb8(as_planes(some[:, changed]))[0])
                for some in (before, after)
            )
            de00[changed] = delta_e00(*labs)
        return de00

    def _window(self, changes: ChangeMap) -> Box:
        """The crop over which the colour changes most; the first of equals."""
        down, across = (max(1, side // changes.side) for side in (HEIGHT_PX, WIDTH_PX))
        down, across = (min(a, b) for a, b in zip((down, across), changes.de00.shape, strict=True))
        sums = np.pad(changes.de00.astype(np.float64), ((1, 0), (1, 0))).cumsum(0).cumsum(1)
        over = (
            sums[down:, across:] - sums[:-down, across:]
            - sums[down:, :-across] + sums[:-down, :-across]
        )  # fmt: skip
        row, col = np.unravel_index(int(np.argmax(np.round(over, 6))), over.shape)
        return self._about(
            changes.row + int((row + down / 2) * changes.side),
            changes.col + int((col + across / 2) * changes.side),
        )


def lab_of(srgb8: NDArray[np.uint8]) -> FloatArray:
    """Lab of screen colours (..., 3)."""
    return xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255))


def _factor_of(light: Box) -> int:
    """By how much a crop is reduced to show a light that is larger, with what lies around it.

    A light that fits in is shown pixel by pixel, even if little of its margin does.
    """
    sides = [side.stop - side.start for side in light]
    if all(side <= most for side, most in zip(sides, (HEIGHT_PX, WIDTH_PX), strict=True)):
        return 1
    height, width = (math.ceil(side * (1 + 2 * _MARGIN)) for side in sides)
    return int(max(-(-height // HEIGHT_PX), -(-width // WIDTH_PX)))


def _shared(one: Box, other: Box) -> float:
    """Share of a rectangle that lies in another, 0-1."""
    shares = (
        max(0, min(a.stop, b.stop) - max(a.start, b.start)) / (a.stop - a.start)
        for a, b in zip(one, other, strict=True)
    )
    return float(np.prod(list(shares)))


def _part(box: Box, rows: slice, cols: slice) -> Box:
    """The part of a box that lies in a window, which holds some of it, by its place there."""
    down, across = (
        slice(max(0, side.start - of.start), max(1, side.stop - of.start))
        for side, of in zip(box, (rows, cols), strict=True)
    )
    return down, across


def _middle(side: slice) -> int:
    return int(side.start + side.stop) // 2


def _span(middle: int, length: int, limit: int) -> slice:
    length = min(length, limit)
    start = min(max(0, middle - length // 2), limit - length)
    return slice(start, start + length)
