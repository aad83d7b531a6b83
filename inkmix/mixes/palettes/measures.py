"""What palettes are measured by: units, which way is better, and how much of it is a point.

A total is the sum of weight times figure over point. Points are fixed amounts and not shares of
what was found, so that a palette costs the same whatever it is compared with.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from inkmix.base.arrays import FloatArray

GREY_STEP_L = 10.0
"""A full step of grey: one of Munsell value is 10 of L*, which all eyes tell apart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One thing that may matter.

    Parameters
    ----------
    words : str
    unit : str
    sign : int
        1 where less is better, -1 where more is.
    point : float
        How much of it is a point: about what somebody looking at two prints would call a clear
        difference (judgement; no source).
    weight : float
        The usual one.
    of_all : bool
        Reckoned for every palette; else only for those that the others leave.
    """

    words: str
    unit: str
    sign: int
    point: float
    weight: float
    of_all: bool


MEASURES: Mapping[str, Measure] = MappingProxyType({
    "tones_de00": Measure(words="how near the tones come, weighted mean", unit="dE00", sign=1,
                          point=2, weight=1, of_all=True),
    "tones_worst_de00": Measure(words="the tone that is missed most", unit="dE00", sign=1,
                                point=5, weight=0.5, of_all=True),
    "darkest_L": Measure(words="the darkest mix", unit="L*", sign=1,
                         point=5, weight=1, of_all=True),
    "darkest_chroma": Measure(words="cast of the darkest mix", unit="C*", sign=1,
                              point=5, weight=0.5, of_all=True),
    "solids_chroma": Measure(words="brightness of the chosen inks, mean", unit="C*", sign=-1,
                             point=10, weight=0.5, of_all=True),
    "grey_steps": Measure(words="steps of grey between paper and solids", unit="steps", sign=-1,
                          point=1, weight=0.5, of_all=True),
    "different_mixes": Measure(words="clearly different mixes", unit="mixes", sign=-1,
                               point=20, weight=0.5, of_all=False),
    "gamut_volume": Measure(words="gamut in Lab, hull of the mixes", unit="thousand Lab units",
                            sign=-1, point=20, weight=0, of_all=False),
    "error_de00": Measure(words="how far the prediction may be off, mean", unit="dE00", sign=1,
                          point=1, weight=0.5, of_all=False),
})  # fmt: skip


def points_of(name: str, figure: FloatArray, weight: float) -> FloatArray:
    """What figures (...) of a measure cost; less is better."""
    measure = MEASURES[name]
    return np.asarray(measure.sign * weight * figure / measure.point)


def weights_of(given: Mapping[str, float], *, tones: bool) -> Mapping[str, float]:
    """The weight of every measure; those of tones only where tones are wished."""
    usual = {name: measure.weight for name, measure in MEASURES.items()}
    return MappingProxyType({
        name: float(weight)
        for name, weight in {**usual, **given}.items()
        if tones or not name.startswith("tones_")
    })  # fmt: skip


def grey_steps(lightness: FloatArray) -> FloatArray:
    """Steps of grey (N,) between solids and paper, whose L* are (N, I).

    Neighbours that lie a full step or more apart count one, nearer ones in part.
    """
    gaps = np.diff(np.sort(lightness, axis=1), axis=1)
    return np.asarray(np.minimum(gaps / GREY_STEP_L, 1).sum(axis=1))
