"""What plates in other inks are to look like: a reference picture, or the print as it is now."""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    decode_srgb1,
    encode_srgb1,
    srgb1_to_xyz100,
    xyz100_to_lab,
)
from inkmix.mixes.assigned.plates import MainMixes, SampledPlates
from inkmix.mixes.assigned.table import SmallTable
from inkmix.plates.reference.picture import Reference
from inkmix.press.inks import Paper
from inkmix.sheet.geometry import Sheet


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Aimed:
    """What is aimed at.

    Parameters
    ----------
    words : str
        What it is, to be set after "as near as can be to".
    lab : (B, 3) array
        The colour that each of the main mixes should have.
    """

    words: str
    lab: FloatArray


def aimed_at_print(table: SmallTable, mixes: MainMixes) -> Aimed:
    """The picture as it prints in its present inks, whose table is given."""
    return Aimed(words="the print in its present inks", lab=table.lab_of(mixes.tone_pct))


def aimed_at_picture(
    picture: Reference, *, sampled: SampledPlates, mixes: MainMixes, sheet: Sheet, paper: Paper
) -> Aimed:
    """A reference picture of the same sheet, with the paper as its white.

    Each mix should have the mean colour, in light, of the picture where the mix is.
    """
    light = _light_where_sampled(picture, sampled, sheet)
    inside = np.isfinite(light[..., 0]).ravel()
    groups, count = mixes.group_of.ravel()[inside], len(mixes.share)
    pixels = np.maximum(np.bincount(groups, minlength=count), 1)
    means = np.stack([
        np.bincount(groups, weights=channel, minlength=count) / pixels
        for channel in light.reshape(-1, 3)[inside].T
    ], axis=-1)  # fmt: skip
    xyz100 = srgb1_to_xyz100(encode_srgb1(means)) / WHITE_XYZ100 * paper.xyz100
    return Aimed(words=f"the picture {picture.path.name}", lab=xyz100_to_lab(xyz100))


def _light_where_sampled(picture: Reference, sampled: SampledPlates, sheet: Sheet) -> FloatArray:
    """Linear sRGB (rows, cols, 3) of the picture at each sampled pixel; NaN beside it."""
    rows, cols = sampled.tone_pct.shape[:2]
    top, left = 0.0, 0.0
    height, width = float(sheet.height_px), float(sheet.width_px)
    if picture.covers == "trim":
        top = left = sheet.bleed_mm * sheet.px_per_mm
        height, width = height - 2 * top, width - 2 * left
    at_row = (np.arange(rows) * sampled.step + 0.5 - top) / height * picture.height_px
    at_col = (np.arange(cols) * sampled.step + 0.5 - left) / width * picture.width_px
    down = (at_row >= 0) & (at_row < picture.height_px)
    across = (at_col >= 0) & (at_col < picture.width_px)
    light = np.full((rows, cols, 3), np.nan)
    places = at_col[across].astype(int)
    for row in np.flatnonzero(down):
        line = int(at_row[row])
        srgb8 = picture.read(slice(line, line + 1), slice(0, picture.width_px))[0, places]
        light[row, across] = decode_srgb1(srgb8 / 255)
    return light
