"""Factors of the expected error, from presses that the model was not fitted to."""

from dataclasses import dataclass

import numpy as np

from inkmix.colour.colorimetry import delta_e00

#: On average over presses this share is to lie inside, and this on the worst press.
AVERAGE, WORST = 0.95, 0.87
DARK_SHARE = 1 / 5


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of one set at one level: differences, and bounds as they are with factors of 1."""

    name: str
    family: str
    de00: np.ndarray
    off_L: np.ndarray
    bound_de00: np.ndarray
    bound_L: np.ndarray
    dark: np.ndarray

    def figures(self) -> tuple[float, float, float]:
        """Mean and 95th percentile of dE00, mean |dL*| in the darkest fifth."""
        return (
            float(self.de00.mean()),
            float(np.percentile(self.de00, 95)),
            float(self.off_L[self.dark].mean()),
        )

    def inside(self, factor_de00: float, factor_L: float) -> tuple[float, float, float]:
        """Shares within the bounds: dE00, L*, L* in the darkest fifth."""
        within = self.off_L <= factor_L * self.bound_L
        colour = self.de00 <= factor_de00 * self.bound_de00
        return float(colour.mean()), float(within.mean()), float(within[self.dark].mean())


def outcome(one, level: str, constants) -> Outcome:
    """Predict a set at a level of knowledge; the constants must be in use."""
    condition, tones, lab = one.told(level)
    group = constants.paper[one.paper_class].group
    predicted, bound = condition.lab(tones), condition.expected_error(tones)
    dark = np.argsort(lab[:, 0], kind="stable")[: int(np.ceil(len(lab) * DARK_SHARE))]
    return Outcome(
        name=one.name,
        family=one.family,
        de00=delta_e00(predicted, lab),
        off_L=np.abs(predicted[:, 0] - lab[:, 0]),
        bound_de00=bound.de00 / constants.error.factor_de00[group][level],
        bound_L=bound.L / constants.error.factor_L[group][level],
        dark=dark,
    )


def factors(outcomes: list[Outcome]) -> tuple[float, float]:
    """Least factors of dE00 and L* with which enough lies inside, on average and on the worst."""

    def enough(values: list[np.ndarray]) -> float:
        trial = np.geomspace(0.2, 6, 400)
        shares = np.array([[(v <= k).mean() for v in values] for k in trial])
        good = (shares.mean(axis=1) >= AVERAGE) & (shares.min(axis=1) >= WORST)
        return float(trial[good.argmax()])

    colour = enough([one.de00 / one.bound_de00 for one in outcomes])
    lightness = [one.off_L / one.bound_L for one in outcomes]
    dark = [ratio[one.dark] for ratio, one in zip(lightness, outcomes, strict=True)]
    return colour, max(enough(lightness), enough(dark))
