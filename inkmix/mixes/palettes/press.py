"""Candidates as numbers: what the search needs of every ink on a paper, and of many sets of them.

The model is that of press/, asked for all sets in a few large arrays. Measured mixtures do not
enter: few sets have any, and palettes are to be compared by what is known of all of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import WHITE_XYZ100
from inkmix.press.channels import BANDS, Channels, narrow_bands
from inkmix.press.constants import MODEL, PaperConstants
from inkmix.press.forward import because_of, curve_of
from inkmix.press.inks import Ink, Paper
from inkmix.press.paper_change import put_on_paper
from inkmix.press.solids.overprint import blackness
from inkmix.press.solids.primaries import (
    Solid,
    Stack,
    all_overprints,
    bed_of,
    black_density_of,
    solids_of,
)
from inkmix.press.solids.process_inks import BLACK, SPOT, first_of_each

TONES_PCT = np.arange(101.0)
_SETS_AT_ONCE = 256  # a few megabytes of densities


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blacks:
    """How inks print beside each black that a set may have.

    Parameters
    ----------
    density : (D,) array
        Visual densities of the blacks above the paper, rising.
    covers : (D, A, 101, C) array
        Coverage of each ink by whole tone values.
    presence : (D, A) array
    """

    density: FloatArray
    covers: FloatArray
    presence: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inks:
    """Inks as they print on one paper.

    Parameters
    ----------
    inks : tuple of Ink
        Carried over to the paper where they were measured on another.
    paper : Paper
    channels : Channels
    solids : tuple of Solid
    """

    inks: tuple[Ink, ...]
    paper: Paper
    channels: Channels
    solids: tuple[Solid, ...]

    @property
    def constants(self) -> PaperConstants:
        """Those of the paper."""
        return MODEL.paper[self.paper.paper_class]

    @property
    def to_ratio(self) -> FloatArray:
        """(3, 3) from relative reflectance to X, Y, Z over those of white."""
        return self.channels.paper[:, None] * self.channels.to_xyz100 / WHITE_XYZ100

    @property
    def usual_black_density(self) -> float:
        """Visual density above the paper of the black that a set without one is taken to have."""
        return black_density_of((), self.paper)

    def black_densities(self, members: IntArray) -> FloatArray:
        """Visual density (S,) of the black of sets (S, I), or the usual one."""
        own = [s.y_density if s.kind == BLACK else np.nan for s in self.solids]
        held = np.array(own)[members]
        first = np.isfinite(held).argmax(axis=1)
        found = held[np.arange(len(held)), first]
        return np.where(np.isfinite(found), found, self.usual_black_density)

    def covers(self, black_density: float) -> tuple[FloatArray, FloatArray]:
        """Coverage (A, 101, 3) by whole tone values, and presence (A,), beside such a black."""
        curves = [
            curve_of(ink, self.paper, kind=solid.kind, black_density=black_density)
            for ink, solid in zip(self.inks, self.solids, strict=True)
        ]
        greatest = bed_of(self.paper, black_density=black_density).greatest
        black = blackness(np.stack([solid.bands for solid in self.solids]), greatest)
        return np.stack([curve.coverage(TONES_PCT) for curve in curves]), 1 - black

    def blacks(self) -> Blacks:
        """All inks beside each of their blacks, and beside the usual one; reckoned once."""
        return _blacks(self)

    def primaries(self, members: IntArray) -> FloatArray:
        """Relative reflectance ** (1/n), (S, 2**I, 3), of sets (S, I) in lay-down order."""
        sets, inks = members.shape
        result = np.empty((sets, 2**inks, len(self.channels.paper)))
        densities = self.black_densities(members)
        for rows in _alike(members, self._kinds(), densities):
            result[rows] = self._overprints(members[rows], float(densities[rows[0]]))
        return result ** (1 / self.constants.yule_nielsen_n)

    def spreading(self, members: IntArray) -> tuple[BoolArray, FloatArray]:
        """Which inks of sets (S, I) are spot inks, and how much further each spreads (S, I, I, C)
        because of another where none is.
        """
        kinds, row = np.unique(self._own_kinds()[members], axis=0, return_inverse=True)
        every = [first_of_each(of_set) for of_set in kinds.tolist()]
        because = np.stack(
            [_further(because_of(of_set, self.paper), len(of_set)) for of_set in every]
        )
        return (np.stack(every) == SPOT)[row.ravel()], because[row.ravel()]

    def _own_kinds(self) -> IntArray:
        return np.array([solid.kind for solid in self.solids], dtype=np.int64)

    def _kinds(self) -> IntArray:
        """A number (A,) that is the same for inks of one kind, opaque or not."""
        return np.array([2 * s.kind + (s.opacity.value > 0) for s in self.solids], dtype=np.int64)

    def _overprints(self, members: IntArray, black_density: float) -> FloatArray:
        """Relative reflectance (S, 2**I, 3) of sets that are alike, as one wide set."""
        stack = Stack(
            kinds=first_of_each([self.solids[ink].kind for ink in members[0]]),
            bands=np.stack([solid.bands for solid in self.solids])[members.T],
            spectra=np.stack([solid.spectrum for solid in self.solids])[members.T],
            opacity=np.array([solid.opacity.value for solid in self.solids])[members.T],
        )
        bed = bed_of(self.paper, black_density=black_density)
        rows = all_overprints(stack, bed, paper=self.paper)
        return rows.transpose(1, 0, 2)


@lru_cache(maxsize=2)
def _blacks(inks: Inks) -> Blacks:
    every = np.arange(len(inks.solids))[:, None]
    density = np.unique([*inks.black_densities(every), inks.usual_black_density])
    covers, presence = zip(*(inks.covers(one) for one in density.tolist()), strict=True)
    return Blacks(density=density, covers=np.stack(covers), presence=np.stack(presence))


def _further(because: FloatArray | None, inks: int) -> FloatArray:
    """How inks spread because of others, (I, I, C), also where nothing is known of it."""
    return np.zeros((inks, inks, BANDS)) if because is None else because


def _alike(members: IntArray, kinds: IntArray, of_set: FloatArray) -> Iterator[NDArray[np.intp]]:
    """Rows of sets whose inks are of the same kinds beside the same black, not too many at once."""
    key = np.column_stack([of_set, kinds[members]])
    _, group = np.unique(key, axis=0, return_inverse=True)
    order = np.argsort(group.ravel(), kind="stable")
    starts = np.flatnonzero(np.diff(group.ravel()[order])) + 1
    for rows in np.split(order, starts):
        for start in range(0, len(rows), _SETS_AT_ONCE):
            yield rows[start : start + _SETS_AT_ONCE]


def inks_on_paper(inks: tuple[Ink, ...], paper: Paper) -> Inks:
    """Inks on a paper, as numbers."""
    printed = tuple(put_on_paper(ink, paper) for ink in inks)
    return Inks(
        inks=printed,
        paper=paper,
        channels=narrow_bands(paper.xyz100),
        solids=solids_of(printed, paper),
    )
