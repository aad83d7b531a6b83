"""The best mix of each set of inks for each wish, against every allowed mix tried in turn."""

from itertools import combinations

import numpy as np
import pytest
from press_for_checks import press

from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.constraints import constraints_omitting
from inkmix.mixes.goals import Darkness, Nearness
from inkmix.mixes.lattice import lattice_over, nodes_of
from inkmix.mixes.relax import relaxed
from inkmix.mixes.search import darkest_of_each, near_of_each, nearest_of_each
from inkmix.mixes.values import Aims

LIMIT_PCT, LEAST_PCT = 150.0, 3.0
INKS = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
PAIRS, THREES = list(combinations(INKS, 2)), list(combinations(INKS, 3))


class Sets:
    """Some of the inks each as a set of its own: what a search of many sets is given."""

    def __init__(self, sets):
        self.presses = [press(*inks) for inks in sets]

    def lab(self, tone_pct, of_set):
        lab = np.empty((len(tone_pct), 3))
        for one in np.unique(of_set):
            lab[of_set == one] = self.presses[one].lab(tone_pct[of_set == one])
        return lab


def pieces(pairs=PAIRS, *, along=21, limit=LIMIT_PCT):
    """Model, constraints in whole percents, and lattice."""
    model, held = Sets(pairs), np.ones((len(pairs), 2), dtype=bool)
    aims = Aims(ink_limit_pct=limit, step_pct=1, least_pct=LEAST_PCT)
    nodes = nodes_of(held[0], floor_pct=0, limit_pct=limit, along=along)
    lattice = lattice_over(model, held, [nodes] * len(pairs))
    return model, constraints_omitting(aims, inks=2), lattice


def every_mix():
    """All mixes of two inks that are allowed, in whole percents."""
    steps = np.array([0, *range(int(LEAST_PCT), 101)], dtype=float)
    mixes = np.stack(np.meshgrid(steps, steps, indexing="ij"), axis=-1).reshape(-1, 2)
    return mixes[mixes.sum(axis=1) <= LIMIT_PCT]


def colours():
    """Some that pairs print, and some that are a little beyond."""
    random = np.random.default_rng(21)
    printed = [press(*pair).lab(random.uniform(0, 70, 2)) for pair in PAIRS[:6]]
    return np.array(printed + [lab + random.normal(0, 4, 3) for lab in printed])


def apart(lattice, targets):
    return delta_e00(lattice.lab, targets[:, None])


def test_no_allowed_mix_of_two_inks_is_nearer():
    targets, (model, constraints, lattice) = colours(), pieces()
    goal = Nearness(targets=targets)
    found = nearest_of_each(model, constraints, goal, lattice, apart(lattice, targets))
    assert found.tone_pct.shape == (12, 10, 2)
    mixes = every_mix()
    over = []
    for one, condition in enumerate(model.presses):
        known = {tuple(mix) for mix in mixes.tolist()}
        assert {tuple(mix) for mix in found.tone_pct[:, one].tolist()} <= known
        best = delta_e00(condition.lab(mixes), targets[:, None]).min(axis=1)
        left = delta_e00(condition.lab(found.tone_pct[:, one]), targets)
        np.testing.assert_allclose(found.left[:, one], left, rtol=0, atol=1e-9)
        over += (left - best)[best < 8].tolist()  # no formula ranks what is farther off
    assert len(over) > 30
    assert max(over) < 0.01  # a step of one percent changes a colour by 0.3 or so


def test_no_allowed_mix_of_two_inks_is_darker():
    model, constraints, lattice = pieces()
    found = darkest_of_each(model, constraints, Darkness(hue=np.zeros(2), wanted=False), lattice)
    for one, condition in enumerate(model.presses):
        assert found.left[0, one] <= condition.lab(every_mix())[:, 0].min() + 1e-9


def test_no_allowed_mix_of_three_inks_is_nearer_or_darker():
    """In steps of 5 %, all 5,000 mixes of each three inks; valleys are several here."""
    steps = np.arange(0.0, 101.0, 5.0)
    mixes = np.stack(np.meshgrid(steps, steps, steps), axis=-1).reshape(-1, 3)
    mixes = mixes[mixes.sum(axis=1) <= LIMIT_PCT]
    model, held = Sets(THREES), np.ones((len(THREES), 3), dtype=bool)
    nodes = nodes_of(held[0], floor_pct=0, limit_pct=LIMIT_PCT, along=9)
    lattice = lattice_over(model, held, [nodes] * len(THREES))
    aims = Aims(ink_limit_pct=LIMIT_PCT, step_pct=5, least_pct=LEAST_PCT)
    constraints = constraints_omitting(aims, inks=3)
    random = np.random.default_rng(5)
    printed = np.array([one.lab(random.uniform(0, 70, 3)) for one in model.presses[:6]])
    targets = np.concatenate([printed, printed + random.normal(0, 6, (6, 3))])
    near = nearest_of_each(
        model, constraints, Nearness(targets=targets), lattice, apart(lattice, targets)
    )
    dark = darkest_of_each(model, constraints, Darkness(hue=np.zeros(2), wanted=False), lattice)
    for one, condition in enumerate(model.presses):
        lab = condition.lab(mixes)
        best = delta_e00(lab, targets[:, None]).min(axis=1)
        reached = best < 8  # no formula ranks what is farther off
        np.testing.assert_allclose(near.left[reached, one], best[reached], rtol=0, atol=1e-9)
        assert dark.left[0, one] == pytest.approx(lab[:, 0].min(), abs=1e-9)


def test_one_wish_of_one_set_is_the_smallest_case():
    """The batch finds what each of its cases finds alone."""
    targets, (model, constraints, lattice) = colours()[[1, 8]], pieces()
    goal = Nearness(targets=targets)
    all_found = nearest_of_each(model, constraints, goal, lattice, apart(lattice, targets))
    for k, target in enumerate(targets):
        for one, pair in enumerate(PAIRS):
            alone, _, its_lattice = pieces([pair])
            found = nearest_of_each(
                alone, constraints, Nearness(targets=target[None]), its_lattice,
                apart(its_lattice, target[None]),
            )  # fmt: skip
            np.testing.assert_array_equal(found.tone_pct[0, 0], all_found.tone_pct[k, one])


def test_of_equals_the_mix_with_less_ink_is_taken():
    """Where a percent counts for more than it brings, none is printed."""
    targets, (model, constraints, lattice) = colours()[:2], pieces()
    near = apart(lattice, targets)
    plain = nearest_of_each(model, constraints, Nearness(targets=targets), lattice, near)
    dear = Nearness(targets=targets, ink_worth=0.05)
    spared = nearest_of_each(model, constraints, dear, lattice, near)
    assert spared.tone_pct.sum() < plain.tone_pct.sum()
    nothing = Nearness(targets=targets, ink_worth=5.0)
    assert nearest_of_each(model, constraints, nothing, lattice, near).tone_pct.sum() == 0


def test_steps_that_lead_too_far_are_tried_shorter():
    """From one coarse node each, the search comes as near as whole percents do, nearly always."""
    targets, (model, constraints, lattice) = colours(), pieces(along=4)
    goal = Nearness(targets=targets)
    starts = lattice.starts_of_each(apart(lattice, targets), 1)
    left = relaxed(model, constraints, goal, starts).left.reshape(12, 10)
    best = np.stack(
        [delta_e00(c.lab(every_mix()), targets[:, None]).min(axis=1) for c in model.presses], axis=1
    )
    assert ((left - best)[best < 15] < 0.1).mean() > 0.94


def test_the_short_search_is_about_as_near():
    targets, (model, constraints, lattice) = colours(), pieces(along=5)
    goal = Nearness(targets=targets)
    short = near_of_each(model, constraints, goal, lattice)
    full = nearest_of_each(model, constraints, goal, lattice, apart(lattice, targets)).left
    assert np.median(short - full) < 0.05
    assert np.quantile(short - full, 0.9) < 1.0
