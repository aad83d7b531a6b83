"""Choosing inks: the search against a search of everything, and against the model itself."""

from dataclasses import replace
from itertools import combinations
from math import comb

import numpy as np
import pytest
from palette_cases import compiled_only, shipped, tones, wish

from inkmix.mixes.darkest import darkest_mix
from inkmix.mixes.nearest import nearest_mix
from inkmix.mixes.palettes.choice import choose
from inkmix.mixes.palettes.measure import condition_of, measure
from inkmix.mixes.palettes.measures import MEASURES
from inkmix.mixes.palettes.shortlist import choices, with_fixed
from inkmix.mixes.palettes.task import task_of


def ten_best_of_all(told):
    """Every palette measured in full, the best ten."""
    task = task_of(told)
    numbers = np.arange(comb(len(task.free), told.k))
    every = with_fixed(task, task.free[choices(numbers, size=told.k, of=len(task.free))])
    measured = measure(task, every)
    return sorted(measured, key=lambda one: (one.total_points, one.inks))[:10]


@pytest.mark.long
@compiled_only  # a minute without; the twins choose alike, as is tested with the parts
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_ten_best_are_those_of_all_measured_in_full(seed):
    """84 palettes, of which the search measures only 30 in full."""
    random = np.random.default_rng(seed)
    weights = {name: float(random.integers(0, 4)) for name in MEASURES if MEASURES[name].of_all}
    told = wish(shipped(10), k=3, tones=tones(4, seed=seed), weights=weights)
    assert choose(told, most=30).ranked[:10] == tuple(ten_best_of_all(told))


@pytest.mark.parametrize("seed", [1, 2])
def test_no_mix_found_elsewhere_is_better(seed):
    """The search of remedies goes another way; in flat valleys either may end a little off."""
    told = wish(shipped(7), k=2, tones=tones(4, seed=seed))
    told = replace(told, process=replace(told.process, min_tone_pct=0))
    task = task_of(told)
    for chosen in combinations(task.free, 2):
        members = with_fixed(task, np.array([chosen]))[0]
        (found,), condition = measure(task, members[None]), condition_of(task, members)
        for tone, mix in zip(told.tones, found.per_tone, strict=True):
            other = nearest_mix(condition, tone.lab, ink_limit_pct=told.ink_limit_pct)
            off = 0.15 if other.de00 < 5 else 0.35  # out of reach the valleys are flatter
            assert mix.de00 <= other.de00 + off, (found.inks, tone)
        dark = darkest_mix(condition, ink_limit_pct=told.ink_limit_pct)
        assert found.figures["darkest_L"] <= dark.lab[0] + 0.05
