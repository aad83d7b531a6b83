"""The geometry of a sheet, worked by hand: two pixels in a millimetre, 3 mm bleed, three panels."""

import pytest

from inkmix.sheet.geometry import Sheet, panels_in_a_row

SHEET = Sheet(
    width_px=2 * (3 * 100 + 6),
    height_px=2 * (140 + 6),
    ppi=50.8,
    bleed_mm=3.0,
    panels=panels_in_a_row(3, width_mm=100.0, height_mm=140.0),
)


def px(start_mm: float, stop_mm: float) -> slice:
    """Pixels between two lines in mm from the trim."""
    return slice(round(2 * (start_mm + 3)), round(2 * (stop_mm + 3)))


def test_the_trim_lies_the_bleed_inside_the_plates():
    assert SHEET.px_per_mm == pytest.approx(2)
    assert (SHEET.trim_width_mm, SHEET.trim_height_mm) == (pytest.approx(300), pytest.approx(140))
    assert SHEET.area_mm2(600) == pytest.approx(150)  # four pixels in a square millimetre


def test_panels_stand_side_by_side_from_the_left():
    assert [(p.name, p.x_mm, p.y_mm) for p in SHEET.panels] == [
        ("panel 1", 0.0, 0.0),
        ("panel 2", 100.0, 0.0),
        ("panel 3", 200.0, 0.0),
    ]


def test_a_place_is_told_from_its_panel_and_from_the_trim():
    place = SHEET.place_of(px(20, 45), px(130, 142))
    assert (place.panel, place.panels) == ("panel 2", ("panel 2",))
    assert (place.x_mm, place.y_mm) == (pytest.approx(30), pytest.approx(20))
    assert (place.width_mm, place.height_mm) == (pytest.approx(12), pytest.approx(25))
    assert (place.sheet_x_mm, place.sheet_y_mm) == (pytest.approx(130), pytest.approx(20))


@pytest.mark.parametrize(
    ("left_mm", "right_mm", "panels"),
    [
        (50, 100.5, ("panel 1",)),  # half a millimetre over the fold is no more than a sliver
        (50, 101, ("panel 1",)),
        (50, 101.5, ("panel 1", "panel 2")),
        (99.5, 130, ("panel 2",)),
        (90, 260, ("panel 1", "panel 2", "panel 3")),
        (-3, 0, ("panel 1",)),  # the bleed goes with the nearest panel
        (300, 303, ("panel 3",)),
    ],
)
def test_a_place_lies_on_the_panels_that_it_reaches_into(left_mm, right_mm, panels):
    assert SHEET.place_of(px(20, 60), px(left_mm, right_mm)).panels == panels


def test_without_panels_a_place_is_told_from_the_trim():
    bare = Sheet(width_px=612, height_px=292, ppi=50.8, bleed_mm=3.0)
    place = bare.place_of(px(-3, 10), px(130, 142))
    assert (place.panel, place.panels) == (None, ())
    assert (place.x_mm, place.y_mm) == (pytest.approx(130), pytest.approx(-3))


def test_a_rectangle_in_mm_is_where_its_place_is():
    rows, cols = px(20, 45), px(130, 142)
    place = SHEET.place_of(rows, cols)
    assert SHEET.pixels_of(
        x_mm=place.sheet_x_mm, y_mm=place.sheet_y_mm,
        width_mm=place.width_mm, height_mm=place.height_mm,
    ) == (rows, cols)  # fmt: skip


def test_a_rectangle_is_cut_to_the_plates():
    rows, cols = SHEET.pixels_of(x_mm=-50, y_mm=130, width_mm=60, height_mm=60)
    assert (rows, cols) == (slice(266, 292), slice(0, 26))
    rows, cols = SHEET.pixels_of(x_mm=400, y_mm=0, width_mm=5, height_mm=5)
    assert (cols.start, cols.stop) == (612, 612)
