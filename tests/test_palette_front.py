"""What palettes cost and which compromises are shown, worked by hand at the bounds."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from palette_cases import shipped, wish

from inkmix.mixes.constraints import constraints_omitting
from inkmix.mixes.palettes.distinct import count_different
from inkmix.mixes.palettes.front import MOST_IN_FRONT, front_of, near_ties
from inkmix.mixes.palettes.measure import _mean_error
from inkmix.mixes.palettes.measures import MEASURES, grey_steps, points_of, weights_of
from inkmix.mixes.palettes.shortlist import Table, _best_of_sets
from inkmix.mixes.palettes.task import task_of
from inkmix.mixes.palettes.values import Measured

# What so much of a measure costs by its usual weight: judgement, as the measures have it. Less is
# better where it costs, more where it earns.
COSTS = {
    "tones_de00": (3, 1.5), "tones_worst_de00": (10, 1.0), "darkest_L": (20, 4.0),
    "darkest_chroma": (8, 0.8), "solids_chroma": (50, -2.5), "grey_steps": (3, -1.5),
    "different_mixes": (120, -3.0), "gamut_volume": (100, 0.0), "error_de00": (3, 1.5),
}  # fmt: skip


@pytest.mark.parametrize("name", MEASURES)
def test_what_a_measure_costs(name):
    figure, points = COSTS[name]
    assert points_of(name, np.array(figure), MEASURES[name].weight) == pytest.approx(points)
    assert points_of(name, np.array(figure), 0.0) == 0


def test_a_weight_that_is_given_takes_the_place_of_the_usual_one():
    given = weights_of({"darkest_L": 3, "gamut_volume": 0.25}, tones=True)
    assert (given["darkest_L"], given["gamut_volume"], given["error_de00"]) == (3, 0.25, 0.5)


def test_a_full_step_of_grey_is_ten_of_lightness():
    """By hand; a step of Munsell value is some 10 of L* (common practice)."""
    assert grey_steps(np.array([[20.0, 30, 40], [20, 29, 40]])) == pytest.approx([2, 1.9])


def test_mixes_are_clearly_different_from_five_on():
    """About L* 50 a difference in lightness is its dE00: S_L is within .001 of 1 there."""
    assert count_different(np.array([[47.55, 0, 0], [52.45, 0, 0]])) == 1
    assert count_different(np.array([[47.4, 0, 0], [52.6, 0, 0]])) == 2


def test_the_darkest_mix_counts_as_one_tone_of_all_for_the_error():
    """By hand: tones of weight .75 and .25 are off by 1 and 3, the darkest by 5."""
    task = SimpleNamespace(tone_weights=np.array([0.75, 0.25]))
    bounds = SimpleNamespace(de00=np.array([1.0, 3, 5]))
    assert _mean_error(task, bounds) == pytest.approx((2 * 1.5 + 5) / 3)


def test_a_palette_has_the_nearest_and_the_darkest_of_its_small_sets():
    """By hand: of four inks by twos, palette 0 2 3 holds the sets 0 2, 0 3 and 2 3."""
    # Sets by number: 0 1, 0 2, 1 2, 0 3, 1 3, 2 3.
    table = Table(
        free=np.arange(4),
        size=2,
        de00=np.array([[0.1, 0.2], [3, 7], [0.3, 0.4], [5, 2], [0.5, 0.6], [4, 9]]),
        darkest=np.array([[1.0, 0], [30, 4], [2, 0], [20, 6], [3, 0], [25, 1]]),
    )
    de00, darkest = _best_of_sets(table, np.array([[0, 2, 3]]))
    assert de00.tolist() == [[3, 2]]
    assert darkest.tolist() == [[20, 6]]


@pytest.mark.parametrize(("min_tone_pct", "least_pct"), [(3, 3), (4.2, 5), (0, 1)])
def test_mixes_in_whole_percents_hold_no_dot_that_is_lost(min_tone_pct, least_pct):
    told = wish(shipped(3), k=1)
    told = replace(told, process=replace(told.process, min_tone_pct=min_tone_pct))
    constraints = constraints_omitting(task_of(told).aims, inks=2)
    assert constraints.ladder.tolist() == [0, *range(least_pct, 101)]
    assert constraints.holds(np.array([[0, 1]]), np.array([[True, True]])).all()


# --- the front ------------------------------------------------------------------------------------


def palette(name, *points):
    """A palette with points in as many measures; the names stand for none in particular."""
    told = dict(zip(("darkest_L", "error_de00", "grey_steps"), points, strict=False))
    return Measured(
        inks=(name,), figures=dict.fromkeys(told, 0.0), points=told, total_points=sum(points),
        per_tone=(), darkest=None,
    )  # fmt: skip


def names(front):
    return "".join(one.inks[0] for one in front)


def test_as_good_in_one_thing_and_worse_in_another_is_beaten():
    a, b, c = palette("a", 1, 1), palette("b", 1, 1.6), palette("c", 0.2, 3)
    assert names(front_of([a, b, c])) == "ac"


def test_compromises_differ_by_half_a_point_in_something():
    a, close, apart = palette("a", 1, 1), palette("b", 0.55, 1.49), palette("c", 0.5, 1.5)
    assert names(front_of([a, close])) == "a"
    assert names(front_of([a, apart])) == "ac"


def test_the_best_total_and_the_best_in_each_measure_come_before_others():
    """Of six that nobody beats three are kept: the best total, and who is best in each measure."""
    ranked = [
        palette("a", 3, 3), palette("b", 2, 4.1), palette("c", 4.1, 2.1), palette("d", 1, 6),
        palette("e", 6.1, 1), palette("f", 5, 2.05),
    ]  # fmt: skip
    assert names(front_of(ranked, most=2)) == "ad"
    assert names(front_of(ranked, most=3)) == "ade"
    assert names(front_of(ranked, most=4)) == "abde"
    assert names(front_of(list(ranked))) == "abcdef"


def test_no_more_than_twelve_are_shown():
    ranked = [palette("abcdefghijklmn"[k], k, 20.0 - k) for k in range(14)]
    assert MOST_IN_FRONT == 12
    assert len(front_of(ranked)) == 12
    assert front_of([]) == ()


def test_ties_are_within_a_tenth_of_a_point():
    ranked = [palette("a", 1, 1), palette("b", 1, 1.09), palette("c", 1.11, 1)]
    assert names(near_ties(ranked)) == "ab"
