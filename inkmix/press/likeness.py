"""Errors that are alike at like coverages: how alike, and what readings of tints say of others.

Knows neither causes nor constants. Arrays as in inkmix.press.halftone: inks first, channels last.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pulled:
    """K errors that P measured tints tell of, alike at like coverages.

    Parameters
    ----------
    pull : (K, P, C) array
    coverage : (I, P, C) array
    length : float
        Distance in coverage over which they are alike.
    """

    pull: FloatArray
    coverage: FloatArray
    length: float

    def at(self, coverage: FloatArray) -> FloatArray:
        """The errors (K, N, C) at coverages (I, N, C)."""
        alike = likeness(coverage, self.coverage, length=self.length)
        error = alike @ np.ascontiguousarray(self.pull.transpose(2, 1, 0))
        return np.ascontiguousarray(error.transpose(2, 1, 0), dtype=np.float64)

    def on_grid(self, coverages: Sequence[FloatArray]) -> FloatArray:
        """The same at all combinations of coverages (V, C) of each ink, the last fastest.

        The likeness is a product over inks, so that it becomes a product of two smaller tables.
        """
        alike = [
            likeness(own[None], at[None], length=self.length)
            for own, at in zip(coverages, self.coverage, strict=True)
        ]
        half = (len(alike) + 1) // 2
        first, last = _combined(alike[:half]), _combined(alike[half:])
        errors, measured, bands = self.pull.shape
        pulled = self.pull.transpose(2, 0, 1)[:, :, None] * first[:, None]
        error = pulled.reshape(bands, -1, measured) @ last.transpose(0, 2, 1)
        return np.ascontiguousarray(error.reshape(bands, errors, -1).transpose(1, 2, 0))


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


def _combined(alike: Sequence[FloatArray]) -> FloatArray:
    """Likeness (C, V1 V2 ..., P) of all combinations, of that (C, V, P) of each ink."""
    result = alike[0] if alike else np.ones((1, 1, 1))
    for own in alike[1:]:
        bands, _, count = result.shape
        result = (result[:, :, None] * own[:, None]).reshape(bands, -1, count)
    return result
