"""From the tone value in the file to the coverage on the sheet, per band.

One curve an ink: through its measured ramp, or the usual shape bent to a tone value increase.
Coverage is the effective one, in the domain of reflectance to the power 1/n; spreading on other
inks belongs to inkmix.press.halftone.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from inkmix.base.arrays import FloatArray, read_only
from inkmix.colour.colorimetry import murray_davies_pct
from inkmix.colour.monotone import MonotoneCurve, monotone_curve
from inkmix.press.channels import Channels
from inkmix.press.constants import MODEL, PaperConstants

_BISECTIONS = 48  # of a tone value or an offset: to the last bit
_LEAST_CONTRAST, _LEAST_SQUARES, _LEAST_DENSITY = 1e-9, 1e-12, 1e-9  # so that shares can be had


class ToneCurve(Protocol):
    """Coverage of one ink by tone value."""

    def coverage(self, tone_pct: FloatArray) -> FloatArray:
        """Coverage (..., C), 0-1, at tone values (...), 0-100 %."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RampCurve:
    """Monotone cubic curve (Fritsch & Carlson) through the coverage of each measured step.

    Parameters
    ----------
    tone_pct : (S,) array
    steps : (S, C) array
        Coverage of each step, 0-1.
    """

    tone_pct: FloatArray
    steps: FloatArray
    _curve: MonotoneCurve = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_curve", monotone_curve(self.tone_pct, self.steps))

    def coverage(self, tone_pct: FloatArray) -> FloatArray:
        return self._curve(tone_pct)


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightCurve:
    """Coverage is the tone value: a plate that is made of dots already."""

    channels: int

    def coverage(self, tone_pct: FloatArray) -> FloatArray:
        return np.repeat(tone_pct[..., None] / 100, self.channels, axis=-1)


def curve_from_ramp(tone_pct: FloatArray, relative: FloatArray, *, n: float) -> RampCurve:
    """Curve through a ramp's reflectances (S, C) relative to the paper, last the solid.

    Where an ink hardly shows in a band, its coverage there leans on that of all bands.
    """
    return RampCurve(tone_pct=read_only(tone_pct), steps=read_only(_coverages(relative, n)))


def _coverages(relative: FloatArray, n: float) -> FloatArray:
    """Coverage (S, C) of each step of a ramp (S, C), 0-1."""
    depth = 1 - relative ** (1 / n)
    solid = depth[-1]
    common = (depth @ solid) / np.maximum(solid @ solid, _LEAST_SQUARES)
    shows = np.abs(solid)
    own = depth / np.where(shows > _LEAST_CONTRAST, solid, 1.0)
    width = MODEL.tone.contrast_own - MODEL.tone.contrast_common
    weight = np.clip((shows - MODEL.tone.contrast_common) / width, 0, 1)
    steps = np.clip(weight * own + (1 - weight) * common[:, None], 0, 1)
    steps[0], steps[-1] = 0, 1
    return np.asarray(steps, dtype=np.float64)


def usual_offset(constants: PaperConstants, *, black_density: float) -> float:
    """Coverage that a 50 % tint gains beyond the optical gain; less where the black is denser."""
    above = black_density - constants.tone_offset_at
    return constants.tone_offset - constants.tone_by_density * above


def curve_from_solid(
    solid: FloatArray, constants: PaperConstants, *, offset: float, common: FloatArray
) -> RampCurve:
    """The usual curve for a solid of relative reflectance (C,).

    Parameters
    ----------
    offset : float
        As `usual_offset` gives it.
    common : (2, C) array
        Gain and skew that presses have in common in this ink.
    """
    curve = _usual_curve(solid, offset, constants)
    tone = curve.tone_pct[:, None] / 100
    bump = 4 * tone * (1 - tone)
    steps = np.clip(curve.steps + (common[0] + 2 * common[1] * (1 - 2 * tone)) * bump, 0, 1)
    return RampCurve(tone_pct=curve.tone_pct, steps=read_only(steps))


def curve_from_increase(
    solid: FloatArray, increase_pct: float, *, constants: PaperConstants, channels: Channels
) -> RampCurve:
    """Curve whose 50 % tint shows a tone value increase, told as a Murray-Davies figure in percent.

    The figure is read in that of X, Y, Z in which the solid is darkest, as density is read through
    the complementary filter.
    """
    paper, full = channels.relative_to_xyz100(np.stack([np.ones_like(solid), solid]))
    band = int(np.argmin(full / paper))
    half = np.array([0.5])

    def shown_pct(offset: float) -> float:
        tint = channels.relative_to_xyz100(_usual_ramp(half, solid, offset)[0])
        return float(murray_davies_pct(tint[band], paper=paper[band], solid=full[band]))

    low, high = -0.5, 0.5
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (middle, high) if shown_pct(middle) < 50 + increase_pct else (low, middle)
    return _usual_curve(solid, (low + high) / 2, constants)


def _usual_curve(solid: FloatArray, offset: float, constants: PaperConstants) -> RampCurve:
    """The usual shape, as if it had been measured in steps of 5 %."""
    tone = np.linspace(0, 1, MODEL.tone.usual_steps)
    ramp = _usual_ramp(tone, solid, offset)
    return curve_from_ramp(100 * tone, ramp, n=constants.yule_nielsen_n)


def _usual_ramp(tone: FloatArray, solid: FloatArray, offset: float) -> FloatArray:
    """Relative reflectance (S, C) of tints (S,), 0-1, with `offset` more coverage at 50 %."""
    tone = tone[:, None]
    bump = tone * (1 - tone)
    gain = 4 * (offset + _gain_by_density(solid)) - MODEL.tone.skew * (1 - 2 * tone)
    coverage = np.clip(tone + gain * bump, 0, 1)
    root = 1 - coverage * (1 - solid ** (1 / MODEL.tone.n))
    return np.asarray(root**MODEL.tone.n, dtype=np.float64)


def _gain_by_density(solid: FloatArray) -> FloatArray:
    """Extra gain (C,) where an ink absorbs less than in its principal band."""
    density = np.maximum(-np.log10(solid), 0)
    share = density / max(float(density.max()), _LEAST_DENSITY)
    return np.asarray(MODEL.tone.gain_by_density * (1 - share), dtype=np.float64)
