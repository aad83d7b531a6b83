"""Monotone curves: scipy's own as referee, and what the papers promise."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from inkmix.colour.monotone import monotone_curve


def points(seed: int, count: int, *shape: int) -> tuple[np.ndarray, np.ndarray]:
    """Points with turns, level stretches and steps of very unlike width."""
    rng = np.random.default_rng(seed)
    x = np.cumsum(rng.choice([0.01, 1.0, 7.0], count) * rng.uniform(0.5, 1, count))
    return x, np.round(rng.uniform(0, 1, (count, *shape)), rng.integers(1, 4))


@given(seed=st.integers(0, 10_000), count=st.integers(2, 9), width=st.integers(1, 4))
def test_scipy_gives_the_same(seed, count, width):
    """Up to the last bits: the sums are taken in the same order, but compilers differ."""
    x, y = points(seed, count, width)
    at = np.concatenate([x, np.random.default_rng(seed).uniform(x[0], x[-1], 60)])
    expected = PchipInterpolator(x, y, axis=0)(at)
    np.testing.assert_allclose(monotone_curve(x, y)(at), expected, rtol=1e-12, atol=1e-15)


@given(seed=st.integers(0, 10_000), count=st.integers(2, 9))
def test_it_goes_through_the_points_and_overshoots_nowhere(seed, count):
    x, y = points(seed, count)
    curve = monotone_curve(x, y)
    np.testing.assert_allclose(curve(x), y, rtol=0, atol=1e-12)
    for k in range(count - 1):
        between = curve(np.linspace(x[k], x[k + 1], 50))
        assert between.min() >= min(y[k], y[k + 1]) - 1e-12
        assert between.max() <= max(y[k], y[k + 1]) + 1e-12
        assert (np.diff(between) * np.sign(y[k + 1] - y[k]) >= -1e-12).all()


def test_two_points_make_a_straight_line():
    curve = monotone_curve(np.array([0.0, 4.0]), np.array([1.0, 3.0]))
    np.testing.assert_allclose(curve(np.array([0.0, 1.0, 4.0])), [1, 1.5, 3])


@pytest.mark.parametrize("slope", [0.0, -2.0, 3.5])
def test_points_on_a_line_make_the_line(slope):
    x = np.array([0.0, 1.0, 1.5, 4.0])
    at = np.linspace(0, 4, 17)
    np.testing.assert_allclose(monotone_curve(x, slope * x)(at), slope * at, atol=1e-14)


@pytest.mark.parametrize("shape", [(), (1,), (2, 3)])
def test_places_may_have_any_shape(shape):
    x, y = points(3, 6, 2)
    curve, before = monotone_curve(x, y), y.copy()
    at = np.full(shape, x[2])
    for _ in range(2):
        np.testing.assert_allclose(curve(at), np.broadcast_to(y[2], (*shape, 2)))
    np.testing.assert_array_equal(y, before)
