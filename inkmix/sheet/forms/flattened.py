"""A form in a picture, laid flat: every place in mm with the pixel that shows it.

What perspective leaves is put right by the patches themselves: lenses bend straight lines, paper
does not lie flat. Pixels in, pixels out; no colour is known here.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.sheet.box import Box
from inkmix.sheet.forms.finding import carried

MOST_PER_MM = 6.0
"""Samples of a flattened form: a patch of 5 mm has 900, whose mean no grain moves."""

_AROUND_MM = 0.9  # looked at around a patch: less than the gap between patches
_LEAST_CONTRAST = 0.12  # of white, by which a patch must be darker to be seen apart
_FEWEST = 8  # patches by which the bend of a lens can be told
_ROUNDS, _SAME_MM = 3, 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lie:
    """How a form lies in a picture.

    Parameters
    ----------
    to_picture : (3, 3) ndarray
        Homography from mm to pixels.
    bend_mm : (6, 2) ndarray
        By how much a place appears moved on the form, as a polynomial of the second degree.
    middle_mm, half_mm : (2,) ndarray, float
        Of the form; the polynomial counts from there, in these.
    """

    to_picture: FloatArray
    bend_mm: FloatArray
    middle_mm: FloatArray
    half_mm: float

    def in_picture(self, places_mm: FloatArray) -> FloatArray:
        """Pixels (..., 2) that show places (..., 2)."""
        return carried(self.to_picture, places_mm + self.moved_mm(places_mm))

    def moved_mm(self, places_mm: FloatArray) -> FloatArray:
        """By how much places (..., 2) appear moved."""
        return np.asarray(self._terms(places_mm) @ self.bend_mm, np.float64)

    def corrected(self, places_mm: FloatArray, off_mm: FloatArray) -> "Lie":
        """The same, where patches at places (N, 2) appear moved by (N, 2)."""
        terms = self._terms(places_mm)
        more = np.linalg.lstsq(terms, off_mm, rcond=None)[0]
        return replace(self, bend_mm=self.bend_mm + more)

    def px_per_mm(self, places_mm: FloatArray) -> FloatArray:
        """Pixels a mm at places (N, 2), in the direction in which they are fewest."""
        step = 0.5
        here = self.in_picture(places_mm)
        sides = [
            self.in_picture(places_mm + np.array(way)) - here for way in ((step, 0.0), (0.0, step))
        ]
        fewest = np.linalg.svd(np.stack(sides, axis=-1) / step, compute_uv=False)[..., -1]
        return np.asarray(fewest, np.float64)

    def _terms(self, places_mm: FloatArray) -> FloatArray:
        x, y = np.moveaxis((places_mm - self.middle_mm) / self.half_mm, -1, 0)
        return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def lie_of(to_picture: FloatArray, width_mm: float, height_mm: float) -> Lie:
    """How a form lies by its marks alone."""
    return Lie(
        to_picture=to_picture,
        bend_mm=np.zeros((6, 2)),
        middle_mm=np.array([width_mm, height_mm]) / 2,
        half_mm=float(np.hypot(width_mm, height_mm)) / 2,
    )


def flattened(
    pixels8: NDArray[np.uint8], lie: Lie, width_mm: float, height_mm: float, *, per_mm: float
) -> tuple[NDArray[np.uint8], BoolArray]:
    """The form alone (rows, cols, 3), and where the picture shows it (rows, cols).

    A sample is the pixel nearest to its place, so that none is a mixture of two that are clipped.
    """
    rows, cols = round(height_mm * per_mm), round(width_mm * per_mm)
    flat = np.zeros((rows, cols, 3), np.uint8)
    there = np.zeros((rows, cols), np.bool_)
    x = (np.arange(cols) + 0.5) / per_mm
    for row in range(rows):
        places = np.stack([x, np.full(cols, (row + 0.5) / per_mm)], axis=-1)
        at = lie.in_picture(places)
        inside = (at >= -0.5).all(axis=-1) & (at < np.array(pixels8.shape[1::-1]) - 0.5).all(
            axis=-1
        )
        col, line = np.rint(at[inside]).astype(np.intp).T
        flat[row, inside] = pixels8[line, col]
        there[row] = inside
    return flat, there


def off_mm(flat: NDArray[np.uint8], boxes: Sequence[Box], *, per_mm: float) -> FloatArray:
    """By how much each patch (N, 2) appears moved on a flattened form; NaN where none is seen."""
    grey = flat.astype(np.float32).mean(axis=-1)
    return np.array([_off(grey, box, per_mm) for box in boxes]).reshape(-1, 2)


def _off(grey: NDArray[np.float32], box: Box, per_mm: float) -> tuple[float, float]:
    """The middle of what is darker than the paper around a patch, from where it should be."""
    wide = Box(
        x=box.x - _AROUND_MM,
        y=box.y - _AROUND_MM,
        width=box.width + 2 * _AROUND_MM,
        height=box.height + 2 * _AROUND_MM,
    )
    left, top = round(wide.x * per_mm), round(wide.y * per_mm)
    right, bottom = round(wide.right * per_mm), round(wide.bottom * per_mm)
    part = grey[max(top, 0) : bottom, max(left, 0) : right]
    if part.size == 0:
        return np.nan, np.nan
    white, dark = np.percentile(part, 98), np.median(part)
    if white <= 0 or dark > (1 - _LEAST_CONTRAST) * white:
        return np.nan, np.nan
    held = part < (white + dark) / 2
    y, x = np.nonzero(held)
    at = (np.array([x.mean() + left, y.mean() + top]) + 0.5) / per_mm
    return float(at[0] - box.middle[0]), float(at[1] - box.middle[1])


def straightened(lie: Lie, places_mm: FloatArray, moved_mm: FloatArray) -> tuple[Lie, float]:
    """The lie put right by what patches say, and how far they were off (root mean square, mm).

    Patches that part from all others are left out: a scratch, a line of type. Of too few nothing
    is learnt, and how far they are off is NaN.
    """
    seen = np.isfinite(moved_mm).all(axis=1)
    if seen.sum() < _FEWEST:
        return lie, float("nan")
    places, moved = places_mm[seen], moved_mm[seen]
    was = float(np.sqrt((moved**2).sum(axis=1).mean()))
    for _ in range(_ROUNDS):
        better = lie.corrected(places, moved)
        left = np.linalg.norm(moved - better.moved_mm(places) + lie.moved_mm(places), axis=1)
        sound = left <= 3 * np.median(left) + _SAME_MM
        if sound.all() or sound.sum() < _FEWEST:
            break
        places, moved = places[sound], moved[sound]
    return better, was
