"""A night made dark enough: tone curves on the plates that darken best, lights left as they are.

What must be dark comes down to what is wanted and not further: each lightness is changed as far as
it needs, so that what is dark enough stays and nothing becomes darker than what was darker before.
The correction fades out over the border of the area. All is decided on cells and a sample of
pixels; whether it holds is counted on all pixels by whoever asks.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray
from inkmix.checks.mending.acting import Acting
from inkmix.checks.mending.cells import Cells
from inkmix.checks.mending.curve import WEIGHT_ONE, Lift, ToneCurve
from inkmix.checks.mending.darkening import Darkened, Darkening
from inkmix.checks.mending.lights import Lights
from inkmix.checks.mending.recipe import NightRecipe, Unfit, Wanted
from inkmix.checks.mending.search import Looked
from inkmix.checks.mending.view import AreaSource, AreaView
from inkmix.checks.window import Box, Planes, as_planes, bands_of, overlap
from inkmix.press.table.lookup import LIGHTNESS_SCALE

_DARK_L = 60.0  # a paler solid does not deepen night
_PLATES = 3
_BAND_PX = 1 << 17  # at once: what is reckoned for them stays in the cache


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightCorrection:
    """Curves that act by weight.

    Parameters
    ----------
    recipe : NightRecipe
        What is kept of it, to be made anew on other plates.
    lift : Lift
        Its curves.
    acting : Acting
        How strongly they act on each pixel.
    source : AreaSource
        Tells the lightness of pixels and where the area is.
    fade_px : float or None
        Over so many pixels it fades out where the drawing goes on over the border; None where it
        does nowhere.
    most_added_pct : tuple of float
        Points of ink that each of its curves adds at most.
    lights : Lights
        What stays and what had to go.
    texture : float
        Local spread of L* that stays, of what there was; 1 where there was none.
    """

    recipe: NightRecipe
    lift: Lift
    acting: Acting
    source: AreaSource
    fade_px: float | None
    most_added_pct: tuple[float, ...]
    lights: Lights
    texture: float

    @property
    def curves(self) -> tuple[ToneCurve, ...]:
        """One for each plate that changes."""
        return self.recipe.curves

    @property
    def cells(self) -> Cells:
        """The rectangle outside of which nothing changes, and its cells."""
        return self.acting.cells

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after it; any thread may ask."""
        whole = self.cells.rows, self.cells.cols
        if not overlap((rows, cols), whole) or self.acting.is_idle(rows, cols):
            return planes
        is_deep, after = _deep(self.source, whole, rows, cols), planes
        for band, _ in bands_of([(rows, cols)], most_px=_BAND_PX):
            part = slice(band.start - rows.start, band.stop - rows.start)
            some = as_planes(planes[:, part])
            weights = self._weights(some, is_deep[part], band, cols)
            if weights.any():
                after = planes.copy() if after is planes else after
                after[:, part] = self.lift.after(some, weights)
        return after

    def _weights(
        self, planes: Planes, is_deep: BoolArray, rows: slice, cols: slice
    ) -> NDArray[np.int32]:
        pixel_L = self.source.lightness(planes).astype(np.float32) / np.float32(LIGHTNESS_SCALE)
        acting = self.acting.at_pixels(pixel_L, is_deep, rows, cols)
        weights: NDArray[np.int32] = np.rint(WEIGHT_ONE * acting).astype(np.int32)
        return weights


def _deep(source: AreaSource, whole: Box, rows: slice, cols: slice) -> BoolArray:
    """Pixels of a window that lie in the area with all beside them; beyond `whole` it goes on."""
    window = zip((rows, cols), whole, strict=True)
    wider = [(max(a.start - 1, b.start), min(a.stop + 1, b.stop)) for a, b in window]
    mask = source.mask(*(slice(*side) for side in wider))
    missing = [
        (low - side.start + 1, side.stop + 1 - high)
        for (low, high), side in zip(wider, (rows, cols), strict=True)
    ]
    mask = np.pad(mask, missing, mode="edge")
    beside = mask[:-2, 1:-1] & mask[2:, 1:-1] & mask[1:-1, :-2] & mask[1:-1, 2:]
    return np.asarray(beside & mask[1:-1, 1:-1])


def darkest(plates: Sequence[tuple[int, str, float]]) -> list[tuple[int, str]]:
    """Number and name of those whose solid deepens night, the darkest first.

    Parameters
    ----------
    plates : sequence of (int, str, float)
        Number, name and L* of the solid of each plate that may be changed.
    """
    dark = sorted((one for one in plates if one[2] < _DARK_L), key=lambda one: (one[2], one[0]))
    return [(number, name) for number, name, _ in dark[:_PLATES]]


def night_correction(
    view: AreaView,
    wanted: Wanted,
    look: Looked,
    *,
    plates: Sequence[tuple[int, str, float]],
    px_per_mm: float,
) -> NightCorrection | None:
    """The gentlest curves that darken an area, or None where not even solids could.

    Parameters
    ----------
    plates : sequence of (int, str, float)
        Number, name and L* of the solid of each plate that may be changed.
    """
    numbered = darkest(plates)
    if not numbered or not view.inside.any():
        return None
    darkening = Darkening(view, wanted, look, numbered, px_per_mm)
    return _made(view, wanted, darkening.darkened()) if darkening.can_be_dark() else None


def correction_again(
    recipe: NightRecipe,
    view: AreaView,
    look: Looked,
    *,
    plates: Sequence[tuple[int, str]],
    px_per_mm: float,
) -> NightCorrection | Unfit:
    """A recipe on plates as they are now: its curves, with lights and fading found anew.

    On the plates that it was made for this is the same correction. Whether the night is dark
    enough then is to be counted.

    Parameters
    ----------
    plates : sequence of (int, str)
        Number and name of each plate that may be changed.
    """
    numbers = {name: number for number, name in plates}
    missing = tuple(curve.plate for curve in recipe.curves if curve.plate not in numbers)
    if missing or not view.inside.any():
        return Unfit(area=recipe.area, plates=missing, is_empty=not view.inside.any())
    told = [(numbers[curve.plate], curve.plate) for curve in recipe.curves]
    darkening = Darkening(view, recipe.wanted, look, told, px_per_mm)
    return _made(view, recipe.wanted, darkening.again(recipe))


def _made(view: AreaView, wanted: Wanted, darkened: Darkened) -> NightCorrection:
    gentlest = darkened.gentlest
    lift, most_added_pct = _without_idle(gentlest.lift, gentlest.most_added_pct)
    return NightCorrection(
        recipe=NightRecipe(
            wanted=wanted, curves=tuple(lift.curves), lights_pct=darkened.lights_pct
        ),
        lift=lift,
        acting=gentlest.acting,
        source=view.source,
        fade_px=gentlest.fade_px,
        most_added_pct=most_added_pct,
        lights=darkened.lights,
        texture=gentlest.texture,
    )


def _without_idle(lift: Lift, most_added_pct: Sequence[float]) -> tuple[Lift, tuple[float, ...]]:
    """The curves that add any ink, and how much at most."""
    used = [k for k, pct in enumerate(most_added_pct) if pct > 0]
    left = Lift(curves=[lift.curves[k] for k in used], numbers=[lift.numbers[k] for k in used])
    return left, tuple(most_added_pct[k] for k in used)
