"""How strongly curves act on each pixel: by its lightness, its lights, and the area's border."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray, smoothstep
from inkmix.checks.mending.cells import Cells, wider
from inkmix.checks.mending.evened import Evened
from inkmix.checks.mending.lights import Lights
from inkmix.checks.mending.strength import Strengths
from inkmix.checks.window import Mask

NO_LIGHT_L = 1000.0
"""Where no light is, pixels from here on would be of one."""

_MOST_BEYOND = 8  # times what is seen of a light may lie beyond the border
_BESIDE_CELLS = 2  # of a light: its edge, where pixels lie between cells
_LARGE_CELLS = 100  # a light of so many has a glow; what is smaller is a star


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Glow:
    """Where pixels belong to lights that stay, by their L*.

    Parameters
    ----------
    from_L, whole_L : (rows, cols) ndarray of float32
        Of each cell: from the first on curves act less and less, from the second on not at all.
    evened : Evened or None
        L* without grain, by which large lights go: else their glow would end along its grain. None
        where no light is large.
    is_large : (rows, cols) ndarray of bool
        Cells of these.
    texture_L : float
        What is lighter than evened by more is drawn: a star in the glow.
    """

    from_L: NDArray[np.float32]
    whole_L: NDArray[np.float32]
    evened: Evened | None = None
    is_large: BoolArray
    texture_L: float

    def turned(self, pixel_L: FloatArray, cells: IntArray) -> NDArray[np.floating]:
        """Share 0-1 by which curves act on pixels of any shape, each by its cell's number."""
        from_L, whole_L = self.from_L.ravel()[cells], self.whole_L.ravel()[cells]
        if self.evened is None:
            return _turned(pixel_L, from_L, whole_L)
        even_L = self.evened.at(pixel_L, cells)
        return _turned(
            self._light_L(pixel_L, even_L, self.is_large.ravel()[cells]), from_L, whole_L
        )

    def turned_at_pixels(
        self, pixel_L: NDArray[np.float32], cells: Cells, rows: slice, cols: slice
    ) -> NDArray[np.floating] | None:
        """The same for the pixels (rows, cols) of a window; None where no light is near."""
        if not (self.from_L[cells.around(rows, cols)] < NO_LIGHT_L).any():
            return None
        from_L, whole_L = (cells.of_pixels(one, rows, cols) for one in (self.from_L, self.whole_L))
        light_L: NDArray[np.floating] = pixel_L
        if self.evened is not None and self.is_large[cells.around(rows, cols)].any():
            is_large = cells.of_pixels(self.is_large, rows, cols)
            even_L = self.evened.at_pixels(pixel_L, rows, cols)
            light_L = self._light_L(pixel_L, even_L, is_large)
        return _turned(light_L, from_L, whole_L)

    def _light_L(
        self,
        pixel_L: NDArray[np.floating],
        even_L: NDArray[np.floating],
        is_large: BoolArray,
    ) -> NDArray[np.floating]:
        drawn_L = np.maximum(even_L, pixel_L - np.float32(self.texture_L))
        return np.where(is_large, drawn_L, pixel_L)


def _turned(
    pixel_L: NDArray[np.floating], from_L: NDArray[np.float32], whole_L: NDArray[np.float32]
) -> NDArray[np.floating]:
    over = np.maximum(whole_L - from_L, np.float32(1e-3))
    turned: NDArray[np.floating] = 1 - smoothstep((pixel_L - from_L) / over)
    return turned


def glow_of(
    lights: Lights,
    inside: BoolArray,
    mean_L: FloatArray,
    *,
    lightest_L: float,
    evened: Callable[[], Evened],
    texture_L: float,
) -> Glow:
    """Of lights in an area, of what lies beside them, and of what the border cuts off them.

    A light rises out of what turns dark over as much L* as that falls, or up to halfway to its own.

    Parameters
    ----------
    inside : (rows, cols) ndarray of bool
        Cells of the area.
    mean_L : (rows, cols) ndarray
        Of each cell.
    lightest_L : float
        What is not of a light comes down to this.
    evened : callable
        L* of all that is seen without its grain, asked for where a light is large.
    texture_L : float
        What grain and strokes do not exceed.
    """
    falls_L = np.maximum(lights.from_L - lightest_L, 0.0)
    halfway_L = np.maximum(lights.level_L - lights.from_L, 0.0) / 2
    limits = lights.from_L, lights.from_L + np.minimum(falls_L, halfway_L)
    from_L, whole_L = _around(lights.cells, limits, _BESIDE_CELLS)
    cut = lights.cells & wider(~inside)
    if cut.any():
        beyond = _around(cut, limits, max(inside.shape))
        goes_on = _rest_of(lights.cells, ~inside & (mean_L > beyond[0]))
        at = wider(goes_on, _BESIDE_CELLS) & ~inside
        from_L, whole_L = np.where(at, beyond, (from_L, whole_L))
    is_large = wider(_large(lights.cells), _BESIDE_CELLS)
    return Glow(
        from_L=from_L.astype(np.float32),
        whole_L=whole_L.astype(np.float32),
        evened=evened() if is_large.any() else None,
        is_large=is_large,
        texture_L=texture_L,
    )


def _large(lights: BoolArray) -> BoolArray:
    """Cells of lights that are large."""
    from scipy.ndimage import label

    numbers, count = label(lights, np.ones((3, 3)))
    sizes = np.bincount(numbers.ravel(), minlength=count + 1)
    return np.asarray(lights & (sizes >= _LARGE_CELLS)[numbers])


def _around(cells: BoolArray, limits: Sequence[FloatArray], reach: int) -> FloatArray:
    """(2, rows, cols): the limits of the nearest of some cells, so far around them."""
    from scipy.ndimage import distance_transform_edt

    if not cells.any():
        return np.full((2, *cells.shape), NO_LIGHT_L)
    away, nearest = distance_transform_edt(~cells, return_indices=True)
    return np.stack([np.where(away <= reach, one[tuple(nearest)], NO_LIGHT_L) for one in limits])


def _rest_of(lights: BoolArray, beyond: BoolArray) -> BoolArray:
    """Cells beyond a border that are connected to a light; not what is far larger than that."""
    from scipy.ndimage import label

    numbers, count = label(lights | beyond, np.ones((3, 3)))
    here, there = (np.bincount(numbers[one], minlength=count + 1) for one in (lights, beyond))
    return np.asarray(beyond & (here > 0)[numbers] & (there <= _MOST_BEYOND * here)[numbers])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Acting:
    """Weights of pixels.

    Parameters
    ----------
    border, edge : (rows, cols) ndarray of float32
        Of each cell: the weight where the drawing goes on over the border, 0-1, and how much of a
        drawn edge the nearest border is.
    """

    cells: Cells
    evened: Evened
    strengths: Strengths
    glow: Glow
    border: NDArray[np.float32]
    edge: NDArray[np.float32]

    def at(self, pixel_L: FloatArray, is_deep: BoolArray, cells: IntArray) -> NDArray[np.floating]:
        """Of pixels of any shape, each by the number of its cell."""
        border, edge = self.border.ravel()[cells], self.edge.ravel()[cells]
        strengths = self.strengths.at(self.evened.at(pixel_L, cells))
        within = border + (is_deep - border) * edge
        return np.asarray(strengths * within * self.glow.turned(pixel_L, cells))

    def is_idle(self, rows: slice, cols: slice) -> bool:
        """Whether it changes nothing in a window, as far as cells tell."""
        some = self.cells.around(rows, cols)
        return not (self.border[some].any() or self.edge[some].any())

    def at_pixels(
        self, pixel_L: NDArray[np.float32], is_deep: Mask, rows: slice, cols: slice
    ) -> NDArray[np.floating]:
        """Of the pixels (rows, cols) of a window.

        Parameters
        ----------
        is_deep : (rows, cols) ndarray of bool
            Pixels of the area that have none beside them that is not.
        """
        cells = self.cells
        border = cells.to_pixels(self.border, rows, cols)
        edge = cells.to_pixels(self.edge, rows, cols)
        within = border + (is_deep - border) * edge
        weights = self.strengths.at(self.evened.at_pixels(pixel_L, rows, cols)) * within
        turned = self.glow.turned_at_pixels(pixel_L, cells, rows, cols)
        return weights if turned is None else np.asarray(weights * turned)
