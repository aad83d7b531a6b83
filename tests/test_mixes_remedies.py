"""Remedies stand on mixes: no tint that cannot be printed, no ink that gains nothing."""

import re

import numpy as np
import pytest
from press_for_checks import press

from inkmix.checks.finding import FAIL
from inkmix.checks.night.other_means import remedies_beyond
from inkmix.checks.tones.facts import ToneFacts
from inkmix.checks.tones.remedies import tone_remedy
from inkmix.mixes.nearest import nearest_mix
from inkmix.mixes.shared_plates import darkest_of_plates
from inkmix.press.condition import PressCondition

LEAST_PCT = 3.0  # of sheet-fed offset: ISO 12647-2:2004


def tone(lab, mix_pct, condition):
    """A named tone that fails: what was meant, and a mix that misses it."""
    tones = [mix_pct.get(ink.name, 0.0) for ink in condition.inks]
    predicted = tuple(condition.lab(tones).tolist())
    return ToneFacts(
        name="dusk", verdict=FAIL, mix_pct=mix_pct, intended="told", intended_lab=lab,
        intended_srgb8=None, predicted_lab=predicted, predicted_srgb8=(0, 0, 0),
        out_of_srgb=False, total_ink_pct=sum(tones), de00=30.0, tolerance_de00=2.0, error_de00=1.0,
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(12))
def test_the_remedy_for_a_tone_holds_no_tint_that_is_lost(seed):
    condition = press()
    rng = np.random.default_rng(seed)
    mixed = rng.uniform(0, 12, 5) * (rng.random(5) < 0.7)  # pale, where faint tints tempt
    lab = tuple(condition.lab(mixed).tolist())
    remedy = tone_remedy(condition, tone(lab, {"Soot": 90.0}, condition), ink_limit_pct=260)
    amounts = [step.amount_pct for step in remedy.steps]
    assert all(pct == 0 or pct >= LEAST_PCT for pct in amounts)
    assert remedy.reaches_total_pct <= 260


def test_the_remedy_for_a_tone_is_as_near_as_any_but_for_what_no_press_holds():
    condition = press()
    for seed in range(6):
        tones = np.random.default_rng(seed).uniform(5, 60, 5)
        lab = tuple(condition.lab(tones).tolist())
        remedy = tone_remedy(condition, tone(lab, {"Soot": 1.0}, condition), ink_limit_pct=None)
        nearest = nearest_mix(condition, lab, ink_limit_pct=None, least_pct=LEAST_PCT)
        if not remedy.solves:
            assert remedy.reaches_de00 <= nearest.de00 + 0.3


def test_a_limit_below_the_smallest_dot_leaves_bare_paper():
    condition = press()
    remedies = remedies_beyond(condition, ink_limit_pct=2.0, lightest_L=30.0)
    assert remedies[0].reaches_total_pct == 0
    assert remedies[0].reaches_L == pytest.approx(condition.lab(np.zeros(5))[0])


@pytest.mark.parametrize("limit", [101.0, 202.0, 260.0])
def test_the_darkest_that_is_put_forward_can_be_printed(limit):
    for remedy in remedies_beyond(press(), ink_limit_pct=limit, lightest_L=20.0):
        pct = [float(number) for number in re.findall(r"([\d.]+) %", remedy.sentence)]
        assert remedy.reaches_total_pct <= limit
        assert all(value >= LEAST_PCT for value in pct)


SHARED = (0, 1, 0)
"""Soot, Fjord, and Soot once more from its own plate."""


def twice() -> PressCondition:
    return press("Soot", "Fjord").double_hit("Soot")


@pytest.mark.parametrize("limit_pct", [150.0, 220.0, 263.0, None])
def test_the_darkest_of_plates_is_what_a_search_of_all_finds(limit_pct):
    """Each pair of whole per cents of two plates of which one prints twice."""
    fjord, rowan = np.meshgrid(np.arange(101.0), np.arange(101.0), indexing="ij")
    tones = np.stack([fjord, rowan, fjord], axis=-1).reshape(-1, 3)
    held = ((tones == 0) | (tones >= LEAST_PCT)).all(axis=1)
    tones = tones[held & (tones.sum(axis=1) <= (limit_pct or 300))]
    condition = press("Fjord", "Rowan").double_hit("Fjord")
    mix = darkest_of_plates(condition, SHARED, ink_limit_pct=limit_pct, least_pct=LEAST_PCT)
    assert mix.lab[0] == pytest.approx(condition.lab(tones)[:, 0].min(), abs=0.01)
    assert mix.tone_pct["Fjord"] == mix.tone_pct["Fjord 2"]
    assert limit_pct is None or mix.total_pct <= limit_pct


def test_inks_of_one_plate_are_never_put_forward_apart():
    """At 220 % a third hit would be lighter: it takes the place of Fjord. At 300 % it is darker."""
    now, under = remedies_beyond(twice(), ink_limit_pct=220.0, lightest_L=10.0, printed_from=SHARED)
    amounts = dict(re.findall(r"(Soot 2|Soot|Fjord) (\d+)(?= \+|\))", now.sentence))
    assert amounts["Soot"] == amounts["Soot 2"]
    assert under.sentence.startswith("Under Soot, Fjord 20 would reach")
    *_, hit = remedies_beyond(twice(), ink_limit_pct=None, lightest_L=10.0, printed_from=SHARED)
    assert hit.sentence.startswith("One hit more of Soot (the same plate printed three times) ")
    assert "(Soot 100 + Fjord 100 + Soot 2 100 + Soot 3 100)" in hit.sentence
