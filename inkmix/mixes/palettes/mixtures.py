"""Colours of mixes of many sets of inks at once, as the search asks for them.

What is shown to anyone is asked of the press condition again. Compiled loops are in
base/kernels/palette.py, their NumPy twins are here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base import loops
from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import WHITE_XYZ100, delta_e00, xyz100_to_lab
from inkmix.mixes.constraints import Constraints
from inkmix.mixes.lattice import Lattice, lattice_over, nodes_of
from inkmix.mixes.palettes.press import Inks
from inkmix.press.forward import Spreading
from inkmix.press.halftone import mix, others_share, to_power


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mixtures:
    """Sets of inks and what the model says of them.

    Parameters
    ----------
    members : (S, I) array of int
        Inks of each set in lay-down order, as columns of `covers`.
    black : (S,) array of int
        The black of each set, as row of `covers`.
    spots : (S, I) array of bool
    because : (S, I, I, C) array
        [s, i, j]: how much further ink i spreads because of ink j, where no spot ink is.
    primaries : (S, 2**I, C) array
        Relative reflectance ** (1/n).
    covers : (D, A, 101, C) array
        Coverage by whole tone values, beside each black.
    presence : (D, A) array
    to_ratio : (C, 3) array
        From relative reflectance to X, Y, Z over those of white.
    n : float
        Yule-Nielsen factor.
    spreading : float
        Strength of it on all other inks alike.
    """

    members: IntArray
    black: IntArray
    spots: BoolArray
    because: FloatArray
    primaries: FloatArray
    covers: FloatArray
    presence: FloatArray
    to_ratio: FloatArray
    n: float
    spreading: float

    def lab(self, tone_pct: FloatArray, of_set: IntArray) -> FloatArray:
        """Lab (N, 3) of tone values (N, I), each of its set (N,).

        Exact for whole percents; between them coverage goes straight, within dE00 0.01.
        """
        lab = np.empty((len(tone_pct), 3))
        if loops.are_compiled():
            from inkmix.base.kernels import palette as kernel

            kernel.colours(
                np.ascontiguousarray(tone_pct),
                of_set,
                (self.members, self.black, self.primaries, self.because, self.spots),
                (self.covers, self.presence, self.to_ratio, self.n, self.spreading),
                lab,
            )
            return lab
        for one in np.unique(of_set).tolist():
            rows = of_set == one
            lab[rows] = self._lab(tone_pct[rows], one)
        return lab

    def _lab(self, tone_pct: FloatArray, one: int) -> FloatArray:
        """Lab (N, 3) of tone values (N, I) of one set, by the functions of the press model."""
        inks = self.members[one]
        covers, presence = self.covers[self.black[one], inks], self.presence[self.black[one], inks]
        low = np.minimum(tone_pct.T.astype(np.int64), 99)
        part, each = (tone_pct.T - low)[:, :, None], np.arange(len(inks))[:, None]
        coverage = covers[each, low] * (1 - part) + covers[each, low + 1] * part
        spreading = Spreading(
            strength=self.spreading,
            presence=presence,
            because=self.because[one],
            spots=self.spots[one],
        )
        grown = spreading.grown(coverage, others_share(coverage, presence))
        ratio = to_power(mix(grown, self.primaries[one]), self.n) @ self.to_ratio
        return xyz100_to_lab(np.asarray(ratio * WHITE_XYZ100))

    def lattice(self, constraints: Constraints, *, along: Sequence[int]) -> Lattice:
        """Mixes to begin with; `along` says how many along each ink, by the number of inks."""
        held = np.ones(self.members.shape, dtype=np.bool_)
        nodes = nodes_of(
            held[0],
            floor_pct=constraints.floor_pct,
            limit_pct=constraints.limit_pct,
            along=along[constraints.inks],
        )
        return lattice_over(self, held, [nodes] * len(held))


def mixtures_of(press: Inks, members: IntArray) -> Mixtures:
    """Sets (S, I) of inks on their paper, in lay-down order."""
    spots, because = press.spreading(members)
    blacks = press.blacks()
    return Mixtures(
        members=members,
        black=np.searchsorted(blacks.density, press.black_densities(members)),
        spots=spots,
        because=because,
        primaries=press.primaries(members),
        covers=blacks.covers,
        presence=blacks.presence,
        to_ratio=press.to_ratio,
        n=press.constants.yule_nielsen_n,
        spreading=press.constants.spreading,
    )


def differences(lab: FloatArray, goals: FloatArray) -> FloatArray:
    """dE00 (T, N) of colours (N, 3) to goals (T, 3)."""
    if not loops.are_compiled():
        return delta_e00(lab, goals[:, None])
    from inkmix.base.kernels import palette as kernel

    found = np.empty((len(goals), len(lab)))
    kernel.differences(lab, goals, found)
    return found
