"""The plates of a spread, reduced: every so many-th pixel, and the mixes that fill the picture.

Read once for all palettes. What the plates are printed in is not known here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray, read_only
from inkmix.plates.overview import factor_for
from inkmix.plates.set import PlateSet

SAMPLED_PX = 1100
"""Of the longer side: as wide as a page shows it, and twice that on a phone."""

_STEPS_PCT = (5.0, 10.0, 20.0, 25.0, 50.0)
_SCALE = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledPlates:
    """Tone values of a few pixels of every plate.

    Parameters
    ----------
    names : tuple of str
        Of the plates, in lay-down order.
    tone_pct : (rows, cols, I) array
        0-100.
    step : int
        Pixels of the plates from one to the next.
    """

    names: tuple[str, ...]
    tone_pct: FloatArray
    step: int

    def only(self, names: Sequence[str]) -> "SampledPlates":
        """The same without other plates."""
        kept = [place for place, name in enumerate(self.names) if name in names]
        return SampledPlates(
            names=tuple(self.names[place] for place in kept),
            tone_pct=read_only(self.tone_pct[..., kept]),
            step=self.step,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MainMixes:
    """The mixes that fill a picture, grouped where they are alike.

    Parameters
    ----------
    tone_pct : (B, I) array
        Mean of each group.
    share : (B,) array
        Of the picture; they sum to 1.
    group_of : (rows, cols) array of int
        Which group each pixel belongs to.
    """

    tone_pct: FloatArray
    share: FloatArray
    group_of: IntArray


def sampled_plates(plates: PlateSet, *, longest_px: int = SAMPLED_PX) -> SampledPlates:
    """Every so many-th pixel of all plates, at most `longest_px` along the longer side.

    Grain and fine lines are not averaged: each pixel is one that prints.

    Raises
    ------
    InkmixError
        Where a plate turns out to be damaged.
    """
    step = factor_for(plates.width_px, plates.height_px, longest_px=longest_px)
    shape = (-(-plates.height_px // step), -(-plates.width_px // step), len(plates.inks))
    tones = np.zeros(shape)
    scale = _SCALE / plates.full
    plates.sample_into(tones, lambda amounts: np.moveaxis(amounts, 0, -1) * scale, step=step)
    return SampledPlates(names=plates.inks, tone_pct=read_only(tones), step=step)


def main_mixes(sampled: SampledPlates, *, most: int) -> MainMixes:
    """The pixels in at most some `most` groups, as fine as that allows (at least two steps)."""
    flat = sampled.tone_pct.reshape(-1, len(sampled.names))
    for step_pct in _STEPS_PCT:
        groups, counts = _grouped(flat, step_pct)
        if len(counts) <= most:
            break
    sums = [np.bincount(groups, weights=column, minlength=len(counts)) for column in flat.T]
    return MainMixes(
        tone_pct=read_only(np.stack(sums, axis=-1) / counts[:, None]),
        share=read_only(counts / counts.sum()),
        group_of=groups.reshape(sampled.tone_pct.shape[:2]),
    )


def _grouped(flat: FloatArray, step_pct: float) -> tuple[IntArray, IntArray]:
    """Group of every pixel (N,) and pixels of every group (B,), on a grid of tone values."""
    cells = np.rint(flat / step_pct).astype(np.int64)
    number = np.zeros(len(cells), np.int64)
    for column in cells.T:
        number = number * (round(_SCALE / step_pct) + 1) + column
    _, groups, counts = np.unique(number, return_inverse=True, return_counts=True)
    return groups.reshape(-1), counts


def shares_of(
    sampled: SampledPlates, mixes: Sequence[Sequence[float]], *, near_pct: float
) -> FloatArray:
    """Share (M,) of the picture whose mix is one of these (I,), each tone value within a distance.

    A pixel near several of them counts for the nearest.
    """
    flat = sampled.tone_pct.reshape(-1, len(sampled.names))
    away = np.stack([np.abs(flat - np.asarray(mix)).max(axis=1) for mix in mixes])
    nearest, is_near = away.argmin(axis=0), away.min(axis=0) <= near_pct
    return np.bincount(nearest[is_near], minlength=len(mixes)) / max(len(flat), 1)
