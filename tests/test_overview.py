"""Reduced pictures: exact block means, whatever the windows."""

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from inkmix.plates.overview import LINEAR_OF_SRGB8, BlockSum, ColourOverview, factor_for


@given(
    height=st.integers(1, 23),
    width=st.integers(1, 17),
    factor=st.integers(1, 9),
    cuts=st.lists(st.integers(1, 22), max_size=4),
    seed=st.integers(0, 99),
)
def test_blocks_do_not_depend_on_windows(height, width, factor, cuts, seed):
    values = np.random.default_rng(seed).integers(0, 65536, (height, width, 2))
    total = BlockSum(width_px=width, height_px=height, channels=2, factor=factor)
    edges = sorted({0, height, *(cut for cut in cuts if cut < height)})
    for first, last in itertools.pairwise(edges):
        total.add(first, values[first:last])
    for row in range(total.sums.shape[0]):
        for col in range(total.sums.shape[1]):
            block = values[row * factor : (row + 1) * factor, col * factor : (col + 1) * factor]
            np.testing.assert_array_equal(total.sums[row, col], block.sum(axis=(0, 1)))
            np.testing.assert_allclose(total.mean()[row, col], block.mean(axis=(0, 1)))


def test_a_checkerboard_looks_mid_grey_in_linear_light():
    board = np.indices((8, 8)).sum(axis=0) % 2 * 255
    overview = ColourOverview(width_px=8, height_px=8, factor=2)
    overview.add(0, np.repeat(board[..., None], 3, axis=2).astype(np.uint8))
    # half of linear light is 188 in sRGB (IEC 61966-2-1), not 128
    assert overview.srgb8().shape == (4, 4, 3)
    assert (overview.srgb8() == 188).all()


@given(
    height=st.integers(1, 13),
    width=st.integers(1, 17),
    factor=st.integers(1, 4),
    seed=st.integers(0, 99),
)
def test_colours_are_those_of_mean_light(height, width, factor, seed):
    srgb8 = np.random.default_rng(seed).integers(0, 256, (height, width, 3), dtype=np.uint8)
    overview = ColourOverview(width_px=width, height_px=height, factor=factor)
    overview.add(0, srgb8)
    light = LINEAR_OF_SRGB8[srgb8] / 65535
    for row, col in np.ndindex(overview.srgb8().shape[:2]):
        block = light[row * factor : (row + 1) * factor, col * factor : (col + 1) * factor]
        mean = block.mean(axis=(0, 1))
        # IEC 61966-2-1; an exact half of a step may go either way
        steps = 255 * np.where(mean <= 0.0031308, 12.92 * mean, 1.055 * mean ** (1 / 2.4) - 0.055)
        assert np.abs(overview.srgb8()[row, col] - steps).max() < 0.5 + 1e-9


def test_a_single_flagged_pixel_survives_any_reduction():
    flags = np.zeros((100, 100, 1), bool)
    flags[73, 41] = True
    total = BlockSum(width_px=100, height_px=100, channels=1, factor=50)
    total.add(0, flags)
    assert (total.sums[..., 0] > 0).tolist() == [[False, False], [True, False]]


def test_factor_is_the_smallest_that_fits():
    assert factor_for(6976, 1228, longest_px=1800) == 4
    assert factor_for(1800, 10, longest_px=1800) == 1


def test_linear_table_ends():
    assert LINEAR_OF_SRGB8[0] == 0
    assert LINEAR_OF_SRGB8[255] == 65535
