"""How strongly a correction acts in each cell: fully, not at all, and what lies between.

It fades out over the border of its area and around the lights in it; the border of the sheet is
no border of the area.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.checks.mending.cells import Cells


@dataclass(frozen=True, slots=True, kw_only=True)
class Fading:
    """Distances over which a correction fades, in pixels.

    Parameters
    ----------
    border_px : float
        Over the border of the area.
    outside : float
        Share of that which lies outside, 0-1.
    lights_px : float
        Around each light.
    """

    border_px: float
    outside: float
    lights_px: float


def weights_of(
    inside: BoolArray, lights: BoolArray, fading: Fading, factor: int
) -> NDArray[np.float32]:
    """Weights (rows, cols) of 0-1 for cells of `factor` pixels; exactly 0 in and beside lights."""
    weights = _of_border(inside, fading, factor)
    if lights.any():
        weights *= _of_lights(lights, fading, factor)
    return weights.astype(np.float32)


def _of_border(inside: BoolArray, fading: Fading, factor: int) -> FloatArray:
    from scipy.ndimage import distance_transform_edt as distance

    if inside.all():
        return np.ones(inside.shape)
    beyond = min(math.ceil(fading.border_px / factor) + 1, max(inside.shape))
    padded = np.pad(inside, beyond, mode="edge")
    signed = (distance(padded) - distance(~padded)) * factor
    signed -= np.sign(signed) * factor / 2  # from the middles of cells
    shown = signed[beyond:-beyond, beyond:-beyond]
    return smooth(shown / fading.border_px + fading.outside)


def _of_lights(lights: BoolArray, fading: Fading, factor: int) -> FloatArray:
    from scipy.ndimage import binary_dilation
    from scipy.ndimage import distance_transform_edt as distance

    grown = binary_dilation(lights, np.ones((3, 3)))  # their edges, and what is drawn between cells
    away = (distance(~grown) - 0.5) * factor
    return np.where(grown, 0.0, smooth(away / fading.lights_px))


def smooth(share: FloatArray) -> FloatArray:
    """0 to 1 without a kink at either end."""
    at = np.clip(share, 0, 1)
    return np.asarray(at * at * (3 - 2 * at))


def faded(
    cells: Cells, weights: NDArray[np.float32], rows: slice, cols: slice
) -> NDArray[np.int32] | None:
    """Weights of the pixels of a window in 256 steps; None where none acts."""
    at = cells.to_pixels(weights, rows, cols)
    if not at.any():
        return None
    return np.rint(at * 256).astype(np.int32)
