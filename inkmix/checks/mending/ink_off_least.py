"""Which plates to take ink from, so that the predicted colour changes least.

Least squares on what dE00 is made of: a few rounds in which the change is taken as linear in the
tone values, each solved within the bounds by exchanges between two plates. Ink is only taken,
never added. No pixels here; mixes are rows.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import vector_e00

EVENNESS = 1e-5
"""What the square of a point costs, in squares of dE00: where colour does not tell, ink comes off
evenly, and like mixes lose alike. Ten times as much costs 3 to 40 % more dE00."""

_ROUNDS = 3  # two leave the mean change 2 % greater
_SWEEPS = 6  # twice as many gain nothing in the fourth digit
_NUDGE_PCT = 0.5
_MIXES = 2048  # at once

Lab = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InkTaking:
    """How mixes look, and what counts of a change.

    Parameters
    ----------
    lab : (..., P) -> (..., 3)
        Predicted Lab of tone values of the plates that may give ink, in %.
    hits : (P,) ndarray of int64
        How often each of them is printed.
    lightness_worth : float
        A change of lightness counts for so many of chroma or hue.
    """

    lab: Lab
    hits: FloatArray
    lightness_worth: float = 1.0

    def least(self, tone_pct: FloatArray, take_pct: FloatArray) -> FloatArray:
        """Points (N, P) to take from mixes (N, P) so that totals lose `take_pct` (N,).

        No mix may be asked for more than it has.
        """
        parts = range(0, len(tone_pct), _MIXES)
        found = [self._some(tone_pct[k : k + _MIXES], take_pct[k : k + _MIXES]) for k in parts]
        return np.concatenate([np.zeros((0, len(self.hits))), *found])

    def _some(self, tone_pct: FloatArray, take_pct: FloatArray) -> FloatArray:
        before = self.lab(tone_pct)
        taken = tone_pct * (take_pct / np.maximum(tone_pct @ self.hits, 1e-9))[:, None]
        for _ in range(_ROUNDS):
            change, slopes = self._change(before, tone_pct - taken)
            offset = change - np.einsum("nkp,np->nk", slopes, taken)
            taken = self._settled(offset, slopes, taken, tone_pct)
        return taken

    def _change(self, before: FloatArray, left_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Change of colour (N, 3) in parts of dE00, and its slopes (N, 3, P) by points taken."""
        nudges = _NUDGE_PCT * np.eye(len(self.hits))
        less = np.maximum(left_pct[:, None] - nudges, 0)
        more = np.minimum(left_pct[:, None] + nudges, 100)
        mixes = np.concatenate([left_pct[:, None], less, more], axis=1)
        parts = vector_e00(before[:, None], self.lab(mixes))
        parts[..., 0] *= self.lightness_worth
        plates = len(self.hits)
        spans = np.einsum("npp->np", more - less)
        slopes = (parts[:, 1 : 1 + plates] - parts[:, 1 + plates :]) / spans[..., None]
        return parts[:, 0], slopes.transpose(0, 2, 1)

    def _settled(
        self, offset: FloatArray, slopes: FloatArray, taken: FloatArray, most_pct: FloatArray
    ) -> FloatArray:
        """The least of the linear change: in turn, two plates each exchange what is best.

        References
        ----------
        Platt 1998, Microsoft Research MSR-TR-98-14, does so for another sum that must stay.
        """
        curve = np.einsum("nkp,nkq->pqn", slopes, slopes)
        curve += EVENNESS * np.eye(len(self.hits))[..., None]
        now = taken.T.copy()
        slope = np.einsum("pqn,qn->pn", curve, now) + np.einsum("nkp,nk->pn", slopes, offset)
        for _ in range(_SWEEPS):
            for one, other in combinations(range(len(self.hits)), 2):
                self._exchange(one, other, taken=now, slope=slope, curve=curve, most=most_pct.T)
        return np.asarray(np.clip(now.T, 0, most_pct))

    def _exchange(
        self,
        one: int,
        other: int,
        *,
        taken: FloatArray,
        slope: FloatArray,
        curve: FloatArray,
        most: FloatArray,
    ) -> None:
        """Take more from one plate and less from the other, by what prints the same, in place."""
        up, down = 1 / self.hits[one], 1 / self.hits[other]
        bend = up**2 * curve[one, one] + down**2 * curve[other, other]
        bend -= 2 * up * down * curve[one, other]
        wanted = (down * slope[other] - up * slope[one]) / bend
        least = np.maximum(-taken[one] / up, (taken[other] - most[other]) / down)
        highest = np.minimum((most[one] - taken[one]) / up, taken[other] / down)
        more = np.clip(wanted, np.minimum(least, 0), np.maximum(highest, 0))
        taken[one] += up * more
        taken[other] -= down * more
        slope += more * (up * curve[:, one] - down * curve[:, other])
