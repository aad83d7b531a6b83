"""The main colours of a picture: few, clearly different, each with the share that it stands for.

No randomness: seeds are the fullest cells of a coarse grid in Lab that lie far enough apart, then
means are moved until they rest.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray, IntArray
from inkmix.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_lab
from inkmix.overview import factor_for
from inkmix.plates.raster import bands
from inkmix.plates.reference import Reference
from inkmix.press.inks import Paper

MOST_COLOURS = 12
"""As many as somebody can keep in mind, and weigh against each other."""

APART = 14.0
"""Euclidean in Lab: less looks like a shade of the same colour."""

LEAST_SHARE = 0.005
"""What fills less of the picture is left out."""

SAMPLED_PX = 320
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
    """The main colours of a picture whose white is the paper, the largest first.

    Raises
    ------
    PictureError
        If the picture turns out to be damaged.
    """
    pixels = _pixels(picture, paper)
    centres = _seeds(pixels, most)
    group: IntArray = np.zeros(len(pixels), np.int64)
    for _ in range(_ROUNDS):
        nearest = _nearest(pixels, centres)
        centres = _means(pixels, nearest, centres)
        if (nearest == group).all():
            break
        group = nearest
    share = np.bincount(group, minlength=len(centres)) / len(pixels)
    order = [k for k in np.argsort(-share, kind="stable") if share[k] >= LEAST_SHARE]
    return tuple(
        MainColour(lab=(float(L), float(a), float(b)), share=float(share[k]))
        for k, (L, a, b) in ((k, centres[k].round(1)) for k in order)
    )


def _pixels(picture: Reference, paper: Paper) -> FloatArray:
    """Lab (N, 3) of every so many-th pixel."""
    step = factor_for(picture.width_px, picture.height_px, longest_px=SAMPLED_PX)
    rows = []
    for band in bands(picture.height_px, picture.width_px):
        first = -band.start % step
        rows.append(picture.read(band, slice(0, picture.width_px))[first::step, ::step])
    srgb1 = np.concatenate(rows).reshape(-1, 3) / 255
    return xyz100_to_lab(srgb1_to_xyz100(srgb1) / WHITE_XYZ100 * paper.xyz100)


def _seeds(pixels: FloatArray, most: int) -> FloatArray:
    """Means (K, 3) of the fullest cells, each far from those before it."""
    cells = np.floor(pixels / _CELL).astype(np.int64)
    _, group, counts = np.unique(cells, axis=0, return_inverse=True, return_counts=True)
    means = _means(pixels, group.reshape(-1), np.zeros((len(counts), 3)))
    seeds: list[FloatArray] = []
    for cell in np.argsort(-counts, kind="stable"):
        away = [np.linalg.norm(means[cell] - seed) for seed in seeds]
        if len(seeds) < most and all(distance >= APART for distance in away):
            seeds.append(means[cell])
    return np.array(seeds)


def _nearest(pixels: FloatArray, centres: FloatArray) -> IntArray:
    away = ((pixels[:, None] - centres) ** 2).sum(axis=2)
    return np.asarray(away.argmin(axis=1))


def _means(pixels: FloatArray, group: IntArray, centres: FloatArray) -> FloatArray:
    """Mean of every group (K, 3); one that is empty stays where it was."""
    count = np.bincount(group, minlength=len(centres))
    sums = [np.bincount(group, weights=column, minlength=len(centres)) for column in pixels.T]
    means = np.stack(sums, axis=-1) / np.maximum(count, 1)[:, None]
    return np.where(count[:, None] > 0, means, centres)
