"""Windows of a set as the checks get them: place, ink, colour."""

import numpy as np
import pytest
from counted import open_spread
from separations import INKS, SPREAD, in_steps, photograph, separated, write_book

import inkmix.plates.files.raster
import inkmix.plates.set
from inkmix.jobs.printing.coloured_windows import coloured_window, windows_of
from inkmix.plates.windows import Window
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import build_lookup, srgb_to_srgb8

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


@pytest.fixture(scope="module")
def colouring(lookup):
    return Colouring(lookup)


def coloured_windows(plates, colouring, region=None):
    for window in plates.windows() if region is None else windows_of(region):
        yield coloured_window(plates, colouring, window)


@pytest.fixture
def small_windows(monkeypatch):
    """Some rows or tiles at once instead of the whole picture."""
    monkeypatch.setattr(inkmix.plates.set, "MAX_WINDOW_PX", 17 * 120)


def test_windows_tile_the_sheet_in_raster_order(spread, colouring, small_windows):
    windows = [window.checked for window in coloured_windows(spread.plates, colouring)]
    assert len(windows) > 1
    places = [(window.rows.start, window.cols.start) for window in windows]
    assert places == sorted(places)
    seen = np.zeros((90, 120), int)
    for window in windows:
        seen[window.rows, window.cols] += 1
    assert (seen == 1).all()


def test_colour_sees_growth_and_total_ink_does_not(spread, lookup, colouring):
    """Soot is made of dots: its amounts differ, the tones of Fjord are the same in both."""
    (window,) = coloured_windows(spread.plates, colouring)
    whole = slice(0, 90), slice(0, 120)
    np.testing.assert_array_equal(window.amounts, spread.plates.read(*whole))
    np.testing.assert_array_equal(window.checked.planes, spread.plates.read_for_total(*whole))
    assert (window.amounts[0] != window.checked.planes[0]).any()
    np.testing.assert_array_equal(window.amounts[1], window.checked.planes[1])
    srgb, lightness = lookup.evaluate(window.amounts)
    np.testing.assert_array_equal(window.srgb8, srgb_to_srgb8(srgb))
    np.testing.assert_array_equal(window.checked.lightness, lightness)


def test_a_region_holds_what_the_whole_holds_there(spread, colouring, monkeypatch):
    (whole,) = coloured_windows(
        spread.plates, colouring, region=Window(rows=slice(0, 90), cols=slice(0, 120))
    )
    monkeypatch.setattr(inkmix.plates.files.raster, "MAX_WINDOW_PX", 17 * 120)
    region = Window(rows=slice(13, 71), cols=slice(31, 102))
    parts = list(coloured_windows(spread.plates, colouring, region=region))
    assert len(parts) > 1
    assert parts[0].checked.rows.start == 13
    assert parts[-1].checked.rows.stop == 71
    for name in ("planes", "lightness"):
        found = np.concatenate([getattr(part.checked, name) for part in parts], axis=-2)
        np.testing.assert_array_equal(found, getattr(whole.checked, name)[..., 13:71, 31:102])
    srgb8 = np.concatenate([part.srgb8 for part in parts])
    np.testing.assert_array_equal(srgb8, whole.srgb8[13:71, 31:102])
