"""A night made dark enough: tone curves on the plates that darken best, lights left as they are.

What must be dark comes down to what is wanted and not further: each place is changed as far as it
needs, so that what is dark enough stays. The correction fades out over the border of the area and
around its lights. All is decided on cells and a sample of pixels; whether it
holds is counted on all pixels by whoever asks.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.checks.mending.cells import Cells
from inkmix.checks.mending.curve import ToneCurve
from inkmix.checks.mending.fading import (
    Border,
    Fading,
    faded,
    weights_beside_lights,
    weights_by_need,
)
from inkmix.checks.mending.lights import Lights, find_lights, sky_of
from inkmix.checks.mending.recipe import NightRecipe, Unfit, Wanted
from inkmix.checks.mending.search import (
    Found,
    Looked,
    NightGoal,
    Outcome,
    Sample,
    find_curves,
    told_curves,
)
from inkmix.checks.mending.view import AreaView
from inkmix.checks.window import Planes, as_planes, full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.table.lookup import LIGHTNESS_SCALE

BORDER_MM = 1.5
LIGHTS_MM = 0.5
"""Least distances over which a correction fades."""

_DARK_L = 60.0  # a paler solid does not deepen night
_PLATES = 3
_PX_A_UNIT = 2.2  # of fading for one unit of change: steps between pixels stay below 1
_LIGHTS_PX = 4.0
_FOR_LIGHTS = 0.8  # of what may stay light; the rest is for what fades
_TRIES = 4  # with fewer lights each time, and none in the end
_FEWER = 1.2  # times what there was too much of
_STRAYS = (0.5, 0.2)  # of what is left beside lights: pixels that no curve need reach
_REACH = 0.6  # of the border's distance: over so much weights follow what places need
_OUTSIDE = (0.0, 0.25, 0.5, 0.75, 1.0)
_SAMPLED = 40  # squares
_HALVINGS = 5  # of the weights among which the least is looked for, full weight first
_NO_SPREAD_L = 1e-3
_SURE = 0.97  # of the room, since cells tell it to some hundredths


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightCorrection:
    """Curves that act by weight.

    Parameters
    ----------
    recipe : NightRecipe
        What is kept of it, to be made anew on other plates.
    numbers : tuple of int
        Of the plates of its curves.
    weights : (rows, cols) ndarray of float32
        Of each cell, 0-1.
    fading : Fading
    lights : Lights
        What stays and what had to go.
    outcome : Outcome
        What the curves do to the sample; `texture` is that of the area.
    """

    recipe: NightRecipe
    numbers: tuple[int, ...]
    cells: Cells
    weights: NDArray[np.float32]
    fading: Fading
    lights: Lights
    outcome: Outcome

    @property
    def curves(self) -> tuple[ToneCurve, ...]:
        """One for each plate that changes."""
        return self.recipe.curves

    def applied(self, planes: Planes, *, rows: slice, cols: slice) -> Planes:
        """The planes (I, rows, cols) of a window after it; any thread may ask."""
        weights = faded(self.cells, self.weights, rows, cols)
        if weights is None:
            return planes
        return _lifted_all(planes, self.curves, self.numbers, weights)


def _lifted_all(
    planes: Planes,
    curves: Sequence[ToneCurve],
    numbers: Sequence[int],
    weights: NDArray[np.int32],
) -> Planes:
    after = planes.copy()
    for number, curve in zip(numbers, curves, strict=True):
        after[number] = lifted(planes[number], curve, weights)
    return after


def lifted(plane: Planes, curve: ToneCurve, weights: NDArray[np.int32]) -> Planes:
    """A plane after a curve that acts by weights of 256 steps."""
    steps = curve.steps(full_scale(plane))
    more = steps - np.arange(len(steps), dtype=np.int32)
    added: NDArray[np.int32] = np.right_shift(more[plane] * weights + 128, 8)
    return as_planes(plane + added.astype(plane.dtype))


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
    dark = sorted((one for one in plates if one[2] < _DARK_L), key=lambda one: (one[2], one[0]))
    numbered = [(number, name) for number, name, _ in dark[:_PLATES]]
    if not numbered or not view.inside.any():
        return None
    night = _Night(view, wanted, look, numbered, px_per_mm)
    return night.correction() if night.can_be_dark() else None


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
    return _Night(view, recipe.wanted, look, told, px_per_mm).again(recipe)


def _near(cells: BoolArray) -> BoolArray:
    """Cells and those beside them."""
    from scipy.ndimage import binary_dilation

    if not cells.any():
        return cells
    return np.asarray(binary_dilation(cells, np.ones((3, 3)), iterations=2))


class _Night:
    def __init__(
        self,
        view: AreaView,
        wanted: Wanted,
        look: Looked,
        plates: Sequence[tuple[int, str]],
        px_per_mm: float,
    ) -> None:
        self._view, self._wanted, self._look, self._plates = view, wanted, look, plates
        self._px_per_mm = px_per_mm
        self._pixels = int(view.inside_px.sum())
        self._room_px = math.floor((100 - wanted.share_pct) / 100 * self._pixels)

    def can_be_dark(self) -> bool:
        """Whether enough of the area would be if these plates were solid all over it."""
        view = self._view
        planes = view.planes[:, view.inside]
        planes[[number for number, _ in self._plates]] = full_scale(planes)
        is_pale = self._look(as_planes(planes))[1] > self._wanted.limit_L * LIGHTNESS_SCALE
        return int(view.inside_px[view.inside][is_pale].sum()) <= self._room_px

    def correction(self) -> NightCorrection:
        """Lights, then curves for the rest, then how it fades; fewer lights where that must be."""
        return self._with_fewer_lights(_FOR_LIGHTS, self._curves)

    def again(self, recipe: NightRecipe) -> NightCorrection:
        """Curves as told; no more lights than they were made for, fewer where that must be."""

        def told(lights: Lights, stray: float) -> Found:
            goal, sample = self._goal(lights, stray), self._sample(lights)
            return told_curves(sample, goal, self._look, plates=self._plates, curves=recipe.curves)

        return self._with_fewer_lights(recipe.lights_pct / 100, told)

    def _with_fewer_lights(
        self, part: float, curves: Callable[[Lights, float], Found]
    ) -> NightCorrection:
        for tried in range(_TRIES):
            lights = self._lights(round(part * self._room_px))
            for stray in _STRAYS:
                found = curves(lights, stray)
                made, light_px = self._fading_best(found, lights, lights_pct=100 * part)
                too_many = light_px - _SURE * self._room_px
                if too_many <= 0:
                    return made
            if not lights.kept:
                break
            left_px = sum(light.pixels for light in lights.kept) - _FEWER * too_many
            part = 0.0 if tried == _TRIES - 2 else max(0.0, left_px / self._room_px)
        return made

    def _lights(self, room_px: int) -> Lights:
        view = self._view
        return find_lights(view.peak_L, view.inside, view.over_px, sky=self._sky, room_px=room_px)

    @cached_property
    def _sky(self) -> tuple[FloatArray, float]:
        return sky_of(self._view.peak_L, self._view.inside)

    def _spare_px(self, lights: Lights) -> int:
        return max(0, self._room_px - sum(light.pixels for light in lights.kept))

    def _fading_best(
        self, found: Found, lights: Lights, *, lights_pct: float
    ) -> tuple[NightCorrection, int]:
        """The correction that acts and reaches out least, of those that leave few enough light."""
        room_px = _SURE * self._room_px
        stray = self._spare_px(lights) / max(1, self._pixels)
        least: tuple[int, NDArray[np.float32], Fading] | None = None
        need = self._weights_needed(found)
        border_px = max(BORDER_MM * self._px_per_mm, _PX_A_UNIT * found.outcome.change)
        around = max(LIGHTS_MM * self._px_per_mm, _LIGHTS_PX)
        for part, lights_px in ((0.5, around), (0.1, around), (0.1, around / 2), (0.0, 0.5)):
            fading = Fading(border_px=border_px, outside=0.0, lights_px=lights_px)
            acting = self._acting(lights, need, fading, stray=part * stray)
            for outside in (_OUTSIDE[-1], *_OUTSIDE[:-1]):
                fading = replace(fading, outside=outside)
                weights = (self._border.weights(fading, need.shape) * acting).astype(np.float32)
                light_px = self._light_px(weights, need, lights)
                if least is None or light_px < least[0] or light_px <= room_px:
                    least = light_px, weights, fading
                if outside == _OUTSIDE[-1]:
                    if light_px > room_px:
                        break  # reaching out less leaves more light
                elif light_px <= room_px:
                    break
            assert least is not None
            if least[0] <= room_px:
                break
        assert least is not None
        return self._made(found, lights, least[2], least[1], lights_pct), least[0]

    def _acting(
        self, lights: Lights, need: FloatArray, fading: Fading, *, stray: float
    ) -> FloatArray:
        """Weights by what each place needs and by how near lights are."""
        view = self._view
        beside = weights_beside_lights(lights.cells, self._border, fading, view.cells.factor)
        local = weights_by_need(
            need,
            view.inside & (beside == 1),
            stray=stray,
            reach_px=_REACH * fading.border_px,
            factor=view.cells.factor,
        )
        return beside * local

    def _light_px(self, weights: NDArray[np.float32], need: FloatArray, lights: Lights) -> int:
        """Pixels that stay too light, lights among them."""
        view = self._view
        is_light = (weights < need) & ~lights.cells
        return int(view.inside_px[is_light].sum() + view.over_px[lights.cells].sum())

    @cached_property
    def _border(self) -> Border:
        view = self._view
        heights, widths = (
            np.diff(
                np.append(
                    np.arange(0, side.stop - side.start, view.cells.factor), side.stop - side.start
                )
            )
            for side in (view.cells.rows, view.cells.cols)
        )
        whole = view.inside_px == heights[:, None] * widths
        lab = self._lab(view.planes)
        return Border(whole, view.inside, lab, factor=view.cells.factor)

    def _lab(self, planes: Planes) -> FloatArray:
        srgb8, _ = self._look(as_planes(planes.reshape(len(planes), -1)))
        lab = xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255))
        return lab.reshape(*planes.shape[1:], 3)

    def _weights_needed(self, found: Found) -> FloatArray:
        """Least weight (rows, cols) at which each cell is dark enough; above 1 where none is."""
        view = self._view
        cells = np.flatnonzero(view.inside.ravel())
        planes = as_planes(view.planes.reshape(len(view.planes), -1)[:, cells])
        limit = int(self._wanted.lightest_L * LIGHTNESS_SCALE)
        need = np.where(self._look(planes)[1] <= limit, 0.0, 2.0)
        pale = np.flatnonzero(need)
        some = as_planes(planes[:, pale])
        low, high = np.zeros(len(pale), np.int32), np.full(len(pale), 256, np.int32)
        tried = high
        for _ in range(_HALVINGS):
            after = _lifted_all(some, found.curves, self._numbers(found), tried)
            is_dark = self._look(after)[1] <= limit
            high, low = np.where(is_dark, tried, high), np.where(is_dark, low, tried)
            tried = (low + high) // 2
        need[pale] = np.where(low < 256, high / 256, 2.0)
        whole = np.zeros(view.inside.size)
        whole[cells] = need
        return whole.reshape(view.inside.shape)

    def _curves(self, lights: Lights, stray: float) -> Found:
        sample, goal = self._sample(lights), self._goal(lights, stray)
        return find_curves(sample, goal, self._look, plates=self._plates)

    def _goal(self, lights: Lights, stray: float) -> NightGoal:
        rest_px = max(1, self._pixels - sum(light.pixels for light in lights.kept))
        return NightGoal(
            lightest_L=self._wanted.lightest_L,
            share=1 - stray * self._spare_px(lights) / rest_px,
            ink_limit_pct=self._wanted.ink_limit_pct,
        )

    def _sample(self, lights: Lights) -> Sample:
        """Squares without a light that stays, or cells where the area is too thin for squares."""
        view, flat = self._view, self._view.planes.reshape(len(self._view.planes), -1)
        near, going = _near(lights.cells), _near(lights.going_cells)
        at = tuple(view.tile_cells.T)
        dark = np.flatnonzero(~near[at])
        if len(dark) >= _SAMPLED // 8:
            some = dark[np.linspace(0, len(dark) - 1, min(len(dark), _SAMPLED)).astype(np.int64)]
            tiles = as_planes(view.tiles[:, some].reshape(len(flat), -1))
            return Sample(planes=tiles, textured=~going[at][some])
        cells = np.flatnonzero((view.inside & ~near).ravel())
        if not len(cells):
            cells = np.flatnonzero(view.inside.ravel())
        cells = cells[np.linspace(0, len(cells) - 1, min(len(cells), 4096)).astype(np.int64)]
        return Sample(planes=as_planes(flat[:, cells]), textured=np.ones(len(cells), np.bool_))

    def _numbers(self, found: Found) -> tuple[int, ...]:
        by_name = {name: number for number, name in self._plates}
        return tuple(by_name[curve.plate] for curve in found.curves)

    def _made(
        self,
        found: Found,
        lights: Lights,
        fading: Fading,
        weights: NDArray[np.float32],
        lights_pct: float,
    ) -> NightCorrection:
        return NightCorrection(
            recipe=NightRecipe(wanted=self._wanted, curves=found.curves, lights_pct=lights_pct),
            numbers=self._numbers(found),
            cells=self._view.cells,
            weights=weights,
            fading=fading,
            lights=lights,
            outcome=replace(found.outcome, texture=self._texture(found, lights, weights)),
        )

    def _texture(self, found: Found, lights: Lights, weights: NDArray[np.float32]) -> float:
        """Local spread of L* that stays where no light is, by what acts on each square."""
        view = self._view
        at = tuple(view.tile_cells.T)
        some = np.flatnonzero(~(_near(lights.cells) | _near(lights.going_cells))[at])
        tiles, acting = view.tiles[:, some], np.rint(256 * weights[at][some]).astype(np.int32)
        if not len(some):
            return found.outcome.texture
        acted = np.repeat(acting, tiles.shape[2])
        before = as_planes(tiles.reshape(len(tiles), -1))
        after = _lifted_all(before, found.curves, self._numbers(found), acted)
        spreads = [
            (self._look(planes)[1] / LIGHTNESS_SCALE).reshape(len(some), -1).std(axis=1).sum()
            for planes in (before, after)
        ]
        return float(spreads[1] / spreads[0]) if spreads[0] > _NO_SPREAD_L * len(some) else 1.0
