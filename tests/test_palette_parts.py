"""The parts of choosing inks, each against something that knows better."""

from dataclasses import replace
from itertools import combinations
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from palette_cases import compiled_only, many, paper, shipped, tones, wish

from inkmix.base import loops
from inkmix.base.errors import UsageError
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.palettes.choice import choose
from inkmix.mixes.palettes.distinct import count_different, grid_of_mixes, hull_volume
from inkmix.mixes.palettes.front import MOST_IN_FRONT, front_of
from inkmix.mixes.palettes.measure import condition_of
from inkmix.mixes.palettes.measures import MEASURES, grey_steps
from inkmix.mixes.palettes.mixtures import differences, mixtures_of
from inkmix.mixes.palettes.shortlist import choices, number_of
from inkmix.mixes.palettes.task import task_of
from inkmix.mixes.palettes.values import Measured
from inkmix.press.order import lay_down_order


@pytest.fixture
def plain_loops(monkeypatch):
    """A way to go on without compiled loops."""

    def switch():
        monkeypatch.setattr(loops, "are_compiled", lambda: False)

    return switch


# --- choices by number ----------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "of"), [(1, 5), (3, 8), (4, 4), (6, 9)])
def test_numbers_stand_for_all_choices_and_back(size, of):
    numbers = np.arange(comb(of, size))
    found = choices(numbers, size=size, of=of)
    assert {tuple(row) for row in found.tolist()} == set(combinations(range(of), size))
    np.testing.assert_array_equal(number_of(found, of=of), numbers)


def test_the_last_choice_of_six_out_of_two_hundred():
    last = comb(200, 6) - 1
    assert choices(np.array([last]), size=6, of=200).tolist() == [[194, 195, 196, 197, 198, 199]]


# --- the model for many sets ----------------------------------------------------------------------


@pytest.mark.parametrize("size", [1, 2, 4])
def test_many_sets_have_the_primaries_of_their_press_conditions(size):
    """Opaque inks and a fluorescent one among them; to the last bit."""
    task = task_of(wish(shipped(), k=size))
    random = np.random.default_rng(3)
    members = np.sort([random.choice(24, size, replace=False) for _ in range(40)], axis=1)
    found = task.press.primaries(members)
    for row, primaries in zip(members, found, strict=True):
        model = condition_of(task, row).model
        np.testing.assert_array_equal(primaries, model.primaries)
        sets = mixtures_of(task.press, row[None])
        covers, presence = sets.covers[sets.black[0]], sets.presence[sets.black[0]]
        np.testing.assert_array_equal(presence[row], model.spreading.presence)
        tone_pct = np.arange(101.0)
        for ink, curve in zip(row, model.curves, strict=True):
            np.testing.assert_array_equal(covers[ink], curve.coverage(tone_pct))


@pytest.mark.parametrize("is_compiled", [pytest.param(True, marks=compiled_only), False])
def test_the_search_knows_the_colours_of_the_press(is_compiled, plain_loops):
    """Three, two and one process ink, whole percents exactly; else it would end off the best."""
    if not is_compiled:
        plain_loops()
    task = task_of(wish(shipped(), k=2))
    chosen = [("Soot", "Tide", "Oilskin"), ("Soot", "Oilskin", "Rowan"), ("Soot", "Fjord", "Brass")]
    names = [ink.name for ink in task.inks]
    members = np.array([[names.index(name) for name in inks] for inks in chosen])
    sets = mixtures_of(task.press, members)
    assert sets.spots.sum(axis=1).tolist() == [0, 1, 2]
    assert sets.because.any(axis=(1, 2, 3)).tolist() == [True, True, False]
    tones_pct = np.random.default_rng(7).integers(0, 101, (60, 3)).astype(float)
    tones_pct[:2] = [[0, 0, 0], [100, 100, 100]]
    for one, row in enumerate(members):
        of_set, condition = np.full(60, one), condition_of(task, row)
        np.testing.assert_allclose(
            sets.lab(tones_pct, of_set), condition.lab(tones_pct), rtol=0, atol=1e-9
        )
        between = 0.25 + 0.995 * (tones_pct * 0.99)
        off = delta_e00(sets.lab(between, of_set), condition.lab(between))
        assert 0 < off.max() < 0.01
        assert off.mean() < 0.002


# --- compiled loops and their twins ---------------------------------------------------------------


@compiled_only
@pytest.mark.parametrize(("k", "fixed"), [(2, ("Soot",)), (3, ()), (1, ("Soot", "Foam"))])
def test_compiled_and_plain_loops_choose_alike(k, fixed, plain_loops):
    told = wish(shipped(7) + shipped()[21:22], k=k, fixed=fixed, tones=tones(3, seed=8))
    expected = choose(told, most=6)
    plain_loops()
    assert choose(told, most=6) == expected


@compiled_only
def test_the_compiled_difference_is_that_of_colorimetry():
    random = np.random.default_rng(4)
    labs = random.uniform((0, -100, -100), (100, 100, 100), (4000, 3))
    labs[::7, 1:] = 0  # greys
    labs[::11, 1:] *= 0.02
    found = differences(labs[::2], labs[1:101:2])
    expected = delta_e00(labs[::2], labs[1:101:2, None])
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-9)


@compiled_only
def test_compiled_and_plain_loops_count_alike(plain_loops):
    labs = np.random.default_rng(5).uniform((20, -40, -40), (95, 40, 40), (300, 3))
    found = count_different(labs)
    plain_loops()
    assert found == count_different(labs)


def test_threads_change_nothing(monkeypatch):
    told = wish(shipped(9), k=2, tones=tones(3, seed=2))
    expected = choose(told)
    monkeypatch.setattr("inkmix.base.ordered_threads.thread_count", lambda: 1)
    assert choose(told) == expected


# --- measures -------------------------------------------------------------------------------------


def test_kept_colours_differ_and_all_others_are_like_one_of_them():
    labs = np.array([[50, 0, 0], [52, 0, 0], [60, 0, 0], [50, 30, 0], [50, 30.5, 0]], float)
    assert count_different(labs) == 3
    assert count_different(np.repeat(labs[:1], 20, axis=0)) == 1


def test_the_grid_keeps_to_the_ink_limit():
    grid = grid_of_mixes(5, limit_pct=240)
    assert grid.sum(axis=1).max() <= 240.001
    assert len(grid) < 4**5
    assert len(grid_of_mixes(4, limit_pct=np.inf)) == 5**4


@given(st.integers(0, 60), st.integers(0, 2**32 - 1), st.floats(0.01, 100))
@settings(max_examples=60)
def test_the_volume_is_that_of_the_body_whatever_lies_inside(count, seed, flat):
    # An octahedron holds 4/3 of the product of its half axes (from geometry).
    corners = np.concatenate([np.eye(3), -np.eye(3)])
    inside = np.random.default_rng(seed).normal(size=(count, 3))
    inside /= np.maximum(np.abs(inside).sum(axis=1, keepdims=True), 1)
    points = np.concatenate([inside, corners]) * (30, 30, flat) + (50, 0, 0)
    assert hull_volume(points) == pytest.approx(4 / 3 * 30 * 30 * flat, rel=1e-6)


def test_points_in_one_plane_have_no_volume():
    grid = np.stack(np.meshgrid(range(4), range(4), [7.0]), axis=-1).reshape(-1, 3)
    assert hull_volume(grid) == 0
    assert hull_volume(grid[:2]) == 0
    assert hull_volume(np.ones((9, 3))) == 0
    cube = np.stack(np.meshgrid(range(3), range(3), range(3)), axis=-1).reshape(-1, 3).astype(float)
    assert hull_volume(cube) == pytest.approx(8)  # many points in each face


def test_steps_of_grey_count_in_part_below_a_full_one():
    assert grey_steps(np.array([[30.0, 90, 60], [50, 55, 52.5]])) == pytest.approx([2, 0.5])


# --- the front ------------------------------------------------------------------------------------


def palette(name, **points):
    figures = dict.fromkeys(points, 0.0)
    return Measured(
        inks=(name,), figures=figures, points=points, total_points=sum(points.values()),
        per_tone=(), darkest=None,
    )  # fmt: skip


def test_what_is_beaten_in_everything_is_not_in_front():
    both = palette("both", darkest_L=1.0, error_de00=1.0)
    dark = palette("dark", darkest_L=0.2, error_de00=4.0)
    sure = palette("sure", darkest_L=4.0, error_de00=0.3)
    beaten = palette("beaten", darkest_L=3.0, error_de00=1.5)
    near = palette("near", darkest_L=1.1, error_de00=0.95)
    assert front_of((both, near, dark, sure, beaten)) == (both, dark, sure)


def test_the_front_holds_the_best_of_each_measure_and_nothing_beaten():
    told = wish(shipped(12), k=2, tones=tones(4, seed=5))
    choice = choose(told)
    counted = [name for name in MEASURES if choice.ranked[0].points.get(name)]
    assert choice.front[0] == choice.ranked[0]
    totals = [one.total_points for one in choice.ranked]
    assert totals == sorted(totals)
    assert 2 <= len(choice.front) <= MOST_IN_FRONT
    for one in choice.front:
        beaten_by = [
            other
            for other in choice.ranked
            if all(other.points[name] <= one.points[name] for name in counted)
            and any(other.points[name] < one.points[name] for name in counted)
        ]
        assert beaten_by == []


def test_ties_are_told():
    """Two inks that differ in name only make palettes in pairs."""
    twin = replace(shipped()[1], name="Fjord again")
    choice = choose(wish((*shipped(4), twin), k=2, tones=tones(2, seed=1)))
    best = choice.near_ties[0]
    other = tuple({"Fjord": "Fjord again", "Fjord again": "Fjord"}.get(n, n) for n in best)
    if other != best:
        assert sorted(other) in [sorted(names) for names in choice.near_ties]
    by_inks = {frozenset(one.inks): one.total_points for one in choice.ranked}
    assert by_inks[frozenset({"Soot", "Fjord", "Rowan"})] == pytest.approx(
        by_inks[frozenset({"Soot", "Fjord again", "Rowan"})]
    )


# --- wishes ---------------------------------------------------------------------------------------


def test_palettes_are_laid_down_as_proposed_but_for_inks_whose_order_is_told():
    task = task_of(wish(shipped(), k=2))
    names = [ink.name for ink in task.inks]
    proposed = lay_down_order(shipped(), paper())
    assert names == [shipped()[at].name for at in proposed]
    # A black, a cyan and a yellow by their colours; spots from Fjord on; the oranges last.
    assert (names[:4], names[-1]) == (["Soot", "Tide", "Oilskin", "Fjord"], "Brass")
    told = ("Fog", "Fjord", "Rowan")
    ordered = task_of(replace(wish(shipped(), k=2), ordered=told, excluded=("Fjord",)))
    assert [ink.name for ink in ordered.inks if ink.name in told] == ["Fog", "Rowan"]


def test_an_order_of_inks_that_are_no_candidates_is_refused():
    with pytest.raises(UsageError, match=r'no candidate named "Soto".*did you mean Soot'):
        task_of(replace(wish(shipped(4), k=2), ordered=("Soto",)))
    with pytest.raises(UsageError, match="ordered: Soot twice"):
        task_of(replace(wish(shipped(4), k=2), ordered=("Soot", "Soot")))


def test_mixes_keep_to_limit_and_smallest_dot():
    choice = choose(wish(shipped(8), k=3, tones=tones(6, seed=9), ink_limit_pct=180.0), most=5)
    for one in choice.ranked:
        for mix in (*one.per_tone, one.darkest):
            assert mix.total_pct <= 180
            assert not any(0 < pct < 3 for pct in mix.tone_pct.values())
            assert tuple(mix.tone_pct) == one.inks


def test_without_tones_they_do_not_count():
    choice = choose(wish(shipped(6), k=2))
    assert not any(name.startswith("tones_") for name in choice.ranked[0].figures)
    assert choice.words == ()


def test_tones_out_of_reach_are_kept_and_told():
    vivid = replace(tones(1, seed=1)[0], name="neon", lab=(60.0, 90.0, 90.0))
    choice = choose(wish(shipped(6), k=2, tones=(vivid,)))
    assert "No palette here reaches neon: the nearest comes within dE00" in choice.words[0]
    assert choice.ranked[0].per_tone[0].de00 > 5


def test_inks_measured_on_another_paper_are_told():
    from inkmix.press.swatches.by_name import load_ink

    other = load_ink("night-ferry/Buoy", paper="night-ferry/coated")
    choice = choose(wish((*shipped(4), other), k=2))
    assert choice.words == (
        "Measured on another paper: Buoy. How that prints on this one is a guess, with a larger "
        "expected error.",
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"k": 0}, "inks to choose: is 0, but it must be a whole number from 1 to 6"),
        ({"k": 7}, "inks to choose: is 7, but it must be a whole number from 1 to 6"),
        ({"k": 6}, "5 to choose from beside 1 fixed, but 6 are to be chosen"),
        ({"fixed": ("Sot",)}, 'no candidate named "Sot"; did you mean Soot?'),
        ({"excluded": ("Xyz",)}, 'no candidate named "Xyz"; known: Soot, Fjord'),
        ({"excluded": ("Soot",)}, "fixed (--fix): Soot is excluded too (--without)"),
        ({"ink_limit_pct": 80.0}, "ink limit: 80 %, but one solid is 100 % already"),
        ({"ink_limit_pct": float("nan")}, "ink limit: nan %"),
        ({"weights": {"darkest": 1.0}}, 'no measure named "darkest"; did you mean darkest_L?'),
        ({"weights": {"darkest_L": -1.0}}, "darkest_L = -1, but it must be 0 or more"),
        ({"weights": dict.fromkeys(MEASURES, 0.0)}, "weights: nothing counts"),
        ({"candidates": (*shipped(6), shipped()[2])}, "candidates: Rowan twice"),
        ({"tones": tones(65, seed=1)}, "tones: 65, but there may be at most 64"),
    ],
)
def test_wishes_that_cannot_be_are_refused(change, words):
    told = replace(wish(shipped(6), k=2), **change)
    with pytest.raises(UsageError) as refused:
        choose(told)
    assert words in str(refused.value)


def test_everything_wrong_is_said_at_once():
    told = replace(wish(shipped(6), k=7), ink_limit_pct=10.0, excluded=("Soot",))
    with pytest.raises(UsageError) as refused:
        choose(told)
    assert len(refused.value.faults) == 3


def test_eight_inks_are_the_most():
    told = wish(shipped(12), k=6, fixed=("Soot", "Fjord", "Rowan"))
    with pytest.raises(UsageError, match="6 to choose and 3 fixed, but at most 8 print together"):
        choose(told)


# --- more than can be searched --------------------------------------------------------------------


@compiled_only  # a minute without
def test_of_too_many_inks_the_most_useful_are_searched(monkeypatch):
    monkeypatch.setattr("inkmix.mixes.palettes.thin.MOST_PALETTES", 150)
    told = wish(shipped(14), k=3, tones=tones(3, seed=6))
    choice = choose(told, most=40)
    assert not choice.exact
    assert choice.searched == comb(10, 3)
    assert choice.words[0].startswith("Trying every choice of 3 out of 13 inks would take about ")
    assert "The 10 inks that are of most use" in choice.words[0]
    monkeypatch.undo()
    best = [one.inks for one in choose(told, most=40).ranked[:10]]
    assert len(set(best) & {one.inks for one in choice.ranked}) >= 5


def test_six_of_two_hundred_would_take_a_day_and_a_half():
    from inkmix.mixes.palettes.thin import _most_inks, seconds_for_all

    task = task_of(wish(many(200), k=6))
    assert seconds_for_all(task) / 86400 == pytest.approx(1.33, abs=0.1)
    assert 40 < _most_inks(task) < 60
