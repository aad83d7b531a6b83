"""Masks: what fits is used; what does not is refused with its reason."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from plate_files import line_work, write_png, write_png_bits, write_tiff
from scipy import ndimage
from skimage import data

from inkmix.base.errors import PictureError
from inkmix.base.words import percent
from inkmix.plates.files import raster
from inkmix.plates.masks.inverted import DarkArea, InvertedMaskCheck
from inkmix.plates.masks.mask import rectangle_mask, rule_mask
from inkmix.plates.masks.picture import open_mask
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set
from inkmix.sheet.geometry import Sheet

ROWS, COLS = 120, 200
SHEET = Sheet(width_px=COLS, height_px=ROWS, ppi=200, bleed_mm=2.0)
NO_PLANES = np.zeros((0, ROWS, COLS), np.uint8)
WHOLE = (slice(0, ROWS), slice(0, COLS))


def area(rows: int = ROWS, cols: int = COLS) -> np.ndarray:
    """A disc, in a corner, on a canvas of any size."""
    y, x = np.mgrid[:rows, :cols]
    return np.hypot(x / cols * COLS - 60.2, y / rows * ROWS - 50.3) < 31


def inverted_check(masks, plate_set, *, lightest_level=0, ink_limit_pct=None):
    """The check of areas of which 95 % may be as light as a level."""
    return InvertedMaskCheck(
        areas={
            name: DarkArea(mask=mask, lightest_level=lightest_level, share_pct=95)
            for name, mask in masks.items()
        },
        height_px=plate_set.height_px,
        full=plate_set.full,
        ink_limit_pct=ink_limit_pct,
    )


def suspected_masks(masks, plate_set, **options):
    """What the check says by the rows that it looks at, read one by one.

    Levels of L* are 255 less the ink of the first plate, for the rule asks for no more.
    """
    check, cols = inverted_check(masks, plate_set, **options), slice(0, plate_set.width_px)
    sums = check.start()
    for row in check.rows_in(slice(0, plate_set.height_px)) if check.areas else ():
        rows = slice(row, row + 1)
        planes = plate_set.read(rows, cols)
        sums += check.part(rows, cols, planes, 255 - planes[0].astype(np.int16))
    return check.finish(sums)


def refused(path: Path, *words: str, **options) -> None:
    with pytest.raises(PictureError) as caught:
        open_mask(path, SHEET, **options)
    text = str(caught.value)
    assert path.name in text
    for word in words:
        assert re.search(word, text), f"{word!r} is not in: {text}"
    assert caught.value.exit_code == 3


@pytest.mark.parametrize("polarity", ["white", "black"])
@pytest.mark.parametrize("kind", ["png", "png 1-bit", "tiff", "tiff min-is-white", "rgb", "16"])
def test_a_mask_of_the_right_size(tmp_path, kind, polarity):
    white = area() if polarity == "white" else ~area()
    path = tmp_path / ("mask.png" if "png" in kind else "mask.tif")
    if kind == "png 1-bit":
        write_png_bits(path, white)
    elif kind == "png":
        write_png(path, white * np.uint8(255))
    elif kind == "tiff min-is-white":
        write_tiff(path, ~white * np.uint8(255), photometric="miniswhite")
    elif kind == "rgb":
        write_tiff(path, np.dstack([white * np.uint8(255)] * 3), photometric="rgb")
    else:
        write_tiff(path, white * (np.uint16(65535) if kind == "16" else np.uint8(255)))
    mask = open_mask(path, SHEET, polarity=polarity)
    np.testing.assert_array_equal(mask.read(*WHOLE, NO_PLANES), area())
    part = (slice(7, 90), slice(33, 101))
    np.testing.assert_array_equal(mask.read(*part, NO_PLANES), area()[part])
    assert mask.share == pytest.approx(area().mean())


def test_smooth_edges_are_split_at_half_and_it_is_said(tmp_path):
    y, x = np.mgrid[:ROWS, :COLS]
    soft = np.clip(31 - np.hypot(x - 60.2, y - 50.3) + 0.5, 0, 1)
    path = write_png(tmp_path / "mask.png", np.rint(soft * 255).astype(np.uint8))
    mask = open_mask(path, SHEET)
    np.testing.assert_array_equal(mask.read(*WHOLE, NO_PLANES), np.rint(soft * 255) > 127)
    assert any(re.search(r"0\.\d % of the mask is grey, split at 50 %", n) for n in mask.notes)


@pytest.mark.parametrize("size", [(1080, 1920), (60, 103), (115, 200), (126, 201)])
def test_screenshot_size(tmp_path, size):
    path = write_png(tmp_path / "mask.png", area(*size) * np.uint8(255))
    refused(
        path,
        f"{size[1]} × {size[0]} px, but the plates are 200 × 120 px",
        "export the mask from the same canvas as the plates",
    )


def test_mask_without_bleed_and_turned_mask(tmp_path):
    """2 mm at 200 ppi are 15.75 px, so 31.5 px less both ways."""
    path = write_png(tmp_path / "mask.png", area(ROWS - 31, COLS - 32) * np.uint8(255))
    refused(path, "it is without bleed; export it with bleed")
    refused(write_png(path, area(COLS, ROWS) * np.uint8(255)), "turned by 90°")


@pytest.mark.parametrize("size", [(60, 101), (119, 200), (121, 201), (90, 150), (131, 218)])
def test_a_mask_of_the_same_shape_is_scaled_by_the_nearest_pixel(tmp_path, size):
    """Beside the nearest pixel as `scipy.ndimage` reckons it, in grid mode, order 0."""
    rows, cols = size
    mask = open_mask(write_png(tmp_path / "m.png", area(rows, cols) * np.uint8(255)), SHEET)
    zoom = (ROWS / rows, COLS / cols)
    wanted = ndimage.zoom(area(rows, cols), zoom, order=0, grid_mode=True, mode="nearest")
    np.testing.assert_array_equal(mask.read(*WHOLE, NO_PLANES), wanted)
    (note,) = mask.notes
    assert f"the mask is {cols} × {rows} px, the plates are 200 × 120 px" in note
    assert "the whole sheet with its bleed" in note


def test_a_trimmed_mask_of_the_same_shape_is_told_by_its_millimetres(tmp_path):
    """A square sheet has one shape with and without bleed; 100 px at 101.6 ppi are 25 mm."""
    square = Sheet(width_px=232, height_px=232, ppi=203.2, bleed_mm=2.0)  # 29 mm, trimmed to 25
    small = area(100, 100) * np.uint8(255)
    with pytest.raises(PictureError, match="it is without bleed; export it with bleed"):
        open_mask(write_tiff(tmp_path / "m.tif", small, ppi=101.6), square)
    with pytest.raises(PictureError, match="it is without bleed"):  # 200 px: 25 mm of the plates
        open_mask(write_png(tmp_path / "m.png", area(200, 200) * np.uint8(255)), square)
    assert "scaled" in open_mask(write_tiff(tmp_path / "n.tif", small, ppi=50), square).notes[-1]


@pytest.mark.parametrize("factor", [2, 5])
def test_whole_factors_are_accepted_and_said(tmp_path, factor):
    fine = write_png(tmp_path / "fine.png", area(ROWS * factor, COLS * factor) * np.uint8(255))
    mask = open_mask(fine, SHEET)
    middle = factor // 2
    np.testing.assert_array_equal(
        mask.read(*WHOLE, NO_PLANES),
        area(ROWS * factor, COLS * factor)[middle::factor, middle::factor],
    )
    assert any("scaled to the nearest pixel" in note for note in mask.notes)
    small = area(ROWS // factor, COLS // factor)
    mask = open_mask(write_png(tmp_path / "c.png", small * np.uint8(255)), SHEET)
    wanted = np.kron(small, np.ones((factor, factor), np.bool_))
    np.testing.assert_array_equal(mask.read(*WHOLE, NO_PLANES), wanted)
    assert any("scaled to the nearest pixel" in note for note in mask.notes)


@pytest.mark.parametrize("factor", [1, 2, 5])
@pytest.mark.parametrize("finer", [True, False])
def test_small_bands_and_any_window_give_the_same(tmp_path, monkeypatch, factor, finer):
    size = (ROWS * factor, COLS * factor) if finer else (ROWS // factor, COLS // factor)
    path = write_png(tmp_path / "mask.png", area(*size) * np.uint8(255))
    whole = open_mask(path, SHEET)
    monkeypatch.setattr(raster, "MAX_WINDOW_PX", 9 * COLS * factor)
    monkeypatch.setattr("inkmix.plates.masks.picture._BLOCK_PX", 3 * COLS)
    found = open_mask(path, SHEET)
    np.testing.assert_array_equal(found.read(*WHOLE, NO_PLANES), whole.read(*WHOLE, NO_PLANES))
    assert (found.share, found.notes) == (whole.share, whole.notes)
    every = whole.read(*WHOLE, NO_PLANES)
    for left, right in ((0, 200), (0, 1), (7, 9), (8, 16), (33, 101), (199, 200)):
        part = slice(5, 60), slice(left, right)
        np.testing.assert_array_equal(whole.read(*part, NO_PLANES), every[part])


@pytest.mark.parametrize("polarity", ["white", "black"])
@pytest.mark.parametrize("photometric", ["minisblack", "miniswhite"])
@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
def test_every_tone_falls_on_its_side(tmp_path, polarity, photometric, depth):
    """Every number of 8 bits, and those about each limit in 16: 10, 50 and 90 %."""
    top = int(np.iinfo(depth).max)
    limits = [round(0.1 * top), top // 2, round(0.9 * top)]
    tones = np.array([0, top, *(limit + step for limit in limits for step in (-1, 0, 1))])
    tones = np.arange(256) if depth == np.uint8 else tones
    light = np.full((ROWS, COLS), top, np.int64)
    light.flat[: tones.size] = tones
    stored = top - light if photometric == "miniswhite" else light
    path = write_tiff(tmp_path / "mask.tif", stored.astype(depth), photometric=photometric)
    mask = open_mask(path, SHEET, polarity=polarity)
    white = light > top // 2
    expected = white if polarity == "white" else ~white
    np.testing.assert_array_equal(mask.read(*WHOLE, NO_PLANES), expected)
    grey = 100 * np.count_nonzero((tones > 0) & (tones < top)) / (ROWS * COLS)
    assert mask.notes == (f"{percent(grey)} of the mask is grey, split at 50 %",)


def test_threads_read_the_same_mask(tmp_path):
    path = write_png(tmp_path / "mask.png", area() * np.uint8(255))
    mask = open_mask(path, SHEET)
    spans = [slice(top, top + 5) for top in range(0, ROWS, 5)] * 20
    with ThreadPoolExecutor(4) as pool:
        parts = list(pool.map(lambda rows: mask.read(rows, slice(3, 200), NO_PLANES), spans))
    np.testing.assert_array_equal(np.concatenate(parts[:24]), area()[:, 3:])
    assert all((parts[at] == parts[at % 24]).all() for at in range(len(parts)))


def test_a_mask_too_coarse_is_refused(tmp_path):
    refused(write_png(tmp_path / "mask.png", area(12, 20) * np.uint8(255)), "20 × 12 px")


def test_grey_photograph(tmp_path):
    path = write_png(tmp_path / "mask.png", data.camera()[:ROWS, :COLS])
    refused(path, "is grey on 96.2 % of its area", "a mask has two tones")


@pytest.mark.parametrize(("grey_rows", "fits"), [(11, True), (13, False)])
def test_a_tenth_of_a_mask_may_be_grey_edges_and_no_more(tmp_path, grey_rows, fits):
    """Smooth edges hold a few per cent of a mask, a photograph most of it (common practice)."""
    picture = area() * np.uint8(255)
    picture[-grey_rows:] = 128
    path = write_png(tmp_path / "mask.png", picture)
    if fits:
        assert any("is grey" in note for note in open_mask(path, SHEET).notes)
    else:
        refused(path, "is grey on 10.8 % of its area", "a mask has two tones")


def test_colour_picture(tmp_path):
    path = write_png(tmp_path / "mask.png", data.astronaut()[:ROWS, :COLS])
    refused(path, "is a colour picture", "greyscale")


@pytest.mark.parametrize(("polarity", "value"), [("white", 0), ("black", 255)])
def test_empty_mask(tmp_path, polarity, value):
    path = write_png(tmp_path / "mask.png", np.full((ROWS, COLS), value, np.uint8))
    refused(path, f"marks nothing: there is no {polarity} in it", polarity=polarity)
    assert open_mask(path, SHEET, polarity=polarity, may_be_empty=True).share == 0


def test_full_mask_is_said(tmp_path):
    path = write_png(tmp_path / "mask.png", np.full((ROWS, COLS), 255, np.uint8))
    assert "the mask marks the whole sheet" in open_mask(path, SHEET).notes


def test_unknown_polarity(tmp_path):
    path = write_png(tmp_path / "mask.png", area() * np.uint8(255))
    refused(path, 'it is "white" or "black"', polarity="grey")


@pytest.mark.parametrize("content", [None, b"", b"%PDF-1.4", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"])
def test_unreadable_masks(tmp_path, content):
    path = tmp_path / "mask.png"
    if content is not None:
        path.write_bytes(content)
    refused(path)


def plates(folder: Path, *, night: np.ndarray):
    """A dark plate and a light one: 90 % ink in the night, 35 % around it."""
    files = {}
    for ink, share in (("Soot", 0.8), ("Fog", 0.1)):
        tone = np.where(night, share, 0.15 if ink == "Soot" else 0.2)
        path = write_tiff(folder / f"{ink}.tif", np.rint(255 - 255 * tone).astype(np.uint8))
        files[ink] = PlateSource(path=path)
    return open_set(files)


def test_an_inverted_mask_is_told_by_its_ink(tmp_path):
    path = write_png(tmp_path / "mask.png", ~area() * np.uint8(255))
    plate_set = plates(tmp_path, night=area())
    (mask,) = suspected_masks({"the sea": open_mask(path, SHEET)}, plate_set)
    fault = str(mask.fault)
    assert "mask.png: looks inverted: the sea would hold 34.9 % ink on average" in fault
    assert "the rest of the sheet holds 89.8 %" in fault
    assert 'swap its black and white, or write mask_shows = "black"' in fault
    assert 'if it is right, write mask_shows = "white"' in fault
    assert mask.note == fault


def test_a_pale_area_of_hardly_less_ink_is_no_turned_mask(tmp_path):
    """60 % of ink beside 75, and lighter: a night that somebody drew too bright."""
    files = {}
    for ink, night, rest in (("Soot", 0.3, 0.35), ("Fog", 0.3, 0.4)):
        tone = np.where(area(), night, rest)
        path = write_tiff(tmp_path / f"{ink}.tif", np.rint(255 - 255 * tone).astype(np.uint8))
        files[ink] = PlateSource(path=path)
    path = write_png(tmp_path / "mask.png", area() * np.uint8(255))
    assert suspected_masks({"sky": open_mask(path, SHEET)}, open_set(files)) == ()


@pytest.mark.parametrize(("soot", "is_found"), [(0.45, False), (0.2, True)])
def test_a_dark_night_beside_more_but_bright_ink_is_no_turned_mask(tmp_path, soot, is_found):
    """It holds 55 % ink beside 80 or more, but its black decides where it is more than theirs."""
    files = {}
    for ink, night, rest in (("Soot", soot, 0.3), ("Fog", 0.55 - soot, 0.5)):
        tone = np.where(~area(), night, rest)
        path = write_tiff(tmp_path / f"{ink}.tif", np.rint(255 - 255 * tone).astype(np.uint8))
        files[ink] = PlateSource(path=path)
    path = write_png(tmp_path / "mask.png", ~area() * np.uint8(255))
    found = suspected_masks({"sky": open_mask(path, SHEET)}, open_set(files))
    assert bool(found) is is_found


@pytest.mark.parametrize(
    ("lightest_level", "ink_limit_pct", "is_sure"),
    [
        (100, None, True),  # the rest, 80 % black, is dark enough, and the area is not
        (100, 95, True),  # and within the ink limit: it holds 90 %
        (100, 85, False),  # a ground with too much ink
        (40, None, False),  # the rest is not dark enough either
        (250, None, False),  # nothing stands against the area
    ],
)
def test_a_mask_is_surely_inverted_where_only_the_rest_would_do(
    tmp_path, lightest_level, ink_limit_pct, is_sure
):
    """Levels are 255 less the black of 80 and 15 %: 51 and 217."""
    path = write_png(tmp_path / "mask.png", ~area() * np.uint8(255))
    plate_set = plates(tmp_path, night=area())
    limits = {"lightest_level": lightest_level, "ink_limit_pct": ink_limit_pct}
    (mask,) = suspected_masks({"the sea": open_mask(path, SHEET)}, plate_set, **limits)
    assert mask.is_sure is is_sure


@pytest.mark.parametrize(("down", "across"), [(1, 200), (7, 33), (120, 13)])
def test_any_cut_of_windows_tells_an_inverted_mask_alike(tmp_path, down, across):
    path = write_png(tmp_path / "mask.png", ~area() * np.uint8(255))
    plate_set, mask = plates(tmp_path, night=area()), open_mask(path, SHEET)
    check = inverted_check({"the sea": mask}, plate_set, lightest_level=100)
    sums = check.start()
    for top in range(0, ROWS, down):
        for left in range(0, COLS, across):
            rows, cols = slice(top, min(top + down, ROWS)), slice(left, min(left + across, COLS))
            planes = plate_set.read(rows, cols)
            sums += check.part(rows, cols, planes, 255 - planes[0].astype(np.int16))
    whole = suspected_masks({"the sea": mask}, plate_set, lightest_level=100)
    assert check.finish(sums) == whole
    assert len(check.finish(sums)) == 1


def test_an_inverted_mask_of_a_dark_picture(tmp_path):
    """All of the picture is dark, the night only a little more so: 80 % against 90 %."""
    files = {}
    for ink, rest in (("Soot", 0.6), ("Fog", 0.2)):
        tone = np.where(area(), 0.8 if ink == "Soot" else 0.1, rest)
        path = write_tiff(tmp_path / f"{ink}.tif", np.rint(255 - 255 * tone).astype(np.uint8))
        files[ink] = PlateSource(path=path)
    path = write_png(tmp_path / "mask.png", ~area() * np.uint8(255))
    plate_set = open_set(files)
    (mask,) = suspected_masks({"sky": open_mask(path, SHEET)}, plate_set)
    assert "sky would hold 80 % ink on average, but the rest of the sheet holds 89.8 %" in mask.note
    assert suspected_masks({"sky": open_mask(path, SHEET, polarity="black")}, plate_set) == ()


def test_a_right_mask_raises_no_suspicion(tmp_path):
    path = write_png(tmp_path / "mask.png", area() * np.uint8(255))
    plate_set = plates(tmp_path, night=area())
    assert suspected_masks({"sea": open_mask(path, SHEET)}, plate_set) == ()


def test_a_night_that_is_only_too_light_is_not_taken_for_inverted(tmp_path):
    path = write_png(tmp_path / "mask.png", area() * np.uint8(255))
    plate_set = plates(tmp_path, night=np.zeros_like(area()))
    assert suspected_masks({"sea": open_mask(path, SHEET)}, plate_set) == ()


def test_rectangles_are_in_mm_from_the_trim():
    """At 200 ppi and 2 mm bleed, 3 mm from the trim is 5 mm or 39.4 px from the plate's edge."""
    mask = rectangle_mask(SHEET, (3, 1, 10, 5))
    found = mask.read(*WHOLE, NO_PLANES)
    assert found[24, 39]
    assert not found[23, 39]
    assert not found[24, 38]
    assert found.sum() == (118 - 39) * (63 - 24)
    for rows, cols in ((20, 30), (30, 50)), ((0, 24), (0, 200)), ((60, 120), (10, 119)):
        part = slice(*rows), slice(*cols)
        np.testing.assert_array_equal(mask.read(*part, NO_PLANES), found[part])


def test_a_rectangle_outside_the_sheet():
    with pytest.raises(PictureError, match=r"lies outside the sheet, but the sheet is 21\.4 × 11"):
        rectangle_mask(SHEET, (80, 1, 10, 5))


@pytest.mark.parametrize(("step", "inside"), [(152, False), (153, True), (154, True)])
def test_a_rule_holds_from_the_tone_that_it_names_on(step, inside):
    """153 of 255 are 60 %."""
    rule = rule_mask([("Soot", 60.0, 100.0)], ["Fog", "Soot"])
    planes = np.zeros((2, 4, 5), np.uint8)
    planes[1] = step
    assert (rule.read(slice(0, 4), slice(0, 5), planes) == inside).all()


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_rules_hold_on_both_ends(dtype):
    full = np.iinfo(dtype).max
    tones = np.arange(101)[None, :] / 100
    planes = np.stack([np.rint(tones * full), np.rint((1 - tones) * full)]).astype(dtype)
    mask = rule_mask([("Soot", 40, 100), ("Fog", 0, 55)], ("Soot", "Fog"))
    found = mask.read(slice(0, 1), slice(0, 101), planes)[0]
    assert set(np.flatnonzero(found)) >= set(range(46, 101))
    assert not found[:45].any()


def test_mask_notes_name_what_was_accepted(tmp_path):
    path = write_tiff(tmp_path / "mask.tif", np.dstack([area() * np.uint8(255)] * 3))
    path = write_tiff(path, np.dstack([area() * np.uint8(255)] * 3), photometric="rgb")
    assert "RGB with R = G = B is read as grey" in open_mask(path, SHEET).notes


def test_masks_touch_no_input(tmp_path):
    path = write_png_bits(tmp_path / "mask.png", line_work(ROWS, COLS))
    before = path.read_bytes()
    open_mask(path, SHEET)
    assert path.read_bytes() == before
