"""How far off predictions are of mixes that the model was not told, of those that were read.

Every mix is predicted once by a model that is told the ramps and the other mixes: cross-validation
by recipe, so that no repeat of a mix tells of itself.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.calibration.press_file import PressFile, with_mixes
from inkmix.press.condition import PressCondition

FOLDS = 5
FEWEST = 10
"""Mixes below which nothing is said of how well they are predicted from each other."""

_SEED = 7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Predicted:
    """Mixes (N,) that were read, and what was predicted of them without knowing them.

    Parameters
    ----------
    tone_pct : (N, I) ndarray
        In the order of the condition's inks.
    lab, read_lab : (N, 3) ndarray
        Predicted, and read.
    expected_de00, expected_L : (N,) ndarray
        95 % bounds that were stated.
    """

    tone_pct: FloatArray
    lab: FloatArray
    read_lab: FloatArray
    expected_de00: FloatArray
    expected_L: FloatArray

    @property
    def de00(self) -> FloatArray:
        """How far off each (N,) is."""
        return delta_e00(self.lab, self.read_lab)

    @property
    def mean_de00(self) -> float:
        """How far off they are on average."""
        return float(self.de00.mean())

    @property
    def p95_de00(self) -> float:
        """How far off at most 95 of 100 are."""
        return float(np.quantile(self.de00, 0.95))

    @property
    def inside(self) -> float:
        """Share 0-1 within the stated bound."""
        return float((self.de00 <= self.expected_de00).mean())


def predicted_by(condition: PressCondition, tone_pct: FloatArray, xyz100: FloatArray) -> Predicted:
    """What a condition says of mixes whose colours (N, 3) were read."""
    expected = condition.expected_error(tone_pct)
    return Predicted(
        tone_pct=tone_pct,
        lab=condition.lab(tone_pct),
        read_lab=xyz100_to_lab(xyz100),
        expected_de00=expected.de00,
        expected_L=expected.L,
    )


def crossed(
    press: PressFile,
    condition_on: Callable[[PressFile], PressCondition],
    tone_pct: FloatArray,
    xyz100: FloatArray,
) -> Predicted | None:
    """Each mix predicted from the others; None where there are too few to tell.

    Parameters
    ----------
    condition_on : callable
        The condition of the book on what is known of a press.
    tone_pct, xyz100 : (N, I), (N, 3) ndarray
        The rows of the file's mixes, tone values in the order of the condition's inks.
    """
    count = len(press.mixes.rows)
    if count < FEWEST:
        return None
    fold = np.random.default_rng(_SEED).permutation(count) % FOLDS
    parts: list[tuple[IntArray, Predicted]] = []
    for k in range(FOLDS):
        held = np.flatnonzero(fold == k)
        condition = condition_on(with_mixes(press, np.flatnonzero(fold != k)))
        parts.append((held, predicted_by(condition, tone_pct[held], xyz100[held])))
    order = np.argsort(np.concatenate([held for held, _ in parts]))

    def joined(name: str) -> FloatArray:
        return np.asarray(np.concatenate([getattr(part, name) for _, part in parts])[order])

    return Predicted(
        **{name: joined(name) for name in Predicted.__dataclass_fields__}  # in the order of rows
    )
