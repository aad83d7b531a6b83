"""How curves that are given act on a night most gently: it passes, and the picture stays.

What was lighter than something else stays lighter, by a share of the difference: the share at which
texture and what is drawn at large stay as well as they can without darkening much.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.checks.mending.acting import Acting, glow_of
from inkmix.checks.mending.curve import WEIGHT_ONE, Lift
from inkmix.checks.mending.evened import Evened, evened
from inkmix.checks.mending.fading import Border, Fading, beside_border
from inkmix.checks.mending.lights import Lights
from inkmix.checks.mending.search import LEAST_SPREAD_L, Looked
from inkmix.checks.mending.strength import NEEDS, Strengths, Wants
from inkmix.checks.mending.view import AreaView
from inkmix.checks.window import Planes, as_planes, full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.table.lookup import LIGHTNESS_SCALE

BORDER_MM = 1.5
"""Least distance over which a correction fades where the drawing goes on."""

_OUTSIDE_MM, _OUTSIDE_PX = 10.0, 110.0
_PX_A_UNIT = 2.2  # of fading for one unit of change: steps between pixels stay below 1
_ALONG = 0.25  # of the fading: over so much a drawn edge ends along the border
_NEAR_MM = 3.0  # of the border: what changes there says how far the correction fades
_EVEN_MM = 4.0  # texture is finer
_GLOW_MM = 2.0  # the same in a glow, which is steeper than a sky
_LEAST_TEXTURE_L, _TIMES_GRAIN = 7.0, 3.0  # spread of L*, and times that within squares
_OF_STRAYS = (0.5, 0.1, 0.0)  # of what may stray: what strengths need not reach
_FADES = (  # times the distance, share outside: the first that leaves few enough light
    (3.0, 0.0), (3.0, 0.25), (3.0, 0.5), (1.0, 0.0), (1.0, 0.25), (1.0, 0.5), (1.0, 0.75),
)  # fmt: skip
_FARTHEST = (1.0, 1.0)
_RISES = (0.0, 0.2, 0.4, 0.7)  # shares of differences in lightness
_AIM_TEXTURE = 0.85  # what less costs; the search of curves aims higher
_LOST_TEXTURE = 60.0  # what all texture costs, beside _DARKER
_FEW_TILES = 0.1  # of the squares: what fewer say is not said of the area
_EVENED_OUT = 0.4  # one L* of the spread of what is drawn at large
_DARKER = 0.3  # one L*, mean
_SAMPLED_PX = 20_000


def farthest_px(px_per_mm: float) -> float:
    """How far a correction may reach out of its area: whoever looks at one looks so far around it.

    On coarse plates it is the steps between pixels that ask for room: 50 units of change.
    """
    return max(_OUTSIDE_MM * px_per_mm, _OUTSIDE_PX)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gentlest:
    """How curves act, and what they do to the sample.

    Parameters
    ----------
    fade_px : float or None
        Over so many pixels they fade where the drawing goes on over the border; None if nowhere.
    light_px : int
        Pixels of the area that stay too light, lights among them.
    texture : float
        Local spread of L* that stays, of what there was; 1 where there was none.
    most_added_pct : tuple of float
        Points of ink that each curve adds at most.
    """

    lift: Lift
    acting: Acting
    fade_px: float | None
    light_px: int
    texture: float
    most_added_pct: tuple[float, ...]


class Night:
    """One area, whatever curves are tried on it."""

    def __init__(
        self, view: AreaView, look: Looked, *, lightest_L: float, px_per_mm: float
    ) -> None:
        self.view, self.look = view, look
        self.lightest_L, self.px_per_mm = lightest_L, px_per_mm

    def gentlest(self, lift: Lift, lights: Lights, *, room_px: float, stray: float) -> Gentlest:
        """How curves act best.

        Parameters
        ----------
        room_px : float
            Pixels that may stay too light; if there are more, as few as can be.
        stray : float
            Share of the area that may stay too light beside its lights, 0-1.
        """
        weighed = _Weighed(self, lift, lights, room_px=room_px, stray=stray)
        way = min(weighed.ways(), key=lambda one: (max(0.0, one.light_px - room_px), one.cost))
        return weighed.made(way)

    @cached_property
    def border(self) -> Border:
        """Of the area."""
        view = self.view
        beside, lab = beside_border(view.inside), np.zeros((*view.inside.shape, 3))
        lab[beside] = self.lab(view.planes[:, beside])
        return Border(view.whole, view.inside, lab, factor=view.cells.factor)

    @cached_property
    def texture_L(self) -> float:
        """A spread of L* that is partly texture, partly drawn."""
        tiles = self.view.tiles
        if not tiles.shape[1]:
            return _LEAST_TEXTURE_L
        spreads = self.lightness(as_planes(tiles.reshape(len(tiles), -1)))
        grain_L = float(np.median(_by_tile(spreads, tiles).std(axis=1)))
        return max(_LEAST_TEXTURE_L, _TIMES_GRAIN * grain_L)

    @cached_property
    def all_evened(self) -> Evened:
        """The lightness of all that is seen, lights among it."""
        view = self.view
        return evened(
            view.cells,
            view.mean_L,
            view.square_L,
            counted=np.ones(view.mean_L.shape),
            around_px=_GLOW_MM * self.px_per_mm,
            texture_L=self.texture_L,
        )

    @cached_property
    def is_deep(self) -> BoolArray:
        """Pixels of the sample with nothing beside them that is not of the area, as cells tell."""
        from scipy.ndimage import binary_erosion

        return np.asarray(binary_erosion(self.view.whole, border_value=True))

    def lightness(self, planes: Planes) -> FloatArray:
        """L* (N,) of planes (I, N)."""
        return np.asarray(self.look(planes)[1] / LIGHTNESS_SCALE)

    def lab(self, planes: Planes) -> FloatArray:
        """Lab (..., 3) of planes (I, ...)."""
        srgb8, _ = self.look(as_planes(planes.reshape(len(planes), -1)))
        return xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255)).reshape(*planes.shape[1:], 3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Way:
    """One way for curves to act; named as in Gentlest."""

    acting: Acting
    fade_px: float
    light_px: int
    texture: float
    cost: float


class _Weighed:
    """Some curves and lights on one area."""

    def __init__(
        self, night: Night, lift: Lift, lights: Lights, *, room_px: float, stray: float
    ) -> None:
        self._night, self._view, self._lift, self._lights = night, night.view, lift, lights
        self._room_px, self._stray = room_px, stray
        self._need = self._needs()
        self._pale = np.flatnonzero(self._need * ~lights.cells)
        self._pale_px = night.view.stands_for_px.ravel()[self._pale]
        self._lights_px = int(night.view.over_px[lights.cells].sum())
        self._even = self._evened()
        self._wants = self._gathered()
        self._glow = glow_of(
            lights,
            self._view.inside,
            self._view.mean_L,
            lightest_L=night.lightest_L,
            evened=lambda: night.all_evened,
            texture_L=night.texture_L,
        )
        self._edge = cache(lambda along_px: night.border.edge(along_px, lights.cells))

    def ways(self) -> Iterator[_Way]:
        """With more and more of the differences."""
        for rise in _RISES:
            yield self._reaching_least(rise)

    def _reaching_least(self, rise: float) -> _Way:
        """What acts and reaches out least, of what leaves few enough light."""
        for of_strays in _OF_STRAYS:
            strengths = self._wants.strengths(stray=of_strays * self._stray, rise=rise)
            acting, fade_px = self._within(strengths)
            light_px = self._light_px(acting)
            if light_px <= self._room_px:
                break
        return self._judged(acting, fade_px, light_px)

    def _within(self, strengths: Strengths) -> tuple[Acting, float]:
        """Strengths that fade over the border: widely, and not further outside than must be."""
        fade_px, px_per_mm = self._fade_px(strengths), self._night.px_per_mm
        along_px = _ALONG * fade_px
        farthest = self._acting(strengths, _fading(fade_px, *_FARTHEST, px_per_mm), along_px)
        if not self._night.border.soft.any() or self._light_px(farthest) > self._room_px:
            return farthest, fade_px  # reaching out less leaves more light
        for times, outside in _FADES:
            fading = _fading(fade_px, times, outside, px_per_mm)
            acting = self._acting(strengths, fading, along_px)
            if self._light_px(acting) <= self._room_px:
                return acting, fading.border_px
        return farthest, fade_px

    def _judged(self, acting: Acting, fade_px: float, light_px: int) -> _Way:
        texture = self._texture(acting)
        cost = _LOST_TEXTURE * max(0.0, _AIM_TEXTURE - texture)
        cost += _EVENED_OUT * self._wants.evened_out_L(acting.strengths)
        cost += _DARKER * self._darker_L(acting)
        return _Way(acting=acting, fade_px=fade_px, light_px=light_px, texture=texture, cost=cost)

    def made(self, way: _Way) -> Gentlest:
        """With how much ink it adds."""
        return Gentlest(
            lift=self._lift,
            acting=way.acting,
            fade_px=way.fade_px if self._night.border.soft.any() else None,
            light_px=way.light_px,
            texture=way.texture,
            most_added_pct=self._most_added(way.acting),
        )

    def _needs(self) -> IntArray:
        """Least strength (rows, cols), in steps, at which each pixel of the sample is dark enough.

        NEEDS + 1 where none is, 0 outside of the area.
        """
        view, limit_L = self._view, self._night.lightest_L
        need = np.zeros(view.is_inside.shape, np.int64)
        pale = np.nonzero(view.is_inside & (view.pixel_L > limit_L))
        planes = as_planes(view.pixels[:, pale[0], pale[1]])
        low = np.zeros(len(pale[0]), np.int32)
        high, tried = low + NEEDS + 1, low + NEEDS
        while (high - low > 1).any():
            after = self._lift.after(planes, tried * np.int32(WEIGHT_ONE // NEEDS))
            is_dark = self._night.lightness(after) <= limit_L
            high, low = np.where(is_dark, tried, high), np.where(is_dark, low, tried)
            tried = (low + high) // 2
        need[pale] = high
        return need

    def _evened(self) -> Evened:
        """The lightness of the area as if there were no lights, nor what is drawn beside it."""
        view, night = self._view, self._night
        return evened(
            view.cells,
            view.mean_L,
            view.square_L,
            counted=~self._lights.cells * (1 - ~view.whole * night.border.drawn),
            around_px=_EVEN_MM * night.px_per_mm,
            texture_L=night.texture_L,
        )

    def _gathered(self) -> Wants:
        """What the pixels of the sample want that lie in no light that stays."""
        numbers = self._view.numbers(~self._lights.cells)
        planes, pixel_L = self._view.pixels_in(numbers)

        def drop(some: IntArray, weight: float) -> FloatArray:
            acting = np.full(len(some), round(WEIGHT_ONE * weight), np.int32)
            after = self._lift.after(as_planes(planes[:, some]), acting)
            return pixel_L[some] - self._night.lightness(after)

        return Wants(self._even.at(pixel_L, numbers), self._need.ravel()[numbers], drop)

    def _fade_px(self, strengths: Strengths) -> float:
        """Over how much a correction fades, by what it changes near the border."""
        night, view = self._night, self._view
        least = BORDER_MM * night.px_per_mm
        near = view.is_inside & night.border.near(_NEAR_MM * night.px_per_mm)
        if not near.any():
            return least
        numbers = view.numbers(near, most=_SAMPLED_PX)
        before, pixel_L = view.pixels_in(numbers)
        after = self._lift.after(before, _steps(strengths.at(self._even.at(pixel_L, numbers))))
        change = np.linalg.norm(night.lab(after) - night.lab(before), axis=-1)
        return max(least, _PX_A_UNIT * float(np.quantile(change, 0.99)))

    def _acting(self, strengths: Strengths, fading: Fading, along_px: float) -> Acting:
        border, cells = self._night.border, self._view.cells
        return Acting(
            cells=cells,
            evened=self._even,
            strengths=strengths,
            glow=self._glow,
            border=border.weights(fading),
            edge=self._edge(along_px),
        )

    def _light_px(self, acting: Acting) -> int:
        """Pixels that stay too light, lights among them."""
        need = self._need.ravel()[self._pale] * (WEIGHT_ONE // NEEDS)
        is_light = self._weights(acting, self._pale) < need
        return int(self._pale_px[is_light].sum()) + self._lights_px

    def _weights(self, acting: Acting, numbers: IntArray) -> NDArray[np.int32]:
        """Weights (...) of pixels of the sample by their numbers."""
        is_deep = self._night.is_deep.ravel()[numbers]
        return _steps(acting.at(self._view.pixel_L.ravel()[numbers], is_deep, numbers))

    def _most_added(self, acting: Acting) -> tuple[float, ...]:
        before = self._view.pixels
        every = np.arange(before[0].size).reshape(before[0].shape)
        after = self._lift.after(before, self._weights(acting, every))
        steps = [int((after[k].astype(np.int64) - before[k]).max()) for k in self._lift.numbers]
        return tuple(100 * one / full_scale(before) for one in steps)

    def _darker_L(self, acting: Acting) -> float:
        """By how much the mean of L* falls."""
        numbers = self._view.numbers(self._view.is_inside, most=_SAMPLED_PX)
        before, pixel_L = self._view.pixels_in(numbers)
        after = self._lift.after(before, self._weights(acting, numbers))
        return float((pixel_L - self._night.lightness(after)).mean())

    def _texture(self, acting: Acting) -> float:
        """Local spread of L* that stays where no light is; 1 where there was none to see."""
        view, night = self._view, self._night
        some = self._textured()
        tiles = view.tiles[:, some]
        before = as_planes(tiles.reshape(len(tiles), -1))
        pixel_L = night.lightness(before)
        numbers = view.tile_numbers()[some].ravel()
        weights = _steps(acting.at(pixel_L, np.ones(pixel_L.shape, np.bool_), numbers))
        after_L = night.lightness(self._lift.after(before, weights))
        was, stays = (float(_by_tile(one, tiles).std(axis=1).sum()) for one in (pixel_L, after_L))
        return stays / was if was > LEAST_SPREAD_L * len(some) else 1.0

    def _textured(self) -> IntArray:
        """Squares where no light is; all where hardly any is without."""
        view, lights = self._view, self._lights
        for off in (lights.cells | lights.going_cells, lights.cells):
            some = np.flatnonzero(~view.tiles_near(off))
            if len(some) >= _FEW_TILES * view.tiles.shape[1]:
                return some
        return np.arange(view.tiles.shape[1])


def _fading(fade_px: float, times: float, outside: float, px_per_mm: float) -> Fading:
    border_px = times * fade_px
    return Fading(
        border_px=border_px,
        outside=min(outside, farthest_px(px_per_mm) / border_px),
    )


def _steps(weights: NDArray[np.floating]) -> NDArray[np.int32]:
    steps: NDArray[np.int32] = np.rint(WEIGHT_ONE * weights).astype(np.int32)
    return steps


def _by_tile(values: FloatArray, tiles: Planes) -> FloatArray:
    return values.reshape(tiles.shape[1:])
