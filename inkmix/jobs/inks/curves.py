"""Density of an ink along its ramp, as a densitometer shows it, and its tone value increase.

Here belongs densitometry of a single ink; how it is listed or drawn does not.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import WHITE_XYZ100, murray_davies_pct, reflectance_to_density
from inkmix.colour.observer import OBSERVER_WEIGHTS, WAVELENGTHS_NM
from inkmix.press.inks import Ink

NEUTRAL_SPREAD = 0.25  # filters that differ by less than this share: a black or grey, read visually
LEAST_DENSITY = 0.02  # a solid no denser above its paper has no tone value to speak of

# Share of Z that stands in X through the short-wave lobe of x-bar; what is left of X is the red.
_SHORT = WAVELENGTHS_NM < 500
_Z_IN_X = float(OBSERVER_WEIGHTS[_SHORT, 0].sum() / OBSERVER_WEIGHTS[:, 2].sum())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DensityCurve:
    """Densities of an ink's tints in its principal channel.

    Parameters
    ----------
    channel : str
        "red", "green", "blue" or "visual": the filter in which the solid is densest above its
        paper; visual for blacks and greys.
    status : str
        "T" or "E" (ISO 5-3).
    approximate : bool
        True if XYZ stood in for the filters, which is off by up to 0.3.
    tone_pct, density : (S,) array
        Tone values and absolute densities; the first is the paper.
    """

    channel: str
    status: str
    approximate: bool
    tone_pct: FloatArray
    density: FloatArray

    @property
    def above_paper(self) -> FloatArray:
        """Densities (S,) as read by an instrument that was zeroed on the paper."""
        return np.asarray(self.density - self.density[0])

    @property
    def increase_pct(self) -> FloatArray | None:
        """Tone value increase (S,) after Murray and Davies in this channel; None if too pale.

        Holds optical and mechanical gain together, as densitometers tell it.
        """
        if self.above_paper[-1] < LEAST_DENSITY:
            return None
        light = 10.0**-self.density
        return murray_davies_pct(light, paper=light[0], solid=light[-1]) - self.tone_pct

    @property
    def increase_50_pct(self) -> float | None:
        """Tone value increase at 50 %, between the nearest steps; None without a ramp."""
        increase = self.increase_pct
        if increase is None or len(self.tone_pct) < 3:
            return None
        return float(np.interp(50.0, self.tone_pct, increase))

    def at(self, tone_pct: float) -> float | None:
        """Density above paper at a tone value; None between paper and solid if no tint was read."""
        if len(self.tone_pct) < 3 and tone_pct not in self.tone_pct:
            return None
        return float(np.interp(tone_pct, self.tone_pct, self.above_paper))


def density_curve(ink: Ink, *, status: str) -> DensityCurve:
    """The density curve of an ink in its principal channel.

    Parameters
    ----------
    status : {"T", "E"}
        Filters of ISO 5-3, where the ink's spectra are known.
    """
    channels = _from_xyz(ink.xyz100) if ink.reflectance is None else _filters(ink, status)
    name = principal_channel({key: float(d[-1] - d[0]) for key, d in channels.items()})
    return DensityCurve(
        channel=name,
        status=status,
        approximate=ink.reflectance is None,
        tone_pct=ink.tone_pct,
        density=channels[name],
    )


def principal_channel(above_paper: Mapping[str, float]) -> str:
    """The filter for an ink whose solid has these densities above its paper.

    >>> principal_channel({"red": 0.2, "green": 1.3, "blue": 0.7, "visual": 0.6})
    'green'
    >>> principal_channel({"red": 1.5, "green": 1.5, "blue": 1.4, "visual": 1.5})
    'visual'
    """
    colours = {key: value for key, value in above_paper.items() if key != "visual"}
    most, least = max(colours.values()), min(colours.values())
    if most - least < NEUTRAL_SPREAD * most:
        return "visual"
    return max(colours, key=colours.__getitem__)


def _filters(ink: Ink, status: str) -> dict[str, FloatArray]:
    return {
        **reflectance_to_density(ink.reflectance, status=status),  # type: ignore[arg-type]
        **reflectance_to_density(ink.reflectance, status="visual"),  # type: ignore[arg-type]
    }


def _from_xyz(xyz100: FloatArray) -> dict[str, FloatArray]:
    """X without its short-wave lobe for red, Y for green and visual, Z for blue."""
    parts = np.stack([xyz100[:, 0] - _Z_IN_X * xyz100[:, 2], xyz100[:, 1], xyz100[:, 2]])
    white = np.array([WHITE_XYZ100[0] - _Z_IN_X * WHITE_XYZ100[2], *WHITE_XYZ100[1:]])
    red, green, blue = -np.log10(np.maximum(parts / white[:, None], 1e-6))
    return {"red": red, "green": green, "blue": blue, "visual": green}
