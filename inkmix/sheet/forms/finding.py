"""A form found in a picture by its corner marks: squares with a hole, one of them with a core.

Grey pixels in, places out; which colours the patches have is not known here. A place in a picture
is (x, y) in pixels, the middle of the first pixel at (0, 0); a place on a form is (x, y) in mm.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray

LEAST_MARK_PX = 12
"""Side of a mark in the picture that is looked at: of a smaller one the hole closes."""

_INK_BELOW = 0.68  # of the white around: the darkest ink is darker, halftones of type are not
_AROUND = 0.04  # of the picture's longer side, in which some paper is seen around a mark
_RING_SHARE = (0.44, 0.80)  # of a mark that its ring covers: 0.64, blurred or spread
_LEAST_SOLID = 0.82  # of the box along its own axes that a mark fills, hole and all
_CORE_PART = 0.2  # of a mark's side, in its middle, where the core stands
_MOST_MARKS = 14  # that are tried in all places; more are sorted out by size
_ALIKE_SIZE = 3.5  # times: between the nearest and the farthest mark of one form
_FITS = 0.35  # how far a mark may be from the shape that the others make it have


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenMark:
    """What looks like a corner mark in a picture.

    Parameters
    ----------
    middle : (2,) ndarray
        x, y.
    spread : (2, 2) ndarray
        Covariance of the places of its pixels, hole and all: of a square of side s, s**2 / 12.
    has_core : bool
    """

    middle: FloatArray
    spread: FloatArray
    has_core: bool

    @property
    def side_px(self) -> float:
        """Of the square of the same area."""
        return float((144 * np.linalg.det(self.spread)) ** 0.25)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placing:
    """One way in which a form may lie in a picture.

    Parameters
    ----------
    to_picture : (3, 3) ndarray
        Homography from mm to pixels.
    misfit : float
        How far the shapes of the marks are from what it makes of squares; 0 is a perfect fit.
    """

    to_picture: FloatArray
    misfit: float

    @property
    def is_mirrored(self) -> bool:
        """Whether left and right are exchanged."""
        return bool(np.linalg.det(self.to_picture) * self.to_picture[2, 2] < 0)


def marks_in(grey: NDArray[np.uint8]) -> tuple[SeenMark, ...]:
    """What looks like a corner mark in a picture (rows, cols), the largest first."""
    from scipy.ndimage import find_objects, label, maximum_filter

    if min(grey.shape) < LEAST_MARK_PX:
        return ()
    around = max(3, round(_AROUND * max(grey.shape)))
    is_ink = grey < _INK_BELOW * maximum_filter(grey, size=around)
    parts, _ = label(is_ink)
    found = []
    for number, box in enumerate(find_objects(parts), start=1):
        height, width = (side.stop - side.start for side in box)
        if min(height, width) >= LEAST_MARK_PX and max(height, width) <= around:
            mark = _mark(parts[box] == number, grey[box], (box[1].start, box[0].start))
            found += [] if mark is None else [mark]
    return tuple(sorted(found, key=lambda one: -one.side_px))


def _mark(ring: BoolArray, grey: NDArray[np.uint8], corner: tuple[int, int]) -> SeenMark | None:
    """The mark that a part of the picture is; None where it is none."""
    from scipy.ndimage import binary_fill_holes

    whole = binary_fill_holes(ring)
    y, x = np.nonzero(whole)
    share = ring.sum() / len(x)
    spread = np.cov(np.stack([x, y])) + np.eye(2) / 12  # each pixel is a square itself
    box = 12 * np.sqrt(max(float(np.linalg.det(spread)), 0.0))
    if not _RING_SHARE[0] <= share <= _RING_SHARE[1] or len(x) < _LEAST_SOLID * box:
        return None
    middle = np.array([x.mean(), y.mean()])
    return SeenMark(
        middle=middle + corner, spread=spread, has_core=_has_core(ring, whole, grey, middle)
    )


def _has_core(
    ring: BoolArray, whole: BoolArray, grey: NDArray[np.uint8], middle: FloatArray
) -> bool:
    """Whether the middle of the hole is as dark as the ring rather than as light as the hole."""
    half = max(0.5 * _CORE_PART * np.sqrt(whole.sum()) - 0.5, 0.0)
    (left, top), (right, bottom) = (np.rint(middle + at).astype(int) for at in (-half, half))
    core = grey[max(top, 0) : bottom + 1, max(left, 0) : right + 1]
    hole = grey[whole & ~ring]
    if not core.size or not hole.size:
        return False
    return bool(core.mean() < (np.median(grey[ring]) + np.percentile(hole, 75)) / 2)


def placings(
    marks: Sequence[SeenMark], corners_mm: FloatArray, *, side_mm: float
) -> Iterator[Placing]:
    """Ways in which a form may lie, of which the marks are its corners.

    Parameters
    ----------
    corners_mm : (4, 2) array
        Middles of the form's marks; the first is the one with a core.
    side_mm : float
        Of a mark.
    """
    for first in (one for one in marks if one.has_core):
        alike = [
            one
            for one in marks
            if not one.has_core and 1 / _ALIKE_SIZE <= one.side_px / first.side_px <= _ALIKE_SIZE
        ]
        for others in permutations(alike[:_MOST_MARKS], 3):
            some = (first, *others)
            to_picture = homography(corners_mm, np.stack([one.middle for one in some]))
            misfit = _misfit(to_picture, corners_mm, some, side_mm)
            if misfit <= _FITS:
                yield Placing(to_picture=to_picture, misfit=misfit)


def homography(places: FloatArray, others: FloatArray) -> FloatArray:
    """The (3, 3) matrix that carries four places (4, 2), no three on a line, to four others.

    References
    ----------
    Hartley & Zisserman, Multiple View Geometry, 2nd edition, 2004, 4.1 (direct linear
    transformation), with the normalization of 4.4.4.
    """
    (one, from_one), (other, from_other) = _normalized(places), _normalized(others)
    rows = []
    for (x, y), (u, v) in zip(one, other, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    matrix = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    found = np.linalg.inv(from_other) @ matrix @ from_one
    return np.asarray(found / np.linalg.norm(found), np.float64)


def _normalized(places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places around 0 at a distance of some 1.4, and the matrix that brings them there."""
    middle = places.mean(axis=0)
    scale = np.sqrt(2) / np.linalg.norm(places - middle, axis=1).mean()
    matrix = np.array([[scale, 0, -scale * middle[0]], [0, scale, -scale * middle[1]], [0, 0, 1]])
    return (places - middle) * scale, matrix


def carried(matrix: FloatArray, places: FloatArray) -> FloatArray:
    """Places (..., 2) carried by a homography (3, 3); NaN behind the camera."""
    x, y = places[..., 0], places[..., 1]
    before = np.sign(matrix[2, 2]) or 1.0  # the form's own corner lies before the camera
    u, v, w = (row[0] * x + row[1] * y + row[2] for row in matrix * before)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(w[..., None] > 0, np.stack([u, v], axis=-1) / w[..., None], np.nan)


def _misfit(
    to_picture: FloatArray, corners_mm: FloatArray, marks: Sequence[SeenMark], side_mm: float
) -> float:
    """How far the shapes of marks are from those of squares of that side; the worst of four."""
    step = side_mm / 100
    worst = 0.0
    for corner, mark in zip(corners_mm, marks, strict=True):
        ends = carried(to_picture, corner + np.array([[step, 0], [0, step], [0, 0]]))
        slopes = (ends[:2] - ends[2]).T / step
        spread = slopes @ slopes.T * side_mm**2 / 12
        apart = np.linalg.norm(spread - mark.spread) / np.linalg.norm(mark.spread)
        worst = max(worst, float(apart) if np.isfinite(apart) else np.inf)
    return worst
