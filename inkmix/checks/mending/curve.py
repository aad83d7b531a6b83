"""Tone curves that add ink to plates: smooth and rising, so that no tone overtakes another."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkmix.base.arrays import FloatArray
from inkmix.base.words import count
from inkmix.checks.window import Planes, as_planes, full_scale

DEGREE = 8
PLACES_PCT = tuple(100 * place / DEGREE for place in range(DEGREE + 1))
"""Tone values at which the heights of a curve stand; heights like these change nothing."""

WEIGHT_BITS = 8
WEIGHT_ONE = 1 << WEIGHT_BITS
"""Weight at which a curve acts fully."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneCurve:
    """How the tone values of one plate become others.

    A Bernstein polynomial: as its heights rise and none lies below its place, it rises too and only
    adds ink, without a kink anywhere.

    Parameters
    ----------
    plate : str
        Name of the ink.
    heights_pct : tuple of float
        At PLACES_PCT; the last is 100.

    References
    ----------
    Farouki 2012, The Bernstein polynomial basis: a centennial retrospective, Comput. Aided Geom.
    Des. 29, 379-419: such a polynomial is monotone where its coefficients are.
    """

    plate: str
    heights_pct: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.heights_pct) != len(PLACES_PCT):
            found = f"holds {count(len(self.heights_pct), 'height')}"
            raise ValueError(f"{found}; a curve has {len(PLACES_PCT)}")
        places = zip(self.heights_pct, PLACES_PCT, strict=True)
        rises = all(a <= b for a, b in zip(self.heights_pct, self.heights_pct[1:], strict=False))
        if not rises or any(height < place - 1e-9 for height, place in places):
            raise ValueError(f"{self.heights_pct} are not heights of a curve that adds ink")
        if self.heights_pct[-1] > 100:
            raise ValueError("a curve ends at 100 %")

    def after_pct(self, tone_pct: ArrayLike) -> FloatArray:
        """Tone values in % that tone values in % become."""
        share = np.asarray(tone_pct, dtype=np.float64) / 100
        return np.asarray(bernstein(share) @ np.array(self.heights_pct))

    def steps(self, full: int) -> NDArray[np.int32]:
        """The step (full + 1,) that each step of a plate becomes; never below it."""
        before = np.arange(full + 1)
        after = np.rint(self.after_pct(before * (100 / full)) * (full / 100)).astype(np.int32)
        return np.maximum(after, before).astype(np.int32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lift:
    """Curves, and the numbers of their plates."""

    curves: Sequence[ToneCurve]
    numbers: Sequence[int]

    def after(self, planes: Planes, weights: NDArray[np.int32]) -> Planes:
        """Planes (I, ...) after curves that act by weights (...) of WEIGHT_ONE."""
        after = planes.copy()
        for number, curve in zip(self.numbers, self.curves, strict=True):
            after[number] = lifted(planes[number], curve, weights)
        return after


def lifted(plane: Planes, curve: ToneCurve, weights: NDArray[np.int32]) -> Planes:
    """A plane after a curve that acts by weights of WEIGHT_ONE."""
    steps = curve.steps(full_scale(plane))
    more = steps - np.arange(len(steps), dtype=np.int32)
    added: NDArray[np.int32] = np.right_shift(more[plane] * weights + WEIGHT_ONE // 2, WEIGHT_BITS)
    return as_planes(plane + added.astype(plane.dtype))


def bernstein(share: FloatArray) -> FloatArray:
    """The polynomials (..., DEGREE + 1) at shares (...) of 0-1."""
    along = np.asarray(share)[..., None]
    at = np.arange(DEGREE + 1)
    ways = np.array([comb(DEGREE, int(k)) for k in at])
    return np.asarray(ways * along**at * (1 - along) ** (DEGREE - at))
