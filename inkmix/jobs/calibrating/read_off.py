"""What printers read off a form: each ink by itself, and each pair of solids on each other."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.base.errors import UsageError
from inkmix.jobs.inks.entries import Field, field_of
from inkmix.press.condition import PressCondition
from inkmix.press.figures.density_curve import DensityCurve, density_curve
from inkmix.press.figures.tone_values import spot_colour_tone_value_pct
from inkmix.press.figures.trapping import Trapping, trapping_of_pair
from inkmix.press.inks import Ink
from inkmix.press.scoring.chart import Chart
from inkmix.press.solids.opacity import Opacity

STATUS = "E"
"""Filters of all densities (ISO 5-3), as offset printers in Europe read them (common practice)."""

LESS_DENSE = 0.5
"""A figure of trapping tells of the ink where the one below has at most this share of its density,
in its filter: beyond, a low one is the dark where densities stop adding up. Chosen."""

_SOLID_PCT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkRead:
    """An ink by itself, as it was read.

    Parameters
    ----------
    tints : tuple (S,) of Field
        From bare paper to the solid, at the tone values of `curve`.
    curve : DensityCurve
    sctv_pct : (S,) ndarray or None
        Spot colour tone value of each; None where the solid can hardly be told from the paper.
    opacity : Opacity
        As learnt from the overprints, where they tell of it.
    """

    name: str
    tints: tuple[Field, ...]
    curve: DensityCurve
    sctv_pct: FloatArray | None
    opacity: Opacity

    @property
    def has_ramp(self) -> bool:
        """Whether any tint was read."""
        return len(self.tints) > 2

    def sctv_at_pct(self, tone_pct: float) -> float | None:
        """Spot colour tone value between the nearest steps; None without a ramp."""
        if self.sctv_pct is None or not self.has_ramp:
            return None
        return float(np.interp(tone_pct, self.curve.tone_pct, self.sctv_pct))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PairRead:
    """Two solids, `first` printed first in the book's order, and one on the other.

    Parameters
    ----------
    first_field, second_field, field : Field
        Each alone, and both.
    trapping : Trapping
    hides : bool
        Whether the second ink is opaque, so that no trapping can be told.
    """

    first: str
    second: str
    first_field: Field
    second_field: Field
    field: Field
    trapping: Trapping
    hides: bool

    @property
    def is_telling(self) -> bool:
        """Whether the figure says something of how the second ink took."""
        return self.trapping.first <= LESS_DENSE * self.trapping.second


def inks_read(condition: PressCondition, names: tuple[str, ...]) -> tuple[InkRead, ...]:
    """Inks of a condition that were read on its press, in lay-down order."""
    return tuple(
        _ink_read(ink, solid.opacity)
        for ink, solid in zip(condition.inks, condition.model.solids, strict=True)
        if ink.name in names
    )


def _ink_read(ink: Ink, opacity: Opacity) -> InkRead:
    return InkRead(
        name=ink.name,
        tints=tuple(field_of(xyz100) for xyz100 in ink.xyz100),
        curve=density_curve(ink.tone_pct, ink.xyz100, ink.reflectance, status=STATUS),
        sctv_pct=_sctv_pct(ink.xyz100),
        opacity=opacity,
    )


def _sctv_pct(xyz100: FloatArray) -> FloatArray | None:
    try:
        return spot_colour_tone_value_pct(xyz100, paper=xyz100[0], solid=xyz100[-1])
    except UsageError:  # an ink of the paper's colour
        return None


def pairs_read(chart: Chart, inks: tuple[InkRead, ...]) -> tuple[PairRead, ...]:
    """Every pair of solids that was read, in lay-down order of the first ink, then of the second.

    Parameters
    ----------
    inks : tuple of InkRead
        Those of the chart's plates.
    """
    return tuple(_pairs(chart, {one.name: one.opacity for one in inks}))


def _pairs(chart: Chart, opacity: dict[str, Opacity]) -> Iterator[PairRead]:
    for first, second in combinations(range(len(chart.plates)), 2):
        both = _solid_pair(chart, first, second)
        if both.any():
            rows = (chart.bare, chart.solids_of(first), chart.solids_of(second), both)
            yield _pair(chart, rows, chart.plates[first], opacity[chart.plates[second]], second)


def _solid_pair(chart: Chart, first: int, second: int) -> BoolArray:
    solid = (chart.tone_pct[:, [first, second]] == _SOLID_PCT).all(axis=1)
    return np.asarray(solid & (chart.inks_held == 2))


def _pair(
    chart: Chart, rows: tuple[BoolArray, ...], first: str, opacity: Opacity, second: int
) -> PairRead:
    means = [chart.mean_of(some) for some in rows]
    xyz100 = np.stack([one for one, _ in means])
    spectra = [one for _, one in means if one is not None]
    _, alone, over, both = (field_of(one) for one in xyz100)
    return PairRead(
        first=first,
        second=chart.plates[second],
        first_field=alone,
        second_field=over,
        field=both,
        trapping=trapping_of_pair(xyz100, np.stack(spectra) if spectra else None, status=STATUS),
        hides=opacity.is_opaque,
    )
