"""Connected areas: worked pictures, and scikit-image as an independent witness."""

import numpy as np
import pytest
from skimage.measure import label, regionprops

from inkmix.checks.areas.finder import BY_SIZE, BY_VALUE, AreaFinder, Areas
from inkmix.checks.areas.labels import _from_labels, _from_runs
from inkmix.checks.areas.table import MAX_SIDE_PX


def found(mask, values=None, *, min_px=1, order=BY_VALUE, kept=200) -> Areas:
    values = mask.astype(np.int32) if values is None else values
    finder = AreaFinder(min_px=min_px, order=order, kept=kept)
    part = finder.part(mask, values, rows=slice(0, mask.shape[0]), cols=slice(0, mask.shape[1]))
    return finder.finish(finder.merge(finder.start(), part))


def drawing(*lines: str) -> np.ndarray:
    return np.array([[int(mark) for mark in line.replace(".", "0")] for line in lines])


def test_corners_connect_and_specks_stand_apart():
    picture = drawing(
        "11....3",
        "..1....",
        "...1...",
        "......2",
        ".....22",
    )
    areas = found(picture > 0, picture, min_px=2)
    assert (areas.areas, areas.area_px, areas.specks, areas.speck_px) == (2, 7, 1, 1)
    first, second = areas.worst
    assert (first.value, first.rows, first.cols) == (2, slice(3, 5), slice(5, 7))
    assert first.peak == (3, 6)
    assert (second.pixels, second.rows, second.cols) == (4, slice(0, 3), slice(0, 4))


def test_among_equal_values_the_first_pixel_is_named():
    picture = drawing("1711", "1117", "7111")
    assert found(picture > 0, picture).worst[0].peak == (0, 1)


def test_order_by_size_puts_the_largest_first():
    picture = drawing("9.1111", "......", "22....")
    assert [area.value for area in found(picture > 0, picture).worst] == [9, 2, 1]
    by_size = found(picture > 0, picture, order=BY_SIZE)
    assert [area.pixels for area in by_size.worst] == [4, 2, 1]


@pytest.mark.parametrize("order", [BY_VALUE, BY_SIZE])
def test_of_equal_areas_the_first_comes_first(order):
    picture = drawing(".22..22", ".......", "22..22.")
    areas = found(picture > 0, picture, order=order)
    assert [area.peak for area in areas.worst] == [(0, 1), (0, 5), (2, 0), (2, 4)]


def test_specks_of_every_window_are_counted():
    picture = drawing("1...1.1", ".......", ".1.1...")
    finder = AreaFinder(min_px=2, order=BY_VALUE)
    part = finder.start()
    for top in range(3):  # rows of their own; what touches no edge is settled in the merges
        rows = slice(top, top + 1)
        more = finder.part(picture[rows] > 0, picture[rows], rows=rows, cols=slice(0, 7))
        part = finder.merge(part, more)
    areas = finder.finish(part)
    assert (areas.areas, areas.specks, areas.speck_px) == (0, 5, 5)


def test_specks_inside_windows_are_counted_in_both():
    picture = np.zeros((14, 9), dtype=np.int32)
    picture[[2, 4, 9, 11, 11], [4, 2, 4, 2, 6]] = 1
    finder = AreaFinder(min_px=2, order=BY_VALUE)
    upper, lower = (
        finder.part(picture[rows] > 0, picture[rows], rows=rows, cols=slice(0, 9))
        for rows in (slice(0, 7), slice(7, 14))
    )
    areas = finder.finish(finder.merge(upper, lower))
    assert (areas.areas, areas.specks, areas.speck_px) == (0, 5, 5)


def test_only_the_worst_are_kept_but_all_are_counted():
    picture = np.zeros((40, 40), dtype=np.int32)
    picture[::2, ::2] = np.arange(1, 401).reshape(20, 20)
    areas = found(picture > 0, picture, kept=7)
    assert [area.value for area in areas.worst] == list(range(400, 393, -1))
    assert (areas.areas, areas.area_px) == (400, 400)


def test_a_mark_is_of_the_pixels_of_its_area_and_of_nothing_else():
    """The same far apart from others, another with one pixel more, less, higher or elsewhere."""
    picture = drawing("22....1", "2......", "......3", ".......", "5......")
    here = found(picture > 0, picture, min_px=2)
    (area,) = here.worst
    assert here.area_mark == area.mark
    alone = np.where(picture == 2, picture, 0)
    assert found(alone > 0, alone, min_px=2).worst[0].mark == area.mark
    assert found(alone > 0, alone, min_px=2).speck_mark == 0 != here.speck_mark
    others = {found(np.roll(alone, by, axis) > 0, np.roll(alone, by, axis)).worst[0].mark
              for by, axis in ((1, 0), (1, 1), (2, 1))}  # fmt: skip
    for place, value in (((0, 2), 2), ((1, 0), 0), ((0, 0), 3), ((0, 1), 1)):
        one = alone.copy()
        one[place] = value
        others.add(found(one > 0, one).worst[0].mark)
    assert len(others - {area.mark}) == 7


def test_compiled_loops_and_their_twin_mark_alike(monkeypatch):
    """Values up to the highest that 16 bits in eight plates make, places up to the last ones."""
    rng = np.random.default_rng(3)
    mask, values = rng.random((40, 50)) < 0.4, rng.integers(0, 2**19, (40, 50)).astype(np.int32)
    corner = MAX_SIDE_PX - 60, MAX_SIDE_PX - 60
    compiled, _ = _from_runs(mask, values, corner)
    plain, _ = _from_labels(mask, values, corner)
    np.testing.assert_array_equal(compiled.marks, plain.marks)
    assert len(set(plain.marks.tolist())) == len(plain)


def test_nothing_gives_nothing():
    assert found(np.zeros((3, 4), dtype=bool)) == Areas(
        worst=(), areas=0, area_px=0, area_mark=0, specks=0, speck_px=0, speck_mark=0
    )


def test_agrees_with_region_properties_of_scikit_image():
    rng = np.random.default_rng(7)
    values = rng.integers(1, 2000, (90, 120)).astype(np.int32)
    mask = rng.random((90, 120)) < 0.35
    areas = found(mask, values, kept=10**6)
    expected = [
        (
            region.bbox,
            int(region.area),
            int(values[region.slice][region.image].max()),
        )
        for region in regionprops(label(mask, connectivity=2))
    ]
    got = [
        ((a.rows.start, a.cols.start, a.rows.stop, a.cols.stop), a.pixels, a.value)
        for a in areas.worst
    ]
    assert sorted(got) == sorted(expected)
    assert areas.areas == len(expected) > 100


def test_parts_that_are_no_neighbours_are_refused():
    finder = AreaFinder(min_px=1, order=BY_VALUE)
    mask = np.ones((2, 3), dtype=bool)
    top = finder.part(mask, mask.astype(int), rows=slice(0, 2), cols=slice(0, 3))
    far = finder.part(mask, mask.astype(int), rows=slice(5, 7), cols=slice(0, 3))
    with pytest.raises(ValueError, match="one rectangle"):
        finder.merge(top, far)


def test_noise_leaves_only_the_edge_open():
    rng = np.random.default_rng(3)
    mask = rng.random((400, 300)) < 0.1
    finder = AreaFinder(min_px=20, order=BY_VALUE)
    part = finder.part(
        mask,
        mask.astype(np.int32),
        rows=slice(0, 400),
        cols=slice(0, 300),
    )
    assert part.settled.specks > 5000
    assert len(part.open) < 2 * (400 + 300) * 0.1 * 1.5
