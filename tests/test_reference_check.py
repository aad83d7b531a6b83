"""The prediction against a reference picture: what is compared, and that no cut changes it."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inkmix.base import loops
from inkmix.checks.reference import check as reference_check
from inkmix.checks.reference.check import ReferenceCheck
from inkmix.checks.reference.reduced import grid_over
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    delta_e00,
    encode_srgb1,
    srgb1_to_xyz100,
    xyz100_to_lab,
)
from inkmix.plates.overview import LINEAR_OF_SRGB8, LINEAR_ONE

PAPER_XYZ100 = np.array([86.0, 89.5, 68.0])
ROWS, COLS = 60, 90


@dataclass
class Picture:
    srgb8: np.ndarray

    @property
    def width_px(self):
        return self.srgb8.shape[1]

    @property
    def height_px(self):
        return self.srgb8.shape[0]

    def read(self, rows, cols):
        return self.srgb8[rows, cols]


def noise(rows=ROWS, cols=COLS, *, low=0, high=256, seed=1):
    return np.random.default_rng(seed).integers(low, high, (rows, cols, 3), dtype=np.uint8)


def check_of(wanted, *, rows=slice(0, ROWS), cols=slice(0, COLS), paper=PAPER_XYZ100):
    return ReferenceCheck(
        wanted=Picture(wanted), rows=rows, cols=cols, paper_xyz100=paper, ppi=300.0,
        file="whole.png", picture="map",
    )  # fmt: skip


def result_of(check, printed, *, down=1000, across=1000):
    sums = check.start()
    for top in range(0, printed.shape[0], down):
        for left in range(0, printed.shape[1], across):
            rows = slice(top, min(top + down, printed.shape[0]))
            cols = slice(left, min(left + across, printed.shape[1]))
            sums = check.merge(sums, check.part(rows, cols, printed[rows, cols]))
    return check.finish(sums)


def de00_of(printed, wanted):
    first, second = (srgb1_to_xyz100(srgb8 / 255.0) for srgb8 in (printed, wanted))
    return delta_e00(xyz100_to_lab(first), xyz100_to_lab(second / WHITE_XYZ100 * PAPER_XYZ100))


def test_small_pictures_are_compared_pixel_by_pixel_in_both_figures():
    printed, wanted = noise(), noise(seed=2)
    result, expected = result_of(check_of(wanted), printed), de00_of(printed, wanted)
    # Light is summed in 16 bits, which is coarse beside sRGB's darkest steps.
    np.testing.assert_allclose(result.de00, expected, atol=0.02)
    facts = result.facts
    assert facts.mean_de00 == pytest.approx(expected.mean(), abs=1e-3)
    assert facts.p95_de00 == pytest.approx(np.percentile(expected, 95), abs=0.02)
    assert facts.max_de00 == pytest.approx(expected.max(), abs=0.02)
    assert facts.map_ppi == 300.0
    assert facts.pixels.mean_de00 == pytest.approx(expected.mean(), abs=1 / 128)
    assert facts.pixels.p95_de00 == pytest.approx(np.percentile(expected, 95), abs=0.05)
    assert facts.pixels.max_de00 == pytest.approx(expected.max(), abs=1 / 128)


def test_one_place_that_differs_is_where_the_map_says():
    same = np.full((20, 30, 3), 130, np.uint8)
    wanted = same.copy()
    wanted[5, 7] = 170
    check = check_of(wanted, rows=slice(0, 20), cols=slice(0, 30), paper=WHITE_XYZ100)
    result = result_of(check, same)
    assert np.argmax(result.de00) == 5 * 30 + 7
    assert result.facts.mean_de00 == pytest.approx(result.facts.max_de00 / 600)
    assert result.facts.pixels.p95_de00 == 0


def test_grain_of_the_same_light_differs_by_pixels_and_not_from_afar(monkeypatch):
    """A chessboard of black and white, and its mean in light: the eye at a distance sees one."""
    monkeypatch.setattr(reference_check, "MAP_PX", 30)
    board = np.indices((ROWS, COLS)).sum(axis=0) % 2 * np.uint8(255)
    printed = np.repeat(board[..., None], 3, axis=2)
    grey = np.full_like(printed, round(255 * float(encode_srgb1(0.5))))
    facts = result_of(check_of(grey, paper=WHITE_XYZ100), printed).facts
    # Blocks of 3 x 3 hold five pixels of the one and four of the other.
    assert facts.mean_de00 < 5
    assert facts.map_ppi == 100
    assert facts.pixels.mean_de00 > 25


@settings(max_examples=12, deadline=None)
@given(down=st.integers(1, ROWS), across=st.integers(7, COLS), map_px=st.integers(3, 95))
def test_no_cut_of_windows_changes_a_bit(down, across, map_px):
    printed, trimmed = noise(), noise(50, 71, seed=5)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reference_check, "MAP_PX", map_px)
        check = check_of(trimmed, rows=slice(5, 55), cols=slice(9, 80))
        assert check.is_by_pixels
        whole, cut = result_of(check, printed), result_of(check, printed, down=down, across=across)
    assert cut.facts == whole.facts
    np.testing.assert_array_equal(cut.de00, whole.de00)
    assert whole.de00.shape[1] == min(71, map_px)


@pytest.mark.parametrize("size", [(40, 60), (83, 125)])
def test_other_sizes_are_compared_on_a_common_grid(size, monkeypatch):
    printed, wanted = noise(low=90, high=160), np.full((*size, 3), 124, np.uint8)
    check = check_of(wanted)
    result = result_of(check, printed, down=7)
    assert result.facts.pixels is None
    assert result.de00.shape == (min(size[0], ROWS), min(size[1], COLS))
    assert result.facts.map_ppi == pytest.approx(300 * min(size[1], COLS) / COLS)
    monkeypatch.setattr(loops, "are_compiled", lambda: False)
    np.testing.assert_array_equal(result_of(check, printed).de00, result.de00)


def test_the_bleed_does_not_count():
    printed, wanted = noise(), noise(seed=2)
    inner = slice(5, 55), slice(9, 80)
    check = check_of(wanted[inner], rows=inner[0], cols=inner[1])
    expected = result_of(check, printed)
    printed[:5], printed[55:], printed[:, :9], printed[:, 80:] = 255, 255, 0, 0
    found = result_of(check, printed, down=3)
    assert found.facts == expected.facts


def test_threads_bring_the_same():
    printed, wanted = noise(400, 300), noise(400, 300, seed=2)
    check = check_of(wanted, rows=slice(0, 400), cols=slice(0, 300))
    spans = [slice(top, top + 20) for top in range(0, 400, 20)]
    with ThreadPoolExecutor(2) as pool:
        parts = list(pool.map(lambda r: check.part(r, slice(0, 300), printed[r]), spans))
    sums = check.start()
    for part in reversed(parts):
        sums = check.merge(sums, part)
    assert check.finish(sums).facts == result_of(check, printed).facts


@pytest.mark.parametrize(
    ("size", "cells"), [((12, 9), (4, 3)), ((13, 10), (5, 7)), ((7, 7), (7, 1))]
)
def test_cells_that_are_no_whole_pixels(size, cells):
    """Beside the same picture with every pixel repeated until cells are whole."""
    srgb8 = noise(*size)
    grid = grid_over(size, cells=cells)
    whole = slice(0, size[0]), slice(0, size[1])
    fine = LINEAR_OF_SRGB8[srgb8].repeat(cells[0], axis=0).repeat(cells[1], axis=1)
    blocks = fine.astype(np.float64).reshape(cells[0], size[0], cells[1], size[1], 3)
    expected = blocks.mean(axis=(1, 3)) / LINEAR_ONE
    patch = grid.sums(*whole, srgb8)
    np.testing.assert_allclose(grid.mean_linear(patch.sums), expected, rtol=1e-13)
