"""The night areas: outlines in mm, and the masks that leave out every light within them."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from inkmix.demo.brush import Brush
from inkmix.demo.canvas import Polygon
from inkmix.demo.shapes import outline
from inkmix.demo.tones import NIGHTS

STILL_NIGHT = 0.97  # less of the ground left than this is a light, not night


AREAS: Mapping[str, Polygon] = {
    NIGHTS[0].name: outline(
        (130, -3), (318, -3), (314, 22), (302, 40), (276, 50), (236, 47), (190, 42), (150, 34),
        (136, 22),
    ),
    NIGHTS[1].name: outline(
        (462, 102), (500, 99), (545, 101), (572, 106), (578, 124), (574, 153), (450, 153),
        (452, 118),
    ),
}  # fmt: skip


def night_mask(brush: Brush, name: str) -> NDArray[np.uint8]:
    """(rows, cols) 255 where the slice belongs to the area and no light lies on it, else 0."""
    tile = brush.tile
    mask = np.zeros((tile.rows, tile.cols), dtype=np.uint8)
    stamp = brush.cut([AREAS[name]], rough_mm=0.0, dry=0.0)
    night = brush.canvas.untouched[stamp.rows, stamp.cols] > STILL_NIGHT
    mask[stamp.rows, stamp.cols] = np.where(night & (stamp.alpha > 0.5), 255, 0)
    return mask
