"""Windows of a set as the checks get them: place, ink, colour, and changes being tried."""

import numpy as np
import pytest
from separations import INKS, SPREAD, in_steps, photograph, separated, write_book

import inkmix.plates.raster
from inkmix.lookup import build_lookup
from inkmix.passes import coloured_windows
from inkmix.plates.windows import Window
from inkmix.simulate.spread import open_spread

TWO = INKS[:2]


@pytest.fixture(scope="module")
def spread(tmp_path_factory):
    amounts = separated(photograph("astronaut", slice(0, 90), slice(150, 270)), TWO)
    plates = {"Soot": amounts["Soot"] > 0.3, "Fjord": in_steps(amounts["Fjord"])}
    folder = tmp_path_factory.mktemp("astronaut")
    return open_spread(write_book(folder, plates).book, SPREAD)


@pytest.fixture(scope="module")
def lookup(spread):
    return build_lookup(spread.condition, inks=2, depth=8)


@pytest.fixture
def small_windows(monkeypatch):
    """Bands of 17 rows instead of the whole picture at once."""
    monkeypatch.setattr(inkmix.plates.raster, "MAX_WINDOW_PX", 17 * 120)


def test_windows_tile_the_sheet_from_top_to_bottom(spread, lookup, small_windows):
    windows = [window.checked for window in coloured_windows(spread.plates, lookup)]
    assert len(windows) == 6
    assert [window.rows.start for window in windows] == [0, *(w.rows.stop for w in windows[:-1])]
    assert windows[-1].rows.stop == 90
    assert {(window.cols.start, window.cols.stop) for window in windows} == {(0, 120)}


def test_colour_sees_growth_and_total_ink_does_not(spread, lookup):
    """Soot is made of dots: its amounts differ, the tones of Fjord are the same in both."""
    (window,) = coloured_windows(spread.plates, lookup)
    whole = slice(0, 90), slice(0, 120)
    np.testing.assert_array_equal(window.amounts, spread.plates.read(*whole))
    np.testing.assert_array_equal(window.checked.planes, spread.plates.read_for_total(*whole))
    assert (window.amounts[0] != window.checked.planes[0]).any()
    np.testing.assert_array_equal(window.amounts[1], window.checked.planes[1])
    total = window.checked.planes.astype(int).sum(axis=0)
    np.testing.assert_array_equal(window.checked.ink_sum, total)
    srgb, lightness = lookup.evaluate(window.amounts)
    np.testing.assert_array_equal(window.srgb, srgb)
    np.testing.assert_array_equal(window.checked.lightness, lightness)


def test_a_region_holds_what_the_whole_holds_there(spread, lookup, small_windows):
    region = Window(rows=slice(13, 71), cols=slice(31, 102))
    parts = list(coloured_windows(spread.plates, lookup, region=region))
    whole = list(coloured_windows(spread.plates, lookup))
    assert len(parts) > 1
    assert parts[0].checked.rows.start == 13
    assert parts[-1].checked.rows.stop == 71
    for name in ("ink_sum", "lightness"):
        found = np.concatenate([getattr(part.checked, name) for part in parts])
        all_of_it = np.concatenate([getattr(part.checked, name) for part in whole])
        np.testing.assert_array_equal(found, all_of_it[13:71, 31:102])
    srgb = np.concatenate([part.srgb for part in whole])[13:71, 31:102]
    np.testing.assert_array_equal(np.concatenate([part.srgb for part in parts]), srgb)


def test_a_change_is_made_before_anything_is_computed(spread, lookup):
    def without_fjord(planes, window):
        planes = planes.copy()
        planes[1, window.rows.start :] = 0
        return planes

    (before,) = coloured_windows(spread.plates, lookup)
    (after,) = coloured_windows(spread.plates, lookup, change=without_fjord)
    np.testing.assert_array_equal(after.checked.ink_sum, before.checked.planes[0])
    bare = np.stack([before.amounts[0], np.zeros_like(before.amounts[1])])
    np.testing.assert_array_equal(after.srgb, lookup.evaluate(bare)[0])
    assert before.amounts[1].any()
