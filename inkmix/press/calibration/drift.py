"""What moved on a press since it was measured last."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import PressCondition

TINT_PCT = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """One colour, as it was and as it is.

    Parameters
    ----------
    what : str
        "paper", "Soot, solid", "Soot, 50 %", or the name of a tone.
    lighter_L : float
        By how much it is lighter now; negative where darker.
    """

    what: str
    de00: float
    lighter_L: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """What moved from an earlier measurement, `since`, the largest first in each.

    Parameters
    ----------
    basics : tuple of Moved
        Paper, solids and tints.
    mixes : tuple of Moved
        What a book asks for.
    """

    since: str
    basics: tuple[Moved, ...]
    mixes: tuple[Moved, ...]


def drift_between(
    earlier: PressCondition,
    now: PressCondition,
    mixes: Sequence[tuple[str, FloatArray]],
    *,
    since: str,
) -> Drift:
    """How far colours moved between two measurements of a press; inks alike and in one order."""
    white = _moved("paper", xyz100_to_lab(earlier.paper.xyz100), xyz100_to_lab(now.paper.xyz100))
    basics = [white]
    for k, ink in enumerate(now.inks):
        for word, tone in (("solid", 100.0), (f"{TINT_PCT:.0f} %", TINT_PCT)):
            row = np.zeros(len(now.inks))
            row[k] = tone
            basics.append(_moved(f"{ink.name}, {word}", earlier.lab(row), now.lab(row)))
    asked = [_moved(name, earlier.lab(mix), now.lab(mix)) for name, mix in mixes]
    return Drift(
        since=since,
        basics=tuple(sorted(basics, key=_largest)),
        mixes=tuple(sorted(asked, key=_largest)),
    )


def _largest(moved: Moved) -> float:
    return -moved.de00


def _moved(what: str, was: FloatArray, is_now: FloatArray) -> Moved:
    return Moved(
        what=what,
        de00=float(delta_e00(was, is_now)),
        lighter_L=float(is_now[0] - was[0]),
    )
