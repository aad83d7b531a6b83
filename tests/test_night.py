"""Night: shares and quantiles counted by hand, verdicts, places."""

import numpy as np
import pytest
from press_for_checks import press, press_with_hint

from inkmix.base.loops import are_compiled
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, UNSURE
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.pixels import _compiled, _plain
from inkmix.checks.window import CheckedWindow
from inkmix.press.table.lookup import LIGHTNESS_SCALE, STATED_ERROR_L
from inkmix.sheet.geometry import Sheet, panels_in_a_row

SHEET = Sheet(
    width_px=200,
    height_px=120,
    ppi=50.8,  # two pixels in a millimetre
    panels=panels_in_a_row(2, width_mm=50, height_mm=60),
)
SKY = (slice(20, 80), slice(100, 200))


def check(condition=None, *, lightest_L: float | None = 40.0, share_pct: float = 95.0):
    return NightCheck(
        sheet=SHEET,
        condition=condition or press(),
        name="sky over the harbour",
        mask_words="a picture",
        lightest_L=lightest_L,
        share_pct=share_pct,
    )


def mask() -> np.ndarray:
    marked = np.zeros((SHEET.height_px, SHEET.width_px), dtype=bool)
    marked[SKY] = True
    return marked


def window(planes: np.ndarray, lightness_L: np.ndarray, rows: slice) -> CheckedWindow:
    part = planes[:, rows]
    return CheckedWindow(
        rows=rows,
        cols=slice(0, SHEET.width_px),
        planes=part,
        lightness=np.round(lightness_L[rows] * LIGHTNESS_SCALE).astype(np.int16),
    )


def run(one: NightCheck, lightness_L: np.ndarray, *, planes=None, marked=None, height: int = 50):
    plates = len(one.condition.inks)
    planes = np.full((plates, *lightness_L.shape), 128, np.uint8) if planes is None else planes
    marked = mask() if marked is None else marked
    part = one.start()
    for top in range(0, SHEET.height_px, height):
        rows = slice(top, min(top + height, SHEET.height_px))
        part = one.update(part, window(planes, lightness_L, rows), marked[rows])
    return one.finish(part)


def sky_of(L: float) -> np.ndarray:
    return np.full((SHEET.height_px, SHEET.width_px), L)


def test_the_share_and_the_quantile_are_counted():
    lightness = sky_of(30.0)
    lightness[20:32, 100:200] = 50.0  # 20 % of the sky
    result = run(check(), lightness)
    facts = result.facts
    assert facts.verdict == FAIL
    assert facts.reached_pct == pytest.approx(80.0)
    assert (facts.value_L, facts.median_L, facts.darkest_L) == (50.0, 30.0, 30.0)
    assert facts.area_mm2 == pytest.approx(1500)
    assert facts.histogram[0] == (30.0, pytest.approx(80.0))
    assert facts.histogram[-1] == (50.0, pytest.approx(20.0))
    assert run(check(share_pct=80.0), lightness).facts.value_L == 30.0
    assert run(check(share_pct=80.1), lightness).facts.value_L == 50.0


def test_the_largest_pale_patch_is_the_place():
    lightness = sky_of(20.0)
    lightness[40:60, 120:150] = 60.0  # across the seam between the windows
    lightness[70:75, 180:190] = 70.0
    lightness[0:10, 0:50] = 90.0  # outside the mask
    finding = run(check(), lightness).finding
    assert (finding.rows_px, finding.cols_px) == ((40, 60), (120, 150))
    assert (finding.place.panel, finding.place.x_mm) == ("panel 2", 10)
    assert [spot.value for spot in finding.spots] == [60.0, 70.0]
    assert finding.area_mm2 == pytest.approx((600 + 50) / 4)
    assert finding.area_pct == pytest.approx(100 * 650 / 6000)
    assert finding.sentence == (
        "Sky over the harbour, panel 2: 89.2 % of it is dark enough, 95 % must be; "
        "its largest pale patch goes up to L* 60, the limit is L* 40."
    )


def test_within_the_expected_error_is_unsure_and_beyond_it_passes():
    near = run(check(), sky_of(39.9))
    assert near.facts.verdict == UNSURE
    assert near.facts.error_L > 0
    assert "the prediction may be off by" in near.finding.sentence
    assert run(check(), sky_of(40 - near.facts.error_L - 0.1)).facts.verdict == PASS
    assert run(check(), sky_of(40 + near.facts.error_L + 0.1)).facts.verdict == FAIL


@pytest.mark.parametrize("inks", [5, 6, 8])
def test_from_six_inks_on_the_table_errs_too(inks):
    """The greatest error that the table states comes on top of the model's."""
    condition = press()
    while len(condition.inks) < inks:
        condition = condition.double_hit(condition.inks[len(condition.inks) - 5].name)
    result = run(check(condition), sky_of(30.0))
    model = float(condition.expected_error(np.array(result.outcome.involved_pct)).L)
    table = STATED_ERROR_L[inks] if inks > 5 else 0.0
    assert result.outcome.error_L == pytest.approx(model + table)
    between = 40 - model - table / 2 - 1e-3
    verdict = run(check(condition), sky_of(between)).facts.verdict
    assert verdict == (PASS if inks == 5 else UNSURE)


def test_nothing_rests_on_a_screen_colour():
    condition = press_with_hint()
    planes = np.full((2, SHEET.height_px, SHEET.width_px), 200, np.uint8)
    result = run(check(condition), sky_of(5.0), planes=planes)
    assert result.facts.verdict == UNSURE
    assert "Rowan is known only by a screen colour" in result.finding.sentence
    planes[1] = 0
    assert run(check(condition), sky_of(5.0), planes=planes).facts.verdict == PASS
    lost = run(check(condition), sky_of(90.0), planes=planes)
    assert lost.facts.verdict == FAIL


def test_a_guessed_ink_anywhere_in_the_area_keeps_it_from_passing():
    """What decides is dark enough without it; but the print of the rest is a guess."""
    condition = press_with_hint()
    lightness = sky_of(5.0)
    lightness[20:50, 100:200] = 2.0  # half of the sky, darker than what decides
    planes = np.full((2, SHEET.height_px, SHEET.width_px), 200, np.uint8)
    planes[1] = 0
    planes[1, 20:50, 100:200] = 200
    result = run(check(condition), lightness, planes=planes)
    assert result.outcome.value_L == 5.0
    assert result.facts.verdict == UNSURE
    assert "nothing can be promised" in result.finding.sentence


@pytest.mark.parametrize(("tint", "verdict"), [(2, PASS), (3, UNSURE), (13, UNSURE)])
def test_a_guessed_ink_counts_from_one_percent_on(tint, verdict):
    """2 of 255 are 0.8 %, less than that is haze (common practice)."""
    planes = np.full((2, SHEET.height_px, SHEET.width_px), 200, np.uint8)
    planes[1] = tint
    result = run(check(press_with_hint()), sky_of(5.0), planes=planes)
    assert result.facts.verdict == verdict


def test_the_sentence_of_what_cannot_be_called_names_value_density_and_error():
    result = run(check(), sky_of(39.9))
    facts = result.facts
    assert result.finding.sentence == (
        "Sky over the harbour: 100 % of it is dark enough, 95 % must be; 95 % of it reaches "
        f"L* 39.9, density {facts.value_density:.2f} above paper, the limit is L* 40; too close to "
        f"call: the prediction may be off by L* {facts.error_L:.1f} either way."
    )
    assert facts.error_L < 10


def test_pixels_just_at_the_limit_are_dark_enough():
    lightness = sky_of(40.0)
    lightness[20:40, 100:200] = 60.0
    result = run(check(), lightness)
    assert result.facts.reached_pct == pytest.approx(100 * 2 / 3)
    assert result.finding.area_mm2 == pytest.approx(20 * 100 / 4)
    assert len(result.finding.spots) == 1


def test_a_share_is_of_whole_pixels_and_never_fewer_than_demanded():
    lightness = sky_of(30.0)
    lightness[20, 100:103] = 50.0  # 3 pixels of 6000, 0.05 %
    for share_pct, value in ((99.95, 30.0), (99.96, 50.0), (100.0, 50.0)):
        facts = run(check(share_pct=share_pct), lightness).facts
        assert (facts.value_L, facts.share_pct) == (value, share_pct)
    assert "more than 99.9 % of it is dark enough" in run(check(), lightness).finding.sentence


def test_median_and_darkest_are_those_of_the_area():
    lightness = sky_of(90.0)
    lightness[SKY] = 30.0
    lightness[20:52, 100:200] = 35.0  # 3200 of 6000 pixels
    lightness[20, 100] = 10.0
    facts = run(check(), lightness).facts
    assert (facts.darkest_L, facts.median_L, facts.value_L) == (10.0, 35.0, 35.0)


def test_the_five_largest_patches_are_shown_and_all_are_counted():
    lightness = sky_of(30.0)
    for k in range(7):  # the smallest are the palest
        lightness[22 + 8 * k : 25 + 8 * k, 110 : 120 + k] = 80.0 - k
    lightness[78, 199] = 99.0  # a speck of a quarter of a square millimetre
    finding = run(check(share_pct=100.0), lightness).finding
    assert [spot.value for spot in finding.spots] == [74.0, 75.0, 76.0, 77.0, 78.0]
    pixels = sum(3 * (10 + k) for k in range(7)) + 1
    assert finding.area_mm2 == pytest.approx(pixels / 4)
    assert finding.area_pct == pytest.approx(100 * pixels / 6000)
    assert "its largest pale patch goes up to L* 74," in finding.sentence


@pytest.mark.parametrize("count", [_compiled, _plain])
def test_a_pixel_as_light_as_the_limit_is_not_too_light(count):
    """By hand: of levels 99, 100, 101 and 102, the last outside the mask, one exceeds 100."""
    if count is _compiled and not are_compiled():
        pytest.skip("nothing is compiled here")
    levels = np.array([[99, 100, 101, 102]], np.int16)
    marked = np.array([[True, True, True, False]])
    counted = count(np.zeros((2, 1, 4), np.uint8), levels, marked, 100)
    assert counted.too_light_px == 1
    assert (counted.rows, counted.cols) == (slice(0, 1), slice(0, 3))


def test_without_a_limit_the_depth_is_said():
    result = run(check(lightest_L=None), sky_of(33.0))
    assert (result.facts.verdict, result.facts.reached_pct) == (NO_LIMIT, None)
    assert result.finding.sentence.startswith("Sky over the harbour: 95 % of it reaches L* 33,")
    assert result.finding.area_mm2 == 0


def test_density_is_above_the_paper():
    result = run(check(lightest_L=None), sky_of(33.0))
    paper_Y = press().paper.xyz100[1]
    # L* 33 has Y 7.5421 after CIE 15: ((33 + 16) / 116)**3
    assert result.facts.value_density == pytest.approx(np.log10(paper_Y / 7.5370), abs=2e-3)


def test_an_empty_mask_is_not_checked():
    result = run(check(), sky_of(20.0), marked=np.zeros_like(mask()))
    assert result.facts.verdict == NOT_CHECKED
    assert (result.facts.value_L, result.finding.place, result.box) == (None, None, None)


def test_the_height_of_the_windows_changes_nothing():
    rng = np.random.default_rng(9)
    lightness = rng.uniform(0, 100, (SHEET.height_px, SHEET.width_px))
    planes = rng.integers(0, 256, (5, *lightness.shape)).astype(np.uint8)
    whole = run(check(), lightness, planes=planes, height=120)
    assert whole.box == SKY
    for height in (1, 13, 50):
        part = run(check(), lightness, planes=planes, height=height)
        assert (part.facts, part.finding, part.outcome) == (
            whole.facts,
            whole.finding,
            whole.outcome,
        )


def test_a_share_just_under_what_is_demanded_does_not_read_like_it():
    lightness = sky_of(20.0)
    lightness[40:60, 120:135] = 60.0
    lightness[60, 120] = 60.0  # 301 of 6,000 pixels: 94.983 % are dark
    finding = run(check(), lightness).finding
    assert finding.verdict == FAIL
    assert "94.98 % of it is dark enough, 95 % must be" in finding.sentence
