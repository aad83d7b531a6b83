"""What measured mixtures say beyond the model: kriging of the residual, per channel.

The residual lives in y = reflectance ** (1/n). Every solid overprint may be off by its own amount,
alike where inks are shared; all dark ones may be off together, by the greatest density, and where
spot inks are printed by trapping and opacity, too; and every ink may spread more or less than
thought, alike at like coverages. What none of these explains is alike at near coverages
(inkmix.press.unexplained).
The same covariance tells how uncertain a prediction is before and after patches were measured.
Arrays as in inkmix.press.halftone: inks or primaries first, channels last.

Tried in vain on 20 sets in four inks, told ramps and 20 or 40 mixtures: the strengths of the parts
fitted to each press by likelihood (8 % worse at 40; the best, known beforehand, are 4 % better);
n, spreading, trapping or the reach in tints as further causes; spreading by pairs of inks.

References
----------
Rasmussen & Williams, Gaussian Processes for Machine Learning, 2006, equations 2.25 and 2.26.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.press.constants import MODEL
from inkmix.press.halftone import contrasts, demichel_weights
from inkmix.press.likeness import Pulled, likeness
from inkmix.press.solids.overprint import inks_in_rows

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
    near : (N, C) array
        Standard deviation of what no cause explains, where near colours share it.
    coverage : (I, N, C) array
        Likeness of spreading, and nearness, are reckoned from it.
    """

    weights: FloatArray
    spreads: FloatArray
    near: FloatArray
    coverage: FloatArray

    def only(self, some: slice | BoolArray) -> "Features":
        """Those of some of the colours."""
        return Features(
            weights=self.weights[:, some],
            spreads=self.spreads[:, some],
            near=self.near[some],
            coverage=self.coverage[:, some],
        )


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
    misfit : float
        How far the mixtures were off, as a multiple of what was thought likely: some .3 to 1.4 on
        published sets, 4 to 25 where columns are mixed up; 0 where nothing was measured.
    """

    covariance: FloatArray
    measured: Features
    factor: FloatArray
    pull: FloatArray
    primaries_shift: FloatArray
    misfit: float

    @classmethod
    def prior(cls, covariance: FloatArray, *, inks: int) -> "ResidualField":
        """The field before anything was measured."""
        bands, rows, _ = covariance.shape
        nothing = np.empty((inks, 0, bands))
        return cls(
            covariance=covariance,
            measured=Features(
                weights=np.empty((rows, 0, bands)),
                spreads=nothing,
                near=np.empty((0, bands)),
                coverage=nothing,
            ),
            factor=np.empty((bands, 0, 0)),
            pull=np.empty((bands, 0)),
            primaries_shift=np.zeros((rows, bands)),
            misfit=0.0,
        )

    @property
    def has_tints(self) -> bool:
        """Whether any measured mixture tells of spreading, as solids do not."""
        return bool(self.measured.spreads.any())

    def spreading_error(self, coverage: FloatArray) -> FloatArray:
        """By how much each ink spreads more than thought (I, N, C), at coverages (I, N, C).

        The covariance times the pull, where how the error shows here is left out; only tints count,
        as solids spread nothing.
        """
        return self._spreading.at(coverage)

    def spreading_error_on_grid(self, coverages: Sequence[FloatArray]) -> FloatArray:
        """The same (I, N, C) at all combinations of coverages (V, C), the last ink fastest."""
        return self._spreading.on_grid(coverages)

    def near_error(self, coverage: FloatArray) -> FloatArray:
        """What no cause explains (N, C), in standard deviations, at coverages (I, N, C)."""
        (error,) = self._near.at(coverage)
        return np.asarray(error, dtype=np.float64)

    def near_error_on_grid(self, coverages: Sequence[FloatArray]) -> FloatArray:
        """The same (N, C) at all combinations of coverages (V, C), the last ink fastest."""
        (error,) = self._near.on_grid(coverages)
        return np.asarray(error, dtype=np.float64)

    @property
    def _spreading(self) -> Pulled:
        measured, sd = self.measured, MODEL.kriging.spreading_sd
        return self._pulled(sd**2 * measured.spreads, length=MODEL.kriging.spreading_length)

    @property
    def _near(self) -> Pulled:
        return self._pulled(self.measured.near[None], length=MODEL.kriging.near_length)

    def _pulled(self, shown: FloatArray, *, length: float) -> Pulled:
        """What was measured of tints, where an error shows (K, P, C) in them."""
        tints = shown.any(axis=(0, 2))
        return Pulled(
            pull=shown[:, tints] * self.pull.T[tints],
            coverage=self.measured.coverage[:, tints],
            length=length,
        )

    @property
    def widening(self) -> float:
        """How many times less sure than a usual press this one is, by its mixtures; never below 1.

        So many mixtures of a usual press count besides, as few of them tell little.
        """
        usual, besides = MODEL.error.usual_misfit, MODEL.error.usual_misfit_counts
        count = self.pull.shape[1]
        squared = (besides * usual**2 + count * self.misfit**2) / (besides + count)
        return max(1.0, float(np.sqrt(squared)) / usual)

    def variance(self, at: Features) -> FloatArray:
        """Variance (N, C) that is left of y after the mixtures were measured."""
        left = self._prior_variance(at) - (self._explained(at) ** 2).sum(axis=1)
        return np.asarray(np.maximum(left, 0).T, dtype=np.float64)

    def covariance_left(self, one: Features, other: Features) -> FloatArray:
        """Covariance (C, N, P) of y between colours that is left after the mixtures were measured.

        It takes 24 N P bytes, and half as much again while it is made.
        """
        left = prior_covariance(one, other, self.covariance)
        if self.pull.size:
            left -= self._explained(one).transpose(0, 2, 1) @ self._explained(other)
        return left

    def left_out(self) -> tuple[FloatArray, FloatArray]:
        """Residual of each mixture (P, C) as the others foretell it, and how uncertain that is.

        The second is the standard deviation of what a reading misses. Rasmussen & Williams,
        equations 5.10 to 5.12.
        """
        from scipy.linalg import solve_triangular

        own = np.empty(self.pull.shape)
        for inverse, factor in zip(own, self.factor, strict=True):
            root = solve_triangular(factor, np.eye(len(factor)), lower=True, check_finite=False)
            inverse[:] = (root**2).sum(axis=0)
        missed = np.asarray((self.pull / own).T, np.float64)
        return missed, np.asarray(own.T**-0.5, np.float64)

    def _explained(self, at: Features) -> FloatArray:
        """What the measured mixtures explain (C, P, N): products of two of its columns."""
        between = prior_covariance(at, self.measured, self.covariance)
        return _solved(self.factor, between.transpose(0, 2, 1))

    def _prior_variance(self, at: Features) -> FloatArray:
        """Variance (C, N) before anything was measured."""
        weights = at.weights.transpose(2, 1, 0)
        own = ((weights @ self.covariance) * weights).sum(axis=-1)
        spreading = MODEL.kriging.spreading_sd**2 * (at.spreads**2).sum(axis=0)
        return np.asarray(own + (spreading + at.near**2).T, dtype=np.float64)


def features(
    coverage: FloatArray,
    *,
    spreaded: FloatArray,
    room: FloatArray,
    near: FloatArray,
    primaries: FloatArray,
) -> Features:
    """Features of coverages before and after spreading (I, N, C) among primaries (2**I, C).

    `room` (I, N, C) is how far an error of spreading would carry each ink, `near` (N, C) the
    standard deviation of what no cause explains and near colours share.
    """
    return Features(
        weights=demichel_weights(spreaded),
        spreads=room * contrasts(spreaded, primaries),
        near=near,
        coverage=coverage,
    )


def overprint_covariance(
    primaries: FloatArray,
    *,
    n: float,
    spots: BoolArray,
    spot_times: float,
    shared: Sequence[FloatArray],
) -> FloatArray:
    """Prior covariance (C, 2**I, 2**I) of the errors of the primaries (2**I, C).

    Paper and single solids are told and have none.

    Parameters
    ----------
    spots : (2**I,) array of bool
        Overprints that hold a spot ink.
    spot_times : float
        Times the usual standard deviation, for those.
    shared : sequence of (2**I, C) array
        By how much the primaries change together, a cause each, for one standard deviation of it.
    """
    constants, rows = MODEL.kriging, inks_in_rows(primaries.shape[0].bit_length() - 1)
    density = np.maximum(-n * np.log10(primaries), 0)
    in_density = constants.overprint_sd_per_density * density + constants.overprint_sd_floor
    sd = in_density * primaries * np.log(10) / n
    sd[spots] *= spot_times
    sd[rows.sum(axis=1) < 2] = 0
    differing = np.abs(rows[:, None] - rows).sum(axis=-1)
    covariance = constants.overprint_correlation**differing * _outer(sd)
    for change in shared:
        covariance += _outer(change)
    return np.asarray(covariance, dtype=np.float64)


def _outer(values: FloatArray) -> FloatArray:
    """Products (C, R, R) of values (R, C) with each other."""
    return np.asarray(values.T[:, :, None] * values.T[:, None, :], dtype=np.float64)


def fit_residuals(
    measured: Features, residual: FloatArray, *, noise: FloatArray, covariance: FloatArray
) -> ResidualField:
    """The field through residuals of y (P, C), read with the noise variance (P, C)."""
    from scipy.linalg import cholesky

    between = prior_covariance(measured, measured, covariance)
    for band, own in zip(between, noise.T, strict=True):
        np.fill_diagonal(band, band.diagonal() + own)
        band[:] = cholesky(band, lower=True, overwrite_a=True, check_finite=False)
    factor = between
    half = _solved(factor, residual.T[:, :, None])
    pull = _solved(factor, half, transposed=True)[:, :, 0]
    seen = np.einsum("apc,cp->ca", measured.weights, pull)
    shift = np.einsum("cab,cb->ac", covariance, seen)
    return ResidualField(
        covariance=covariance,
        measured=measured,
        factor=factor,
        pull=pull,
        primaries_shift=shift,
        misfit=float(np.sqrt(max(0.0, (residual.T * pull).mean()))) if residual.size else 0.0,
    )


def _solved(factor: FloatArray, values: FloatArray, *, transposed: bool = False) -> FloatArray:
    """What lower triangles (C, P, P), or their transposes, times what makes values (C, P, N)."""
    from scipy.linalg import solve_triangular

    solved = np.empty(values.shape)
    for made, triangle, value in zip(solved, factor, values, strict=True):
        if value.size:
            made[:] = solve_triangular(
                triangle, value, lower=True, trans=int(transposed), check_finite=False
            )
    return solved


def prior_covariance(one: Features, other: Features, covariance: FloatArray) -> FloatArray:
    """Covariance (C, N, P) of y between colours before anything was measured.

    Parameters
    ----------
    covariance : (C, 2**I, 2**I) array
        Of the errors of the primaries.
    """
    between = _overprint_covariance(one, other, covariance)
    between += _spreading_covariance(one, other)
    between += _near_covariance(one, other)
    return between


def _overprint_covariance(one: Features, other: Features, covariance: FloatArray) -> FloatArray:
    """Covariance (C, N, P) by the errors of the primaries."""
    left, right = one.weights.transpose(2, 1, 0), other.weights.transpose(2, 0, 1)
    return np.asarray(left @ (covariance @ right), dtype=np.float64)


def _spreading_covariance(one: Features, other: Features) -> FloatArray:
    """Covariance (C, N, P) by the errors of spreading."""
    alike = likeness(one.coverage, other.coverage, length=MODEL.kriging.spreading_length)
    for band, mine, theirs in zip(
        alike, one.spreads.transpose(2, 1, 0), other.spreads.transpose(2, 0, 1), strict=True
    ):
        band *= mine @ theirs
    alike *= MODEL.kriging.spreading_sd**2
    return alike


def _near_covariance(one: Features, other: Features) -> FloatArray:
    """Covariance (C, N, P) by what no cause explains."""
    alike = likeness(one.coverage, other.coverage, length=MODEL.kriging.near_length)
    alike *= one.near.T[:, :, None]
    alike *= other.near.T[:, None, :]
    return alike
