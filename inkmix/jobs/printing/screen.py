"""Layers multiplied on a screen, as a model of its own: what artists look at today."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from inkmix.base.arrays import all_combinations
from inkmix.press.condition import PressCondition
from inkmix.press.screen import screen_multiply_xyz100


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScreenModel:
    """Not a prediction of print; it shows by how much the screen misses it."""

    solids_xyz100: NDArray[np.float64]
    paper_xyz100: NDArray[np.float64]

    def xyz100(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """XYZ (..., 3) of tone values (..., I), 0-100 %."""
        return screen_multiply_xyz100(
            tone_pct, solids_xyz100=self.solids_xyz100, paper_xyz100=self.paper_xyz100
        )

    def xyz100_on_grid(self, tone_pct: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
        """XYZ (N, 3) of all combinations of tone values (V,) of each ink."""
        return self.xyz100(all_combinations(tone_pct))

    def coverage(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """The tone value itself: a screen knows no dot gain."""
        return np.asarray(tone_pct, dtype=np.float64) / 100


def screen_model(condition: PressCondition) -> ScreenModel:
    """The inks of a press condition as a screen multiplies them."""
    solids = np.eye(len(condition.inks)) * 100
    return ScreenModel(solids_xyz100=condition.xyz100(solids), paper_xyz100=condition.paper.xyz100)
