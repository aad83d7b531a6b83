"""Corrections before and after: where crops are taken, what they show, ramps and maps.

On a sheet of 900 x 700 px in flat tints, where corrections of a few lines change places that are
known; colours are compared with those of the model itself, not with the table that draws.
"""

from dataclasses import replace
from io import BytesIO
from types import SimpleNamespace

import numpy as np
import pytest
from drawn_book import BOOK, PPI
from PIL import Image
from plate_files import write_tiff
from report_cases import failing, findings

from inkmix.checks.finding import Change, CurveStep, Remedy
from inkmix.checks.mending.cells import Cells
from inkmix.checks.mending.correction import ChangeMap
from inkmix.checks.mending.lights import Light, Lights
from inkmix.checks.mending.night import NightCorrection
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_srgb8
from inkmix.jobs.answer import BeforeAfter, ChangePicture, Ramps, ShownRemedy
from inkmix.jobs.books import read_book
from inkmix.jobs.checking.before_after import remedies_shown
from inkmix.jobs.printing.colourings import print_colouring
from inkmix.jobs.spread import open_uncounted
from inkmix.pages.report.page import render_page
from inkmix.pages.report.pictures import fit_pictures, picture_size
from inkmix.pages.report.ramps import ramps_svg

HEIGHT, WIDTH = 700, 900
TINTS = {"Soot": 40, "Fjord": 20, "Rowan": 10}
MOON = '\n[[tones]]\nname = "moon"\nmix = { Soot = 40, Fjord = 20, Rowan = 10 }\n'


class Darker:
    """A correction that adds steps of Soot in rectangles (rows, cols)."""

    def __init__(self, *places, steps=60):
        self.places, self.steps = places, steps

    def applied(self, planes, *, rows, cols):
        after = planes.copy()
        down = np.arange(rows.start, rows.stop)[:, None]
        across = np.arange(cols.start, cols.stop)
        for place in self.places:
            inside = (down >= place[0].start) & (down < place[0].stop)
            inside = inside & (across >= place[1].start) & (across < place[1].stop)
            after[0] += (self.steps * inside).astype(after.dtype)
        return after


CELLS = Cells(rows=slice(100, 700), cols=slice(200, 900), factor=2)
NONE = np.zeros(CELLS.shape, np.bool_)
NO_LIGHTS = Lights(
    cells=NONE, going_cells=NONE, from_L=0.0 * NONE, level_L=0.0 * NONE, kept=(), lost=()
)


class Night(Darker, NightCorrection):
    """One that loses lights of cells of 2 px; only what is drawn of it is here."""

    __slots__ = ("places", "steps")

    def __init__(self, *places, lost):
        for name, value in (
            ("places", places),
            ("steps", 60),
            ("acting", SimpleNamespace(cells=CELLS)),
            ("lights", replace(NO_LIGHTS, lost=lost)),
        ):
            object.__setattr__(self, name, value)

    applied = Darker.applied


SECOND = """
[[inks]]
name = "Soot 2"
lab = [26, 1, 1]
plate = "Soot"

[press]
"""


@pytest.fixture(scope="module")
def spread(tmp_path_factory):
    return drawn(tmp_path_factory.mktemp("book"), BOOK)


def drawn(folder, book):
    (folder / "plates" / "front").mkdir(parents=True)
    for ink, pct in TINTS.items():
        numbers = np.full((HEIGHT, WIDTH), round(255 * (1 - pct / 100)), np.uint8)
        write_tiff(folder / "plates" / "front" / f"{ink}.tif", numbers, PPI)
    (folder / "book.toml").write_text(book.partition("[strip]")[0] + MOON, "utf-8")
    return open_uncounted(read_book(folder), "front")


def shown(spread, *remedies, names=()):
    given = [
        replace(findings()[0], name=name, remedies=(remedy,))
        for name, remedy in zip(names or map(str, range(9)), remedies, strict=False)
    ]
    tints = [float(TINTS[ink.split()[0]]) for ink in spread.plates.inks]
    reduced = np.ones((HEIGHT // 2, WIDTH // 2, 1)) * tints
    return remedies_shown(spread, print_colouring(spread), given, reduced_tone_pct=reduced)


def remedy(correction, **more):
    return Remedy(do="Do it.", correction=correction, **more)


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(data)).convert("RGB")).astype(int)


def model_srgb8(spread, tone_pct):
    lab = spread.condition.lab(np.array(tone_pct, np.float64))
    return xyz100_to_srgb8(lab_to_xyz100(lab))[0].astype(int)


def box_px(place):
    """Left, top, width and height in pixels of the plate, by its millimetres (100 ppi, bleed 0)."""
    mm = (place.sheet_x_mm, place.sheet_y_mm, place.width_mm, place.height_mm)
    return tuple(round(value / 25.4 * PPI) for value in mm)


def is_around(outer, inner):
    """Whether one box holds another; left, top, width, height."""
    return all(
        outer[k] <= inner[k] and outer[k] + outer[k + 2] >= inner[k] + inner[k + 2] for k in (0, 1)
    )


def test_a_crop_holds_what_changes_most_pixel_by_pixel(spread):
    large, small = (slice(400, 480), slice(600, 720)), (slice(50, 80), slice(50, 90))
    (one,), pictures = shown(spread, remedy(Darker(large, small)))
    (crop,) = one.crops
    left, top, width, height = box_px(crop.place)
    assert (width, height) == (320, 240)
    assert is_around((left, top, width, height), (600, 400, 120, 80))
    before, after = pixels(pictures[crop.before]), pixels(pictures[crop.after])
    assert before.shape == after.shape == (240, 320, 3)
    changed = np.abs(after - before).max(axis=-1) > 20
    expected = np.zeros((240, 320), np.bool_)
    expected[400 - top : 480 - top, 600 - left : 720 - left] = True
    assert (changed != expected).mean() < 0.01  # JPEG softens an edge
    soot = 100 * (round(255 * 0.40) + 60) / 255
    for picture, tones in ((before, (40, 20, 10)), (after, (soot, 20, 10))):
        middle = picture[440 - top, 660 - left]
        assert np.abs(middle - model_srgb8(spread, tones)).max() <= 4  # JPEG, table


def test_a_plate_that_prints_twice_is_seen_corrected_both_times(tmp_path):
    """The correction speaks of the first hit alone; in print the second one follows it."""
    twice = drawn(tmp_path, BOOK.replace("[press]\n", SECOND.lstrip("\n")))
    (one,), pictures = shown(twice, remedy(Darker((slice(400, 480), slice(600, 720)))))
    (crop,) = one.crops
    left, top, *_ = box_px(crop.place)
    soot = 100 * (round(255 * 0.40) + 60) / 255
    found = pixels(pictures[crop.after])[440 - top, 660 - left]
    both, first = (model_srgb8(twice, (soot, 20, 10, second)) for second in (soot, 40))
    assert np.abs(found - both).max() <= 4  # JPEG, table
    assert np.abs(found - first).max() > 8


def test_the_light_that_is_missed_most_has_a_crop_of_its_own(spread):
    """In cells of 2 px from (100, 200) the larger is at rows 140 to 160, columns 260 to 280."""
    lost = (
        Light(rows=slice(0, 2), cols=slice(0, 2), pixels=16, stands_out_L=60.0),
        Light(rows=slice(20, 30), cols=slice(30, 40), pixels=400, stands_out_L=40.0),
    )
    place, itself = (slice(500, 600), slice(700, 800)), (slice(140, 160), slice(260, 280))
    (one,), _ = shown(spread, remedy(Night(place, itself, lost=lost)))
    light, most = one.crops
    assert box_px(light.lost) == (260, 140, 20, 20)
    left, top, *_ = box_px(light.place)
    assert (left, top) == (270 - 160, 150 - 120)
    assert light.lost_tone == "moon"  # the sheet is of that tint everywhere
    assert most.lost is None
    assert is_around(box_px(most.place), (700, 500, 100, 100))


def test_a_light_larger_than_a_crop_is_shown_whole_and_reduced(spread):
    """480 x 400 px: with a quarter on each side it is 720 x 600, and is reduced by 3."""
    lost = (Light(rows=slice(20, 220), cols=slice(30, 270), pixels=192_000, stands_out_L=40.0),)
    itself = slice(140, 540), slice(260, 740)
    (one,), pictures = shown(spread, remedy(Night(itself, lost=lost)))
    light, most = one.crops
    assert box_px(light.lost) == (260, 140, 480, 400)
    assert is_around(box_px(light.place), (260 - 120, 140 - 100, 720, 600))
    assert (light.factor, most.factor, most.lost) == (3, 1, None)
    before, after = (pixels(pictures[key]) for key in (light.before, light.after))
    left, top, width, height = box_px(light.place)
    assert before.shape == after.shape == (-(-height // 3), -(-width // 3), 3)
    changed = np.abs(after - before).max(axis=-1) > 10
    expected = np.zeros(changed.shape, np.bool_)
    expected[(140 - top) // 3 : (540 - top) // 3, (260 - left) // 3 : (740 - left) // 3] = True
    assert (changed != expected).mean() < 0.02  # JPEG softens an edge, blocks cross it
    assert np.abs(before - model_srgb8(spread, (40, 20, 10))).max() <= 4  # one tint, reduced
    assert light.lost_tone == "moon"


def test_a_light_that_was_not_spared_and_stays_all_the_same_is_not_shown_as_lost(spread):
    lost = (Light(rows=slice(20, 30), cols=slice(30, 40), pixels=400, stands_out_L=40.0),)
    place = (slice(500, 600), slice(700, 800))
    (one,), _ = shown(spread, remedy(Night(place, lost=lost)))
    assert [crop.lost for crop in one.crops] == [None]


def test_a_light_where_most_changes_is_shown_once(spread):
    lost = (Light(rows=slice(20, 30), cols=slice(30, 40), pixels=400, stands_out_L=40.0),)
    (one,), pictures = shown(spread, remedy(Night((slice(130, 170), slice(250, 290)), lost=lost)))
    assert [crop.lost is not None for crop in one.crops] == [True]
    assert len(pictures) == 2


def test_a_correction_of_several_findings_is_shown_once(spread):
    both, other = Darker((slice(0, 50), slice(0, 50))), Darker((slice(90, 99), slice(0, 50)))
    given = (remedy(both), remedy(other), remedy(both))
    found, _ = shown(spread, *given, names=("a", "b", "c"))
    assert [[name for _, name in one.findings] for one in found] == [["a", "c"], ["b"]]


def test_curves_become_ramps_of_the_ink_on_its_paper(spread):
    """Bernstein by hand: at 50 % the binomials of 8 over 256 make it 77.25 %."""
    heights = (0.0, 20.0, 40.0, 60.0, 90.0, 94.0, 96.0, 98.0, 100.0)
    curve = CurveStep(plate="Fjord", area="sea", heights_pct=heights, most_pct=27.25)
    nothing = Darker((slice(0, 9), slice(0, 9)))
    (one,), _ = shown(spread, remedy(nothing, curves=(curve,)))
    (ramps,) = one.ramps
    assert ramps.before_pct == tuple(12.5 * k for k in range(9))
    assert ramps.after_pct[4] == pytest.approx(77.25)
    assert ramps.after_pct[0::8] == pytest.approx((0.0, 100.0))
    assert len(ramps.before_srgb8) == len(ramps.after_srgb8) == 21
    for colours, fjord in ((ramps.before_srgb8, 50.0), (ramps.after_srgb8, 77.25)):
        expected = model_srgb8(spread, (0.0, fjord, 0.0))
        assert np.abs(np.array(colours[10]) - expected).max() <= 2


def test_a_map_is_black_where_the_colour_changes_most(spread):
    de00 = np.zeros((20, 40), np.float32)
    de00[3, 7], de00[10, 20] = 4.0, 1.0
    cells = ChangeMap(de00=de00, row=100, col=200, side=10)
    change = Change(mean_de00=0.1, p95_de00=1.0, most_de00=4.0, cells=cells)
    (one,), pictures = shown(spread, remedy(Darker(), change=change))
    drawn = pixels(pictures[one.change.picture])[..., 0]
    assert drawn.shape == (160, 320)  # 8 px a cell
    assert drawn[8 * 3 + 4, 8 * 7 + 4] == 0
    assert drawn[8 * 10 + 4, 8 * 20 + 4] == round(255 * 0.75)
    assert np.median(drawn) == 255
    assert box_px(one.change.place) == (200, 100, 400, 200)
    assert is_around(box_px(one.crops[0].place), (270, 130, 10, 10))


def test_an_even_change_is_said_and_not_drawn(spread):
    """A map of it would be a black bar; its left half fades out."""
    de00 = np.full((20, 40), 1.9, np.float32)
    de00[:, :20], de00[5, 35] = 0.3, 2.0
    cells = ChangeMap(de00=de00, row=100, col=200, side=10)
    change = Change(mean_de00=1.8, p95_de00=1.9, most_de00=2.0, cells=cells)
    (one,), pictures = shown(spread, remedy(Darker(), change=change))
    assert one.change.picture is None
    assert not any("map" in key for key in pictures)
    page = page_with(change_picture=None)
    assert "<p>The colour changes evenly on panel 3 (74 × 51 mm" in page
    assert "by dE00 4 nearly all over.</p>" in page
    assert "white is none" not in page


# --- on the page ----------------------------------------------------------------------------------


def picture(shape=(240, 320)) -> bytes:
    noise = np.random.default_rng(1).integers(0, 256, (*shape, 3), np.uint8)
    buffer = BytesIO()
    Image.fromarray(noise).save(buffer, "PNG")
    return buffer.getvalue()


def page_with(*, change_picture: str | None = "a", **changes):
    base = failing()
    sea = base.findings[0]
    crop = BeforeAfter(before="a", after="b", place=sea.place, lost=sea.place, lost_tone="moon")
    ramps = Ramps(plate="Soot", before_pct=(0.0, 50.0, 100.0), after_pct=(0.0, 78.25, 100.0),
                  before_srgb8=((9, 9, 9),) * 3, after_srgb8=((5, 5, 5),) * 3)  # fmt: skip
    one = ShownRemedy(
        findings=((sea.check, sea.name),),
        crops=(replace(crop, **changes),),
        ramps=(ramps,),
        change=ChangePicture(picture=change_picture, most_de00=4.0, place=sea.place),
    )
    pictures = {**base.pictures, "a": picture(), "b": picture()}
    page = render_page(replace(base, remedies_shown=(one,), pictures=pictures)).decode("utf-8")
    return " ".join(page.replace("\N{NO-BREAK SPACE}", " ").split())


def test_the_page_says_which_light_turns_dark():
    assert "<b>This light, drawn in moon, turns dark</b> · panel 3: 74 × 51 mm" in page_with()
    assert "<b>This light turns dark</b> · panel 3" in page_with(lost_tone=None)
    assert "<b>Where most changes</b> · panel 3" in page_with(lost=None)
    assert "white is none, black is dE00 4." in page_with()


def test_a_reduced_crop_says_so():
    assert " · reduced to 1/3</p>" in page_with(factor=3)
    assert "as predicted, reduced to 1/3" in page_with(factor=3)
    assert "reduced" not in page_with()
    assert "as predicted, pixel by pixel" in page_with()


def test_crops_are_shown_at_their_own_size():
    page = page_with()
    assert page.count('class="true" src="data:image') == 2
    assert 'width="320" height="240" alt="Before what is to do for 1' in page
    assert ".true { max-width: none; }" in page


def test_pictures_of_true_size_keep_their_pixels_on_a_full_page():
    given = {"print": picture((900, 1200)), "crop": picture()}
    fitted = fit_pictures(given, budget_bytes=250_000, true_size={"crop"})
    assert picture_size(fitted["crop"]) == (320, 240)
    assert picture_size(fitted["print"])[0] < 1200


def test_numbers_of_a_ramp_stand_at_their_tones():
    ramps = Ramps(plate="Soot", before_pct=(0.0, 50.0, 100.0), after_pct=(4.0, 78.25, 100.0),
                  before_srgb8=((255, 0, 0), (0, 255, 0), (0, 0, 255)),
                  after_srgb8=((1, 1, 1),) * 3)  # fmt: skip
    drawn = str(ramps_svg(ramps))
    assert drawn.index(">50</text>") < drawn.index('fill="#ff0000"') < drawn.index(">78</text>")
    assert '<text x="50%" y="12" text-anchor="middle">50</text>' in drawn
    assert '<text x="0%" y="72" text-anchor="start">4</text>' in drawn
    assert '<rect x="25%" y="16" width="75%" height="20" fill="#00ff00"/>' in drawn
