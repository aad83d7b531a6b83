"""Outlines of pixels on the plan, and numbers set apart in its margins.

Figures are worked out by hand on cells of round sizes; distances of an outline from its pixels are
measured with a raster of its own.
"""

import numpy as np
import pytest
from PIL import Image, ImageDraw
from press_for_checks import press

from inkmix.checks.finding import Shape
from inkmix.checks.night.check import NightCheck
from inkmix.checks.window import CheckedWindow
from inkmix.pages.report.margins import APART_PCT, Label, set_apart
from inkmix.pages.report.outlines import outlines
from inkmix.sheet.geometry import Sheet

GRAIN = np.random.default_rng(5)


def shape(cells, cell_mm=1.0):
    return Shape(cells=np.asarray(cells, np.bool_), x_mm=0.0, y_mm=0.0, cell_mm=cell_mm)


def filled(loops, shape_of):
    """Cells whose middles lie in an odd number of loops."""
    rows, cols = shape_of.cells.shape
    inside = np.zeros((rows, cols), np.bool_)
    for loop in loops:
        picture = Image.new("1", (4 * cols, 4 * rows))
        places = [(4 * x / shape_of.cell_mm, 4 * y / shape_of.cell_mm) for x, y in loop]
        ImageDraw.Draw(picture).polygon(places, fill=1)
        inside ^= np.asarray(picture)[2::4, 2::4]
    return inside


def disc(size, radius):
    down, across = np.mgrid[:size, :size] - (size - 1) / 2
    return down**2 + across**2 <= radius**2


def test_a_hole_is_a_loop_of_its_own():
    cells = np.zeros((30, 40))
    cells[5:25, 5:35] = 1
    cells[10:18, 12:20] = 0
    outer, inner = outlines(shape(cells), fine_mm=0.1)
    assert {tuple(p) for p in outer.tolist()} == {(5, 5), (35, 5), (35, 25), (5, 25)}
    assert {tuple(p) for p in inner.tolist()} == {(12, 10), (20, 10), (20, 18), (12, 18)}


def test_cells_that_meet_at_a_corner_share_an_outline():
    """Squares of 10 cells; closing within 1 mm is of no help at cells of 4 mm."""
    cells = np.zeros((24, 24))
    cells[2:12, 2:12] = cells[12:22, 12:22] = 1
    (loop,) = outlines(shape(cells, cell_mm=1.0), fine_mm=0.1)
    assert {(2.0, 2.0), (22.0, 22.0)} <= {tuple(p) for p in loop.tolist()}


def test_grain_does_not_make_lace():
    """Four cells of five are marked in a disc of 30 mm, at 0.4 mm a cell."""
    grainy = disc(90, 37) & (GRAIN.random((90, 90)) < 0.8)
    loops = outlines(shape(grainy, cell_mm=0.4), fine_mm=0.4)
    assert len(loops) == 1
    assert len(loops[0]) < 60


def test_an_outline_keeps_near_its_pixels_with_few_corners():
    cells = disc(120, 50)
    drawn = shape(cells, cell_mm=0.5)
    (loop,) = outlines(drawn, fine_mm=0.5)
    assert len(loop) < 40
    assert (filled([loop], drawn) != cells).sum() <= 0.02 * cells.sum()


def test_a_single_speck_is_outlined_and_specks_beside_a_patch_are_not():
    speck = np.zeros((9, 9))
    speck[4, 4] = 1
    assert len(outlines(shape(speck, cell_mm=0.2), fine_mm=0.1)) == 1
    beside = np.zeros((60, 60))
    beside[5:40, 5:40] = beside[55, 55] = 1
    assert len(outlines(shape(beside, cell_mm=0.2), fine_mm=0.1)) == 1


def test_a_shape_at_the_edge_of_its_cells_is_closed():
    (loop,) = outlines(shape(np.ones((5, 8))), fine_mm=0.1)
    assert {tuple(p) for p in loop.tolist()} == {(0, 0), (8, 0), (8, 5), (0, 5)}


def test_a_night_carries_the_pixels_that_are_too_light():
    """Two patches in two windows; 10 px a mm, 2 mm of bleed, and every pixel is a cell."""
    sheet = Sheet(width_px=200, height_px=100, ppi=254.0, bleed_mm=2.0)
    check = NightCheck(sheet=sheet, condition=press(), name="sky", mask_words="all",
                       lightest_L=30.0, share_pct=95.0)  # fmt: skip
    light = np.full((100, 200), 20 * 256, np.int16)
    light[10:30, 20:50] = light[60:90, 120:160] = 40 * 256
    inks = len(press().inks)
    part = check.start()
    for rows in (slice(0, 50), slice(50, 100)):
        planes = np.zeros((inks, 50, 200), np.uint8)
        window = CheckedWindow(rows=rows, cols=slice(0, 200), planes=planes, lightness=light[rows])
        part = check.merge(part, check.part(window, np.ones((50, 200), np.bool_)))
    found = check.finish(part).finding.shape
    assert (found.x_mm, found.y_mm, found.cell_mm) == pytest.approx((0.0, -1.0, 0.1))
    assert np.array_equal(found.cells, light[10:90, 20:160] > 30 * 256)


# --- margins --------------------------------------------------------------------------------------


def labels(*places):
    return [
        Label(number=k, x_pct=x, y_pct=10.0, is_above=True) for k, x in enumerate(places, start=1)
    ]


def stands(*places):
    return [round(one.stands_pct, 2) for one in set_apart(labels(*places))]


def test_numbers_stand_over_their_places_where_there_is_room():
    assert stands(80.0, 20.0, 50.0) == [20.0, 50.0, 80.0]


def test_numbers_at_the_right_edge_stand_apart():
    assert stands(99.0, 98.0, 50.0) == [50.0, 96.5 - APART_PCT, 96.5]
    assert stands(0.0, 1.0) == [3.5, 3.5 + APART_PCT]


def test_numbers_keep_the_order_of_their_places():
    """No leader line crosses another that way."""
    given = GRAIN.uniform(0, 100, 12)
    found = set_apart(labels(*given))
    assert [one.x_pct for one in found] == sorted(given)
    gaps = np.diff([one.stands_pct for one in found])
    assert gaps.min() >= APART_PCT - 1e-9


def test_more_numbers_than_a_line_holds_stand_in_several():
    found = set_apart(labels(*np.linspace(0, 100, 40)))
    assert sorted(one.number for one in found) == list(range(1, 41))
    assert {one.tier for one in found} == {0, 1, 2}  # 14 stand in a line: 93 % at 7 % each
    for tier in range(3):
        along = [one.stands_pct for one in found if one.tier == tier]
        assert np.diff(along).min() >= APART_PCT - 1e-9


def test_the_same_places_in_any_order_give_the_same_layout():
    one, other = labels(10.0, 12.0, 90.0), labels(10.0, 12.0, 90.0)[::-1]
    assert set_apart(one) == set_apart(other)
