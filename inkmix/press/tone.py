"""From the tone value in the file to the coverage on the sheet, per channel.

One curve an ink: through its measured ramp, or the usual shape bent to a tone value increase.
Coverage is the effective one, in the domain of reflectance to the power 1/n; spreading on other
inks belongs to inkmix.press.halftone.
"""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from inkmix.arrays import FloatArray, read_only
from inkmix.colorimetry import murray_davies_pct
from inkmix.monotone import MonotoneCurve, monotone_curve
from inkmix.press.channels import Channels
from inkmix.press.constants import MODEL, PaperConstants

_BISECTIONS = 48
_USUAL_STEPS = 21


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

    Where an ink hardly shows in a channel, its coverage there leans on that of all channels.
    """
    depth = 1 - relative ** (1 / n)
    solid = depth[-1]
    common = (depth @ solid) / np.maximum(solid @ solid, 1e-12)
    shows = np.abs(solid)
    own = depth / np.where(shows > 1e-9, solid, 1.0)
    width = MODEL.contrast_own - MODEL.contrast_common
    weight = np.clip((shows - MODEL.contrast_common) / width, 0, 1)
    steps = np.clip(weight * own + (1 - weight) * common[:, None], 0, 1)
    steps[0], steps[-1] = 0, 1
    return RampCurve(tone_pct=read_only(tone_pct), steps=read_only(steps))


def curve_from_solid(
    solid: FloatArray, constants: PaperConstants, *, blackness: float
) -> RampCurve:
    """The usual curve of the paper class for a solid of relative reflectance (C,).

    `blackness`, 0-1: a black gains less than a colour.
    """
    offset = (1 - blackness) * constants.tone_offset + blackness * constants.black_tone_offset
    return _usual_curve(solid, offset, constants)


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
        tint = channels.relative_to_xyz100(_usual_ramp(half, solid, offset, constants)[0])
        return float(murray_davies_pct(tint[band], paper=paper[band], solid=full[band]))

    low, high = -0.5, 0.5
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (middle, high) if shown_pct(middle) < 50 + increase_pct else (low, middle)
    return _usual_curve(solid, (low + high) / 2, constants)


def _usual_curve(solid: FloatArray, offset: float, constants: PaperConstants) -> RampCurve:
    """The usual shape, as if it had been measured in steps of 5 %."""
    tone = np.linspace(0, 1, _USUAL_STEPS)
    ramp = _usual_ramp(tone, solid, offset, constants)
    return curve_from_ramp(100 * tone, ramp, n=constants.yule_nielsen_n)


def _usual_ramp(
    tone: FloatArray, solid: FloatArray, offset: float, constants: PaperConstants
) -> FloatArray:
    """Relative reflectance (S, C) of tints (S,), 0-1, with `offset` more coverage at 50 %."""
    tone = tone[:, None]
    bump = tone * (1 - tone)
    gain = 4 * (offset + _gain_by_density(solid)) - MODEL.tone_skew * (1 - 2 * tone)
    coverage = np.clip(tone + gain * bump, 0, 1)
    root = 1 - coverage * (1 - solid ** (1 / constants.tone_n))
    return np.asarray(root**constants.tone_n, dtype=np.float64)


def _gain_by_density(solid: FloatArray) -> FloatArray:
    """Extra gain (C,) where an ink absorbs less than in its principal channel."""
    density = np.maximum(-np.log10(solid), 0)
    share = density / max(float(density.max()), 1e-9)
    return np.asarray(MODEL.tone_gain_by_density * (1 - share), dtype=np.float64)


def coverage_to_tone_pct(curve: ToneCurve, coverage: FloatArray) -> FloatArray:
    """Tone value (...), 0-100 %, at which the mean coverage over the channels is reached.

    Where a curve is flat any of the tone values may be returned.
    """
    low, high = np.zeros_like(coverage), np.full_like(coverage, 100.0)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        below = curve.coverage(middle).mean(axis=-1) < coverage
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return (low + high) / 2
