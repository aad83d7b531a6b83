"""How strongly a correction acts: at borders, around lights, and what that makes of a pixel."""

from functools import partial

import numpy as np
from drawn_nights import COLS, ROWS, SHEET, NightJob, demo_colouring, drawn

from inkmix.checks.mending.cells import cells_over
from inkmix.checks.mending.curve import ToneCurve
from inkmix.checks.mending.fading import Border, Fading
from inkmix.checks.mending.night import lifted
from inkmix.press.table.lookup import LIGHTNESS_SCALE

FADING = Fading(border_px=20.0, outside=0.25, lights_px=4.0)


def area_of_half(step_L: float) -> tuple[np.ndarray, np.ndarray]:
    """Cells of the left half, and colours (40, 80, 3) that step by so much at its border."""
    inside = np.zeros((40, 80), np.bool_)
    inside[:, :40] = True
    lab = np.zeros((40, 80, 3))
    lab[..., 0] = np.where(inside, 30.0, 30.0 + step_L)
    return inside, lab


def test_at_a_drawn_edge_a_correction_is_whole_within_three_cells_and_none_is_beyond():
    """Where the drawing goes on it fades over 20 pixels and 5 of them beyond."""
    for factor in (1, 3):
        inside, lab = area_of_half(30.0)
        sharp = Border(inside, inside, lab, factor=factor).weights(FADING, inside.shape)
        assert (sharp[:, :37] == 1).all()
        assert (sharp[:, 40:] == 0).all()
    inside, lab = area_of_half(0.0)
    soft = Border(inside, inside, lab, factor=1).weights(FADING, inside.shape)
    assert (soft[:, :20] == 1).all()
    assert (soft[:, 26:37] < 1).all()
    assert (soft[:, 40:44] > 0).all()


def test_what_a_curve_adds_is_rounded_to_the_nearest_step():
    """All steps by all weights, reckoned here in exact 256ths."""
    heights = (10.0, 35.0, 50.0, 60.0, 72.0, 80.0, 88.0, 95.0, 100.0)
    curve = ToneCurve(plate="Soot", heights_pct=heights)
    steps, weights = np.mgrid[0:256, 0:257].astype(np.int32)
    gain = curve.steps(255)[steps] - steps
    wanted = steps + np.floor(gain * weights / 256 + 0.5)
    assert gain.max() > 40
    np.testing.assert_array_equal(lifted(steps.astype(np.uint8), curve, weights), wanted)


def test_lights_stay_as_drawn_where_a_cell_is_several_pixels(monkeypatch):
    """Between the middles of cells weights go on a straight line: no part of a light gets any."""
    few = partial(cells_over, most=SHEET.width_px * SHEET.height_px // 9)
    monkeypatch.setattr("inkmix.checks.mending.view.cells_over", few)
    job = NightJob(drawing=drawn("moon, calm", 2000))
    (remedy,) = job.remedies()
    correction = remedy.correction
    assert correction.cells.factor >= 3
    at_light = pixels_of(correction, correction.lights.cells)
    before, after = job.drawing.planes, job.after(correction).drawing.planes
    too_light = demo_colouring().lightness(before) > job.lightest_L * LIGHTNESS_SCALE
    light = at_light & too_light & job.drawing.mask
    assert light.sum() > 200  # a moon of 9 pixels' radius or more
    assert (after[:, light] == before[:, light]).all()
    assert (after != before).any()


def pixels_of(correction, cells: np.ndarray) -> np.ndarray:
    """The pixels of cells."""
    part = correction.cells
    fine = np.repeat(np.repeat(cells, part.factor, axis=0), part.factor, axis=1)
    pixels = np.zeros((ROWS.stop, COLS.stop), np.bool_)
    height, width = part.rows.stop - part.rows.start, part.cols.stop - part.cols.start
    pixels[part.rows, part.cols] = fine[:height, :width]
    return pixels
