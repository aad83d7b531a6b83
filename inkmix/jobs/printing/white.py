"""Tables of a spread for pictures: on its paper, or with the paper as the screen's white."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from inkmix.colour.colorimetry import WHITE_XYZ100
from inkmix.jobs.spread import Spread
from inkmix.press.table.disk_cache import kept_lookup
from inkmix.press.table.lookup import ColourModel, Lookup


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnWhite:
    """A model with its paper shown as the screen's white."""

    model: ColourModel
    paper_xyz100: NDArray[np.float64]

    def xyz100(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """XYZ (..., 3) relative to the paper, whose white is D50."""
        return self._on_white(self.model.xyz100(tone_pct))

    def xyz100_on_grid(self, tone_pct: Sequence[NDArray[np.float64]]) -> NDArray[np.float64]:
        """The same (N, 3) of all combinations of tone values (V,) of each ink."""
        return self._on_white(self.model.xyz100_on_grid(tone_pct))

    def coverage(self, tone_pct: npt.ArrayLike) -> NDArray[np.float64]:
        """Coverage (..., I), as in the model."""
        return self.model.coverage(tone_pct)

    def _on_white(self, xyz100: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(xyz100 / self.paper_xyz100 * WHITE_XYZ100, dtype=np.float64)


def lookup_for(spread: Spread, model: ColourModel, *, adapt_to_paper: bool) -> Lookup:
    """Table of a model for the plates of a spread, on its paper or on white."""
    if adapt_to_paper:
        model = OnWhite(model=model, paper_xyz100=spread.condition.paper.xyz100)
    return kept_lookup(model, inks=len(spread.plates.inks), depth=spread.plates.depth)
