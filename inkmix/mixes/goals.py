"""What a search wants of a mix, and which way is downhill: near a colour, or dark.

The difference itself is colorimetry's; which mixes are allowed is not known here.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00, vector_e00

NEUTRAL_CHROMA = 2.0
"""A dark this near to grey passes for neutral: beside paper nobody names its hue."""

TINT_CHROMA = 4.0
"""A tinted dark has at least so much chroma, so that its hue is seen."""

CAST_WORTH_L = 2.0
"""Every point of a*, b* off the cast that was asked for counts as so many points of L*."""

_NUDGE = 1e-3  # of L, a, b
_GREY_CHROMA = 2.0  # below it hue turns too fast to be followed
_STRETCH_OF_GREYS = 1.5  # of a, as in equation 5 where there is no chroma


class Goal(Protocol):
    """What is to be least; one of a kind, or one for each of several rows.

    `ink_worth` is what a percent of ink counts for, to decide between equals.
    """

    @property
    def ink_worth(self) -> float: ...

    def left(self, lab: FloatArray, of: IntArray) -> FloatArray:
        """What colours (N, 3) leave to be wished for (N,), each by its row `of` (N,)."""

    def downhill(self, lab: FloatArray, of: IntArray) -> tuple[FloatArray, FloatArray]:
        """Vectors (N, 3) as long as what is left, and their slopes (N, 3, 3) by L, a and b."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Nearness:
    """As near as can be to colours, by dE00.

    Parameters
    ----------
    targets : (T, 3) array
        Lab, D50, 2 degree, absolute.
    ink_worth : float
        In dE00.
    """

    targets: FloatArray
    ink_worth: float = 0.0

    def left(self, lab: FloatArray, of: IntArray) -> FloatArray:
        """dE00 (N,) of colours (N, 3) to the targets `of` (N,)."""
        return delta_e00(lab, self.targets[of])

    def downhill(self, lab: FloatArray, of: IntArray) -> tuple[FloatArray, FloatArray]:
        """Vectors (N, 3) from targets to colours, as long as dE00, and their slopes (N, 3, 3).

        Slopes are those of the vector by L, a and b. To greys they are told in a and b, for the hue
        of a grey says nothing.

        References
        ----------
        Sharma, Wu & Dalal 2005, Color Research and Application 30(1), 21-30.
        """
        target, nudges = self.targets[of], _NUDGE * np.eye(3)
        up = vector_e00(target[:, None], lab[:, None] + nudges)
        down = vector_e00(target[:, None], lab[:, None] - nudges)
        slopes = ((up - down) / (2 * _NUDGE)).transpose(0, 2, 1)
        away = vector_e00(target, lab)
        grey = np.hypot(target[:, 1], target[:, 2]) < _GREY_CHROMA
        plain = np.diag([0.0, _STRETCH_OF_GREYS, 1.0])
        away[grey, 1:] = ((lab - target) @ plain)[grey, 1:]
        slopes[grey, 1:] = plain[1:]
        return away, slopes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Darkness:
    """As dark as can be: L*, and what is off the cast in points of L*.

    Parameters
    ----------
    hue : (2,) array
        Direction in a*, b*; zero for neutral.
    wanted : bool
        Whether any cast is asked for.
    ink_worth : float
        In L*.
    """

    hue: FloatArray
    wanted: bool
    ink_worth: float = 0.0

    def left(self, lab: FloatArray, of: IntArray) -> FloatArray:
        """L* (N,) of colours (N, 3), and what is off the cast."""
        return self.of_lab(lab)

    def of_lab(self, lab: FloatArray) -> FloatArray:
        """The same, which hangs on no row, of colours (..., 3)."""
        if not self.wanted:
            return lab[..., 0]
        along = np.maximum(lab[..., 1:] @ self.hue, TINT_CHROMA if self.hue.any() else 0.0)
        off = np.linalg.norm(lab[..., 1:] - along[..., None] * self.hue, axis=-1)
        return np.asarray(lab[..., 0] + CAST_WORTH_L * np.maximum(off - NEUTRAL_CHROMA, 0))

    def downhill(self, lab: FloatArray, of: IntArray) -> tuple[FloatArray, FloatArray]:
        """What is left, as a vector (N, 3) of one number, and its slopes (N, 3, 3)."""
        nudges = _NUDGE * np.eye(3)
        away, slopes = np.zeros((len(lab), 3)), np.zeros((len(lab), 3, 3))
        away[:, 0] = self.of_lab(lab)
        rise = self.of_lab(lab[:, None] + nudges) - self.of_lab(lab[:, None] - nudges)
        slopes[:, 0] = rise / (2 * _NUDGE)
        return away, slopes
