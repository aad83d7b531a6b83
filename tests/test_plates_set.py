"""Plates that belong together are read as one; plates that do not are told apart by name."""

import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms
from plate_files import line_work, ramp, write_png, write_separated, write_tiff

from inkmix.base.errors import PlateError
from inkmix.plates.mismatch import ExpectedSize
from inkmix.plates.plate import PlateSource
from inkmix.plates.set import open_set

INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
ROWS, COLS = 60, 80


def plane(index: int, rows: int = ROWS, cols: int = COLS) -> np.ndarray:
    """A plate of its own for each ink, as numbers in the file."""
    return np.roll(ramp(rows, cols), 17 * index, axis=1)


def five(folder: Path, **odd: tuple[np.ndarray, dict]) -> dict[str, PlateSource]:
    """Five plates; those named in `odd` are written from other pixels and options."""
    files = {}
    for index, ink in enumerate(INKS):
        pixels, options = odd.get(ink, (plane(index), {}))
        path = write_tiff(folder / f"{ink}.tif", pixels, **options)
        files[ink] = PlateSource(path=path)
    return files


def faults_of(files, **options) -> list[str]:
    """Sentences of the faults; inputs are untouched."""
    with pytest.raises(PlateError) as caught:
        open_set(files, **options)
    return [str(fault) for fault in caught.value.faults]


def test_a_set_is_read_as_ink_in_lay_down_order(tmp_path):
    plates = open_set(five(tmp_path))
    assert plates.inks == INKS
    assert (plates.width_px, plates.height_px, plates.ppi, plates.depth) == (COLS, ROWS, 200, 8)
    assert plates.notes == ()
    wanted = np.stack([255 - plane(index) for index in range(5)])
    np.testing.assert_array_equal(plates.read(slice(0, ROWS), slice(0, COLS)), wanted)
    np.testing.assert_array_equal(
        plates.read_for_total(slice(3, 9), slice(5, 7)), wanted[:, 3:9, 5:7]
    )


def test_windows_cover_the_sheet_once_in_order(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.raster.MAX_WINDOW_PX", 1000)
    monkeypatch.setattr("inkmix.plates.set.MAX_WINDOW_PX", 1000)
    files = five(tmp_path, Fog=(plane(4), {"rowsperstrip": 5, "compression": "lzw"}))
    windows = list(open_set(files).windows())
    assert [(w.rows.start, w.rows.stop) for w in windows][:2] == [(0, 12), (12, 24)]
    assert windows[-1].rows.stop == ROWS
    assert all(w.cols == slice(0, COLS) for w in windows)


def test_windows_start_where_strips_start(tmp_path, monkeypatch):
    monkeypatch.setattr("inkmix.plates.files.raster.MAX_WINDOW_PX", 1000)
    monkeypatch.setattr("inkmix.plates.set.MAX_WINDOW_PX", 1000)
    stored = {"rowsperstrip": 5, "compression": "lzw"}
    files = five(tmp_path, **{ink: (plane(i), stored) for i, ink in enumerate(INKS)})
    assert {w.rows.start % 5 for w in open_set(files).windows()} == {0}


def test_eight_and_sixteen_bits_become_sixteen(tmp_path):
    deep = plane(1).astype(np.uint16) * 256 + 77
    plates = open_set(five(tmp_path, Fjord=(deep, {})))
    read = plates.read(slice(0, ROWS), slice(0, COLS))
    assert (plates.depth, read.dtype) == (16, np.uint16)
    np.testing.assert_array_equal(read[0], (255 - plane(0)).astype(np.uint16) * 257)
    np.testing.assert_array_equal(read[1], 65535 - deep)
    assert any("8 and 16 bits are mixed" in note for note in plates.notes)


def test_absent_plate_is_refused_or_empty(tmp_path):
    files = {**five(tmp_path), "Moss": None}
    assert faults_of(files) == [
        'Moss: has no plate, but every ink needs a plate; add it, or write absent = "empty" '
        "in the book"
    ]
    plates = open_set(files, absent="empty")
    assert not plates.read(slice(0, 9), slice(0, 9))[5].any()
    assert "Moss: no plate in this spread, it prints nothing" in plates.notes


def test_no_plate_at_all(tmp_path):
    assert "none was found" in faults_of({"Soot": None}, absent="empty")[0]


def test_odd_size_is_named_against_the_others(tmp_path):
    files = five(tmp_path, Rowan=(plane(2)[:50], {}))
    (text,) = faults_of(files)
    assert text.endswith(
        "Rowan.tif: 80 × 50 px at 200 ppi (cropped), but the other 4 plates are 80 × 60 px at "
        "200 ppi; export all plates from the same canvas"
    )


def test_rotated_plate(tmp_path):
    (text,) = faults_of(five(tmp_path, Rowan=(plane(2).T.copy(), {})))
    assert "Rowan.tif: 60 × 80 px at 200 ppi (turned by 90°)" in text
    assert "turn it back" in text


def test_one_plate_without_bleed(tmp_path):
    """3 mm of bleed at 200 ppi are 23.6 px on each side: 47 px less both ways."""
    rows, cols = 260, 300
    odd = {ink: (plane(i, rows, cols), {}) for i, ink in enumerate(INKS)}
    odd["Fog"] = (plane(4, rows - 47, cols - 47), {})
    expect = ExpectedSize(
        trim_width_mm=cols / 200 * 25.4 - 6, trim_height_mm=rows / 200 * 25.4 - 6, bleed_mm=3
    )
    (text,) = faults_of(five(tmp_path, **odd), expect=expect)
    assert "Fog.tif: 253 × 213 px at 200 ppi (without bleed)" in text
    assert "export it with bleed, like the others" in text


@pytest.mark.parametrize(
    ("trim", "bleed", "words"),
    [
        ((10.16, 7.62), 3.0, "the trimmed size without bleed"),
        ((7.62, 10.16), 0.0, "turned by 90°"),
        ((20.0, 7.62), 0.0, "the sheet is 20 × 7.62 mm, that is 157 × 60 px"),
    ],
)
def test_the_whole_set_against_the_book(tmp_path, trim, bleed, words):
    expect = ExpectedSize(trim_width_mm=trim[0], trim_height_mm=trim[1], bleed_mm=bleed)
    (text,) = faults_of(five(tmp_path), expect=expect)
    assert "80 × 60 px at 200 ppi (10.2 × 7.6 mm)" in text
    assert words in text


def test_right_size_is_accepted_within_a_pixel(tmp_path):
    expect = ExpectedSize(trim_width_mm=10.1, trim_height_mm=7.7)
    assert open_set(five(tmp_path), expect=expect).ppi == 200


def test_same_pixels_at_another_resolution(tmp_path):
    (text,) = faults_of(five(tmp_path, Fog=(plane(4), {"ppi": 300})))
    assert "Fog.tif: says 300 ppi, but the other 4 plates say 200 ppi at the same size" in text


def test_the_first_plate_can_be_the_odd_one(tmp_path):
    (text,) = faults_of(five(tmp_path, Soot=(plane(0), {"ppi": 300})))
    assert "Soot.tif: says 300 ppi, but the other 4 plates say 200 ppi" in text
    (text,) = faults_of(five(tmp_path, Soot=(plane(0)[:, :60], {})))
    assert "Soot.tif: 60 × 60 px at 200 ppi (cropped), but the other 4 plates are" in text


def test_no_whole_factor_between_resolutions(tmp_path):
    (text,) = faults_of(five(tmp_path, Fog=(plane(4, 90, 120), {"ppi": 300})))
    assert "Fog.tif: 120 × 90 px at 300 ppi (no whole factor between them)" in text
    assert "80 × 60 px at 200 ppi" in text


def test_a_factor_that_does_not_agree_in_millimetres(tmp_path):
    (text,) = faults_of(five(tmp_path, Fog=(plane(4, 120, 160), {"ppi": 600})))
    assert "Fog.tif: 160 × 120 px at 600 ppi" in text


@pytest.mark.parametrize(
    ("ppi", "words"), [(None, "does not say its resolution"), (72, "says 72 ppi, which programs")]
)
def test_no_or_72_ppi_unless_the_book_says_it(tmp_path, ppi, words):
    files = five(tmp_path, **{ink: (plane(i), {"ppi": ppi}) for i, ink in enumerate(INKS)})
    texts = faults_of(files)
    assert len(texts) == 5
    assert all(words in text and "set ppi in the book" in text for text in texts)
    assert open_set(files, ppi=240).ppi == 240


def test_told_resolution_is_that_of_the_coarsest_plates(tmp_path):
    fine = np.kron(line_work(ROWS, COLS), np.ones((3, 3), np.bool_))
    options = {"ppi": None, "photometric": "miniswhite"}
    plates = open_set(five(tmp_path, Soot=(fine, options)), ppi=400)
    assert (plates.ppi, plates.factors) == (400, (3, 1, 1, 1, 1))
    assert plates.plates[0].header.ppi == 1200
    assert sum("says 200 ppi; 400 is used as told" in note for note in plates.notes) == 4


def test_line_plate_at_a_whole_factor_is_reduced_by_its_mean(tmp_path):
    fine = line_work(3 * ROWS, 3 * COLS)
    options = {"ppi": 600, "photometric": "miniswhite", "compression": "packbits"}
    plates = open_set(five(tmp_path, Soot=(fine, options)))
    blocks = fine.reshape(ROWS, 3, COLS, 3).sum(axis=(1, 3))
    wanted = np.floor(blocks * 255 / 9 + 0.5)
    np.testing.assert_array_equal(plates.read(slice(0, ROWS), slice(0, COLS))[0], wanted)
    assert any("3 times finer than the set, used at 200 ppi" in note for note in plates.notes)


def test_sizes_that_agree_in_mm_to_less_than_a_pixel(tmp_path):
    """110 mm are 866.1 px at 200 ppi and 2598.4 at 600: programs write 866 and 2598 or 2599."""
    fine = np.ones((3 * ROWS + 1, 3 * COLS - 1), np.bool_)
    options = {"ppi": 600, "photometric": "miniswhite"}
    plates = open_set(five(tmp_path, Soot=(fine, options)))
    assert (plates.width_px, plates.height_px) == (COLS, ROWS)
    assert (plates.read(slice(0, ROWS), slice(0, COLS))[0] == 255).all()


def test_a_whole_pixel_more_is_another_size(tmp_path):
    (text,) = faults_of(five(tmp_path, Fog=(plane(4, ROWS, COLS + 1), {})))
    assert f"Fog.tif: {COLS + 1} × {ROWS} px" in text
    fine = np.ones((3 * ROWS, 3 * COLS + 3), np.bool_)  # a pixel of the others
    options = {"ppi": 600, "photometric": "miniswhite"}
    (text,) = faults_of(five(tmp_path, Soot=(fine, options)))
    assert f"Soot.tif: {3 * COLS + 3} × {3 * ROWS} px" in text


@pytest.mark.parametrize(
    ("bleed_mm", "width_px", "says"),
    [(0.0, 2541, ""), (0.0, 2542, "note"), (0.0, 2545, "note"), (0.0, 2546, "fault"),
     (0.0, 2535, "note"), (0.0, 2534, "fault"), (3.0, 2600, ""), (3.0, 2605, "note"),
     (3.0, 2606, "fault"), (3.0, 2570, "fault")],
)  # fmt: skip
def test_the_size_of_the_book_holds_to_half_a_millimetre(bleed_mm, width_px, says):
    """At 254 ppi a millimetre has ten pixels; one is nothing, up to half a millimetre is said."""
    expect = ExpectedSize(trim_width_mm=254, trim_height_mm=127, bleed_mm=bleed_mm)
    fit = expect.fit(width_px, round(10 * (127 + 2 * bleed_mm)), ppi=254)
    assert ("fault" if fit.fault else "note" if fit.note else "") == says
    assert fit.ppi == 254


@pytest.mark.parametrize(("width_px", "says"), [(404, "note"), (405, "fault")])
def test_on_coarse_plates_four_pixels_are_near_enough(width_px, says):
    """At 101.6 ppi four pixels are a millimetre: programs round canvases to fours."""
    fit = ExpectedSize(trim_width_mm=100, trim_height_mm=50).fit(width_px, 200, ppi=101.6)
    assert ("fault" if fit.fault else "note") == says


def test_a_size_that_is_nearly_the_sheet_is_said_with_its_numbers():
    """20,400 px where 20,397 are computed: 1727 mm at 300 ppi are 20,397.6 px; 2.4 px, 0.20 mm."""
    fit = ExpectedSize(trim_width_mm=1721, trim_height_mm=712, bleed_mm=3).fit(20400, 8480, ppi=300)
    assert fit.note == (
        "plates: 20400 × 8480 px at 300 ppi (1727.2 × 718 mm), up to 0.20 mm off the sheet's "
        "1727 × 718 mm (20398 × 8480 px); taken as the sheet"
    )


def test_bleed_of_a_few_pixels_is_missed_all_the_same():
    """1 mm of bleed at 50.8 ppi are two pixels a side: within four, and yet the trimmed size."""
    expect = ExpectedSize(trim_width_mm=200, trim_height_mm=100, bleed_mm=1)
    assert "without bleed" in str(expect.fault(400, 200, ppi=50.8))
    assert expect.fault(404, 204, ppi=50.8) is None


@pytest.mark.parametrize(
    ("stated_ppi", "true_ppi"), [(300, 300.4), (299.72, 300), (200.66, 200), (299.72, 298.6)]
)
def test_a_rounded_resolution_is_said_and_the_true_one_used(stated_ppi, true_ppi):
    """118 px/cm are 299.72 ppi and 79 px/cm 200.66; on two metres that is more than 0.5 mm."""
    expect = ExpectedSize(trim_width_mm=2000, trim_height_mm=500)
    width_px, height_px = (round(mm / 25.4 * true_ppi) for mm in (2000, 500))
    fit = expect.fit(width_px, height_px, ppi=stated_ppi)
    assert fit.fault is None
    assert abs(fit.ppi - true_ppi) < 0.01
    assert fit.note.startswith(f"plates: {stated_ppi:g} ppi is rounded: {width_px} × {height_px}")
    assert f"make {fit.ppi:.2f} ppi, which is used" in fit.note


@pytest.mark.parametrize(("stated_ppi", "true_ppi"), [(300, 301), (299.72, 301.5), (301.3, 300)])
def test_a_resolution_that_no_rounding_explains_is_a_fault(stated_ppi, true_ppi):
    """301.3 is no whole number an inch (nor 118.62 a centimetre)."""
    expect = ExpectedSize(trim_width_mm=2000, trim_height_mm=500)
    width_px, height_px = (round(mm / 25.4 * true_ppi) for mm in (2000, 500))
    assert expect.fit(width_px, height_px, ppi=stated_ppi).fault is not None


def test_a_set_near_the_sheet_is_opened_with_a_note(tmp_path):
    """80 px at 200 ppi are 10.16 mm; 10.4 mm make 81.9 px."""
    plates = open_set(five(tmp_path), expect=ExpectedSize(trim_width_mm=10.4, trim_height_mm=7.62))
    assert sum("taken as the sheet" in note for note in plates.notes) == 1


def test_a_plate_whose_resolution_was_rounded_belongs_to_the_others(tmp_path):
    """200 ppi in whole pixels a centimetre are 79, which read 200.66; the commonest is used."""
    plates = open_set(five(tmp_path, Soot=(plane(0), {"ppi": 200.66})))
    assert plates.ppi == 200
    assert any("says 200.66 ppi; 200 is used like the others" in note for note in plates.notes)


def test_same_path_for_two_inks(tmp_path):
    files = five(tmp_path)
    files["Fog"] = files["Soot"]
    (text,) = faults_of(files)
    assert "Soot.tif: is given for both Soot and Fog, but each ink has its own plate" in text


def test_same_file_by_a_link(tmp_path):
    files = five(tmp_path)
    os.link(files["Soot"].path, tmp_path / "link.tif")
    files["Fog"] = PlateSource(path=tmp_path / "link.tif")
    assert "is given for both Soot and Fog" in faults_of(files)[0]


def test_same_bytes_for_two_inks(tmp_path):
    files = five(tmp_path)
    (tmp_path / "Fog.tif").write_bytes(files["Soot"].path.read_bytes())
    (text,) = faults_of(files)
    assert "Fog.tif: holds the same bytes as" in text
    assert "for both Soot and Fog" in text


def test_plates_without_any_ink_may_be_equal_bytes(tmp_path, monkeypatch):
    """White is no ink in a grey plate; one dark pixel in the last row is ink."""
    monkeypatch.setattr("inkmix.plates.found.duplicates.MAX_WINDOW_PX", 7 * COLS)
    white = np.full((ROWS, COLS), 255, np.uint8)
    dot = white.copy()
    dot[-1, -1] = 254
    files = five(tmp_path, Brass=(white, {}), Fog=(white, {}))
    assert files["Brass"].path.read_bytes() == files["Fog"].path.read_bytes()
    assert not open_set(files).read(slice(0, ROWS), slice(0, COLS))[3:].any()
    (text,) = faults_of(five(tmp_path, Brass=(dot, {}), Fog=(dot, {})))
    assert "holds the same bytes as" in text
    files = five(tmp_path, Brass=(255 - white, {}), Fog=(255 - white, {}))  # all ink
    assert len(faults_of(files)) == 1
    light = {ink: PlateSource(path=files[ink].path, polarity="light is ink") for ink in INKS[3:]}
    assert open_set(files | light).inks == INKS
    assert len(faults_of(files | {"Fog": light["Fog"]})) == 1  # only one of them is blank


@pytest.mark.parametrize("hit_of", ["Soot", None])
def test_hits_of_one_ink_may_share_a_plate(tmp_path, hit_of):
    """By a copy, by the very file, and thrice."""
    files = five(tmp_path)
    (tmp_path / "copy.tif").write_bytes(files["Soot"].path.read_bytes())
    for ink, path in (("Soot 2", tmp_path / "copy.tif"), ("Soot 3", files["Soot"].path)):
        files[ink] = PlateSource(path=path, hit_of=hit_of)
    if hit_of is None:
        assert len(faults_of(files)) == 3
        return
    plates = open_set(files)
    read = plates.read(slice(0, ROWS), slice(0, COLS))
    np.testing.assert_array_equal(read[0], read[5])
    np.testing.assert_array_equal(read[0], read[6])


def test_a_double_hit_does_not_excuse_another_ink(tmp_path):
    files = five(tmp_path)
    files["Soot 2"] = PlateSource(path=files["Fog"].path, hit_of="Soot")
    (text,) = faults_of(files)
    assert "is given for both Fog and Soot 2" in text


def test_one_file_of_many_inks_is_no_duplicate(tmp_path):
    pixels = np.stack([plane(index) for index in range(5)], axis=-1)
    path = write_separated(tmp_path / "all.tif", pixels, INKS)
    plates = open_set({ink: PlateSource(path=path) for ink in INKS})
    wanted = np.moveaxis(pixels, -1, 0)
    np.testing.assert_array_equal(plates.read(slice(0, ROWS), slice(0, COLS)), wanted)


def test_one_broken_file_of_many_inks_is_named_once(tmp_path):
    (tmp_path / "all.tif").write_bytes(b"")
    files = {ink: PlateSource(path=tmp_path / "all.tif") for ink in INKS}
    assert len(faults_of(files)) == 1


def test_profiles_that_differ_are_warned_of(tmp_path):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plates = open_set(five(tmp_path, Fog=(plane(4), {"iccprofile": profile})))
    (note,) = plates.notes
    assert note.startswith("embedded profiles differ (Soot: none")
    assert "Fog: sRGB built-in (" in note
    assert "none is applied" in note


def test_all_faults_of_all_files_at_once(tmp_path):
    files = five(
        tmp_path,
        Soot=(plane(0).astype(np.float32), {}),
        Rowan=(plane(2)[:50], {}),
        Brass=(plane(3), {"ppi": 72}),
    )
    files["Fjord"] = PlateSource(path=tmp_path / "gone.tif")
    texts = faults_of({**files, "Moss": None})
    found = ["floating point", "does not exist", "has no plate", "72 ppi", "(cropped)"]
    for words in found:
        assert sum(words in text for text in texts) >= 1, words


def test_png_and_tiff_mix(tmp_path):
    files = five(tmp_path)
    write_png(tmp_path / "Fog.png", plane(4))
    files["Fog"] = PlateSource(path=tmp_path / "Fog.png")
    assert open_set(files).ppi == 200


def test_screened_plates_gain_at_their_edges(tmp_path):
    """One inked pixel of 600 ppi and 0.05 mm: 1.18 px of growth on every side."""
    dot = np.zeros((ROWS, COLS), np.bool_)
    dot[30, 40] = True
    path = write_tiff(tmp_path / "Soot.tif", dot, ppi=600, photometric="miniswhite")
    plates = open_set({"Soot": PlateSource(path=path)}, edge_growth_mm=0.05)
    ink = plates.read(slice(0, ROWS), slice(0, COLS))[0] / 255
    growth = 0.05 * 600 / 25.4
    assert ink[30, 40] == 1
    assert ink[30, 41] == 1
    assert ink[30, 42] == pytest.approx(growth - 1, abs=1 / 255)
    assert ink[29, 41] == pytest.approx(1 + growth - np.sqrt(2), abs=1 / 255)
    assert not plates.read_for_total(slice(0, 5), slice(0, 5)).any()


def test_total_ink_of_line_work_is_a_mean_over_one_millimetre(tmp_path):
    """At 508 ppi the disc of 1 mm has a radius of 10 px: 317 pixels, as its area of 314 says."""
    dot = np.zeros((ROWS, COLS), np.bool_)
    dot[30, 40] = True
    path = write_tiff(tmp_path / "Soot.tif", dot, ppi=508, photometric="miniswhite")
    plates = open_set({"Soot": PlateSource(path=path)}, edge_growth_mm=0.05)
    total = plates.read_for_total(slice(0, ROWS), slice(0, COLS))[0]
    assert np.count_nonzero(total) == 317
    assert set(np.unique(total)) == {0, round(255 / 317)}


def test_a_plate_can_be_marked_as_screened(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", line_work() * np.uint8(255), ppi=200)
    plates = open_set({"Soot": PlateSource(path=path)}, edge_growth_mm=0.1)
    marked = plates.with_screened(["Soot"])
    window = (slice(0, 61), slice(0, 83))
    assert plates.screened == (False,)
    assert marked.screened == (True,)
    assert marked.read(*window).sum() > plates.read(*window).sum()


def test_pillow_files_join_the_set(tmp_path):
    files = five(tmp_path)
    Image.fromarray(plane(4)).save(tmp_path / "P.tif", dpi=(200, 200), compression="tiff_lzw")
    files["Fog"] = PlateSource(path=tmp_path / "P.tif")
    np.testing.assert_array_equal(
        open_set(files).read(slice(0, ROWS), slice(0, COLS))[4], 255 - plane(4)
    )
