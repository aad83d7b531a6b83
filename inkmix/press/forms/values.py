"""Patches of a form, the inks they are printed in, and tone values that a plate can hold."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.press.condition import PressCondition

PAPER, RAMP = "paper", "ramp"
OVER_BLACK, OVER_COMPLEMENT, OVERPRINT = "over black", "over complement", "overprint"
DARK, TINT, NAMED = "dark", "tint", "named tone"
KINDS = (PAPER, RAMP, OVER_BLACK, OVER_COMPLEMENT, OVERPRINT, DARK, TINT, NAMED)

FULL8 = 255
_EQUAL_PCT = 1e-6

Mix = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """One patch.

    Parameters
    ----------
    tone_pct : tuple of float
        Tone value of every ink in lay-down order, 0-100, as 8-bit plates hold it.
    kind : str
        One of KINDS.
    why : str
        What it is printed for, in a few words.
    """

    tone_pct: Mix
    kind: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormInks:
    """The inks of a form, and whose plate each prints.

    Parameters
    ----------
    condition : PressCondition
    owners : tuple of int
        For each ink the ink whose plate it prints: itself, or for a double hit an earlier one.
    ink_limit_pct : float or None
        Greatest total ink; None where nobody knows one.
    """

    condition: PressCondition
    owners: tuple[int, ...]
    ink_limit_pct: float | None

    @property
    def plates(self) -> tuple[int, ...]:
        """Inks with a plate of their own, in lay-down order."""
        return tuple(dict.fromkeys(self.owners))

    def tones_of(self, mixes: Sequence[dict[int, float]]) -> FloatArray:
        """Tone values (N, I) of mixes by plate: whatever prints a plate prints its tone value."""
        rows = np.zeros((len(mixes), len(self.owners)))
        for row, mix in zip(rows, mixes, strict=True):
            row[:] = [mix.get(owner, 0.0) for owner in self.owners]
        return rows

    def is_allowed(self, tone_pct: FloatArray) -> np.ndarray:
        """Which rows (N, I) the sheet can carry (N,)."""
        if self.ink_limit_pct is None:
            return np.ones(len(tone_pct), dtype=np.bool_)
        return np.asarray(tone_pct.sum(axis=1) <= self.ink_limit_pct + _EQUAL_PCT)

    def name(self, ink: int) -> str:
        """Name of an ink."""
        return self.condition.inks[ink].name

    def sets(self, size: int) -> Iterator[tuple[int, ...]]:
        """Every so many plates, in lay-down order."""
        return combinations(self.plates, size)


def held8(tone_pct: FloatArray) -> FloatArray:
    """The nearest tone values that an 8-bit plate holds, %."""
    return np.asarray(np.rint(np.asarray(tone_pct) * FULL8 / 100) * 100 / FULL8, dtype=np.float64)


def as_mix(row: FloatArray) -> Mix:
    """A row of tone values as plain numbers."""
    return tuple(float(tone) for tone in row)
