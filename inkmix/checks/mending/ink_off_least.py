"""Which plates to take ink from, so that the predicted colour changes least.

Least squares on what dE00 is made of: a few rounds in which the change is taken as linear in the
tone values, each solved within the bounds by projected gradients. Ink is only taken, never added.
No pixels here; mixes are rows.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import vector_e00

EVENNESS = 1e-4
"""What the square of a point costs, in squares of dE00: where colour does not tell, ink comes off
evenly, and like mixes lose alike. Ten times as much costs a quarter more dE00."""

_ROUNDS = 3  # a fourth gains nothing in the third digit
_DESCENTS = 40
_HALVINGS = 30  # of 200 points: to a millionth
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
            taken = self._descended(offset, slopes, taken, tone_pct=tone_pct, take_pct=take_pct)
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

    def _descended(
        self,
        offset: FloatArray,
        slopes: FloatArray,
        taken: FloatArray,
        *,
        tone_pct: FloatArray,
        take_pct: FloatArray,
    ) -> FloatArray:
        """The least of the linear change within the bounds.

        References
        ----------
        Beck & Teboulle 2009, SIAM J. Imaging Sciences 2(1), 183-202: steps with a momentum.
        """
        curve = np.einsum("nkp,nkq->npq", slopes, slopes) + EVENNESS * np.eye(len(self.hits))
        pull = np.einsum("nkp,nk->np", slopes, offset)
        stride = 1 / np.linalg.norm(curve, axis=(1, 2))[:, None]
        ahead, momentum = taken, 1.0
        for _ in range(_DESCENTS):
            slope = np.einsum("npq,nq->np", curve, ahead) + pull
            after = self._within(ahead - stride * slope, tone_pct, take_pct)
            grown = (1 + np.sqrt(1 + 4 * momentum**2)) / 2
            ahead = after + (momentum - 1) / grown * (after - taken)
            taken, momentum = after, grown
        return taken

    def _within(self, wanted: FloatArray, most_pct: FloatArray, take_pct: FloatArray) -> FloatArray:
        """The nearest (N, P) to what is wanted, 0 to `most_pct`, that takes `take_pct` in all."""
        high = np.abs(wanted).max(axis=1) + most_pct.max(axis=1)
        low = -high
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            found = np.clip(wanted - middle[:, None] * self.hits, 0, most_pct)
            is_more = found @ self.hits > take_pct
            low, high = np.where(is_more, middle, low), np.where(is_more, high, middle)
        return np.asarray(np.clip(wanted - high[:, None] * self.hits, 0, most_pct))
