"""What measured mixtures say beyond the model: kriging of the residual, per channel.

The residual lives in y = reflectance ** (1/n) and has two causes: every solid overprint may be off
by its own amount, alike where inks are shared, and every ink may spread more or less than thought,
alike at like coverages. The same covariance tells how uncertain a prediction is before and after
patches were measured. Arrays as in inkmix.press.halftone: inks or primaries first, channels last.

References
----------
Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, equations 2.25 and 2.26.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.arrays import FloatArray
from inkmix.press.constants import MODEL
from inkmix.press.halftone import contrasts, demichel_weights, others_share
from inkmix.press.overprint import inks_in_rows

# Variance of a solid overprint that was measured: it counts exactly, as single solids do; only what
# keeps the matrix from being singular.
EXACT_VARIANCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Features:
    """Where a colour stands for the residual: N colours, I inks, C channels.

    Parameters
    ----------
    weights : (2**I, N, C) array
        Demichel weights: how each primary's error shows.
    spreads : (I, N, C) array
        How an error in each ink's spreading shows.
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
    """

    covariance: FloatArray
    measured: Features
    factor: FloatArray
    pull: FloatArray
    primaries_shift: FloatArray

    @property
    def has_tints(self) -> bool:
        """Whether any measured mixture tells of spreading, as solids do not."""
        return bool(self.measured.spreads.any())

    def spreading_shift(self, coverage: FloatArray, spreads: FloatArray) -> FloatArray:
        """What the spreading's error adds to y (N, C), for `coverage` and `spreads` as in Features.

        The covariance times the pull, without ever holding the covariance of each ink; only tints
        count, as solids spread nothing.
        """
        tints = self.measured.spreads.any(axis=(0, 2))
        measured = self.measured.coverage[:, tints].transpose(2, 0, 1)
        pull = (self.measured.spreads[:, tints] * self.pull.T[tints]).transpose(2, 0, 1)
        here = coverage.transpose(2, 1, 0)
        apart = here @ (-2 * measured)
        apart += (here**2).sum(axis=2, keepdims=True)
        apart += (measured**2).sum(axis=1, keepdims=True)
        alike = np.exp(apart * (-1 / (2 * MODEL.spreading_length**2)))
        shift = (alike * (spreads.transpose(2, 1, 0) @ pull)).sum(axis=2)
        return np.asarray(MODEL.spreading_sd**2 * shift.T, dtype=np.float64)

    def variance(self, at: Features) -> FloatArray:
        """Variance (N, C) that is left of y after the mixtures were measured."""
        between = _overprint_covariance(at, self.measured, self.covariance)
        between += _spreading_covariance(at, self.measured)
        explained = np.linalg.solve(self.factor, between.transpose(0, 2, 1))
        left = _prior_variance(at, self.covariance) - (explained**2).sum(axis=1)
        return np.asarray(np.maximum(left, 0).T, dtype=np.float64)


def features(coverage: FloatArray, spreaded: FloatArray, primaries: FloatArray) -> Features:
    """Features of coverages before and after spreading (I, N, C) among primaries (2**I, C)."""
    return Features(
        weights=demichel_weights(spreaded),
        spreads=spreads_of(coverage, spreaded, primaries),
        coverage=coverage,
    )


def spreads_of(coverage: FloatArray, spreaded: FloatArray, primaries: FloatArray) -> FloatArray:
    """How an error in each ink's spreading shows in y, (I, N, C)."""
    slopes = contrasts(spreaded, primaries)
    return np.asarray(others_share(coverage) * coverage * (1 - coverage) * slopes)


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
    measured: Features, residual: FloatArray, *, noise: FloatArray, covariance: FloatArray
) -> ResidualField:
    """The field through residuals of y (P, C), read with the noise variance (P,)."""
    between = _overprint_covariance(measured, measured, covariance)
    between += _spreading_covariance(measured, measured)
    factor = np.asarray(np.linalg.cholesky(between + np.diag(noise)), dtype=np.float64)
    half = np.linalg.solve(factor, residual.T[:, :, None])
    pull = np.linalg.solve(factor.transpose(0, 2, 1), half)[:, :, 0]
    seen = np.einsum("apc,cp->ca", measured.weights, pull)
    shift = np.einsum("cab,cb->ac", covariance, seen)
    return ResidualField(
        covariance=covariance, measured=measured, factor=factor, pull=pull, primaries_shift=shift
    )


def _overprint_covariance(one: Features, other: Features, covariance: FloatArray) -> FloatArray:
    """Covariance (C, N, P) by the errors of the primaries."""
    left, right = one.weights.transpose(2, 1, 0), other.weights.transpose(2, 0, 1)
    return np.asarray(left @ (covariance @ right), dtype=np.float64)


def _prior_variance(at: Features, covariance: FloatArray) -> FloatArray:
    """Variance (C, N) before anything was measured."""
    weights = at.weights.transpose(2, 1, 0)
    own = ((weights @ covariance) * weights).sum(axis=-1)
    spreading = MODEL.spreading_sd**2 * (at.spreads**2).sum(axis=0)
    return np.asarray(own + spreading.T, dtype=np.float64)


def _spreading_covariance(one: Features, other: Features) -> FloatArray:
    """Covariance (C, N, P) by the errors of spreading."""
    apart = np.zeros((one.coverage.shape[2], one.coverage.shape[1], other.coverage.shape[1]))
    shared = np.zeros_like(apart)
    for i in range(len(one.coverage)):
        apart += (one.coverage[i].T[:, :, None] - other.coverage[i].T[:, None, :]) ** 2
        shared += one.spreads[i].T[:, :, None] * other.spreads[i].T[:, None, :]
    alike = np.exp(-apart / (2 * MODEL.spreading_length**2))
    return np.asarray(MODEL.spreading_sd**2 * shared * alike, dtype=np.float64)
