"""A press condition as a small table, for pictures of a few hundred pixels and thousands of trials.

Coarser than the table that prints are predicted with (lookup.py), and made in a tenth of its time:
good enough to look at and to compare assignments by. No figure of a report comes from it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from inkmix.base.arrays import FloatArray, read_only
from inkmix.press.condition import PressCondition
from inkmix.press.table.lookup import coverage_curves

NODES = {1: 65, 2: 33, 3: 17, 4: 11, 5: 7, 6: 5, 7: 4, 8: 3}
"""Nodes an ink, by the number of inks: 5 000 to 17 000 colours of the exact model from three inks
on. Five shipped inks: dE00 0.05 off on average, 0.3 at most."""

_TONES_PCT = np.linspace(0, 100, 257)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SmallTable:
    """Colours of a condition's mixes, interpolated.

    Parameters
    ----------
    lab : (G, ..., G, 3) array
        Of the nodes, equally far apart in coverage; one axis an ink in lay-down order.
    curves : (I, 257) array
        Coverage of every ink at tone values from 0 to 100 %, rising from 0 to 1.
    """

    lab: FloatArray
    curves: FloatArray

    def lab_of(self, tone_pct: npt.ArrayLike) -> FloatArray:
        """CIELAB (..., 3) of tone values (..., I)."""
        from scipy.ndimage import map_coordinates

        tones = np.asarray(tone_pct, dtype=np.float64)
        flat = tones.reshape(-1, tones.shape[-1])
        last = self.lab.shape[0] - 1
        places = np.stack([
            np.interp(flat[:, ink], _TONES_PCT, curve) * last
            for ink, curve in enumerate(self.curves)
        ])  # fmt: skip
        lab = [map_coordinates(self.lab[..., k], places, order=1, mode="nearest") for k in range(3)]
        return np.stack(lab, axis=-1).reshape(*tones.shape[:-1], 3)


def small_table(condition: PressCondition) -> SmallTable:
    """The table of a press condition of up to eight inks."""
    inks = len(condition.inks)
    nodes = NODES[inks]
    curves = coverage_curves(condition, _TONES_PCT, inks)
    grid = np.linspace(0, 1, nodes)
    axes = [np.interp(grid, curve, _TONES_PCT) for curve in curves]
    tones = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    return SmallTable(lab=read_only(condition.lab(tones)), curves=read_only(curves))
