"""How opaque an ink is, from the best that is known of it, and how far that may be off.

Opacity is the share of its own colour that a solid adds to whatever lies under it: 0 is
transparent, whites reach .9. It was measured on two presses alone, so nothing is certain that
nobody told.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.press.constants import MODEL
from inkmix.press.solids.process_inks import SPOT
from inkmix.press.values import Ink

#: What may be said of an ink in place of a number.
OPACITY_WORDS: Mapping[str, float] = MappingProxyType(MODEL.opacity.words)

_WORDS = {
    "told": "told",
    "measured": "measured over black",
    "learnt": "learnt from measured overprints",
    "usual": "usual",
    "guessed": "guessed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Opacity:
    """Opacity of an ink.

    Parameters
    ----------
    value : float
        0 transparent, to 1; whites reach .9.
    sd : float
        How far it may be off, as one standard deviation.
    why : {"told", "measured", "learnt", "usual", "guessed"}
        Measured: over a black; learnt: from other measured overprints; guessed: by a name or a hue.
    by : str
        What a guess was made by.
    """

    value: float
    sd: float
    why: str
    by: str = ""

    @property
    def word(self) -> str:
        """Whose word it is."""
        return _WORDS[self.why] + (f" by {self.by}" if self.by else "")

    @property
    def is_opaque(self) -> bool:
        """Whether the ink hides what lies under it, more than the scatter of any pigment does."""
        return self.value > MODEL.opacity.opaque_above


def is_orange(ink: Ink) -> bool:
    """Whether an ink is orange, by the colour of its solid."""
    _, a, b = xyz100_to_lab(ink.xyz100[-1])
    hue = float(np.degrees(np.arctan2(b, a)))
    least, most = MODEL.opacity.orange_hue
    return least <= hue <= most and float(np.hypot(a, b)) >= MODEL.opacity.orange_chroma


def opacity_of(ink: Ink, kind: int) -> Opacity:
    """The opacity of an ink before any overprint is looked at.

    Parameters
    ----------
    kind : int
        Which process ink it is, or SPOT.
    """
    constants = MODEL.opacity
    if ink.opacity is not None:
        sd = max(constants.told_sd, constants.told_sd_share * ink.opacity)
        return Opacity(value=ink.opacity, sd=sd, why="told")
    if kind != SPOT:
        return Opacity(value=0.0, sd=constants.untold_sd, why="usual")
    white, sd = constants.untold_white, constants.untold_white_sd
    if _is_called_white(ink):
        return Opacity(value=white, sd=sd, why="guessed", by="its name")
    if ink.xyz100[-1, 1] > constants.brighter_than_paper * ink.measured_on.xyz100[1]:
        return Opacity(value=white, sd=sd, why="guessed", by="its brightness")
    if is_orange(ink):
        orange, sd = constants.untold_orange, constants.untold_sd
        return Opacity(value=orange, sd=sd, why="guessed", by="its hue")
    return Opacity(value=constants.untold, sd=constants.untold_sd, why="usual")


def _is_called_white(ink: Ink) -> bool:
    L, a, b = xyz100_to_lab(ink.xyz100[-1])
    constants = MODEL.opacity
    looks = constants.white_L <= L and float(np.hypot(a, b)) <= constants.white_chroma
    return bool(looks) and "white" in ink.name.casefold().replace("-", " ").split()
