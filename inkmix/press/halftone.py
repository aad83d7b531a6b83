"""Colour of a halftone from coverages and primaries, after Neugebauer with Yule-Nielsen n.

The weights follow Demichel: screens are taken as independent, so this is not valid for dot-on-dot
printing or for two screens at one angle. Everything here runs in y = reflectance ** (1/n), inks
first: coverage (I, N, C), primaries (2**I, C).
"""

import numpy as np

from inkmix.base.arrays import FloatArray


def others_share(coverage: FloatArray, presence: FloatArray) -> FloatArray:
    """Share (I, N, C) of the sheet that other inks cover, for each ink; coverage (I, N, C).

    `presence` (I,), 0-1, says how much each ink counts: a black hides what spreads under it.
    """
    bare = 1 - presence[:, None, None] * coverage
    before, after = np.ones_like(bare), np.ones_like(bare)
    for i in range(1, len(bare)):
        before[i] = before[i - 1] * bare[i - 1]
        after[-1 - i] = after[-i] * bare[-i]
    return np.asarray(1 - before * after, dtype=np.float64)


def spreading_room(coverage: FloatArray, others: FloatArray) -> FloatArray:
    """How far spreading of strength 1 would carry each ink (I, N, C), for `others` of its share."""
    return np.asarray(others * coverage * (1 - coverage), dtype=np.float64)


def spread(coverage: FloatArray, others: FloatArray, *, strength: float) -> FloatArray:
    """Coverage (I, N, C) after ink spreading: dots grow more on other inks than on paper.

    Parameters
    ----------
    coverage : (I, N, C) array
    others : (I, N, C) array
        As `others_share` gives it.
    strength : float

    References
    ----------
    Hersch & Crete 2005, SPIE 5667, for the idea of one dot curve by superposition.
    """
    grown = coverage + spreading_room(coverage, strength * others)
    return np.asarray(np.clip(grown, 0, 1), dtype=np.float64)


def grown_by_others(coverage: FloatArray, because: FloatArray, bare: FloatArray) -> FloatArray:
    """How much further each ink spreads (I, N, C) because of single others, where no spot ink is.

    Parameters
    ----------
    coverage : (I, N, C) array
        Before any spreading.
    because : (I, I, C) array
        [i, j]: of ink i because of ink j.
    bare : (N, C) array
        Share of the sheet that no spot ink covers.
    """
    further = np.einsum("ijc,jnc->inc", because, coverage)
    return np.asarray(further * coverage * (1 - coverage) * bare, dtype=np.float64)


def mix(coverage: FloatArray, primaries: FloatArray) -> FloatArray:
    """Weighted mean (N, C) of primaries (2**I, C) for coverages (I, N, C).

    One ink is folded at a time, which never builds the 2**I weights.

    References
    ----------
    Demichel 1924, Procede 26, 17-21; Neugebauer 1937, Z. wiss. Photogr. 36, 73-89.
    """
    rows = primaries[:, None, :]
    for ink in coverage[::-1]:
        rows = _folded(rows, ink)
    return np.broadcast_to(rows[0], coverage.shape[1:])


def _apart(rows: FloatArray) -> FloatArray:
    """Rows (K, ...) with the last ink less those without it, (K/2, ...)."""
    half = len(rows) // 2
    return np.asarray(rows[half:] - rows[:half])


def _folded(rows: FloatArray, ink: FloatArray) -> FloatArray:
    """Rows (K, ...) at a coverage (N, C) of the last ink, (K/2, N, C)."""
    folded = ink * _apart(rows)
    folded += rows[: len(folded)]
    return np.asarray(folded)


def demichel_weights(coverage: FloatArray) -> FloatArray:
    """Weights (2**I, N, C) of the primaries for coverages (I, N, C); they sum to 1."""
    weights = np.ones((1, *coverage.shape[1:]))
    for ink in coverage:
        weights = np.concatenate([weights * (1 - ink), weights * ink])
    return weights


def overlap(coverage: FloatArray) -> FloatArray:
    """Share (N, C) of the sheet on which two or more inks lie, for coverages (I, N, C)."""
    bare, single = np.ones(coverage.shape[1:]), np.zeros(coverage.shape[1:])
    for ink in coverage:
        single = single * (1 - ink) + bare * ink
        bare = bare * (1 - ink)
    return np.asarray(np.maximum(1 - bare - single, 0), dtype=np.float64)


def contrasts(coverage: FloatArray, primaries: FloatArray) -> FloatArray:
    """y with an ink full less y without it (I, N, C), for each ink: the slope of `mix`.

    All slopes in one go: fold as `mix` does, then walk back with the weights of the halves.
    """
    folds = [primaries[:, None, :]]
    for ink in coverage[:0:-1]:
        folds.append(_folded(folds[-1], ink))
    slopes = np.empty_like(coverage)
    weights = np.ones((1, *coverage.shape[1:]))
    for i, rows in enumerate(reversed(folds)):
        half = len(rows) // 2
        slopes[i] = (weights * (rows[half:] - rows[:half])).sum(axis=0)
        weights = np.concatenate([weights * (1 - coverage[i]), weights * coverage[i]])
    return slopes


def to_power(y: FloatArray, n: float) -> FloatArray:
    """Reflectance y ** n, by products where n is whole (several times faster)."""
    if n != int(n):
        return np.asarray(np.maximum(y, 0) ** n, dtype=np.float64)
    square = y * y
    power = y.copy() if int(n) % 2 else np.ones_like(y)
    for _ in range(int(n) // 2):
        power *= square
    return power
