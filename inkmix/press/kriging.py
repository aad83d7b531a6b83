"""What measured mixtures say beyond the model: kriging of the residual, per channel.

The residual lives in y = reflectance ** (1/n) and has two causes: every solid overprint may be off
by its own amount, alike where inks are shared, and every ink may spread more or less than thought,
alike at like coverages (of inks unlike process inks: all of them together). The same covariance
tells how uncertain a prediction is before and after patches were measured.
Arrays as in inkmix.press.halftone: inks or primaries first, channels last.

References
----------
Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, equations 2.25 and 2.26.
"""

from dataclasses import dataclass, replace

import numpy as np

from inkmix.arrays import FloatArray
from inkmix.press.constants import MODEL
from inkmix.press.halftone import contrasts, demichel_weights, others_share, spreading_room
from inkmix.press.overprint import inks_in_rows

# Variance of a solid overprint that was measured: it counts exactly, as single solids do; only what
# keeps the matrix from being singular.
EXACT_VARIANCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadingPrior:
    """How far spreading may be off: standard deviation, and over which distance alike, 0-1."""

    sd: float
    length: float


#: Of process inks: each ink errs by itself.
OWN_SPREADING = SpreadingPrior(sd=MODEL.spreading_sd, length=MODEL.spreading_length)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Features:
    """Where a colour stands for the residual: N colours, I inks, C channels.

    Parameters
    ----------
    weights : (2**I, N, C) array
        Demichel weights: how each primary's error shows.
    spreads : (I, N, C) or (1, N, C) array
        How an error in each ink's spreading, or in that of all together, shows.
    coverage : (I, N, C) array
        Likeness of spreading is reckoned from it.
    """

    weights: FloatArray
    spreads: FloatArray
    coverage: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ResidualField:
    """Residual of y known from P measured mixtures; none of them leaves the prior.

    Parameters
    ----------
    covariance : (C, 2**I, 2**I) array
        Prior covariance of the errors of the primaries.
    measured : Features
        Of the P mixtures.
    factor : (C, P, P) array
        Lower Cholesky factor of the covariance of the readings.
    pull : (C, P) array
        That covariance's inverse times the residuals.
    primaries_shift : (2**I, C) array
        What to add to the primaries.
    spreading : SpreadingPrior
    """

    covariance: FloatArray
    measured: Features
    factor: FloatArray
    pull: FloatArray
    primaries_shift: FloatArray
    spreading: SpreadingPrior

    @property
    def has_tints(self) -> bool:
        """Whether any measured mixture tells of spreading, as solids do not."""
        return bool(self.measured.spreads.any())

    def spreading_error(self, coverage: FloatArray) -> FloatArray:
        """By how much each ink spreads more than thought (I, N, C), at coverages (I, N, C).

        The covariance times the pull, where how the error shows here is left out; only tints count,
        as solids spread nothing.
        """
        tints = self.measured.spreads.any(axis=(0, 2))
        pull = self.spreading.sd**2 * self.measured.spreads[:, tints] * self.pull.T[tints]
        alike = likeness(coverage, self.measured.coverage[:, tints], length=self.spreading.length)
        error = alike @ np.ascontiguousarray(pull.transpose(2, 1, 0))
        return np.ascontiguousarray(error.transpose(2, 1, 0), dtype=np.float64)

    def variance(self, at: Features) -> FloatArray:
        """Variance (N, C) that is left of y after the mixtures were measured."""
        if len(self.measured.spreads) < len(at.spreads):
            at = as_one_spreading(at)
        between = _overprint_covariance(at, self.measured, self.covariance)
        between += _spreading_covariance(at, self.measured, self.spreading)
        explained = np.linalg.solve(self.factor, between.transpose(0, 2, 1))
        left = self._prior_variance(at) - (explained**2).sum(axis=1)
        return np.asarray(np.maximum(left, 0).T, dtype=np.float64)

    def _prior_variance(self, at: Features) -> FloatArray:
        """Variance (C, N) before anything was measured."""
        weights = at.weights.transpose(2, 1, 0)
        own = ((weights @ self.covariance) * weights).sum(axis=-1)
        spreading = self.spreading.sd**2 * (at.spreads**2).sum(axis=0)
        return np.asarray(own + spreading.T, dtype=np.float64)


def features(
    coverage: FloatArray, *, spreaded: FloatArray, primaries: FloatArray, presence: FloatArray
) -> Features:
    """Features of coverages before and after spreading (I, N, C) among primaries (2**I, C)."""
    others = others_share(coverage, presence)
    return Features(
        weights=demichel_weights(spreaded),
        spreads=spreading_room(coverage, others) * contrasts(spreaded, primaries),
        coverage=coverage,
    )


def as_one_spreading(at: Features) -> Features:
    """The same where one error of spreading is shared by all inks."""
    return replace(at, spreads=at.spreads.sum(axis=0, keepdims=True))


def overprint_covariance(primaries: FloatArray, *, n: float, scale: float) -> FloatArray:
    """Prior covariance (C, 2**I, 2**I) of the errors of the primaries (2**I, C).

    Paper and single solids are told and have none.

    Parameters
    ----------
    scale : float
        Greater than 1 for inks that the constants were not fitted on.
    """
    rows = inks_in_rows(primaries.shape[0].bit_length() - 1)
    density = np.maximum(-n * np.log10(primaries), 0)
    spread_in_density = MODEL.overprint_sd_per_density * density + MODEL.overprint_sd_floor
    sd = scale * spread_in_density * primaries * np.log(10) / n
    sd[rows.sum(axis=1) < 2] = 0
    differing = np.abs(rows[:, None] - rows).sum(axis=-1)
    correlation = MODEL.overprint_correlation**differing
    return np.asarray(correlation * sd.T[:, :, None] * sd.T[:, None, :], dtype=np.float64)


def fit_residuals(
    measured: Features,
    residual: FloatArray,
    *,
    noise: FloatArray,
    covariance: FloatArray,
    spreading: SpreadingPrior = OWN_SPREADING,
) -> ResidualField:
    """The field through residuals of y (P, C), read with the noise variance (P,)."""
    between = _overprint_covariance(measured, measured, covariance)
    between += _spreading_covariance(measured, measured, spreading)
    factor = np.asarray(np.linalg.cholesky(between + np.diag(noise)), dtype=np.float64)
    half = np.linalg.solve(factor, residual.T[:, :, None])
    pull = np.linalg.solve(factor.transpose(0, 2, 1), half)[:, :, 0]
    seen = np.einsum("apc,cp->ca", measured.weights, pull)
    shift = np.einsum("cab,cb->ac", covariance, seen)
    return ResidualField(
        covariance=covariance,
        measured=measured,
        factor=factor,
        pull=pull,
        primaries_shift=shift,
        spreading=spreading,
    )


def likeness(one: FloatArray, other: FloatArray, *, length: float) -> FloatArray:
    """Gaussian (C, N, P) of the distance between coverages (I, N, C) and (I, P, C).

    The exponent is one product of matrices, of (x, |x|^2, 1) and (m, -1/2, -|m|^2/2) / length^2.
    """
    left = np.ones((one.shape[2], one.shape[1], len(one) + 2))
    left[..., :-2] = one.transpose(2, 1, 0)
    left[..., -2] = (one**2).sum(axis=0).T
    right = np.full((other.shape[2], len(other) + 2, other.shape[1]), -0.5)
    right[:, :-2] = other.transpose(2, 0, 1)
    right[:, -1] *= (other**2).sum(axis=0).T
    exponent = left @ (right / length**2)
    return np.asarray(np.exp(exponent, out=exponent), dtype=np.float64)


def _overprint_covariance(one: Features, other: Features, covariance: FloatArray) -> FloatArray:
    """Covariance (C, N, P) by the errors of the primaries."""
    left, right = one.weights.transpose(2, 1, 0), other.weights.transpose(2, 0, 1)
    return np.asarray(left @ (covariance @ right), dtype=np.float64)


def _spreading_covariance(one: Features, other: Features, prior: SpreadingPrior) -> FloatArray:
    """Covariance (C, N, P) by the errors of spreading."""
    alike = likeness(one.coverage, other.coverage, length=prior.length)
    shared = np.zeros_like(alike)
    for mine, theirs in zip(one.spreads, other.spreads, strict=True):
        shared += mine.T[:, :, None] * theirs.T[:, None, :]
    return np.asarray(prior.sd**2 * shared * alike, dtype=np.float64)
