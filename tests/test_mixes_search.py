"""Mixes under aims: rules that never break, and search against exhaustive search.

The press is invented (silver); what is promised is asked of the exact model again.
"""

from functools import cache
from itertools import product

import numpy as np
import pytest
from dense_descent import nearest_by_descent
from hypothesis import given, settings
from hypothesis import strategies as st
from press_for_checks import press

from inkmix.base.errors import UsageError
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.choose import EQUAL_DE00, EQUAL_L, in_order_of_choice
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.goals import CAST_WORTH_L, NEUTRAL_CHROMA, TINT_CHROMA
from inkmix.mixes.nearest import found_for_all, nearest_mix, nearest_mixes
from inkmix.mixes.values import REACH_DE00, Aims

THREE = ("Soot", "Fjord", "Rowan")
FOUR = (*THREE, "Brass")
LABS = st.tuples(st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80))
AIMS = st.builds(
    Aims,
    ink_limit_pct=st.none() | st.floats(30, 400),
    step_pct=st.sampled_from([0.1, 1.0, 2.5, 5.0, 7.0, 10.0, 25.0]),
    least_pct=st.sampled_from([0.0, 1.0, 3.0, 6.0, 20.0]),
)


def reach(condition, lab, aims):
    """How near the inks come to one colour, with tone values to a tenth of a percent."""
    return next(found_for_all(condition, [lab], aims))


@cache
def grid(step_pct=5):
    """Every mix of three inks in steps, with its colour."""
    tones = np.array(list(product(np.arange(0, 101, step_pct), repeat=3)), dtype=float)
    return tones, press(*THREE).lab(tones)


def allowed(tones, *, limit, least):
    return (tones.sum(axis=1) <= limit) & ((tones == 0) | (tones >= least)).all(axis=1)


def keeps(mix, aims):
    """Whether a mix keeps every rule."""
    tones = np.array(list(mix.tone_pct.values()))
    step = aims.step_pct
    on_steps = np.isclose(tones / step, np.round(tones / step), atol=1e-6) | (tones == 100)
    limit = np.inf if aims.ink_limit_pct is None else aims.ink_limit_pct
    within = tones.sum() <= limit + 1e-6 and ((tones >= 0) & (tones <= 100)).all()
    return bool(within and on_steps.all() and ((tones == 0) | (tones >= aims.least_pct)).all())


@settings(max_examples=40)
@given(LABS, AIMS)
def test_no_mix_breaks_limit_steps_or_smallest_dot(lab, aims):
    (found,) = found_for_all(press(*FOUR), [lab], aims, most=6)
    assert all(keeps(mix, aims) for mix in found.mixes)
    fine = Aims(ink_limit_pct=aims.ink_limit_pct, step_pct=0.1, least_pct=aims.least_pct)
    assert keeps(found.nearest, fine) or found.nearest in found.mixes


@settings(max_examples=15)
@given(LABS, AIMS)
def test_what_is_promised_is_what_the_model_says(lab, aims):
    condition = press(*FOUR)
    (found,) = found_for_all(condition, [lab], aims, most=6)
    for mix in (found.nearest, *found.mixes):
        tones = np.array(list(mix.tone_pct.values()))
        assert mix.lab == pytest.approx(tuple(condition.lab(tones)), abs=1e-9)
        assert mix.de00 == pytest.approx(float(delta_e00(condition.lab(tones), lab)), abs=1e-9)
        assert mix.total_pct == pytest.approx(tones.sum())
        assert mix.error_de00 == pytest.approx(float(condition.expected_error(tones).de00))
    assert found.in_reach == (found.left_de00 <= REACH_DE00)
    sets = [mix.inks for mix in found.mixes]
    assert len(set(sets)) == len(sets)


@settings(max_examples=25)
@given(LABS, AIMS)
def test_the_darkest_mixes_keep_the_rules_too(lab, aims):
    cast = None if lab[0] < 30 else "neutral" if lab[0] < 60 else (lab[1], lab[2] + 100)
    for mix in darkest_mixes(press("Soot", "Rowan", "Fog"), aims, cast=cast):
        assert keeps(mix, aims)


@pytest.mark.parametrize(("limit", "least"), [(300, 0), (180, 3), (120, 12)])
def test_steps_are_as_near_as_exhaustive_search(limit, least):
    condition = press(*THREE)
    tones, labs = grid()
    fits = allowed(tones, limit=limit, least=least)
    aims = Aims(ink_limit_pct=limit, least_pct=least)
    rng = np.random.default_rng(8)
    wanted = np.concatenate([rng.uniform((20, -50, -50), (95, 60, 50), (30, 3)), labs[fits][::97]])
    for lab, found in zip(wanted, found_for_all(condition, wanted, aims, most=5), strict=True):
        nearest = in_the_order_told(tones[fits], labs[fits], lab)
        # No press can tell 0.1; far off, dE00 only ranks.
        assert found.mixes[0].de00 == pytest.approx(nearest, abs=0.1, rel=0.03)


def in_the_order_told(tones, labs, lab):
    """dE00 of the mix that the rule of fewest inks puts first, by exhaustive search."""
    left, inks = delta_e00(labs, lab), (tones > 0).sum(axis=1)
    best = left.min()
    most = best + EQUAL_DE00
    if best <= REACH_DE00:
        most = min(most, REACH_DE00)
    fewest = inks[left <= most].min()
    return left[(left <= most) & (inks == fewest)].min()


def test_exact_mixes_are_as_near_as_a_dense_descent():
    condition = press()
    rng = np.random.default_rng(4)
    wanted = rng.uniform((25, -40, -40), (90, 50, 50), (12, 3))
    aims = Aims(ink_limit_pct=240)
    found = list(found_for_all(condition, wanted, aims))
    descended = [nearest_by_descent(condition, lab, ink_limit_pct=240)[1] for lab in wanted]
    gained = np.array(descended) - [one.left_de00 for one in found]
    assert gained.min() > -EQUAL_DE00 - 0.05
    assert np.median(gained) > -0.01


@pytest.mark.parametrize(
    ("limit", "step", "least"), [(20, 25, 3), (30, 20, 12), (45, 20, 3), (4, 5, 3)]
)
def test_steps_that_hardly_fit_in_the_limit(limit, step, least):
    condition = press(*THREE)
    tones = np.array(list(product([0, *range(step, 101, step)], repeat=3)), dtype=float)
    tones = tones[tones.sum(axis=1) <= limit]
    aims = Aims(ink_limit_pct=limit, step_pct=step, least_pct=least)
    for lab in ((30, 0, 0), (50, 40, 20), (80, 0, -20), (94, 0, 0)):
        mixes = nearest_mixes(condition, lab, aims)
        assert mixes[0].de00 <= delta_e00(condition.lab(tones), lab).min() + EQUAL_DE00
        (dark, *_) = darkest_mixes(condition, aims)
        assert dark.lab[0] <= condition.lab(tones)[:, 0].min() + EQUAL_L


@pytest.mark.parametrize("step_pct", [1, 5])
def test_the_nearest_of_all_is_as_near_as_a_dense_descent(step_pct):
    condition = press()
    wanted = np.random.default_rng(5).uniform((25, -40, -40), (90, 50, 50), (12, 3))
    for lab in wanted:
        mix = nearest_mix(condition, lab, ink_limit_pct=240, step_pct=step_pct)
        _, left = nearest_by_descent(condition, lab, ink_limit_pct=240, step_pct=step_pct)
        assert mix.de00 <= left + 0.05 * step_pct  # a step of all inks may be missed


def test_colours_of_mixes_are_in_reach():
    condition = press()
    rng = np.random.default_rng(6)
    tones = rng.uniform(0, 100, (120, 5)) * (rng.random((120, 5)) < 0.6)
    tones = tones[tones.sum(axis=1) <= 260]
    found = list(found_for_all(condition, condition.lab(tones), Aims(ink_limit_pct=260)))
    assert all(one.in_reach for one in found)


def test_many_colours_at_once_are_found_as_one_by_one():
    condition = press()
    wanted = np.random.default_rng(9).uniform((25, -40, -40), (90, 50, 50), (70, 3))
    aims = Aims(ink_limit_pct=260, least_pct=3)
    together = list(found_for_all(condition, wanted, aims, most=5))
    for k in (0, 31, 32, 69):
        mixes = nearest_mixes(condition, wanted[k], aims)
        assert [dict(m.tone_pct) for m in mixes] == [dict(m.tone_pct) for m in together[k].mixes]
        assert reach(condition, wanted[k], aims).nearest.tone_pct == together[k].nearest.tone_pct


def test_a_colour_of_two_inks_is_mixed_from_two():
    condition = press()
    lab = condition.lab([0, 40, 0, 60, 0])
    (mix, *_) = nearest_mixes(condition, lab, Aims(ink_limit_pct=None))
    assert mix.tone_pct == {"Soot": 0, "Fjord": 40, "Rowan": 0, "Brass": 60, "Fog": 0}
    assert reach(condition, lab, Aims(ink_limit_pct=None)).nearest.inks == ("Fjord", "Brass")


def test_bare_paper_needs_no_ink():
    condition = press()
    reached = reach(condition, condition.lab(np.zeros(5)), Aims(ink_limit_pct=260, least_pct=3))
    assert (reached.nearest.inks, reached.left_de00, reached.in_reach) == ((), 0, True)


def test_far_colours_are_out_of_reach():
    assert not reach(press(), (50, 0, 90), Aims(ink_limit_pct=260)).in_reach


# --- which comes first ---------------------------------------------------------------------------


def order(score, sets, *, equal=0.3, keep=0.5):
    held = np.array([[ink in inks for ink in "abcd"] for inks in sets])
    return in_order_of_choice(
        np.array(score), held, 100.0 * held.sum(axis=1), equal=equal, keep=keep
    )


def test_fewer_inks_come_first_where_mixes_are_equally_near():
    assert order([1.0, 1.2, 2.0], ["abc", "ad", "b"]) == [1, 0, 2]
    assert order([1.0, 1.4, 2.0], ["abc", "ad", "b"]) == [0, 1, 2]


def test_fewer_inks_never_cost_the_reach():
    assert order([0.4, 0.6], ["abc", "d"]) == [0, 1]
    assert order([0.2, 0.45], ["abc", "d"]) == [1, 0]


def test_equally_near_is_what_a_percent_of_one_ink_changes():
    condition = press()
    rng = np.random.default_rng(0)
    tones = rng.uniform(3, 99, (600, 5)) * (rng.random((600, 5)) < 0.5)
    more = tones.copy()
    more[np.arange(600), rng.integers(0, 5, 600)] += 1
    printed = ((more > 1) == (tones > 0)).all(axis=1)
    change = np.median(delta_e00(condition.lab(tones), condition.lab(more))[printed])
    assert change == pytest.approx(EQUAL_DE00, abs=0.1)


def test_more_inks_that_say_no_more_are_left_out():
    assert order([1.0, 0.9, 0.2], ["ab", "abc", "abd"]) == [2, 0]


# --- the darkest ---------------------------------------------------------------------------------


@pytest.mark.parametrize("limit", [100, 180, 300])
def test_nothing_is_darker_than_the_darkest(limit):
    tones, labs = grid()
    fits = allowed(tones, limit=limit, least=3)
    (mix, *_) = darkest_mixes(press(*THREE), Aims(ink_limit_pct=limit, least_pct=3))
    assert mix.lab[0] <= labs[fits, 0].min() + EQUAL_L
    assert mix.de00 is None
    assert mix.error_L > 0


def off(labs, hue):
    """How far off a cast colours are; hue None for neutral."""
    ab = labs[:, 1:]
    if hue is None:
        return np.linalg.norm(ab, axis=1)
    ray = np.array([np.cos(np.radians(hue)), np.sin(np.radians(hue))])
    along = np.maximum(ab @ ray, TINT_CHROMA)
    return np.linalg.norm(ab - along[:, None] * ray, axis=1)


@pytest.mark.parametrize("hue", [None, 20.0, 150.0, 275.0])
@pytest.mark.parametrize("limit", [150, 300])
def test_a_cast_is_weighed_against_darkness_as_told(hue, limit):
    tones, labs = grid()
    fits = tones.sum(axis=1) <= limit
    score = labs[:, 0] + CAST_WORTH_L * np.maximum(off(labs, hue) - NEUTRAL_CHROMA, 0)
    cast = "neutral" if hue is None else hue
    (mix, *_) = darkest_mixes(press(*THREE), Aims(ink_limit_pct=limit), cast=cast)
    lab = np.array([mix.lab])
    own = lab[0, 0] + CAST_WORTH_L * max(off(lab, hue)[0] - NEUTRAL_CHROMA, 0)
    assert own <= score[fits].min() + EQUAL_L


def test_a_direction_is_a_hue():
    aims = Aims(ink_limit_pct=260)
    assert darkest_mixes(press(), aims, cast=90.0) == darkest_mixes(press(), aims, cast=(0.0, 7.0))


def test_a_double_hit_goes_darker_and_never_without_the_first():
    aims = Aims(ink_limit_pct=260, least_pct=3)
    once = darkest_mixes(press("Soot", "Rowan"), aims)
    twice = darkest_mixes(press("Soot", "Rowan"), aims, double_hits=True)
    assert twice[0].lab[0] < once[0].lab[0] - 1
    assert "Soot 2" in twice[0].inks
    assert all("Soot" in mix.inks for mix in twice if "Soot 2" in mix.inks)


def test_only_the_inks_allowed_are_used():
    aims = Aims(ink_limit_pct=None, inks=("Rowan", "Fog"))
    mixes = (*nearest_mixes(press(), (50, 0, 0), aims), *darkest_mixes(press(), aims))
    assert {ink for mix in mixes for ink in mix.inks} <= {"Rowan", "Fog"}


# --- refusals ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("aims", "found"),
    [
        (Aims(ink_limit_pct=2, least_pct=3), "the smallest dot takes 3 %"),
        (Aims(ink_limit_pct=0), "ink limit: 0 %"),
        (Aims(ink_limit_pct=float("nan")), "ink limit: nan %"),
        (Aims(ink_limit_pct=None, step_pct=0), "step: 0 %"),
        (Aims(ink_limit_pct=None, step_pct=101), "step: 101 %"),
        (Aims(ink_limit_pct=None, least_pct=-1), "smallest dot: -1 %"),
        (Aims(ink_limit_pct=None, inks=("Rowann",)), "did you mean Rowan?"),
        (Aims(ink_limit_pct=None, inks=()), "no ink may be used"),
    ],
)
def test_aims_that_cannot_be_kept_are_refused(aims, found):
    for call in (
        lambda: nearest_mixes(press(), (50, 0, 0), aims),
        lambda: darkest_mixes(press(), aims),
    ):
        with pytest.raises(UsageError, match=found.replace("?", r"\?")):
            call()


def test_all_that_is_wrong_with_aims_is_told():
    with pytest.raises(UsageError) as caught:
        reach(press(), (50, 0, 0), Aims(ink_limit_pct=0, step_pct=0, inks=("Soot", "X", "Y")))
    assert len(caught.value.faults) == 4


@pytest.mark.parametrize("cast", ["grey", (0.0, 0.0), (1.0, float("inf")), float("nan")])
def test_casts_that_mean_nothing_are_refused(cast):
    with pytest.raises(UsageError, match="cast"):
        darkest_mixes(press(), Aims(ink_limit_pct=None), cast=cast)


@pytest.mark.parametrize("lab", [(50, 0), (float("nan"), 0, 0)])
def test_colours_that_are_none_are_refused(lab):
    with pytest.raises(UsageError, match="three finite numbers"):
        nearest_mixes(press(), lab, Aims(ink_limit_pct=None))
