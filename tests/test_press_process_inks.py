"""Process inks told by their colour, and what presses have in common in them."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import paper_from_lab
from published_sets import SETS, chart

from inkmix.press.condition import press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.press.scoring.known_part import tell
from inkmix.press.solids.process_inks import (
    SPOT,
    common_overprints,
    common_spreading,
    first_of_each,
    in_usual_order,
    kind_of,
)

OFFSET = find_process("sheet-fed offset")
PAPER = paper_from_lab("p", (95, 0, -2), paper_class="coated")
LABS = {"K": (16, 0, 0), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93)}
INKS = {name: ink_from_lab(name, lab, paper=PAPER) for name, lab in LABS.items()}
#: Orange, green and violet of a published seven-ink press (APTEC 2025), coated paper.
BRIGHT = [(67.6, 61.7, 81.8), (60.2, -74.7, 0.8), (25.1, 48.4, -58.9)]


@pytest.mark.parametrize("name", SETS)
def test_published_process_inks_are_recognised(name):
    press = tell(chart(name), known="solids", paper_class=SETS[name])[0]
    assert [solid.kind for solid in press.model.solids] == [0, 1, 2, 3]


@pytest.mark.parametrize("lab", BRIGHT)
def test_bright_inks_are_none(lab):
    assert kind_of(ink_from_lab("Cyan", lab, paper=PAPER), PAPER) == SPOT


def test_names_do_not_count():
    renamed = replace(INKS["C"], name="Harbour")
    assert kind_of(renamed, PAPER) == 1
    assert kind_of(ink_from_lab("K", (60, 30, 40), paper=PAPER), PAPER) == SPOT


def test_just_within_and_just_beyond_the_distance():
    """12 dE00 of the mean solid; along L* from the mean black of smooth papers, L* 16.9."""
    kinds = [kind_of(ink_from_lab("k", (L, 0.8, 0.5), paper=PAPER), PAPER) for L in (31.5, 36)]
    assert kinds == [0, SPOT]


def test_the_distance_to_a_tenth():
    """12 dE00 from L* 16.9 is L* 33.31 along the greys, by colour-science's CIEDE2000."""
    kinds = [kind_of(ink_from_lab("k", (L, 0.8, 0.5), paper=PAPER), PAPER) for L in (33.2, 33.45)]
    assert kinds == [0, SPOT]


def test_opaque_and_fluorescent_inks_are_none():
    assert kind_of(replace(INKS["Y"], opacity=0.4), PAPER) == SPOT
    assert kind_of(replace(INKS["Y"], opacity=0.01), PAPER) == 3
    assert kind_of(replace(INKS["M"], character=frozenset({"fluorescent"})), PAPER) == SPOT


def test_of_two_alike_the_second_is_a_spot_ink():
    assert first_of_each([0, 1, 0, SPOT]).tolist() == [0, 1, SPOT, SPOT]


def test_the_usual_order():
    assert in_usual_order(np.array([0, SPOT, 1, 3]))
    assert not in_usual_order(np.array([1, 0]))
    assert in_usual_order(np.array([SPOT, SPOT]))


def test_gains_of_overprints_by_hand():
    """From the table: C + M on smooth papers .010 .018 .054; none where a spot ink is in it."""
    held = np.array([[True, True, False], [True, False, True], [True, True, True]])
    gains = common_overprints(np.array([1, 2, SPOT]), held, PAPER)
    np.testing.assert_allclose(gains[0], [0.010, 0.018, 0.054])
    assert (gains[1:] == 0).all()


def test_spreading_by_hand():
    """From the table: black spreads on cyan by -.039 -.036 -.016 of what it could; not on spots."""
    because = common_spreading(np.array([0, 1, SPOT]), PAPER)
    np.testing.assert_allclose(because[0, 1], [-0.039, -0.036, -0.016])
    assert (because[2] == 0).all()
    assert (because[:, 2] == 0).all()


def test_printed_in_another_order_nothing_is_common():
    usual = press_condition(PAPER, [INKS["C"], INKS["M"]], process=OFFSET)
    turned = press_condition(PAPER, [INKS["M"], INKS["C"]], process=OFFSET)
    assert usual.model.spreading.because is not None
    assert turned.model.spreading.because is None


def test_a_spot_ink_takes_what_is_common_away_little_by_little():
    """No jump in colour from none of it to a trace, and nothing is common under a solid of it."""
    spot = ink_from_lab("Moss", BRIGHT[1], paper=PAPER)
    press = press_condition(PAPER, [INKS["K"], INKS["C"], spot], process=OFFSET)
    still = replace(press.model, spreading=replace(press.model.spreading, because=None))
    tones = np.array([[40.0, 60, tone] for tone in (0.0, 0.01, 50, 100)])
    moved = np.abs(press.model.relative(tones) - still.relative(tones)).max(axis=1)
    assert moved[0] > 0.001
    assert moved[1] == pytest.approx(moved[0], rel=0.01)
    assert 0 < moved[2] < moved[0]
    assert moved[3] == pytest.approx(0, abs=1e-12)


def test_every_group_has_all_of_it():
    for name, common in MODEL.process_inks.common.items():
        assert name in MODEL.process_inks.solids_lab
        assert len(common.overprint) == 11
        assert common.tone.shape == (4, 2, 3)
        assert (common.spreading.any(axis=2) == ~np.eye(4, dtype=bool)).all()


def test_a_black_may_be_as_dark_as_it_likes_and_nothing_brighter_than_paper_is_one():
    uncoated = paper_from_lab("u", (95, 0, 0), paper_class="uncoated")
    assert kind_of(ink_from_lab("ink", (8, 0, 0), paper=uncoated), uncoated) == 0
    grey = paper_from_lab("g", (80, 0, 0), paper_class="coated")
    assert kind_of(ink_from_lab("ink", (87.4, -4, 90.8), paper=grey), grey) == SPOT
