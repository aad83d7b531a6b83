"""The search of curves for a night: what it remembers and reckons at once changes nothing."""

import numpy as np
import pytest
from drawn_nights import ALLOWED_L, INK_LIMIT_PCT, INKS, KINDS, Drawing, demo_colouring, drawn

from inkmix.checks.mending import search as searching
from inkmix.checks.mending.curve import ToneCurve
from inkmix.checks.mending.search import NightGoal, Sample, find_curves
from inkmix.checks.window import full_scale
from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab
from inkmix.press.table.lookup import LIGHTNESS_SCALE

GOAL = NightGoal(lightest_L=ALLOWED_L - 5, share=0.97, ink_limit_pct=INK_LIMIT_PCT)
DARK = tuple((number, INKS[number]) for number in range(3))


def look(planes):
    coloured = demo_colouring().coloured(planes)
    return coloured.srgb8, coloured.lightness


def squares_of(drawing: Drawing, *, count: int = 40) -> Sample:
    """Squares of 8 pixels from all over the mask."""
    corners = [
        (row, col)
        for row in range(0, drawing.mask.shape[0] - 7, 8)
        for col in range(0, drawing.mask.shape[1] - 7, 8)
        if drawing.mask[row : row + 8, col : col + 8].all()
    ]
    some = [corners[k] for k in np.linspace(0, len(corners) - 1, count).astype(int)]
    planes = drawing.planes
    tiles = [planes[:, row : row + 8, col : col + 8].reshape(len(planes), -1) for row, col in some]
    return Sample(planes=np.concatenate(tiles, axis=1), textured=np.ones(count, np.bool_))


@pytest.mark.parametrize("kind", KINDS[:6])
def test_costs_that_are_remembered_lead_to_the_same_curves(kind, monkeypatch):
    sample = squares_of(drawn(kind, 4), count=12)
    found = find_curves(sample, GOAL, look, plates=DARK)
    assert found.curves
    monkeypatch.setattr(searching._Search, "_bound", searching._Search._cost)
    assert find_curves(sample, GOAL, look, plates=DARK) == found


def test_texture_is_told_for_curves_that_act_only_where_they_must():
    """Of eleven squares ten are grain, dark enough; one is pale and even."""
    rng = np.random.default_rng(3)
    grain = np.zeros((5, 10, 64), np.uint8)
    grain[:2] = rng.integers(170, 256, (2, 10, 64))
    pale = np.zeros((5, 1, 64), np.uint8)
    pale[1] = 140
    planes = np.concatenate([grain, pale], axis=1).reshape(5, -1)
    assert look(planes[:, :640])[1].max() < (ALLOWED_L - 1) * LIGHTNESS_SCALE
    sample = Sample(planes=planes, textured=np.ones(11, np.bool_))
    goal = NightGoal(lightest_L=ALLOWED_L, share=0.97, ink_limit_pct=INK_LIMIT_PCT)
    found = find_curves(sample, goal, look, plates=DARK)
    assert found.curves
    assert found.texture == pytest.approx(1, abs=0.02)


def test_what_was_only_bounded_is_reckoned_when_more_is_asked():
    search = searching._Search(squares_of(drawn("stars", 4)), GOAL, look, [0, 1, 2])
    shapes = ((30.0, 25.0, 40.0), (0.0, 0.0, 50.0), (0.0, 0.0, 50.0))
    bound = search._bound(shapes, 0.0)
    cost = search._bound(shapes, np.inf)
    assert 0 < bound < cost == search._cost(shapes, np.inf)
    assert search._bound(shapes, 0.0) == cost


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
def test_ink_amounts_gain_what_the_curve_adds(dtype):
    full = np.iinfo(dtype).max
    plane = np.random.default_rng(2).integers(0, full, 500, endpoint=True).astype(dtype)
    heights = searching._heights((30.0, 25.0, 40.0))
    curve = ToneCurve(plate="Soot", heights_pct=tuple(heights.tolist()))
    gains = searching._Amounts(plane, full_scale(plane)).gains(heights)
    assert (plane + gains == curve.steps(full)[plane]).all()
    assert gains.max() > full / 10


def test_colours_reckoned_at_once_are_those_of_colorimetry():
    """Rounding alone differs: light is added up channel by channel."""
    rng = np.random.default_rng(3)
    srgb8 = rng.integers(0, 256, (300, 3)).astype(np.uint8)
    level = rng.integers(0, 25600, 300).astype(np.int16)
    expected = xyz100_to_lab(srgb1_to_xyz100(srgb8 / 255))
    lab = searching._lab(srgb8, level)
    assert np.abs(lab[1:].T - expected[:, 1:]).max() < 1e-9
    assert (lab[0] == level / 256).all()


def test_a_shape_is_moved_within_its_bounds():
    assert searching._stepped((30.0, 25.0, 40.0), 1, -24.0) == (30.0, 1.0, 40.0)
    assert searching._stepped((0.0, 25.0, 40.0), 0, -24.0) == (0.0, 25.0, 40.0)
    assert searching._stepped((30.0, 25.0, 90.0), 2, 24.0) == (30.0, 25.0, 100.0)
