"""One spread checked: pictures, digests, words on the pair, crops, reference picture, warnings."""

import io
from dataclasses import replace

import numpy as np
import pytest
from counted import open_spread
from PIL import Image
from separations import (
    INKS,
    SPREAD,
    PhotoBook,
    in_steps,
    photograph,
    press,
    separated,
    write_book,
    write_picture,
    write_plate,
)
from skimage import data
from skimage.transform import resize

import inkmix.jobs.check
import inkmix.jobs.checking.crops
from inkmix.base.errors import PictureError, PlateError
from inkmix.checks.finding import Finding
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.jobs.check import check_spread
from inkmix.jobs.checking.crops import MARGIN_MM, crop_pictures
from inkmix.jobs.checking.notes import screen_difference
from inkmix.jobs.printing.colourings import print_colouring
from inkmix.jobs.printing.screen import screen_model
from inkmix.jobs.printing.white import lookup_for
from inkmix.jobs.spread import choose_spread
from inkmix.plates.overview import Reduced
from inkmix.press.table.lookup import srgb_to_srgb8

TWO = INKS[:2]
PX_PER_MM = 200 / 25.4
HAT = ("astronaut", slice(20, 170), slice(120, 320))


def hat_plates() -> dict[str, np.ndarray]:
    return {ink: in_steps(amount) for ink, amount in separated(photograph(*HAT), TWO).items()}


def opened(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg))).astype(int)


@pytest.fixture(scope="module")
def photo(tmp_path_factory) -> PhotoBook:
    more = '[[night]]\nname = "all"\nrect_mm = [2, 2, 10, 10]\nlightest_L = 35\n'
    folder = tmp_path_factory.mktemp("hat")
    return write_book(folder, hat_plates(), ink_limit_pct=120, more=more)


@pytest.fixture(scope="module")
def result(photo):
    return check_spread(photo.book, SPREAD)


def test_every_picture_that_is_named_is_there(result):
    named = {"screen", "print", *(ink.picture for ink in result.inks)}
    named |= {finding.picture for finding in result.findings if finding.picture}
    assert {"plate Soot", "plate Fjord", "finding 1"} <= named
    for one in result.remedies_shown:
        named |= {key for crop in one.crops for key in (crop.before, crop.after)}
    changes = [one.change for one in result.remedies_shown if one.change]
    maps = {change.picture for change in changes if change.picture}
    assert set(result.pictures) == named | maps
    assert changes
    for jpeg in named:
        assert opened(result.pictures[jpeg]).ndim == 3


def test_every_place_to_act_on_has_a_picture(result):
    acted = [f for f in result.findings if f.verdict in ("fail", "unsure") and f.place]
    assert len(acted) >= 2
    assert all(finding.picture for finding in acted[:16])


def test_the_pair_has_one_size_and_shows_print_and_screen(photo, result):
    """JPEG at quality 88: 3 steps of 255 on average."""
    spread = open_spread(photo.book, SPREAD)
    planes = np.stack(list(photo.plates.values()))
    for key, model in (("print", spread.condition), ("screen", screen_model(spread.condition))):
        lookup = lookup_for(spread, model, adapt_to_paper=False)
        wanted = srgb_to_srgb8(lookup.evaluate(planes)[0]).astype(int)
        shown = opened(result.pictures[key])
        assert shown.shape == wanted.shape
        assert np.abs(shown - wanted).mean() < 3


def test_plate_pictures_show_each_ink_alone(photo, result):
    condition = press(*TWO)
    for index, ink in enumerate(TWO):
        tone_pct = np.zeros((*photo.plates[ink].shape, 2))
        tone_pct[..., index] = photo.plates[ink] * (100 / 255)
        wanted = condition.lab(tone_pct)[..., 0]
        shown = opened(result.pictures[f"plate {ink}"])
        assert shown.shape[:2] == wanted.shape
        assert np.corrcoef(shown.mean(axis=-1).ravel(), wanted.ravel())[0, 1] > 0.98


# Digests: what the answer rests on.


def test_digests_follow_each_input_and_nothing_else(photo, result, tmp_path):
    plates = hat_plates()
    again = check_spread(write_book(tmp_path / "same", plates, ink_limit_pct=120).book, SPREAD)
    plates["Fjord"][3, 4] ^= 1
    other = check_spread(write_book(tmp_path / "other", plates, ink_limit_pct=120).book, SPREAD)
    names = {"book.toml", "table", f"plates/{SPREAD}-Soot.tif", f"plates/{SPREAD}-Fjord.tif"}
    assert set(result.digests) == names
    differing = {name for name in names if result.digests[name] != again.digests[name]}
    assert differing == {"book.toml"}  # it has no night
    differing = {name for name in names if other.digests[name] != again.digests[name]}
    assert differing == {f"plates/{SPREAD}-Fjord.tif"}


def test_the_tables_digest_follows_the_inks(result, tmp_path):
    gain = '[[inks]]\nname = "Fjord"\nlab = [33, -4, -34]\ntone_value_increase_pct = 25\n'
    photo = write_book(tmp_path, hat_plates(), ink_limit_pct=120, Fjord=gain)
    assert check_spread(photo.book, SPREAD).digests["table"] != result.digests["table"]


def test_a_check_says_the_same_twice(photo, result):
    assert check_spread(photo.book, SPREAD) == result


# The pair in one sentence.


@pytest.mark.parametrize(
    ("miss_L", "words"),
    [(8.24, "L* 8.2 darker"), (-3.0, "L* 3 lighter"), (0.4, "about as dark"), (-0.4, "about")],
)
def test_a_print_lighter_than_the_screen_makes_the_screen_darker(miss_L, words):
    assert words in screen_difference(miss_L)


def test_the_difference_is_that_of_the_exact_models(photo, result):
    condition = press(*TWO)
    tone_pct = photo.tone_pct()
    print_L = condition.lab(tone_pct)[..., 0].mean()
    screen_L = xyz100_to_lab(screen_model(condition).xyz100(tone_pct))[..., 0].mean()
    how = "darker" if print_L > screen_L else "lighter"
    number, found = result.screen_difference.split("L* ")[1].split()[:2]
    assert found == how
    assert float(number) == pytest.approx(abs(print_L - screen_L), abs=0.2)


# Crops: the outline lies around the place.


def spot_book(folder, *, rows: slice, cols: slice, shape=(420, 500)) -> PhotoBook:
    """Bare paper with one place over the limit."""
    plates = {ink: np.zeros(shape, np.uint8) for ink in TWO}
    plates["Soot"][rows, cols] = 255
    plates["Fjord"][rows, cols] = 250
    plates["Fjord"][5, 5] = 1
    return write_book(folder, plates, ink_limit_pct=150)


def outline_box(picture: np.ndarray) -> tuple[int, int, int, int]:
    """First and last row and column of the outermost dark line, found by its colour."""
    dark = picture.max(axis=-1) < 90
    rows, cols = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    return rows[0], rows[-1], cols[0], cols[-1]


@pytest.mark.parametrize(
    ("rows", "cols", "shape"),
    [
        (slice(100, 130), slice(150, 210), (420, 500)),  # margins on all sides
        (slice(0, 30), slice(450, 500), (420, 500)),  # at a corner: the crop ends with the sheet
        (slice(200, 204), slice(300, 330), (420, 500)),
        (slice(11, 23), slice(17, 32), (40, 52)),  # small: four times enlarged
    ],
)
def test_the_outline_lies_around_the_place(tmp_path, rows, cols, shape):
    """Three lines of one pixel right outside the place; JPEG blurs no line away."""
    photo = spot_book(tmp_path, rows=rows, cols=cols, shape=shape)
    result = check_spread(photo.book, SPREAD)
    (finding,) = [f for f in result.findings if f.verdict == "fail"]
    assert (finding.rows_px, finding.cols_px) == ((rows.start, rows.stop), (cols.start, cols.stop))
    shown = opened(result.pictures[finding.picture])
    margin = round(MARGIN_MM * PX_PER_MM)
    top, left = max(0, rows.start - margin), max(0, cols.start - margin)
    height = min(shape[0], rows.stop + margin) - top
    width = min(shape[1], cols.stop + margin) - left
    scale = shown.shape[0] // height
    assert shown.shape == (height * scale, width * scale, 3)
    box = [(rows.start - top) * scale - 3, (rows.stop - top) * scale + 2]
    box += [(cols.start - left) * scale - 3, (cols.stop - left) * scale + 2]
    wanted = np.clip(box, 0, np.repeat(np.array(shown.shape[:2]) - 1, 2))
    found = outline_box(shown)
    np.testing.assert_array_equal(found, wanted)


def test_the_light_line_is_inside_the_outer_dark_one(tmp_path):
    photo = spot_book(tmp_path, rows=slice(100, 130), cols=slice(150, 210))
    result = check_spread(photo.book, SPREAD)
    shown = opened(result.pictures["finding 1"]).mean(axis=-1)
    margin = round(MARGIN_MM * PX_PER_MM)
    middle = shown[margin + 15, margin - 3 : margin]
    assert middle[1] > 150 > 90 > max(middle[0], middle[2])


def test_a_large_place_is_reduced_and_still_framed(tmp_path, monkeypatch):
    """A place of 300 px in a crop of at most 100: a fifth, so within one pixel of the picture."""
    monkeypatch.setattr(inkmix.jobs.checking.crops, "CROP_PX", 100)
    rows, cols = slice(60, 360), slice(80, 380)
    photo = spot_book(tmp_path, rows=rows, cols=cols)
    result = check_spread(photo.book, SPREAD)
    shown = opened(result.pictures["finding 1"])
    margin = round(MARGIN_MM * PX_PER_MM)
    factor = -(-(300 + 2 * margin) // 100)
    assert max(shown.shape) <= 100
    found = outline_box(shown)
    inner = [margin / factor, (margin + 300) / factor - 1] * 2
    np.testing.assert_allclose(np.array(found) - inner, [-3, 3, -3, 3], atol=1)


def test_places_beyond_the_number_of_crops_have_none(photo, monkeypatch):
    monkeypatch.setattr(inkmix.jobs.checking.crops, "MOST_CROPS", 1)
    spread = open_spread(photo.book, SPREAD)
    finding = Finding(
        check="night",
        name="place",
        verdict="fail",
        sentence="",
        unit="L*",
        rows_px=(10, 20),
        cols_px=(10, 20),
    )
    kinds = [finding, finding, replace(finding, verdict="pass"), replace(finding, rows_px=None)]
    overview = Reduced(srgb8=np.zeros((1, 1, 3), np.uint8), factor=1 << 20)
    found, pictures = crop_pictures(spread, print_colouring(spread), kinds, overview=overview)
    assert [one.picture for one in found] == ["finding 1", None, None, None]
    assert list(pictures) == ["finding 1"]


# The reference picture.

REFERENCE = '[reference]\npicture = "wanted.png"\n'


def white_prediction(photo: PhotoBook, path) -> np.ndarray:
    """The print with its paper as white: what a reference picture is compared as."""
    spread = open_spread(photo.book, SPREAD)
    write_picture(spread, path, adapt_to_paper=True)
    return np.asarray(Image.open(path))


@pytest.fixture
def with_reference(tmp_path) -> PhotoBook:
    photo = write_book(tmp_path, hat_plates())
    white_prediction(photo, tmp_path / "wanted.png")
    return write_book(tmp_path, hat_plates(), more=REFERENCE)


def test_a_print_with_its_papers_colour_as_reference_hardly_differs_either(tmp_path):
    """It says so itself; taken for white, its paper would be off by its own colour."""
    photo = write_book(tmp_path, hat_plates())
    write_picture(open_spread(photo.book, SPREAD), tmp_path / "wanted.png")
    result = check_spread(write_book(tmp_path, hat_plates(), more=REFERENCE).book, SPREAD)
    assert result.reference.mean_de00 < 0.6
    assert any("it says that the paper's colour is in it" in note for note in result.warnings)


def test_the_print_itself_as_reference_hardly_differs(with_reference):
    """Rounding to 8 bits twice: dE00 0.6 each at most, far less on average."""
    result = check_spread(with_reference.book, SPREAD)
    assert result.reference.mean_de00 < 0.5
    assert result.reference.max_de00 < 2.5
    assert result.reference.file == "wanted.png"
    assert result.reference.map_ppi == pytest.approx(200)
    assert opened(result.pictures[result.reference.picture]).mean() < 10


def test_another_picture_differs_and_the_map_says_where(with_reference):
    wanted = np.asarray(Image.open(with_reference.folder / "wanted.png")).copy()
    wanted[50:100, 60:160] = 255 - wanted[50:100, 60:160]
    Image.fromarray(wanted).save(with_reference.folder / "wanted.png")
    result = check_spread(with_reference.book, SPREAD)
    shown = opened(result.pictures[result.reference.picture]).mean(axis=-1)
    there = np.zeros(shown.shape, bool)
    there[50:100, 60:160] = True
    assert shown[there].mean() > 100 > 20 > shown[~there].mean()
    assert result.reference.max_de00 > 15
    photographed = photograph(*HAT)[::-1]
    Image.fromarray(in_steps(photographed)).save(with_reference.folder / "wanted.png")
    assert check_spread(with_reference.book, SPREAD).reference.mean_de00 > 10


def test_a_reference_of_another_size_is_compared_all_the_same(with_reference):
    """Twice as fine: reduced by boxes on both sides; edges blur a little."""
    wanted = np.asarray(Image.open(with_reference.folder / "wanted.png"))
    fine = wanted.repeat(2, axis=0).repeat(2, axis=1)
    Image.fromarray(fine).save(with_reference.folder / "wanted.png")
    assert check_spread(with_reference.book, SPREAD).reference.mean_de00 < 1.5
    small = in_steps(resize(wanted / 255.0, (75, 100), anti_aliasing=True))
    Image.fromarray(small).save(with_reference.folder / "wanted.png")
    result = check_spread(with_reference.book, SPREAD)
    assert result.reference.mean_de00 < 2.5
    assert result.reference.map_ppi == pytest.approx(100)


def test_a_reference_of_other_proportions_is_refused(with_reference):
    Image.fromarray(data.chelsea()).save(with_reference.folder / "wanted.png")
    with pytest.raises(PictureError, match=r"wanted\.png"):
        check_spread(with_reference.book, SPREAD)


def test_a_trimmed_reference_is_laid_on_the_trim(tmp_path):
    """Plates with 2 mm of bleed, the reference without: nearly the same colours again."""
    bleed = round(2 * PX_PER_MM)
    strip = (
        "[strip]\npanels = 1\nbleed_mm = 2\n"
        f"panel_mm = [{(200 - 2 * bleed) / PX_PER_MM:.3f}, {(150 - 2 * bleed) / PX_PER_MM:.3f}]\n"
    )
    photo = write_book(tmp_path, hat_plates(), more=strip)
    wanted = white_prediction(photo, tmp_path / "wanted.png")
    Image.fromarray(wanted[bleed:-bleed, bleed:-bleed]).save(tmp_path / "wanted.png")
    photo = write_book(tmp_path, hat_plates(), more=strip + REFERENCE)
    assert check_spread(photo.book, SPREAD).reference.mean_de00 < 0.5


# Warnings, and what was not looked at.


def test_what_was_accepted_is_said(tmp_path):
    plates = hat_plates()
    photo = write_book(tmp_path, plates, more='absent = "empty"\n' + REFERENCE)
    path = tmp_path / f"plates/{SPREAD}-Soot.tif"
    path.unlink()
    grey = np.repeat(~plates["Soot"][..., None], 3, axis=-1)
    Image.fromarray(grey).save(path, dpi=(200, 200))
    (tmp_path / f"plates/{SPREAD}-Fjord.tif").unlink()
    Image.fromarray(in_steps(photograph(*HAT))).save(tmp_path / "wanted.png")
    warnings = check_spread(photo.book, SPREAD).warnings
    said = "\n".join(warnings)
    assert len(warnings) == len(set(warnings))
    assert "RGB" in said
    assert "Fjord" in said
    assert "white as paper white" in said
    assert "taken as sRGB" in said


def test_faults_of_plates_come_before_any_colour(tmp_path, monkeypatch):
    photo = write_book(tmp_path, hat_plates())
    write_plate(tmp_path / f"plates/{SPREAD}-Fjord.tif", photo.plates["Fjord"][:-3])

    def never(*args, **options):
        raise AssertionError("a table was built")

    for made in ("print_colouring", "screen_colouring"):
        monkeypatch.setattr(inkmix.jobs.check, made, never)
    with pytest.raises(PlateError, match="Fjord"):
        check_spread(photo.book, SPREAD)


def test_what_was_not_checked_is_listed(tmp_path, result):
    bare = check_spread(write_book(tmp_path, hat_plates()).book, SPREAD)
    for word in ("night", "named tones", "reference picture", "register"):
        assert any(word in line for line in bare.not_checked)
    assert not any(line.startswith("night") for line in result.not_checked)


def test_colours_beyond_srgb_are_counted_over_all_windows(tmp_path, monkeypatch):
    """A cyan that sRGB cannot show, on a picture of some twenty windows."""
    monkeypatch.setattr("inkmix.plates.set.MAX_WINDOW_PX", 1600)
    cyan = f'[[inks]]\nname = "{TWO[1]}"\nlab = [52, -62, -48]\n'
    plates = hat_plates()
    plates[TWO[0]][:, 50:] //= 8  # there the black leaves the cyan as it is
    plates[TWO[1]][30:, 100:150] = 255
    photo = write_book(tmp_path, plates, **{TWO[1]: cyan})
    checked = check_spread(photo.book, SPREAD)
    spread = open_spread(photo.book, SPREAD)
    whole = slice(0, spread.plates.height_px), slice(0, spread.plates.width_px)
    _, outside_px = print_colouring(spread).srgb8(spread.plates.read(*whole))
    assert 0 < outside_px < 30_000
    assert checked.out_of_srgb_pct == pytest.approx(100 * outside_px / (150 * 200))
    assert checked.sentence == (
        "Nothing was found against sending these plates, as far as inkmix checked (night and named "
        "tones were not checked)."
    )


def test_the_only_spread_is_chosen(photo):
    assert choose_spread(photo.book, None) == SPREAD


def test_a_rectangle_beyond_the_sheet_is_said(tmp_path):
    more = '[[night]]\nname = "all"\nrect_mm = [2, 2, 700, 5]\nlightest_L = 35\n'
    book = write_book(tmp_path, hat_plates(), more=more).book
    (note,) = [note for note in check_spread(book, SPREAD).warnings if "night all" in note]
    assert "mm beyond the sheet and is cut" in note
