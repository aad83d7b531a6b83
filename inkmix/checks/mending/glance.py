"""A night area at a glance: a few squares of it tell what curves would leave of its texture.

Whoever darkens a whole bright picture gets no picture; that is seen here before all its pixels are.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.checks.mending.recipe import Wanted
from inkmix.checks.mending.search import Looked, NightGoal, Sample, find_curves
from inkmix.checks.mending.view import TILE_PX, AreaSource
from inkmix.checks.window import Planes, as_planes, full_scale
from inkmix.press.table.lookup import LIGHTNESS_SCALE

_BANDS, _TILES_A_BAND = 8, 6
_LEAST_TILES = 12  # fewer tell nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """What some squares of an area tell.

    Parameters
    ----------
    dark_pct : float
        Of their pixels, those that would be dark enough if the plates were solid there.
    texture : float
        Local spread of L* that curves leave, of what there is; lights count as texture.
    """

    dark_pct: float
    texture: float


def squares_of(source: AreaSource, rows: slice, cols: slice) -> Planes | None:
    """A few squares (I, N, TILE_PX ** 2) from all over an area; None where it is too small."""
    tiles = list(_tiles(source, rows, cols))
    return as_planes(np.stack(tiles, axis=1)) if len(tiles) >= _LEAST_TILES else None


def glance_at(
    squares: Planes, wanted: Wanted, look: Looked, *, plates: Sequence[tuple[int, str]]
) -> Glance:
    """What squares (I, N, pixels) tell.

    Parameters
    ----------
    plates : sequence of (int, str)
        Number and name of each plate that curves may change, the darkest first; one at least.
    """
    planes = as_planes(squares.reshape(len(squares), -1))
    goal = NightGoal(
        lightest_L=wanted.lightest_L,
        share=wanted.share_pct / 100,
        ink_limit_pct=wanted.ink_limit_pct,
    )
    sample = Sample(planes=planes, textured=np.ones(squares.shape[1], np.bool_))
    found = find_curves(sample, goal, look, plates=plates)
    return Glance(dark_pct=_dark_pct(planes, wanted, look, plates), texture=found.texture)


def _dark_pct(
    planes: Planes, wanted: Wanted, look: Looked, plates: Sequence[tuple[int, str]]
) -> float:
    solid = planes.copy()
    solid[[number for number, _ in plates]] = full_scale(planes)
    return 100 * float((look(solid)[1] <= wanted.lightest_L * LIGHTNESS_SCALE).mean())


def _tiles(source: AreaSource, rows: slice, cols: slice) -> Iterator[Planes]:
    """Squares (I, TILE_PX ** 2) that lie in the area as wholes, from bands spread over it."""
    height = rows.stop - rows.start
    tops = np.linspace(rows.start, rows.stop - TILE_PX, min(_BANDS, height // TILE_PX) + 2)[1:-1]
    for top in tops.astype(np.int64).tolist():
        band = slice(top, top + TILE_PX)
        whole = source.mask(band, cols).all(axis=0)
        lefts = np.flatnonzero(np.convolve(whole, np.ones(TILE_PX), "valid") == TILE_PX)
        if not len(lefts):
            continue
        some = np.linspace(0, len(lefts) - 1, min(len(lefts), _TILES_A_BAND)).astype(np.int64)
        planes = source.read(band, cols)
        for left in lefts[some].tolist():
            yield as_planes(planes[:, :, left : left + TILE_PX].reshape(len(planes), -1).copy())
