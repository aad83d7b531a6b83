"""Which mixtures to tell besides: those that lower the doubt about the whole chart most.

Here belongs the choice by tone values and by what the model holds uncertain; no reading of a
mixture that was not told may reach it.

Of three rules this one did best told ramps and 20 or 40 mixtures, on average over 20 sets in four
inks and over one in seven, of which one or two were left out in seven ways: dE00 .44 / .35 in four
inks and .91 / .74 in five and six. The least total variance gave .45 / .35 and .94 / .76, always
the most uncertain mixture .52 / .40 and 1.46 / .96, mixtures drawn blindly .55 / .41 and
1.03 / .84. (Figures of the model as it was then; with the present one exact gains do not better
linear ones, nor do other floors.) Tints alone are chosen: a solid tells of one overprint, a tint of
several and of spreading; with solids to choose from, four inks come out alike.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.constants import MODEL
from inkmix.press.forward import ForwardModel, reading_noise
from inkmix.press.kriging import Features, ResidualField
from inkmix.press.patches import AVERAGED, solid_row

#: A mixture of more inks is no patch that anyone prints to learn of single causes.
MOST_INKS = 4

_TARGETS = 600  # mixtures that stand for the chart: of 3,300 all three covariances took 260 MB
_SEED = 20
_STEP = 1e-3  # of y, for how the eye sees a change


def may_be_told(recipes: FloatArray, told: BoolArray) -> BoolArray:
    """Which recipes (R, I) can be chosen: tints of two to four inks that are not told."""
    held, (solid, _) = (recipes > 0).sum(axis=1), solid_row(recipes)
    return np.asarray(~told & ~solid & (held >= 2) & (held <= MOST_INKS), dtype=np.bool_)


def mixtures_to_tell(
    model: ForwardModel, recipes: FloatArray, told: BoolArray, *, count: int
) -> IntArray:
    """Recipes (count,) to tell besides, in the order of their use.

    Each is the one that most lowers the expected colour difference, summed over the mixtures of the
    chart, after those before it.

    Parameters
    ----------
    recipes : (R, I) array
        Tone values, each recipe once.
    told : (R,) array of bool
    """
    places = np.flatnonzero(may_be_told(recipes, told))
    mixtures = recipes[~told & ((recipes > 0).sum(axis=1) >= 2)]
    doubt = _doubt_about(model, _sample(mixtures), recipes[places])
    return places[[doubt.tell_one_more() for _ in range(count)]]


def _sample(mixtures: FloatArray) -> FloatArray:
    """Some mixtures in place of very many, the same ones each time."""
    if len(mixtures) <= _TARGETS:
        return mixtures
    drawn = np.random.default_rng(_SEED).choice(len(mixtures), _TARGETS, replace=False)
    return mixtures[np.sort(drawn)]


@dataclass(slots=True, kw_only=True, eq=False)
class _Doubt:
    """What is uncertain, and what has been chosen so far; N mixtures, P candidates, C channels.

    Parameters
    ----------
    covariance : (C, N, P) array
        Between mixtures and candidates.
    variance : (C, N) array
        Of the mixtures.
    own_variance : (C, P) array
        Of the candidates.
    seen : (C, N) array
        Squared colour difference that the variance of each band makes.
    noise : (C, P) array
        Variance of a reading of the candidates.
    columns : list of (C, P) array
        One for each that was chosen, of a Cholesky factor of the candidates' covariance.
    """

    field: ResidualField
    candidates: Features
    covariance: FloatArray
    variance: FloatArray
    own_variance: FloatArray
    seen: FloatArray
    noise: FloatArray
    columns: list[FloatArray]
    chosen: list[int]

    def tell_one_more(self) -> int:
        """The candidate that helps most; from now on it counts as told."""
        gain = self._gain()
        gain[self.chosen] = -np.inf
        best = int(gain.argmax())
        self._tell(best)
        return best

    def _gain(self) -> FloatArray:
        """By how much each candidate (P,) lowers the sum of expected colour differences.

        To first order, as d sqrt(v) = dv / (2 sqrt(v)); the floor keeps what is known well already
        from counting most.
        """
        expected = np.sqrt((self.seen * self.variance).sum(axis=0) + MODEL.error.floor**2)
        explained = np.einsum("cn,cnp->cp", self.seen / expected, self.covariance**2)
        return np.asarray((explained / (self.own_variance + self.noise)).sum(axis=0), np.float64)

    def _tell(self, at: int) -> None:
        """Take away what one candidate explains (a step of a pivoted Cholesky factor)."""
        root = np.sqrt(self.own_variance[:, at] + self.noise[:, at])[:, None]
        column = self._row(at) / root
        toward = self.covariance[:, :, at] / root
        self.covariance -= toward[:, :, None] * column[:, None, :]
        self.variance = np.maximum(self.variance - toward**2, 0)
        self.own_variance = np.maximum(self.own_variance - column**2, 0)
        self.columns.append(column)
        self.chosen.append(at)

    def _row(self, at: int) -> FloatArray:
        """Covariance (C, P) of one candidate with all, after those that were chosen."""
        one = slice(at, at + 1)
        row = self.field.covariance_left(self.candidates.only(one), self.candidates)[:, 0]
        for column in self.columns:
            row -= column[:, one] * column
        return row


def _doubt_about(model: ForwardModel, mixtures: FloatArray, candidates: FloatArray) -> _Doubt:
    """What is uncertain before anything is told besides."""
    at = model.features(model.coverage(mixtures))
    coverage = model.coverage(candidates)
    own = model.features(coverage)
    noises = [AVERAGED] * len(candidates)
    return _Doubt(
        field=model.field,
        candidates=own,
        covariance=model.field.covariance_left(at, own),
        variance=model.field.variance(at).T,
        own_variance=model.field.variance(own).T,
        seen=_seen(model, mixtures).T,
        noise=reading_noise(model, candidates, model.root(coverage), noises=noises).T,
        columns=[],
        chosen=[],
    )


def _seen(model: ForwardModel, tone_pct: FloatArray) -> FloatArray:
    """Squared colour difference (N, C) for a change of y in each band, per squared change."""
    y = model.root(model.coverage(tone_pct))
    lab = model.lab(y)
    steps = [model.lab(y + _STEP * band) for band in np.eye(y.shape[1])]
    return np.stack([(delta_e00(lab, step) / _STEP) ** 2 for step in steps], axis=1)
