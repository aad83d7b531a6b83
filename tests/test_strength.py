"""Lightness without texture, and how strongly curves act by it."""

import numpy as np
import pytest

from inkmix.checks.mending.cells import Cells
from inkmix.checks.mending.evened import evened
from inkmix.checks.mending.strength import NEEDS, Wants

SIDE = 120
RNG = np.random.default_rng(11)
ROWS = COLS = slice(0, SIDE)


def even(lightness: np.ndarray, *, factor: int = 1, but: np.ndarray | None = None) -> np.ndarray:
    """L* (SIDE, SIDE) evened over 9 pixels, found in cells of a size."""
    cells = Cells(rows=ROWS, cols=COLS, factor=factor)
    blocks = lightness.reshape(SIDE // factor, factor, SIDE // factor, factor)
    found = evened(
        cells,
        blocks.mean(axis=(1, 3)),
        (blocks**2).mean(axis=(1, 3)),
        counted=np.ones(cells.shape) if but is None else 1.0 - but,
        around_px=9.0,
        texture_L=7.0,
    )
    return found.at_pixels(lightness.astype(np.float32), ROWS, COLS)


@pytest.mark.parametrize("factor", [1, 3])
def test_grain_is_evened_out_and_an_edge_stays_to_the_pixel(factor):
    grain = RNG.normal(0, 2, (SIDE, SIDE))
    lightness = np.where(np.arange(SIDE) < 61, 35.0, 75.0) + grain
    after = even(lightness, factor=factor)
    assert after[:, :40].std() < 0.2 * grain.std()
    assert after[:, 60].mean() == pytest.approx(35, abs=0.06 * 40)
    assert after[:, 61].mean() == pytest.approx(75, abs=0.06 * 40)


def test_beside_a_star_the_sky_is_as_even_as_without_it():
    lightness = 30 + RNG.normal(0, 2, (SIDE, SIDE))
    plain = even(lightness)
    star = np.zeros((SIDE, SIDE), np.bool_)
    star[58:61, 58:61] = True
    starry = even(np.where(star, 90.0, lightness), but=star)
    around = np.zeros_like(star)
    around[50:70, 50:70] = True
    np.testing.assert_allclose(starry[around & ~star], plain[around & ~star], atol=0.3)
    assert even(np.where(star, 90.0, lightness))[around & ~star].std() > 0.5


LIMIT_L = 33.0


def wants(L: np.ndarray, *, most_drop_L: float = 15.0) -> Wants:
    """Of a sky without texture under curves that take off the same of each L*."""
    need = np.where(L > LIMIT_L, np.ceil((L - LIMIT_L) / most_drop_L * NEEDS), 0).astype(np.int64)
    return Wants(
        L,
        np.minimum(need, NEEDS + 1),
        lambda some, weight: np.full(len(some), weight * most_drop_L),
    )


def after(L: np.ndarray, made, *, most_drop_L: float = 15.0) -> np.ndarray:
    return L - most_drop_L * made.at(L)


def test_each_lightness_comes_down_as_far_as_it_needs_and_what_is_dark_enough_stays():
    L = RNG.uniform(20, 45, 50_000)
    becomes = after(L, wants(L).strengths(stray=0.0, rise=0.0))
    assert becomes.max() <= LIMIT_L + 0.1
    assert becomes[L > 36].min() > LIMIT_L - 3
    assert becomes[L > 36].mean() > LIMIT_L - 1.5
    assert (becomes == L)[L < 30].all()


def test_what_is_lighter_stays_lighter_by_a_share():
    """Of 5 L*, half; what nobody sees may be missing."""
    L = np.linspace(30, 45, 30_001)
    becomes = after(L, wants(L).strengths(stray=0.0, rise=0.5))
    assert (becomes[10_000:] - becomes[:-10_000]).min() > 0.5 * 5 - 0.8
    flat = after(L, wants(L).strengths(stray=0.0, rise=0.0))
    assert -0.8 < (flat[10_000:] - flat[:-10_000]).min() < 0.5


def test_a_pale_cloud_never_becomes_darker_than_the_sky():
    """It would, if it came down until the lightest of its grains is dark enough."""
    L = np.concatenate([np.full(40_000, 31.0), np.full(10_000, 42.0)])
    need = np.concatenate([np.zeros(40_000, np.int64), np.full(10_000, NEEDS)])
    made = Wants(L, need, lambda some, weight: np.full(len(some), 15 * weight))
    becomes = after(L, made.strengths(stray=0.0, rise=0.0))
    assert becomes[-1] == pytest.approx(27, abs=0.1)
    assert becomes[0] <= 27.8


def test_a_few_pixels_hold_no_others_down():
    L = np.concatenate([np.full(50_000, 31.0), np.full(100, 42.0)])
    need = np.concatenate([np.zeros(50_000, np.int64), np.full(100, NEEDS)])
    made = Wants(L, need, lambda some, weight: np.full(len(some), 15 * weight))
    assert after(L, made.strengths(stray=0.0, rise=0.0))[0] == 31.0


@pytest.mark.parametrize("stray", [0.01, 0.05])
def test_so_many_may_stay_too_light_and_no_more(stray):
    L = RNG.normal(34, 3, 50_000)
    becomes = after(L, wants(L).strengths(stray=stray, rise=0.0))
    assert (becomes > LIMIT_L + 0.3).mean() <= stray
    assert (becomes > LIMIT_L - 0.5).mean() > 0.2 * stray
