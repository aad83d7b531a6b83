"""Tone curves: through ramps, by tone value increase, and of plates made of dots."""

import numpy as np
import pytest

from inkmix.colour.colorimetry import murray_davies_pct, xyz100_to_lab
from inkmix.press.channels import narrow_bands
from inkmix.press.constants import MODEL, PAPER_CLASSES
from inkmix.press.solids.process_inks import process_solids_xyz100
from inkmix.press.tone import (
    StraightCurve,
    curve_from_increase,
    curve_from_ramp,
    curve_from_solid,
    usual_offset,
)


def test_a_ramp_of_yule_nielsen_tints_gives_their_areas_back():
    """Worked values, Rp = .80, Rs = .05, n = 2: a = .25 .50 .75 give R = .52813 .31250 .15313."""
    seen = np.array([0.80, 0.52813, 0.31250, 0.15313, 0.05]) / 0.80
    tones = np.array([0.0, 25, 50, 75, 100])
    curve = curve_from_ramp(tones, np.repeat(seen[:, None], 3, axis=1), n=2.0)
    np.testing.assert_allclose(curve.coverage(tones), np.outer(tones, np.ones(3)) / 100, atol=2e-5)


def test_a_channel_where_the_ink_hardly_shows_leans_on_the_others():
    tones = np.array([0.0, 50, 100])
    relative = np.array([[1, 1.0], [0.36, 1.003], [0.04, 0.999]])
    curve = curve_from_ramp(tones, relative, n=2.0)
    first, second = curve.coverage(np.array(50.0))
    assert first == pytest.approx(0.5)
    assert second == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("increase", [-5.0, 0.0, 14.0, 22.0, 30.0])
@pytest.mark.parametrize("row", range(1, 5))
def test_a_told_tone_value_increase_is_what_a_50_percent_tint_shows(increase, row):
    """As a Murray-Davies figure, in that of X, Y, Z where the ink is darkest; for K, C, M, Y."""
    paper, solid = process_solids_xyz100("coated")[[0, row]]
    channels = narrow_bands(paper)
    relative = channels.relative(solid)
    constants = MODEL.paper["coated"]
    curve = curve_from_increase(relative, increase, constants=constants, channels=channels)
    half, n = curve.coverage(np.array(50.0)), constants.yule_nielsen_n
    tint = channels.relative_to_xyz100((1 - half * (1 - relative ** (1 / n))) ** n)
    band = int(np.argmin(solid / paper))
    seen = murray_davies_pct(tint[band], paper=paper[band], solid=solid[band])
    assert seen == pytest.approx(50 + increase, abs=0.02)  # weak channels lean on others


@pytest.mark.parametrize("paper_class", PAPER_CLASSES)
def test_the_usual_curve_shows_a_usual_increase(paper_class):
    """Without a told figure the model's own is a plausible one: 14 to 30 % in Y for a black."""
    paper, black = process_solids_xyz100(paper_class)[:2]
    constants, solid = MODEL.paper[paper_class], narrow_bands(paper).relative(black)
    offset = usual_offset(constants, black_density=constants.black_density)
    curve = curve_from_solid(solid, constants, offset=offset, common=np.zeros((2, 3)))
    half = curve.coverage(np.array(50.0))
    n = constants.yule_nielsen_n
    tint = (1 - half * (1 - solid ** (1 / n))) ** n
    seen = float(murray_davies_pct(tint[1], paper=1.0, solid=solid[1]))
    assert 64 < seen < 80


def test_dots_have_no_curve():
    tones = np.array([0.0, 12.5, 50, 100])
    np.testing.assert_allclose(StraightCurve(channels=2).coverage(tones)[:, 1], tones / 100)


def test_curve_rises_and_stays_a_share():
    tones = np.array([0.0, 10, 40, 70, 100])
    relative = np.array([[1.0], [0.8], [0.3], [0.02], [0.03]])
    fine = curve_from_ramp(tones, relative, n=2.0).coverage(np.linspace(0, 100, 501))
    assert (np.diff(fine[:, 0]) >= -1e-12).all()
    assert fine.min() == 0
    assert fine.max() == 1


def test_paper_and_black_of_the_tests_are_what_they_say():
    paper, black = xyz100_to_lab(process_solids_xyz100("coated")[:2])
    assert (round(paper[0]), round(black[0])) == (95, 16)


def test_a_denser_black_means_less_gain():
    """By the table: .094 less coverage at 50 % for each unit of density above 1.5, when smooth."""
    constants = MODEL.paper["coated"]
    usual, denser = (usual_offset(constants, black_density=z) for z in (1.5, 1.7))
    assert usual == pytest.approx(0.021)
    assert denser == pytest.approx(0.021 - 0.2 * 0.094)


def test_the_usual_curve_worked_by_hand():
    """Tone 50 %, offset .01: e = .5 + 4 * .01 / 4 in the principal band, where nothing is added.

    At 25 % the skew takes .048 * .5 of the bump of .1875: e = .25 + (.04 - .024) * .1875 = .253.
    What presses share is added: gain .02 at 50 %; gain .02 * .75 and skew .01 * 2 * .5 * .75 at 25.
    """
    solid, constants = np.array([0.09]), MODEL.paper["coated"]
    plain = curve_from_solid(solid, constants, offset=0.01, common=np.zeros((2, 1)))
    tones = np.array([25.0, 50])
    np.testing.assert_allclose(plain.coverage(tones)[:, 0], [0.253, 0.51], atol=1e-9)
    shared = curve_from_solid(solid, constants, offset=0.01, common=np.array([[0.02], [0.01]]))
    more = shared.coverage(tones)[:, 0] - plain.coverage(tones)[:, 0]
    np.testing.assert_allclose(more, [0.0225, 0.02], atol=1e-9)
