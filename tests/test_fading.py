"""Where a correction ends: at borders and lights, to the pixel; and what it makes of a pixel."""

from dataclasses import replace
from functools import partial
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
from drawn_nights import SHEET, NightJob, demo_colouring, drawn
from scipy.ndimage import binary_dilation, binary_erosion

from inkmix.checks.mending.acting import Acting, Glow, glow_of
from inkmix.checks.mending.cells import Cells, cells_over
from inkmix.checks.mending.curve import ToneCurve, lifted
from inkmix.checks.mending.evened import Evened, evened
from inkmix.checks.mending.fading import Border, Fading
from inkmix.checks.mending.gentlest import Night, _fading, farthest_px
from inkmix.checks.mending.lights import Light, Lights
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.mending.strength import Strengths
from inkmix.checks.mending.view import AreaSource, view_of
from inkmix.press.table.lookup import LIGHTNESS_SCALE

FADING, ALONG_PX = Fading(border_px=20.0, outside=0.25), 5.0


def area_of_half(step_L: float) -> tuple[np.ndarray, np.ndarray]:
    """Cells of the left half, and colours (40, 80, 3) that step by so much at its border."""
    inside = np.zeros((40, 80), np.bool_)
    inside[:, :40] = True
    lab = np.zeros((40, 80, 3))
    lab[..., 0] = np.where(inside, 30.0, 30.0 + step_L)
    return inside, lab


def test_where_the_drawing_goes_on_a_correction_fades_over_a_distance():
    """Over 20 pixels, 5 of them beyond the border."""
    inside, lab = area_of_half(0.0)
    border = Border(inside, inside, lab, factor=1)
    soft = border.weights(FADING)
    assert (soft[:, :20] == 1).all()
    assert (soft[:, 26:37] < 1).all()
    assert (soft[:, 40:44] > 0).all()
    assert (soft[:, 45:] == 0).all()
    assert (border.edge(ALONG_PX, NONE) == 0).all()


@pytest.mark.parametrize("px_per_mm", [2.0, 12.0])
def test_no_correction_reaches_further_than_whoever_looks_at_it(px_per_mm):
    """A pale sky over a pale ground asks for more room than there is."""
    farthest = farthest_px(px_per_mm)
    inside = np.zeros((4, 400), np.bool_)
    inside[:, :100] = True
    border = Border(inside, inside, np.zeros((4, 400, 3)), factor=1)
    weights = border.weights(_fading(300.0, 1.0, 1.0, px_per_mm))
    assert weights[0, 99] > 0
    assert (weights[:, 100 + int(farthest) :] == 0).all()
    assert np.abs(np.diff(weights[0])).max() < 0.01


def test_a_border_along_something_drawn_is_an_edge_and_ends_as_slowly_as_a_correction_fades():
    """The upper half of the border is drawn; of the lower one, what is near to that."""
    inside, lab = area_of_half(30.0)
    lab[20:, :, 0] = 30
    share = Border(inside, inside, lab, factor=1).edge(ALONG_PX, NONE)
    assert share[:8, 38:42].min() > 0.95
    assert 0.2 < share[23, 40] < 0.8
    assert (np.abs(np.diff(share[20:, 40])) < 0.1).all()
    assert share[39, 40] < 0.1


def test_a_light_that_the_border_cuts_is_a_drawn_edge():
    inside, lab = area_of_half(0.0)
    moon = np.hypot(*(np.mgrid[:40, :80] - np.array([20, 40])[:, None, None])) < 6
    share = Border(inside, inside, lab, factor=1).edge(ALONG_PX, moon & inside)
    assert share[18:22, 39:41].min() > 0.5
    assert share[0, 40] < 0.3


def test_where_all_of_the_border_is_drawn_nothing_fades():
    """The plates are bare around the night; then the same night goes on over its border."""
    inside, lab = area_of_half(30.0)
    assert not Border(inside, inside, lab, factor=1).soft.any()
    assert Border(inside, inside, 0 * lab, factor=1).soft.any()
    drawing = drawn("moon, calm", 2000)
    cut = replace(drawing, planes=drawing.planes * drawing.mask)
    (remedy,), (soft,) = (NightJob(drawing=one).remedies() for one in (cut, drawing))
    assert (remedy.correction.fade_px, remedy.fade_mm) == (None, None)
    assert soft.fade_mm > 0


NO_GRAIN = {"evened": lambda: None, "texture_L": 7.0}
NONE = np.zeros((40, 80), np.bool_)


def moon_at_a_border(*, from_L: float = 40.0, level_L: float = 80.0) -> tuple[Lights, np.ndarray]:
    """A moon, half of which lies in the left half of the cells (40, 80)."""
    inside, _ = area_of_half(0.0)
    moon = inside & (np.hypot(*(np.mgrid[:40, :80] - np.array([20, 40])[:, None, None])) < 12)
    lights = Lights(
        cells=moon,
        going_cells=NONE,
        from_L=np.where(moon, from_L, 0),
        level_L=np.where(moon, level_L, 0),
        kept=(Light(rows=slice(9, 32), cols=slice(29, 40), pixels=300, stands_out_L=50.0),),
        lost=(),
    )
    return lights, inside


def no_glow(shape: tuple[int, int]) -> Glow:
    far = np.full(shape, 1000, np.float32)
    return Glow(from_L=far, whole_L=far, is_large=np.zeros(shape, np.bool_), texture_L=7.0)


def acting_on(cells: Cells, border: np.ndarray, glow: Glow) -> Acting:
    """Whatever the lightness, as `border` and lights say."""
    ones = np.ones(cells.shape, np.float32)
    return Acting(
        cells=cells,
        evened=Evened(cells=cells, follows=ones, level_L=0 * ones),
        strengths=Strengths(weights=np.ones(6401, np.float32)),
        glow=glow,
        border=border.astype(np.float32),
        edge=0 * ones,
    )


def test_of_a_moon_that_the_border_cuts_no_byte_changes_on_the_other_side():
    """Something else there that is as pale gets what the border says."""
    lights, inside = moon_at_a_border()
    cells = Cells(rows=slice(0, 40), cols=slice(0, 80), factor=1)
    moon = np.hypot(*(np.mgrid[:40, :80] - np.array([20, 40])[:, None, None])) < 12
    fox = np.zeros_like(moon)
    fox[:, 60:70] = True
    pixel_L = np.where(moon | fox, 80, 35).astype(np.float32)
    glow = glow_of(lights, inside, pixel_L, lightest_L=30.0, **NO_GRAIN)
    weights = acting_on(cells, np.ones(cells.shape), glow).at_pixels(
        pixel_L, inside, cells.rows, cells.cols
    )
    assert (weights[moon] == 0).all()
    assert (weights[~moon] == 1).all()


@pytest.mark.parametrize(
    ("from_L", "level_L", "whole_L"),
    [(40.0, 50.0, 45.0), (40.0, 80.0, 50.0), (30.0, 80.0, 30.0)],
)
def test_a_light_rises_over_what_the_sky_falls_or_halfway_whichever_is_less(
    from_L, level_L, whole_L
):
    """The sky comes down to L* 30."""
    lights, inside = moon_at_a_border(from_L=from_L, level_L=level_L)
    glow = glow_of(lights, inside, np.full(inside.shape, 35.0), lightest_L=30.0, **NO_GRAIN)
    assert (glow.from_L[lights.cells] == from_L).all()
    assert (glow.whole_L[lights.cells] == whole_L).all()


@pytest.mark.parametrize("factor", [1, 3, 4])
def test_no_small_window_with_a_weight_is_told_idle(factor):
    """One cell alone acts; between the middles of cells its weight falls along a line."""
    cells = Cells(rows=slice(5, 29), cols=slice(2, 26), factor=factor)
    for row, col in ((0, 0), (2, 3), (cells.shape[0] - 1, cells.shape[1] - 1)):
        border = np.zeros(cells.shape)
        border[row, col] = 1
        acting = acting_on(cells, border, no_glow(cells.shape))
        for top, left in product(range(34), repeat=2):
            rows, cols = slice(top, top + 1), slice(left, left + 1)
            if cells.to_pixels(acting.border, rows, cols).any():
                assert not acting.is_idle(rows, cols)
        assert acting.is_idle(slice(40, 45), slice(40, 45))


def test_the_edge_of_the_sheet_is_no_border_that_a_night_keeps_off():
    whole = np.ones((6, 8), np.bool_)
    whole[4:, 5:] = False
    is_deep = Night(SimpleNamespace(whole=whole), None, lightest_L=30, px_per_mm=4).is_deep
    assert is_deep[0].all()
    assert is_deep[:, 0].all()
    assert not is_deep[3, 6]
    assert not is_deep[5, 4]


def test_what_a_curve_adds_is_rounded_to_the_nearest_step():
    """All steps by all weights, reckoned here in exact 256ths."""
    heights = (10.0, 35.0, 50.0, 60.0, 72.0, 80.0, 88.0, 95.0, 100.0)
    curve = ToneCurve(plate="Soot", heights_pct=heights)
    steps, weights = np.mgrid[0:256, 0:257].astype(np.int32)
    gain = curve.steps(255)[steps] - steps
    wanted = steps + np.floor(gain * weights / 256 + 0.5)
    assert gain.max() > 40
    np.testing.assert_array_equal(lifted(steps.astype(np.uint8), curve, weights), wanted)


@pytest.fixture(scope="module")
def coarse() -> tuple[NightJob, NightCorrection]:
    """A night before a figure, seen in cells of 3 pixels, as a large sheet is."""
    few = partial(cells_over, most=SHEET.width_px * SHEET.height_px // 8)
    job = NightJob(drawing=drawn("stars, figure cut by the mask", 2000))
    figure = job.drawing.planes[0] == round(0.05 * 255)
    job = replace(job, drawing=replace(job.drawing, mask=job.drawing.mask & ~figure))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("inkmix.checks.mending.view.cells_over", few)
        (remedy,) = job.remedies()
    assert remedy.correction.cells.factor >= 3
    return job, remedy.correction


def test_stars_stay_as_drawn_and_what_is_beside_them_does_not(coarse):
    """Within a cell of three pixels, too: no star stands in a pale square."""
    job, correction = coarse
    before, after = job.drawing.planes, job.after(correction).drawing.planes
    mask, bodies = job.drawing.mask, job.drawing.bodies
    inner = binary_erosion(mask, iterations=12)
    assert len(correction.lights.kept) > 25
    stays = (bodies & inner & binary_dilation(bodies, iterations=1)).nonzero()
    assert (after[:, *stays] == before[:, *stays]).all()
    beside = binary_dilation(bodies, iterations=4) & ~binary_dilation(bodies, iterations=2) & inner
    further = binary_dilation(bodies, iterations=9) & ~binary_dilation(bodies, iterations=6) & inner
    level = demo_colouring().lightness(after) / LIGHTNESS_SCALE
    assert np.mean(level[beside]) == pytest.approx(np.mean(level[further]), abs=0.5)


def test_beside_a_drawn_edge_one_pixel_stays_and_the_next_is_as_dark_as_the_sky(coarse):
    job, correction = coarse
    before, after = job.drawing.planes, job.after(correction).drawing.planes
    mask = job.drawing.mask
    by_figure = binary_dilation(job.drawing.planes[0] == round(0.05 * 255), iterations=2)
    first = mask & ~binary_erosion(mask) & by_figure
    second = binary_erosion(mask) & ~binary_erosion(mask, iterations=2) & by_figure
    assert first.sum() > 30
    gained = (after.astype(int) - before)[:, first].max(axis=0)
    assert np.median(gained) <= 1
    was, is_now = (demo_colouring().lightness(some) / LIGHTNESS_SCALE for some in (before, after))
    sky = binary_erosion(mask, iterations=12) & ~binary_dilation(job.drawing.bodies, iterations=4)
    assert np.mean((was - is_now)[second]) > 0.8 * np.mean((was - is_now)[sky]) > 2


def test_a_sheet_in_windows_becomes_what_it_becomes_as_a_whole(coarse):
    job, correction = coarse
    planes, whole = job.drawing.planes, job.after(correction).drawing.planes
    for rows in (slice(0, 71), slice(71, 72), slice(72, 200)):
        for cols in (slice(0, 97), slice(97, 280)):
            part = np.ascontiguousarray(planes[:, rows, cols])
            after = correction.applied(part, rows=rows, cols=cols)
            np.testing.assert_array_equal(after, whole[:, rows, cols])


def test_cells_of_many_pixels_hold_what_these_say():
    """Cells of 7 x 7, and smaller ones at the far edges; L* up to 93, so that sums are large."""
    rng = np.random.default_rng(8)
    planes = rng.integers(0, 256, (5, 40, 61)).astype(np.uint8)
    planes[:, :14, :14] = 0
    mask = rng.random((40, 61)) < 0.7
    source = AreaSource(
        read=lambda rows, cols: planes[:, rows, cols],
        lightness=demo_colouring().lightness,
        mask=lambda rows, cols: mask[rows, cols],
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("inkmix.checks.mending.view.cells_over", partial(cells_over, most=60))
        view = view_of(source, slice(0, 40), slice(0, 61), lightest_L=40.0)
    assert view.cells.factor == 7
    level = demo_colouring().lightness(planes).astype(np.int64)
    for row, col in product(range(6), range(9)):
        at = np.s_[7 * row : 7 * row + 7, 7 * col : 7 * col + 7]
        inside, pixel_L = mask[at], level[at] / LIGHTNESS_SCALE
        assert view.mean_L[row, col] == pytest.approx(pixel_L.mean())
        assert view.square_L[row, col] == pytest.approx((pixel_L**2).mean())
        assert view.peak_L[row, col] == pixel_L[inside].max()
        assert view.inside_px[row, col] == inside.sum()
        assert view.over_px[row, col] == (inside & (pixel_L > 40.0)).sum()
        means = planes[:, *at].reshape(5, -1).mean(axis=1)
        assert (np.abs(view.planes[:, row, col] - means) <= 0.5).all()


def test_a_glow_ends_smoothly_whatever_its_grain():
    """A moon with a glow in a grainy sky: where the glow ends, pixels of a ring act alike."""
    rng = np.random.default_rng(4)
    rows, cols = np.mgrid[:260, :260]
    away = np.hypot(rows - 130, cols - 130)
    even_L = 36 + 44 * np.clip(1.2 - away / 100, 0, 1)
    pixel_L = (even_L + rng.normal(0, 2, even_L.shape)).astype(np.float32)
    cells = cells_over(slice(0, 260), slice(0, 260))
    light = away < 110
    lights = Lights(
        cells=light,
        going_cells=~light & False,
        from_L=np.where(light, 46.0, 0),
        level_L=np.where(light, 76.0, 0),
        kept=(Light(rows=slice(20, 241), cols=slice(20, 241), pixels=38000, stands_out_L=40.0),),
        lost=(),
    )
    inside = np.ones(light.shape, np.bool_)
    glow = glow_of(
        lights,
        inside,
        pixel_L,
        lightest_L=34.0,
        texture_L=7.0,
        evened=lambda: evened(
            cells, pixel_L, pixel_L**2, counted=np.ones(light.shape), around_px=6.0, texture_L=7.0
        ),
    )
    weights = acting_on(cells, np.ones(cells.shape), glow).at_pixels(
        pixel_L, inside, cells.rows, cells.cols
    )
    by_pixel = acting_on(cells, np.ones(cells.shape), replace(glow, evened=None)).at_pixels(
        pixel_L, inside, cells.rows, cells.cols
    )
    ring = (away > 82) & (away < 85)
    assert (weights[away < 50] == 0).all()
    assert weights[ring].std() < 0.5 * by_pixel[ring].std()
