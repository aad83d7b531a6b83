"""Nearest and darkest mix: what is promised must hold under the exact model."""

import numpy as np
import pytest
from press_for_checks import press

from inkmix.base.errors import UsageError
from inkmix.mixes.darkest import darkest_mix
from inkmix.mixes.nearest import nearest_mix

LIMIT_PCT = 260.0


def random_mixes(count: int, inks: int, *, limit: float) -> np.ndarray:
    tones = np.random.default_rng(11).integers(0, 101, (count * 4, inks)).astype(float)
    return tones[tones.sum(axis=1) <= limit][:count]


def test_the_colour_of_a_mix_is_found_again():
    condition = press()
    for tone_pct in random_mixes(12, 5, limit=LIMIT_PCT):
        mix = nearest_mix(condition, condition.lab(tone_pct), ink_limit_pct=LIMIT_PCT)
        assert mix.de00 < 0.3
        assert mix.total_pct <= LIMIT_PCT


def test_the_promise_is_what_the_model_says():
    condition = press()
    mix = nearest_mix(condition, (40, 10, -10), ink_limit_pct=LIMIT_PCT)
    tone_pct = np.array([mix.tone_pct[ink.name] for ink in condition.inks])
    assert mix.lab == pytest.approx(tuple(condition.lab(tone_pct)))
    assert mix.total_pct == tone_pct.sum()


@pytest.mark.parametrize("limit", [120.0, 200.0, LIMIT_PCT])
def test_no_admissible_mix_is_darker_than_the_darkest(limit):
    condition = press()
    mix = darkest_mix(condition, ink_limit_pct=limit)
    rivals = random_mixes(3000, 5, limit=limit)
    assert mix.total_pct <= limit
    assert mix.lab[0] <= condition.lab(rivals)[:, 0].min()


def test_only_the_inks_allowed_are_used():
    condition = press()
    mix = nearest_mix(condition, (50, 0, 0), ink_limit_pct=None, inks=("Fog", "Soot"), step_pct=5)
    assert all(mix.tone_pct[name] == 0 for name in ("Fjord", "Rowan", "Brass"))
    assert all(pct % 5 == 0 for pct in mix.tone_pct.values())


def test_an_unknown_ink_is_named():
    with pytest.raises(UsageError, match="no ink named Sot"):
        nearest_mix(press("Soot"), (50, 0, 0), ink_limit_pct=None, inks=("Sot",))


def test_paper_white_needs_no_ink():
    condition = press("Soot", "Rowan")
    mix = nearest_mix(condition, condition.lab(np.zeros(2)), ink_limit_pct=LIMIT_PCT)
    assert (mix.total_pct, mix.de00) == (0, 0)


def test_the_same_question_has_the_same_answer():
    condition = press()
    mixes = [nearest_mix(condition, (35, 5, -20), ink_limit_pct=LIMIT_PCT) for _ in range(2)]
    assert mixes[0] == mixes[1]
