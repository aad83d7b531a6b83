"""The tone finder: where named tones are, in pictures drawn here; windows change nothing."""

import math
from dataclasses import replace

import numpy as np
import pytest

from inkmix.base import loops
from inkmix.checks.tones.facts import ToneFacts
from inkmix.checks.tones.finder import ToneFinder
from inkmix.checks.tones.near import NEAR_DE00, lab_of_srgb8, labels_of, place_in, within_de00
from inkmix.checks.tones.points import SPACING_MM, grid_of
from inkmix.checks.tones.words import within_words
from inkmix.checks.window import CheckedWindow
from inkmix.colour.colorimetry import delta_e00, srgb1_to_xyz100, xyz100_to_lab
from inkmix.sheet.geometry import Sheet, panels_in_a_row

PAPER, CORAL, SEA = (244, 240, 230), (226, 110, 92), (60, 96, 140)
INKS = ("Rowan", "Fjord")
MIXED = ("Rowan", "Fjord", "Fog")  # any amounts, others for each colour
PPI = 254.0  # ten pixels a millimetre
WIDTH, HEIGHT = 800, 600


def tone(name, srgb8, *, tolerance=None, intended=None) -> ToneFacts:
    return ToneFacts(
        name=name, verdict="pass", mix_pct=dict(zip(MIXED, srgb8, strict=True)), intended="",
        intended_lab=intended,
        intended_srgb8=None, predicted_lab=lab_of_srgb8(srgb8), predicted_srgb8=srgb8,
        out_of_srgb=False, total_ink_pct=0.0, de00=None, tolerance_de00=tolerance, error_de00=1.0,
    )  # fmt: skip


def sheet(**other) -> Sheet:
    return Sheet(width_px=WIDTH, height_px=HEIGHT, ppi=PPI, **other)


def finder(*tones, on=None, paper=PAPER) -> ToneFinder:
    return ToneFinder(
        facts=tones, inks=INKS, labels=labels_of(tones, lab_of_srgb8(paper)),
        sheet=on or sheet(), min_area_mm2=1.0,
    )  # fmt: skip


def picture(*fields) -> np.ndarray:
    """Bare paper with fields of (rows, cols, colour)."""
    srgb8 = np.full((HEIGHT, WIDTH, 3), PAPER, np.uint8)
    for rows, cols, colour in fields:
        srgb8[rows, cols] = colour
    return srgb8


def window(srgb8, rows=slice(0, HEIGHT), cols=slice(0, WIDTH), planes=None) -> CheckedWindow:
    planes = inked(srgb8) if planes is None else planes
    return CheckedWindow(
        rows=rows, cols=cols, planes=planes[:, rows, cols], srgb8=srgb8[rows, cols],
        lightness=np.zeros(srgb8[rows, cols].shape[:2], np.int16),
    )  # fmt: skip


def inked(srgb8) -> np.ndarray:
    """Plates that go with a picture in some way: what matters is that pixels differ."""
    return np.ascontiguousarray(np.moveaxis(255 - srgb8[..., :2], -1, 0))


def found(checker, srgb8):
    return checker.finish(checker.part(window(srgb8)))


def test_a_tone_is_found_where_it_was_drawn_with_its_share_and_colour():
    checker = finder(tone("coral", CORAL, intended=lab_of_srgb8((216, 110, 92))), tone("sea", SEA))
    use, other = found(checker, picture((slice(100, 200), slice(300, 600), CORAL))).uses
    assert use.area_pct == pytest.approx(100 * 100 * 300 / (WIDTH * HEIGHT), rel=0.05)
    assert use.area_mm2 == pytest.approx(300, rel=0.05)  # 10 x 30 mm
    assert use.areas == 1
    (place,) = use.places
    side_mm = checker.grid.side / 10
    assert place.x_mm == pytest.approx(30, abs=side_mm)
    assert place.y_mm == pytest.approx(10, abs=side_mm)
    assert place.width_mm == pytest.approx(30, abs=2 * side_mm)
    assert use.srgb8 == CORAL
    assert use.from_mix_de00 == pytest.approx(0, abs=0.01)
    away = delta_e00(lab_of_srgb8((216, 110, 92)), lab_of_srgb8(CORAL))
    assert use.from_intended_de00 == pytest.approx(float(away), abs=0.01)
    tones = {"Rowan": 100 * (255 - CORAL[0]) / 255, "Fjord": 100 * (255 - CORAL[1]) / 255}
    assert use.mean_tone_pct == pytest.approx(tones)
    assert not other.is_used
    assert (other.area_mm2, other.lab, other.picture) == (0.0, None, None)


def test_the_largest_places_come_first_on_the_panels_that_they_cover():
    strip = sheet(panels=panels_in_a_row(2, width_mm=40, height_mm=60))
    fields = [
        (slice(20, 60), slice(20, 60), CORAL),
        (slice(300, 400), slice(500, 700), CORAL),
        (slice(20, 23), slice(700, 702), CORAL),  # a speck of 0.06 mm²
    ]
    (use,) = found(finder(tone("coral", CORAL), on=strip), picture(*fields)).uses
    assert use.areas == 2
    assert [place.panel for place in use.places] == ["panel 2", "panel 1"]


def test_a_colour_between_two_tones_counts_for_the_nearer():
    near, far = (
        tone("near", (200, 100, 90), tolerance=20),
        tone("far", (200, 120, 90), tolerance=20),
    )
    between = (200, 108, 90)
    assert delta_e00(lab_of_srgb8(between), near.predicted_lab) < delta_e00(
        lab_of_srgb8(between), far.predicted_lab
    )
    drawn = picture((slice(0, 100), slice(0, 100), between))
    for order in ((near, far), (far, near)):
        used = [use.name for use in found(finder(*order), drawn).uses if use.is_used]
        assert used == ["near"]


def test_of_tones_with_one_mix_the_first_has_all_and_the_others_say_so():
    """Even where a later one counts what is farther from its mix."""
    coral = tone("coral", CORAL)
    again = replace(tone("rose", CORAL, tolerance=15), mix_pct={**coral.mix_pct, "Brass": 0.0})
    tones = coral, tone("sea", SEA), again
    paler = tuple(round(0.75 * one + 0.25 * paper) for one, paper in zip(CORAL, PAPER, strict=True))
    drawn = picture((slice(0, 100), slice(0, 300), CORAL), (slice(100, 200), slice(0, 300), paler))
    assert NEAR_DE00 < delta_e00(lab_of_srgb8(paler), coral.predicted_lab) < 15
    uses = found(finder(*tones), drawn).uses
    assert [use.same_mix_as for use in uses] == ["", "", "coral"]
    assert [use.is_used for use in uses] == [True, False, False]
    assert within_words(uses) == "within dE00 5 of its mix"


def test_bare_paper_is_no_use_of_a_tone_close_to_it():
    mist = tone("mist", (236, 233, 226))
    assert delta_e00(mist.predicted_lab, lab_of_srgb8(PAPER)) < NEAR_DE00
    assert not found(finder(mist), picture()).uses[0].is_used
    drawn = picture((slice(0, 200), slice(0, 200), (236, 233, 226)))
    (use,) = found(finder(mist), drawn).uses
    assert use.area_pct == pytest.approx(100 * 200 * 200 / (WIDTH * HEIGHT), rel=0.05)


def test_a_neighbourhood_is_as_wide_as_the_tolerance_and_never_narrower_than_stated():
    assert within_de00(tone("coral", CORAL, tolerance=2.0)) == NEAR_DE00
    assert within_de00(tone("coral", CORAL, tolerance=9.0)) == 9.0
    assert within_de00(tone("coral", CORAL)) == NEAR_DE00
    grey = (118, 118, 118)
    lighter = (140, 140, 140)
    away = float(delta_e00(lab_of_srgb8(grey), lab_of_srgb8(lighter)))
    drawn = picture((slice(0, 100), slice(0, 100), lighter))
    for tolerance, is_used in ((away - 1.5, False), (away + 1.5, True)):
        checker = finder(tone("grey", grey, tolerance=tolerance))
        assert found(checker, drawn).uses[0].is_used == is_used


def test_the_table_agrees_with_the_formula_but_for_its_coarseness():
    """Random colours (seeded) beside dE00 one by one; near an edge they may differ."""
    rng = np.random.default_rng(5)
    tones = [tone(str(k), tuple(rng.integers(20, 236, 3).tolist())) for k in range(6)]
    labels = labels_of(tones, lab_of_srgb8(PAPER))
    base = np.array([one.predicted_srgb8 for one in tones])[rng.integers(0, 6, 4000)]
    colours = np.clip(base + rng.integers(-30, 31, base.shape), 0, 255).astype(np.uint8)
    lab = np.array([lab_of_srgb8(colour) for colour in colours])
    away = np.stack([delta_e00(lab, one.predicted_lab) for one in tones])
    best = np.sort(away, axis=0)
    expected = np.where(best[0] <= NEAR_DE00, away.argmin(axis=0) + 1, 0)
    moved = delta_e00(lab, np.array([lab_of_srgb8(colour) for colour in colours // 4 * 4 + 1.5]))
    assert moved.mean() < 0.7
    is_clear = (np.abs(best[0] - NEAR_DE00) > 1.2 * moved) & (best[1] - best[0] > 2.4 * moved)
    assert is_clear.sum() > 2000
    assert (labels[place_in(colours)] == expected)[is_clear].all()


@pytest.mark.parametrize("colour", [(0, 40, 200), (119, 119, 119), (250, 200, 10), (30, 20, 60)])
def test_the_table_misses_no_colour_near_a_tone(colour):
    """Beside CIEDE2000 of every place of it, in the blues where it is turned and elsewhere."""
    level = np.arange(64) * 4 + 1.5
    places = np.stack(np.meshgrid(level, level, level, indexing="ij"), axis=-1).reshape(-1, 3)
    lab = xyz100_to_lab(srgb1_to_xyz100(places / 255))
    labels = labels_of([tone("one", colour, tolerance=12.0)], lab_of_srgb8(PAPER))
    away, to_paper = (delta_e00(lab, lab_of_srgb8(other)) for other in (colour, PAPER))
    is_near = (away <= 12.0) & (away <= to_paper)
    assert is_near.sum() > 500
    assert ((labels == 1) == is_near).all()


BARN, RIM = (150, 50, 40), (175, 70, 62)
"""The second is dE00 7.4 off the first: at the rim of a wide neighbourhood."""


@pytest.mark.parametrize(
    ("tolerance", "rows", "colour", "is_used"),
    [
        (9.0, slice(0, 90), RIM, True),
        (9.0, slice(0, 200), RIM, False),  # a third of the sheet is of another colour
        (9.0, slice(0, 200), BARN, True),  # and it may be of this one
        (9.0, slice(0, 140), RIM, True),  # not quite a quarter
    ],
)
def test_a_wide_tolerance_takes_no_large_part_of_a_sheet(tolerance, rows, colour, is_used):
    assert 5.5 < delta_e00(lab_of_srgb8(BARN), lab_of_srgb8(RIM)) < 8.5
    checker = finder(tone("barn red", BARN, tolerance=tolerance))
    result = found(checker, picture((rows, slice(0, WIDTH), colour)))
    assert result.uses[0].is_used is is_used
    assert bool(result.cells) is is_used


def test_what_is_outside_the_neighbourhood_on_average_is_no_use_of_it():
    """Means in light may lie beyond the rim; here the mix is moved away from what was searched."""
    lab = lab_of_srgb8(BARN)
    one = tone("barn red", BARN, tolerance=8.0)
    near = replace(one, predicted_lab=(lab[0], lab[1], lab[2] + 20))
    checker = replace(finder(one), facts=(near,))
    assert delta_e00(near.predicted_lab, lab) > 8
    result = found(checker, picture((slice(0, 90), slice(0, 90), BARN)))
    assert not result.uses[0].is_used
    assert not result.cells


def test_a_mix_outside_srgb_is_compared_with_what_a_screen_can_show():
    """Its pixels are cut as it is; without that it would seem 6 off where nothing is."""
    cut = (0, 150, 160)
    lab = (lab_of_srgb8(cut)[0], lab_of_srgb8(cut)[1] - 15, lab_of_srgb8(cut)[2])
    vivid = replace(tone("vivid", cut), predicted_lab=lab, out_of_srgb=True, intended_lab=lab)
    assert delta_e00(lab, lab_of_srgb8(cut)) > 3
    (use,) = found(finder(vivid), picture((slice(0, 90), slice(0, 90), cut))).uses
    assert use.out_of_srgb
    assert use.from_mix_de00 == pytest.approx(0, abs=0.01)
    assert use.from_intended_de00 == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("size", [(600, 97), (53, 800), (61, 97), (1, 800)])
def test_windows_of_any_size_find_the_same(size):
    rng = np.random.default_rng(3)
    srgb8 = picture((slice(50, 333), slice(61, 500), CORAL), (slice(340, 590), slice(0, 777), SEA))
    srgb8 = np.clip(srgb8 + rng.integers(-12, 13, srgb8.shape), 0, 255).astype(np.uint8)
    checker = finder(tone("coral", CORAL), tone("sea", SEA))
    whole = checker.start()
    for top in range(0, HEIGHT, size[0]):
        band = checker.start()
        for left in range(0, WIDTH, size[1]):
            rows = slice(top, min(top + size[0], HEIGHT))
            cols = slice(left, min(left + size[1], WIDTH))
            band = checker.merge(band, checker.part(window(srgb8, rows, cols)))
        whole = checker.merge(whole, band)
    expected = found(checker, srgb8)
    assert checker.finish(whole).uses == expected.uses
    assert all(use.is_used for use in expected.uses)
    for key, cells in checker.finish(whole).cells.items():
        np.testing.assert_array_equal(cells, expected.cells[key])


@pytest.mark.skipif(not loops.are_compiled(), reason="nothing is compiled here")
@pytest.mark.parametrize("full", [np.uint8, np.uint16])
def test_compiled_and_plain_points_are_the_same(monkeypatch, full):
    rng = np.random.default_rng(8)
    srgb8 = rng.integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
    planes = rng.integers(0, np.iinfo(full).max + 1, (2, HEIGHT, WIDTH), dtype=full)
    checker = finder(tone("coral", CORAL, tolerance=30), tone("sea", SEA, tolerance=30))
    part = window(srgb8, slice(101, 400), slice(7, 800), planes)
    compiled = checker.part(part)
    monkeypatch.setattr("inkmix.checks.tones.points.are_compiled", lambda: False)
    plain = checker.part(part)
    np.testing.assert_array_equal(compiled.sums, plain.sums)
    np.testing.assert_array_equal(compiled.cells, plain.cells)
    assert compiled.sums.sum() > 0


@pytest.mark.parametrize("ppi", [30.0, 72.0, 300.0, 1200.0])
def test_points_lie_as_close_as_is_stated_and_cells_are_few(ppi):
    grid = grid_of(Sheet(width_px=20400, height_px=8480, ppi=ppi))
    assert grid.step == max(1, round(SPACING_MM * ppi / 25.4))
    assert grid.side % grid.step == 0
    assert math.prod(grid.shape) <= 1 << 16
    points = grid.points_in()
    assert points.shape == grid.shape
    assert points.sum() == math.ceil(20400 / grid.step) * math.ceil(8480 / grid.step)
