"""Named tones: verdicts, the remedy that is promised, pairs that look alike."""

from itertools import combinations

import numpy as np
import pytest
from press_for_checks import press, press_with_hint

from inkmix.book.values import NamedTone
from inkmix.checks.finding import FAIL, MIX, NO_LIMIT, PASS, UNSURE, judge_at_most, worst
from inkmix.checks.tones.check import check_tones, pairs_alike, tone_facts
from inkmix.checks.tones.facts import ToneFacts
from inkmix.colour.colorimetry import delta_e00

LIMIT_PCT = 260.0
FAR = {"Rowan": 90.0, "Fjord": 5.0}  # far from every tone that is meant here


def tone(name="Quay", *, mix=None, **aim) -> NamedTone:
    return NamedTone(name=name, mix_pct=mix or {"Rowan": 60.0, "Fjord": 80.0}, **aim)


def predicted(condition, mix) -> tuple[float, float, float]:
    lab = condition.lab(np.array([mix.get(ink.name, 0.0) for ink in condition.inks]))
    return tuple(lab.tolist())


def test_a_tone_that_prints_as_meant_passes_without_a_finding():
    condition = press()
    meant = predicted(condition, {"Rowan": 60.0, "Fjord": 80.0})
    one = tone(intended_lab=meant, tolerance_de00=40.0)
    result = check_tones(condition, [one], ink_limit_pct=LIMIT_PCT)
    assert result.findings == ()
    assert result.facts[0].verdict == PASS
    assert result.facts[0].de00 == pytest.approx(0, abs=1e-6)
    assert result.facts[0].total_ink_pct == 140.0


def test_a_wrong_tone_fails_and_the_mix_named_keeps_its_promise():
    condition = press()
    meant = predicted(condition, {"Soot": 30.0, "Brass": 70.0})
    result = check_tones(
        condition, [tone(intended_lab=meant, tolerance_de00=3.0)], ink_limit_pct=LIMIT_PCT
    )
    (finding,) = result.findings
    assert finding.verdict == FAIL
    assert finding.sentence.startswith("Quay (Rowan 60 + Fjord 80) prints dE00 ")
    (remedy,) = finding.remedies
    assert {step.operation for step in remedy.steps} == {MIX}
    recipe = {step.plate: step.amount_pct for step in remedy.steps}
    reached = float(delta_e00(meant, predicted(condition, recipe)))
    assert reached == pytest.approx(remedy.reaches_de00)
    assert reached < 0.3
    assert {"Rowan", "Fjord"} <= set(recipe)  # what the old mix held is named, if only with 0


def test_the_inks_of_the_mix_are_mended_before_others_are_thought_of():
    condition = press()
    meant = predicted(condition, {"Rowan": 20.0, "Fjord": 30.0})
    result = check_tones(
        condition, [tone(intended_lab=meant, tolerance_de00=6.0)], ink_limit_pct=LIMIT_PCT
    )
    (remedy,) = result.findings[0].remedies
    assert {step.plate for step in remedy.steps} == {"Rowan", "Fjord"}
    assert remedy.reaches_de00 < 0.3


def test_no_mix_asks_for_a_tone_too_faint_to_print():
    condition = press()
    meant = predicted(condition, {"Soot": 1.0, "Brass": 60.0, "Fog": 2.0})
    result = check_tones(
        condition, [tone(intended_lab=meant, tolerance_de00=3.0)], ink_limit_pct=LIMIT_PCT
    )
    (remedy,) = result.findings[0].remedies
    amounts = [step.amount_pct for step in remedy.steps]
    assert all(amount == 0 or amount >= condition.process.min_tone_pct for amount in amounts)


def test_a_difference_within_the_expected_error_is_unsure():
    condition = press()
    mix = {"Rowan": 60.0, "Fjord": 80.0}
    L, a, b = predicted(condition, mix)
    result = check_tones(
        condition,
        [tone(intended_lab=(L + 3, a, b), tolerance_de00=2.5)],
        ink_limit_pct=LIMIT_PCT,
    )
    (finding,), (fact,) = result.findings, result.facts
    assert finding.verdict == UNSURE
    assert (finding.value, finding.error) == (fact.de00, fact.error_de00)
    assert fact.error_de00 != pytest.approx(fact.de00, abs=0.1)
    assert finding.sentence.endswith(
        f"prints dE00 {fact.de00:.1f} from its intended colour, the tolerance is dE00 2.5; too "
        f"close to call: the prediction may be off by dE00 {fact.error_de00:.1f}."
    )
    (remedy,) = finding.remedies  # a mix that comes nearer is told before it fails
    assert remedy.reaches_de00 < 1


def test_of_the_inks_at_hand_the_tones_own_are_mended_though_one_more_would_come_nearer():
    condition = press("Soot", "Fjord", "Rowan")
    meant = predicted(condition, {"Soot": 8.0, "Fjord": 30.0, "Rowan": 20.0})
    result = check_tones(
        condition, [tone(intended_lab=meant, tolerance_de00=16.0, mix=FAR)], ink_limit_pct=LIMIT_PCT
    )
    (remedy,) = result.findings[0].remedies
    assert remedy.solves
    assert {step.plate for step in remedy.steps} == {"Fjord", "Rowan"}
    assert remedy.reaches_de00 > 0.5  # with a little Soot it would be nothing


def test_what_no_mix_can_promise_is_told_with_the_nearest_of_all():
    """No tolerance lies below the expected error, so no mix passes."""
    condition = press("Soot", "Fjord", "Rowan")
    mix = {"Soot": 20.0, "Rowan": 40.0}
    meant = predicted(condition, mix)
    one = tone(mix={"Rowan": 90.0}, intended_lab=meant, tolerance_de00=0.2)
    (remedy,) = check_tones(condition, [one], ink_limit_pct=LIMIT_PCT).findings[0].remedies
    assert not remedy.solves
    assert remedy.sentence.endswith("nothing these inks can mix comes nearer on this paper.")
    assert {step.plate: step.amount_pct for step in remedy.steps} == pytest.approx(mix, abs=1)


def test_where_no_mix_comes_nearer_that_is_said_of_what_fails():
    """Nothing prints lighter than the paper."""
    condition = press("Soot", "Fjord")
    _, a, b = predicted(condition, {})
    for lightest, said in ((100.0, 1), (95.0, 0)):
        one = tone(mix={"Soot": 0.0}, intended_lab=(lightest, a, b), tolerance_de00=0.3)
        (finding,) = check_tones(condition, [one], ink_limit_pct=LIMIT_PCT).findings
        assert finding.verdict == (FAIL if said else UNSURE)
        assert len(finding.remedies) == said
        assert all("No mix of these inks comes nearer" in r.sentence for r in finding.remedies)


@pytest.mark.parametrize(
    ("value", "limit", "error", "may_pass", "verdict"),
    [
        (280.0, 280.0, 0.0, True, PASS),  # what is counted may reach its limit
        (280.1, 280.0, 0.0, True, FAIL),
        (3.0, 4.0, 1.0, True, UNSURE),
        (2.9, 4.0, 1.0, True, PASS),
        (2.9, 4.0, 1.0, False, UNSURE),
        (5.1, 4.0, 1.0, False, FAIL),
        (2.9, None, 1.0, True, NO_LIMIT),
    ],
)
def test_a_verdict_is_sure_beyond_the_expected_error_only(value, limit, error, may_pass, verdict):
    assert judge_at_most(value, limit, error=error, may_pass=may_pass) == verdict


def test_the_worst_verdict_stands_for_several():
    assert worst((PASS, NO_LIMIT, UNSURE)) == UNSURE
    assert worst((UNSURE, FAIL)) == FAIL
    assert worst(()) == PASS


def test_nothing_rests_on_a_screen_colour():
    condition = press_with_hint()
    mix = {"Soot": 20.0, "Rowan": 60.0}
    hinted = tone(mix=mix, intended_lab=predicted(condition, mix), tolerance_de00=60.0)
    black = {"Soot": 50.0}
    sure = tone("Coal", mix=black, intended_lab=predicted(condition, black), tolerance_de00=60.0)
    result = check_tones(condition, [hinted, sure], ink_limit_pct=LIMIT_PCT)
    assert [fact.verdict for fact in result.facts] == [UNSURE, PASS]
    assert "Rowan is known only by a screen colour" in result.findings[0].sentence


@pytest.mark.parametrize(("rowan_pct", "verdict"), [(0.9, PASS), (1.0, UNSURE), (5.0, UNSURE)])
def test_a_guessed_ink_counts_from_one_percent_on(rowan_pct, verdict):
    """Less is haze (common practice)."""
    condition = press_with_hint()
    mix = {"Soot": 50.0, "Rowan": rowan_pct}
    one = tone(mix=mix, intended_lab=predicted(condition, mix), tolerance_de00=60.0)
    assert tone_facts(condition, [one])[0].verdict == verdict


def test_what_was_meant_has_its_own_field_beside_what_prints():
    (fact,) = tone_facts(press("Soot"), [tone(mix={"Soot": 100.0}, intended_srgb="#ffffff")])
    # White on this paper is the paper: L* 94, nearly neutral; sRGB rounds it to 240 or so.
    assert min(fact.intended_srgb8) > 225
    assert max(fact.predicted_srgb8) < 110


def test_without_tolerance_or_aim_no_limit_is_given():
    result = check_tones(
        press(),
        [tone("Sail", intended_srgb="#3a2c4d"), tone("Rope")],
        ink_limit_pct=LIMIT_PCT,
    )
    assert [fact.verdict for fact in result.facts] == [NO_LIMIT, NO_LIMIT]
    assert result.facts[0].intended == "#3a2c4d, relative to paper white"
    assert "no tolerance is given" in result.findings[0].sentence
    assert "does not say what colour" in result.findings[1].sentence


def test_pairs_that_look_alike_are_named():
    condition = press()
    tones = [
        tone("Night", mix={"Soot": 100.0, "Fjord": 80.0}, intended_lab=(20.0, 0.0, -10.0)),
        tone("Water", mix={"Soot": 100.0, "Fjord": 82.0}, intended_lab=(45.0, 0.0, -20.0)),
        tone("Sail", mix={"Brass": 40.0}),
    ]
    (pair,) = check_tones(condition, tones, ink_limit_pct=LIMIT_PCT).pairs
    assert (pair.first, pair.second) == ("Night", "Water")
    assert pair.predicted_de00 < 3 < 10 < pair.intended_de00


def grey(name: str, L: float, meant_L: float | None = None) -> ToneFacts:
    """A grey tone. Of greys about L* 50 dE00 is the difference of L*: there S_L is 1 (CIE 142)."""
    return ToneFacts(
        name=name, verdict=PASS, mix_pct={"Soot": L}, intended="",
        intended_lab=None if meant_L is None else (meant_L, 0.0, 0.0), intended_srgb8=None,
        predicted_lab=(L, 0.0, 0.0), predicted_srgb8=(0, 0, 0), out_of_srgb=False,
        total_ink_pct=L, de00=None, tolerance_de00=None, error_de00=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("apart", "meant_apart", "named"),
    [
        (2.9, None, True),
        (3.1, None, False),
        (2.9, 9.8, True),
        (3.1, 9.8, False),  # meant to be near one another
        (4.9, 10.2, True),  # meant to be clearly apart
        (5.1, 10.2, False),
        (5.1, 40.0, False),
    ],
)
def test_how_near_tones_may_come(apart, meant_apart, named):
    """From 2 to 3 fields side by side differ noticeably (common practice); the rest is a choice."""
    meant = (None, None) if meant_apart is None else (50 - meant_apart / 2, 50 + meant_apart / 2)
    one, other = grey("one", 50 - apart / 2, meant[0]), grey("other", 50 + apart / 2, meant[1])
    found = pairs_alike([one, other])
    assert [(pair.first, pair.second) for pair in found] == [("one", "other")] * named
    assert all(pair.predicted_de00 == pytest.approx(apart) for pair in found)


def facts_of(rng, count: int) -> list[ToneFacts]:
    """Tones close together, every third without an intent: silver."""
    condition = press()
    mixes = rng.integers(0, 8, (count, 2)) * 10.0
    return list(
        tone_facts(
            condition,
            [
                tone(
                    f"t{number}",
                    mix={"Rowan": float(rowan), "Fjord": float(fjord)},
                    intended_lab=None if number % 3 == 0 else tuple(rng.uniform(20, 80, 3)),
                )
                for number, (rowan, fjord) in enumerate(mixes)
            ],
        )
    )


def test_pairs_are_those_that_a_look_at_two_at_a_time_finds():
    facts = facts_of(np.random.default_rng(3), 40)
    found = {(pair.first, pair.second): pair for pair in pairs_alike(facts)}
    assert len(found) > 3  # of both kinds
    for one, other in combinations(facts, 2):
        predicted = float(delta_e00(one.predicted_lab, other.predicted_lab))
        meant = None
        if one.intended_lab and other.intended_lab:
            meant = float(delta_e00(one.intended_lab, other.intended_lab))
        alike = predicted < (5.0 if meant is not None and meant >= 10.0 else 3.0)
        assert ((one.name, other.name) in found) == alike
        if alike:
            pair = found[one.name, other.name]
            assert pair.predicted_de00 == pytest.approx(predicted)
            assert pair.intended_de00 == (None if meant is None else pytest.approx(meant))


def test_twice_the_tones_ask_for_differences_only_twice_as_often(monkeypatch):
    asked = []
    monkeypatch.setattr(
        "inkmix.checks.tones.check.delta_e00", lambda *labs: asked.append(1) or delta_e00(*labs)
    )
    facts = facts_of(np.random.default_rng(4), 60)
    counts = []
    for count in (30, 60):
        asked.clear()
        pairs_alike(facts[:count])
        counts.append(len(asked))
    assert counts[1] <= 2.2 * counts[0]
