"""A night area at a glance: a few squares of it tell what curves would leave of its texture.

Whoever darkens a whole bright picture gets no picture; that is seen here before all its pixels are.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.checks.mending.recipe import Wanted
from inkmix.checks.mending.search import Looked, NightGoal, Sample, find_curves
from inkmix.checks.mending.view import TILE_PX, AreaSource
from inkmix.checks.window import Box, Planes, as_planes, full_scale
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


def glance_at(
    source: AreaSource, box: Box, wanted: Wanted, look: Looked, *, plates: Sequence[tuple[int, str]]
) -> Glance | None:
    """Look at a few squares of an area; None where it is too small to tell.

    Parameters
    ----------
    plates : sequence of (int, str)
        Number and name of each plate that curves may change, the darkest first.
    """
    tiles = _tiles(source, *box)
    if len(tiles) < _LEAST_TILES or not plates:
        return None
    planes = np.stack(tiles, axis=1)
    planes = as_planes(planes.reshape(len(planes), -1))
    goal = NightGoal(
        lightest_L=wanted.lightest_L,
        share=wanted.share_pct / 100,
        ink_limit_pct=wanted.ink_limit_pct,
    )
    sample = Sample(planes=planes, textured=np.ones(len(tiles), np.bool_))
    found = find_curves(sample, goal, look, plates=plates)
    return Glance(dark_pct=_dark_pct(planes, wanted, look, plates), texture=found.texture)


def _dark_pct(
    planes: Planes, wanted: Wanted, look: Looked, plates: Sequence[tuple[int, str]]
) -> float:
    solid = planes.copy()
    solid[[number for number, _ in plates]] = full_scale(planes)
    return 100 * float((look(solid)[1] <= wanted.lightest_L * LIGHTNESS_SCALE).mean())


def _tiles(source: AreaSource, rows: slice, cols: slice) -> list[Planes]:
    """Squares (I, TILE_PX ** 2) that lie in the area as wholes, from bands spread over it."""
    height = rows.stop - rows.start
    tops = np.linspace(rows.start, rows.stop - TILE_PX, min(_BANDS, height // TILE_PX) + 2)[1:-1]
    found: list[Planes] = []
    for top in tops.astype(np.int64).tolist():
        band = slice(top, top + TILE_PX)
        whole = source.mask(band, cols).all(axis=0)
        lefts = np.flatnonzero(np.convolve(whole, np.ones(TILE_PX), "valid") == TILE_PX)
        if not len(lefts):
            continue
        some = np.linspace(0, len(lefts) - 1, min(len(lefts), _TILES_A_BAND)).astype(np.int64)
        planes = source.read(band, cols)
        tiles = [planes[:, :, left : left + TILE_PX] for left in lefts[some].tolist()]
        found += [as_planes(tile.reshape(len(tile), -1).copy()) for tile in tiles]
    return found
