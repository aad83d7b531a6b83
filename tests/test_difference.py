"""Counted colour differences: the published pairs, the judge's formula, the compiled loop."""

import numpy as np
import pytest
from test_colorimetry import SHARMA

from inkmix.base import loops
from inkmix.checks.reference import difference
from inkmix.checks.reference.difference import (
    BINS,
    STEPS_PER_DE00,
    DifferenceCounter,
    de00_without_angles,
    on_paper,
    on_white,
)
from inkmix.colour.colorimetry import WHITE_XYZ100, delta_e00, srgb1_to_xyz100, xyz100_to_lab

PAPER_XYZ100 = np.array([86.0, 89.5, 68.0])
COUNTER = DifferenceCounter(ratios_of_first=on_white(), ratios_of_second=on_paper(PAPER_XYZ100))
FOUR_DECIMALS = 5e-5
compiled_only = pytest.mark.skipif(not loops.are_compiled(), reason="loops are not compiled here")


def pairs(count: int = 40_000, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    """Any colours, near ones, greys, and each end of the scale."""
    random = np.random.default_rng(seed)
    first, second = random.integers(0, 256, (2, count, 3), dtype=np.uint8)
    near = first[: count // 2] + random.integers(-5, 6, (count // 2, 3))
    second[: count // 2] = np.clip(near, 0, 255)
    greys = slice(count // 2, count // 2 + count // 8)
    first[greys], second[greys] = first[greys, :1], second[greys, :1]
    ends = slice(-count // 8, None)
    first[ends], second[ends] = first[ends] // 128 * 255, second[ends] // 128 * 255
    return first, second


def judged(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    on_white_xyz100, xyz100 = (srgb1_to_xyz100(srgb8 / 255.0) for srgb8 in (first, second))
    printed = xyz100_to_lab(xyz100 / WHITE_XYZ100 * PAPER_XYZ100)
    return delta_e00(xyz100_to_lab(on_white_xyz100), printed)


def counted(first: np.ndarray, second: np.ndarray) -> np.ndarray:
    histogram = np.zeros(BINS, np.int64)
    COUNTER.add(histogram, first[None], second[None])
    return histogram


def test_the_34_published_pairs():
    """Sharma, Wu & Dalal 2005, table 1, both ways round; also hues half a turn apart."""
    first, second, expected = SHARMA[:, :3].T, SHARMA[:, 3:6].T, SHARMA[:, 6]
    for one, two in ((first, second), (second, first)):
        np.testing.assert_allclose(de00_without_angles(*one, *two), expected, atol=FOUR_DECIMALS)


def test_the_formula_without_angles_is_the_formula():
    """Random CIELAB, and opposite hues of equal and of other chroma."""
    random = np.random.default_rng(9)
    first, second = random.uniform((0, -120, -120), (100, 120, 120), (2, 20_000, 3))
    second[:2000, 1:] = -first[:2000, 1:]
    second[2000:4000, 1:] = -first[2000:4000, 1:] * random.uniform(0, 3, (2000, 1))
    second[4000:5000, 1:] = 0
    found = de00_without_angles(*first.T, *second.T)
    np.testing.assert_allclose(found, delta_e00(first, second), rtol=0, atol=1e-10)


def test_pictures_differ_as_the_judge_says():
    """Of a grey, a and b are 0 but for rounding, which processors do in their own ways.

    The difference of hues goes with the root of chroma, so that 1e-14 there may be 1e-8 here.
    """
    first, second = pairs()
    found, expected = COUNTER.de00(first, second), judged(first, second)
    grey = (first == first[:, :1]).all(axis=1)
    np.testing.assert_allclose(found[~grey], expected[~grey], rtol=0, atol=1e-11)
    np.testing.assert_allclose(found[grey], expected[grey], rtol=0, atol=1e-8)


def test_steps_are_those_of_the_judge():
    first, second = pairs()
    steps = (judged(first, second) * STEPS_PER_DE00 + 0.5).astype(np.int64)
    np.testing.assert_array_equal(counted(first, second), np.bincount(steps, minlength=BINS))
    assert steps.max() > 100 * STEPS_PER_DE00


def test_the_same_paper_and_picture_do_not_differ():
    first, _ = pairs(1000)
    counter = DifferenceCounter(ratios_of_first=on_white(), ratios_of_second=on_white())
    assert (counter.de00(first, first) == 0).all()
    histogram = np.zeros(BINS, np.int64)
    counter.add(histogram, first[None], first[None])
    assert histogram[0] == 1000


@compiled_only
@pytest.mark.parametrize("flat", [1, 3, 64, 200, 700])
def test_the_compiled_loop_counts_like_its_twin(monkeypatch, flat):
    first, second = (part.repeat(flat, axis=0)[:40_000] for part in pairs(seed=flat))
    found = counted(first, second)
    monkeypatch.setattr(difference.loops, "are_compiled", lambda: False)
    np.testing.assert_array_equal(found, counted(first, second))
    assert found.sum() == len(first)


@compiled_only
def test_the_compiled_formula_on_the_34_published_pairs():
    """Steps of 0.0001, to which the table is printed."""
    from inkmix.base.kernels import difference as compiled

    lab = np.concatenate([SHARMA[:, :3].T, SHARMA[:, 3:6].T])
    room = np.zeros((9, len(SHARMA)))
    for first in (0, 3):
        fy = (lab[first] + 16) / 116
        room[first : first + 3] = fy + lab[first + 1] / 500, fy, fy - lab[first + 2] / 200
    compiled._squares(room, len(SHARMA), difference._CONSTANTS)
    for index, expected in enumerate(SHARMA[:, 6]):
        histogram = np.zeros(10**6, np.int64)
        one = np.ascontiguousarray(room[:, index : index + 1])
        compiled._count(one, 1, np.ones(1, np.int64), difference._TILTS, histogram, 1e4)
        assert abs(int(np.argmax(histogram)) - expected * 1e4) < 1.01
