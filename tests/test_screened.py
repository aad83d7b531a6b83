"""Growth at edges against a distance transform; means over disc and box against plain sums."""

import numpy as np
import pytest
from scipy import ndimage

from inkmix.plates.survey.screened import (
    box_mean,
    disc_halo,
    disc_mean,
    disc_radius_px,
    grown,
    growth_halo,
)

INK = np.random.default_rng(2).random((60, 70)) < 0.03


@pytest.mark.parametrize("growth_px", [0.0, 0.3, 1.0, 1.7, 4.2])
def test_growth_agrees_with_a_distance_transform(growth_px):
    """scipy's exact Euclidean distance is the referee; half a step of 255 from rounding."""
    halo = growth_halo(growth_px)
    padded = np.pad(INK, halo)
    distance = ndimage.distance_transform_edt(~padded)
    wanted = np.clip(1 + growth_px - distance, 0, 1)[halo : halo + 60, halo : halo + 70]
    found = grown(padded, growth_px=growth_px) / 255
    np.testing.assert_allclose(found, wanted, atol=0.5 / 255 + 1e-12)


def test_no_growth_changes_nothing():
    np.testing.assert_array_equal(grown(INK, growth_px=0.0), INK * np.uint8(255))


def test_growth_of_a_straight_edge_is_the_growth():
    """A half plane gains exactly its growth, in pixels of width."""
    edge = np.zeros((20, 40), np.bool_)
    edge[:, :20] = True
    for growth_px in (0.25, 1.5, 3.8):
        halo = growth_halo(growth_px)
        row = grown(np.pad(edge, halo, mode="edge"), growth_px=growth_px)[10] / 255
        assert row.sum() == pytest.approx(20 + growth_px, abs=1 / 255)


def test_growth_of_a_halftone_is_a_tone_value_increase():
    """A 50 % checker of 10 px cells gains the length of its edges times the growth."""
    cells = np.indices((10, 10)).sum(axis=0) % 2 == 0
    checker = np.kron(cells, np.ones((10, 10), np.bool_))
    covered = grown(np.pad(checker, 1, mode="wrap"), growth_px=0.5).mean() / 255
    assert covered == pytest.approx(0.5 + 0.5 * 20 / 100, abs=0.01)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("ppi", [72, 200, 333.3])
def test_disc_mean_agrees_with_a_plain_sum(dtype, ppi):
    radius = disc_radius_px(ppi)
    halo = disc_halo(radius)
    plane = np.random.default_rng(4).integers(0, np.iinfo(dtype).max, (30, 31), endpoint=True)
    y, x = np.mgrid[-halo : halo + 1, -halo : halo + 1]
    disc = (x**2 + y**2 <= radius**2).astype(np.int64)
    sums = ndimage.convolve(plane, disc)[halo : 30 - halo, halo : 31 - halo]
    wanted = np.floor(sums / disc.sum() + 0.5)
    np.testing.assert_array_equal(disc_mean(plane.astype(dtype), radius_px=radius), wanted)


def test_disc_is_one_millimetre_wide():
    assert 2 * disc_radius_px(254.0) == pytest.approx(10.0)


@pytest.mark.parametrize("factor", [1, 2, 3, 6])
def test_box_mean_rounds_half_up(factor):
    plane = np.random.default_rng(7).integers(0, 256, (12, 18)).astype(np.uint8)
    blocks = plane.reshape(12 // factor, factor, 18 // factor, factor).mean(axis=(1, 3))
    np.testing.assert_array_equal(box_mean(plane, factor=factor), np.floor(blocks + 0.5))
