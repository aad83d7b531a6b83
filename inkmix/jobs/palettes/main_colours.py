"""The main colours of a picture: few, clearly different, each with the share that it stands for.

No randomness: colours begin where the picture's pixels lie densest in Lab, and are moved until they
rest. Grain is averaged as the eye at a distance does.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_lab
from inkmix.colour.whites import ABSOLUTE
from inkmix.plates.files.raster import bands
from inkmix.plates.overview import ColourOverview, factor_for
from inkmix.plates.reference.picture import Reference
from inkmix.press.inks import Paper

MOST_COLOURS = 12
"""As many as somebody can keep in mind, and weigh against each other."""

APART = 14.0
"""Euclidean in Lab: less looks like a shade of the same colour."""

FAR = 20.0
"""What is farther from every colour becomes one of its own, if there is enough of it."""

LEAST_SHARE = 0.005
"""What fills less of the picture is left out."""

REDUCED_PX = 160
_BLUR = 6.0
_CELL = np.array([6.0, 8.0, 8.0])
_ROUNDS = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class MainColour:
    """A colour of a picture, absolute on a paper, and its share of it, 0-1."""

    lab: tuple[float, float, float]
    share: float


def main_colours(
    picture: Reference, paper: Paper, *, most: int = MOST_COLOURS
) -> tuple[MainColour, ...]:
    """The main colours of a picture, the largest first; its white is the paper unless it says else.

    Raises
    ------
    PictureError
        If the picture turns out to be damaged.
    """
    pixels = _pixels(picture, paper)
    centres, group = _rested(pixels, _seeds(pixels, most))
    while (pair := _too_near(centres)) is not None:
        centres[pair[0]] = pixels[np.isin(group, pair)].mean(axis=0)
        centres, group = _rested(pixels, np.delete(centres, pair[1], axis=0))
    share = np.bincount(group, minlength=len(centres)) / len(pixels)
    order = [k for k in np.argsort(-share, kind="stable") if share[k] >= LEAST_SHARE]
    return tuple(
        MainColour(lab=(float(L), float(a), float(b)), share=float(share[k]))
        for k, (L, a, b) in ((k, centres[k].round(1)) for k in order)
    )


def _pixels(picture: Reference, paper: Paper) -> FloatArray:
    """Lab (N, 3) of the picture, reduced."""
    size = picture.width_px, picture.height_px
    overview = ColourOverview(
        width_px=size[0], height_px=size[1], factor=factor_for(*size, longest_px=REDUCED_PX)
    )
    for rows in bands(size[1], size[0]):
        overview.add(rows.start, picture.read(rows, slice(0, size[0])))
    srgb1 = overview.srgb8().reshape(-1, 3) / 255
    xyz100 = srgb1_to_xyz100(srgb1)
    is_absolute = picture.white == ABSOLUTE
    return xyz100_to_lab(xyz100 if is_absolute else xyz100 / WHITE_XYZ100 * paper.xyz100)


def _seeds(pixels: FloatArray, most: int) -> FloatArray:
    """Colours (K, 3) where pixels lie densest, then those of what is far from all of them."""
    cells = np.floor(pixels / _CELL).astype(np.int64)
    _, group, counts = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    means = _means(pixels, group.reshape(-1), np.zeros((len(counts), 3)))
    away = np.linalg.norm(means[:, None] - means, axis=2)
    density = np.exp(-((away / _BLUR) ** 2) / 2) @ counts
    densest = np.argsort(-density, kind="stable")
    near = away < APART
    seeds = [k for k in densest if density[k] == density[near[k]].max()][:most]
    while len(seeds) < most:
        is_far = away[:, seeds].min(axis=1) > FAR
        if counts[is_far].sum() < LEAST_SHARE * len(pixels):
            break
        seeds.append(next(k for k in densest if is_far[k]))
    return means[seeds]


def _rested(pixels: FloatArray, centres: FloatArray) -> tuple[FloatArray, IntArray]:
    """Centres (K, 3) moved to the means of the pixels nearest to them, and whose each pixel is."""
    group: IntArray = np.full(len(pixels), -1, np.int64)
    for _ in range(_ROUNDS):
        nearest = _nearest(pixels, centres)
        if (nearest == group).all():
            break
        group, centres = nearest, _means(pixels, nearest, centres)
    return centres, group


def _too_near(centres: FloatArray) -> tuple[int, int] | None:
    """The two that lie nearest to each other, if they are shades of the same colour."""
    if len(centres) < 2:
        return None
    away = np.linalg.norm(centres[:, None] - centres, axis=2)
    away[np.tril_indices(len(centres))] = np.inf
    first, second = np.unravel_index(int(away.argmin()), away.shape)
    return (int(first), int(second)) if away.min() < APART else None


def _nearest(pixels: FloatArray, centres: FloatArray) -> IntArray:
    away = ((pixels[:, None] - centres) ** 2).sum(axis=2)
    return np.asarray(away.argmin(axis=1))


def _means(pixels: FloatArray, group: IntArray, centres: FloatArray) -> FloatArray:
    """Mean of every group (K, 3); one that is empty stays where it was."""
    count = np.bincount(group, minlength=len(centres))
    sums = [np.bincount(group, weights=column, minlength=len(centres)) for column in pixels.T]
    means = np.stack(sums, axis=-1) / np.maximum(count, 1)[:, None]
    return np.where(count[:, None] > 0, means, centres)
