"""Density of an ink along its ramp, as a densitometer shows it, and its tone value increase.

Here belongs densitometry of a single ink; how it is listed or drawn does not.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray
from inkmix.press.figures.densities import LEAST_DENSITY, densities, principal_channel
from inkmix.press.figures.tone_values import tone_value_pct


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
        value = tone_value_pct(self.density, paper=self.density[0], solid=self.density[-1])
        return value - self.tone_pct

    @property
    def increase_50_pct(self) -> float | None:
        """Tone value increase at 50 %; None without a ramp."""
        return self.increase_at(50.0)

    def increase_at(self, tone_pct: float) -> float | None:
        """Tone value increase at a tone value, between the nearest steps; None without a ramp."""
        increase = self.increase_pct
        if increase is None or len(self.tone_pct) < 3:
            return None
        return float(np.interp(tone_pct, self.tone_pct, increase))

    def at(self, tone_pct: float) -> float | None:
        """Density above paper at a tone value; None between paper and solid if no tint was read."""
        if len(self.tone_pct) < 3 and tone_pct not in self.tone_pct:
            return None
        return float(np.interp(tone_pct, self.tone_pct, self.above_paper))


def density_curve(
    tone_pct: npt.ArrayLike,
    xyz100: FloatArray,
    reflectance: FloatArray | None = None,
    *,
    status: str,
) -> DensityCurve:
    """The density curve of a ramp in its principal channel.

    Parameters
    ----------
    tone_pct : (S,) array_like
        Tone values 0 to 100 %, ascending; the first is the paper, the last the solid.
    xyz100 : (S, 3) array
        Colours printed, Y = 100 for the perfect diffuser.
    reflectance : (S, 36) array or None
        The same as reflectance factors; they go first.
    status : {"T", "E"}
        Filters of ISO 5-3, where the ramp's spectra are known.
    """
    channels = densities(xyz100, reflectance, status=status)
    name = principal_channel({key: float(d[-1] - d[0]) for key, d in channels.items()})
    return DensityCurve(
        channel=name,
        status=status,
        approximate=reflectance is None,
        tone_pct=np.asarray(tone_pct, dtype=np.float64),
        density=channels[name],
    )
