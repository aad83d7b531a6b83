"""The search for what darkens one night: lights that stay, curves for the rest, how they act.

Where too much stays too light, curves are found for more of it; then fewer lights stay.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.checks.mending.cells import wider
from inkmix.checks.mending.curve import Lift, ToneCurve
from inkmix.checks.mending.gentlest import Gentlest, Night
from inkmix.checks.mending.lights import Lights, find_lights, sky_of
from inkmix.checks.mending.recipe import NightRecipe, Wanted
from inkmix.checks.mending.search import Looked, NightGoal, Sample, find_curves
from inkmix.checks.mending.view import AreaView
from inkmix.checks.window import as_planes, full_scale
from inkmix.press.table.lookup import LIGHTNESS_SCALE

_FOR_LIGHTS = 0.8  # of what may stay light; the rest is for what fades
_TRIES = 4  # with fewer lights each time, and none in the end
_FEWER = 1.2  # times what there was too much of
_STRAYS = (0.5, 0.2)  # of what is left beside lights: pixels that no curve need reach
_SAMPLED = 40  # squares
_SAMPLED_CELLS = 4096
_SURE = 0.97  # of the room, since a sample tells it to some hundredths


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Darkened:
    """What was found: lights, for which `lights_pct` of the room was kept, and how curves act."""

    lights: Lights
    lights_pct: float
    gentlest: Gentlest


class Darkening:
    """The search in one area; `plates` are those that may change, the darkest first."""

    def __init__(
        self,
        view: AreaView,
        wanted: Wanted,
        look: Looked,
        plates: Sequence[tuple[int, str]],
        px_per_mm: float,
    ) -> None:
        self._view, self._wanted, self._look, self._plates = view, wanted, look, plates
        self._pixels = int(view.inside_px.sum())
        self._room_px = math.floor((100 - wanted.share_pct) / 100 * self._pixels)
        self._night = Night(view, look, lightest_L=wanted.lightest_L, px_per_mm=px_per_mm)

    def can_be_dark(self) -> bool:
        """Whether enough of the area would be if these plates were solid all over it."""
        view = self._view
        planes = view.planes[:, view.inside]
        planes[[number for number, _ in self._plates]] = full_scale(planes)
        is_pale = self._look(as_planes(planes))[1] > self._wanted.limit_L * LIGHTNESS_SCALE
        return int(view.inside_px[view.inside][is_pale].sum()) <= self._room_px

    def darkened(self) -> Darkened:
        """With curves that are searched for."""

        def found(lights: Lights, stray: float) -> tuple[ToneCurve, ...]:
            sample, goal = self._sample(lights), self._goal(lights, stray)
            return find_curves(sample, goal, self._look, plates=self._plates).curves

        return self._with_fewer_lights(_FOR_LIGHTS, found)

    def again(self, recipe: NightRecipe) -> Darkened:
        """With curves as told, and no more lights than they were made for."""
        return self._with_fewer_lights(recipe.lights_pct / 100, lambda *_: recipe.curves)

    def _with_fewer_lights(
        self, part: float, curves: Callable[[Lights, float], tuple[ToneCurve, ...]]
    ) -> Darkened:
        """Lights in so much of the room, and in less where too much stays light beside them."""
        for tried in range(_TRIES):
            lights = self._lights(round(part * self._room_px))
            for stray in _STRAYS:
                gentlest = self._gentlest(curves(lights, stray), lights)
                too_many = gentlest.light_px - _SURE * self._room_px
                darkened = Darkened(lights=lights, lights_pct=100 * part, gentlest=gentlest)
                if too_many <= 0:
                    return darkened
            if not lights.kept:
                break
            left_px = sum(light.pixels for light in lights.kept) - _FEWER * too_many
            part = 0.0 if tried == _TRIES - 2 else max(0.0, left_px / self._room_px)
        return darkened

    @cached_property
    def _sky(self) -> tuple[FloatArray, float]:
        return sky_of(self._view.peak_L, self._view.inside)

    def _lights(self, room_px: int) -> Lights:
        view = self._view
        return find_lights(view.peak_L, view.inside, view.over_px, sky=self._sky, room_px=room_px)

    def _gentlest(self, curves: tuple[ToneCurve, ...], lights: Lights) -> Gentlest:
        by_name = {name: number for number, name in self._plates}
        lift = Lift(curves=curves, numbers=tuple(by_name[curve.plate] for curve in curves))
        return self._night.gentlest(
            lift,
            lights,
            room_px=_SURE * self._room_px,
            stray=self._spare_px(lights) / max(1, self._pixels),
        )

    def _spare_px(self, lights: Lights) -> int:
        return max(0, self._room_px - sum(light.pixels for light in lights.kept))

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
        dark = np.flatnonzero(~view.tiles_near(lights.cells))
        if len(dark) >= _SAMPLED // 8:
            some = _spread(dark[np.argsort(self._tile_L[dark], kind="stable")], _SAMPLED)
            tiles = as_planes(view.tiles[:, some].reshape(len(flat), -1))
            return Sample(planes=tiles, textured=~view.tiles_near(lights.going_cells)[some])
        cells = np.flatnonzero((view.inside & ~wider(lights.cells, 2)).ravel())
        cells = _spread(cells if len(cells) else np.flatnonzero(view.inside), _SAMPLED_CELLS)
        return Sample(planes=as_planes(flat[:, cells]), textured=np.ones(len(cells), np.bool_))

    @cached_property
    def _tile_L(self) -> FloatArray:
        """L* of the lightest pixel of each square: by it, the palest is in every sample."""
        tiles = self._view.tiles
        level = self._look(as_planes(tiles.reshape(len(tiles), -1)))[1].reshape(tiles.shape[1:])
        return np.asarray(level.max(axis=1, initial=0) / LIGHTNESS_SCALE)


def _spread(numbers: IntArray, most: int) -> IntArray:
    """So many numbers at most, evenly spread among them."""
    at = np.linspace(0, len(numbers) - 1, min(len(numbers), most)).astype(np.int64)
    return numbers[at]
