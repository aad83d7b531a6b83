"""Remedies: what is promised is done to the pixels here, and the checks run again."""

from dataclasses import replace

import numpy as np
import pytest
from press_for_checks import SOLIDS, inks, paper, press, press_with_hint

from inkmix.checks.finding import FAIL, LOWER, PASS, RAISE, UNSURE
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.plans import least_amount
from inkmix.checks.night.remedies import night_remedies
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.total_ink.remedies import with_ink_remedies
from inkmix.checks.trials.steps import StepGround, apply_steps
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import CheckedWindow
from inkmix.press.condition import press_condition
from inkmix.press.inks import paper_from_lab
from inkmix.press.processes import find_process
from inkmix.press.table.lookup import LIGHTNESS_SCALE
from inkmix.sheet.geometry import Sheet, panels_in_a_row

SHEET = Sheet(
    width_px=96,
    height_px=64,
    ppi=50.8,
    panels=panels_in_a_row(2, width_mm=24, height_mm=32),
)
SKY = (slice(0, 40), slice(0, 96))
ROWS, COLS = slice(0, SHEET.height_px), slice(0, SHEET.width_px)


class Job:
    """A small sheet with one night area, checked whole, its pixels predicted by the exact model."""

    def __init__(
        self, planes: np.ndarray, condition=None, *, limit_pct=260.0, lightest_L=40.0, mask=None
    ) -> None:
        self.planes = planes
        self.condition = condition or press()
        self.mask = sky() if mask is None else mask
        self.night_check = NightCheck(
            sheet=SHEET,
            condition=self.condition,
            name="Sky",
            mask_words="a picture",
            lightest_L=lightest_L,
            share_pct=95.0,
        )
        self.ink_check = TotalInkCheck(sheet=SHEET, limit_pct=limit_pct, whose="printer")
        self.ground = StepGround(
            plates=tuple(ink.name for ink in self.condition.inks),
            sheet=SHEET,
            ink_limit_pct=limit_pct,
        )
        self.night = self.night_check.finish(
            self.night_check.update(self.night_check.start(), self.window(), self.mask)
        )
        self.ink = self.ink_check.finish(
            self.ink_check.update(self.ink_check.start(), self.window())
        )

    def lightness(self, planes: np.ndarray) -> np.ndarray:
        tone_pct = 100.0 * np.moveaxis(planes, 0, -1) / np.iinfo(planes.dtype).max
        lab = self.condition.lab(tone_pct)
        return np.round(lab[..., 0] * LIGHTNESS_SCALE).astype(np.int16)

    def window(self) -> CheckedWindow:
        return CheckedWindow(
            rows=ROWS,
            cols=COLS,
            planes=self.planes,
            lightness=self.lightness(self.planes),
        )

    def trials(self) -> Trials:
        source = PixelSource(
            read=lambda r, c: (
                self.planes[:, r, c],
                self.planes[:, r, c].sum(axis=0, dtype=np.int32),
            ),
            lightness=self.lightness,
            night_mask=lambda _, r, c: self.mask[r, c],
        )
        return Trials(
            source=source,
            ground=self.ground,
            guards=[Guard(check=self.night_check, result=self.night, mask=None)],
        )

    def night_remedies(self, **more):
        return night_remedies(self.night_check, self.night, self.trials(), **more)

    def ink_findings(self):
        return with_ink_remedies(self.ink.findings, self.condition, self.trials())

    def after(self, *remedies) -> "Job":
        """The same job once the remedies are done to its plates."""
        planes, _ = apply_steps(
            self.planes,
            [step for remedy in remedies for step in remedy.steps],
            ground=self.ground,
            rows=ROWS,
            cols=COLS,
            nights={"Sky": self.mask},
        )
        return Job(
            planes,
            self.condition,
            limit_pct=self.ground.ink_limit_pct,
            lightest_L=self.night_check.lightest_L,
            mask=self.mask,
        )


def sky() -> np.ndarray:
    mask = np.zeros((SHEET.height_px, SHEET.width_px), dtype=bool)
    mask[SKY] = True
    return mask


def plates(**tones_pct: float) -> np.ndarray:
    """Even plates with a little grain, in the order of the five inks."""
    rng = np.random.default_rng(2)
    levels = [255 * tones_pct.get(name, 0) / 100 for name in SOLIDS]
    grain = rng.integers(-6, 7, (len(SOLIDS), SHEET.height_px, SHEET.width_px))
    tones = np.array(levels)[:, None, None] + grain * (np.array(levels) > 0)[:, None, None]
    return np.clip(tones, 0, 255).astype(np.uint8)


# A night that clearly fails is 9 or more L* too light here: bright inks on uncoated paper, told by
# their solids alone, may print L* 6 to 8 off.


def test_the_remedy_for_night_keeps_its_promise_on_the_pixels():
    job = Job(plates(Soot=45, Fjord=25))
    assert job.night.finding.verdict == FAIL
    (remedy,) = job.night_remedies()
    assert remedy.solves
    assert {step.operation for step in remedy.steps} == {RAISE}
    after = job.after(remedy)
    assert after.night.facts.verdict == PASS
    assert after.night.facts.value_L == remedy.reaches_L
    assert after.ink.facts.verdict == PASS
    assert after.ink.facts.max_pct >= remedy.reaches_total_pct
    assert remedy.sentence.startswith("Raise ")


def test_a_raise_is_kept_to_where_it_is_needed():
    planes = plates(Soot=100, Fjord=60)
    planes[0, 8:24, 10:40] = 60  # a pale cloud
    planes[:, 30, 5:90:9] = 0  # stars
    job = Job(planes)
    assert job.night.finding.verdict == FAIL
    (remedy,) = job.night_remedies()
    assert "(panel 1: 15 × 8 mm, 5 mm from the left, 4 mm from the top)" in remedy.sentence
    after = job.after(remedy)
    assert after.night.facts.verdict == PASS
    assert after.night.facts.value_L == remedy.reaches_L
    assert (after.planes[0, 30] == planes[0, 30]).all()


def test_a_fault_of_ink_beside_the_night_does_not_stop_its_remedy():
    planes = plates(Soot=60, Fjord=40)
    planes[:, 50:60, 10:30] = 200
    mask = sky()
    mask[50:60, 40:60] = True  # the box around the night now holds the fault as well
    job = Job(planes, mask=mask)
    (remedy,) = job.night_remedies()
    assert remedy.solves
    assert job.after(remedy).night.facts.verdict == PASS


def test_one_percent_less_would_not_do():
    job = Job(plates(Soot=70, Fjord=40))
    (remedy,) = job.night_remedies()
    less = replace(
        remedy,
        steps=tuple(replace(step, amount_pct=step.amount_pct - 1) for step in remedy.steps),
    )
    assert job.after(less).night.facts.verdict != PASS


def test_where_raising_breaks_the_ink_limit_paler_inks_are_lowered():
    job = Job(plates(Soot=30, Rowan=60, Brass=55, Fog=30), limit_pct=200.0, lightest_L=38.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (FAIL, PASS)
    (remedy,) = job.night_remedies()
    assert {step.operation for step in remedy.steps} == {RAISE, LOWER}
    assert "lower" in remedy.sentence
    after = job.after(remedy)
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)
    assert after.ink.facts.max_pct == remedy.reaches_total_pct <= 200.0


def test_what_cannot_be_reached_is_said_with_what_would_reach_it():
    coated = paper_from_lab("invented coated", (95, 0, -2), paper_class="coated", source="test")
    other = press_condition(
        coated,
        [replace(ink, measured_on=paper()) for ink in inks()],
        process=find_process("sheet-fed offset"),
    )
    job = Job(plates(Soot=90, Fjord=60), lightest_L=18.0)
    remedies = job.night_remedies(
        papers=lambda: [OtherPaper(name="invented coated", condition=other, ink_limit_pct=300.0)]
    )
    assert not any(remedy.solves or remedy.steps for remedy in remedies)
    assert "The darkest that these inks reach on this paper within 260 % of ink" in (
        remedies[0].sentence
    )
    darkest = remedies[0].reaches_L
    assert darkest > 18
    words = " ".join(remedy.sentence for remedy in remedies)
    assert "Under Soot, Fjord " in words
    assert "A double hit of Soot" in words
    assert "On invented coated the same inks would reach" in words
    for remedy in remedies:
        assert "still too light" in remedy.sentence or remedy.reaches_L <= 18


def test_a_double_hit_is_named_where_it_gains():
    one = press("Soot")
    remedies = remedies_beyond(one, ink_limit_pct=260.0, lightest_L=20.0)
    (hit,) = [remedy for remedy in remedies if "double hit of Soot" in remedy.sentence]
    assert hit.reaches_L < remedies[0].reaches_L
    assert hit.reaches_total_pct == 200.0
    assert not hit.solves


def test_a_dark_night_needs_no_remedy():
    assert Job(plates(Soot=100, Fjord=80)).night_remedies() == ()


def test_an_unsure_night_gets_a_remedy_that_makes_it_sure():
    job = Job(plates(Soot=70, Fjord=40))
    job = Job(job.planes, lightest_L=job.night.facts.value_L + 0.05)
    assert job.night.facts.verdict == UNSURE
    (remedy,) = job.night_remedies()
    assert job.after(remedy).night.facts.verdict == PASS


def test_a_remedy_that_rests_on_a_hint_solves_nothing():
    planes = plates(Soot=30, Fjord=15)[:2]
    job = Job(planes, press_with_hint())
    assert job.night.facts.verdict == FAIL
    (remedy,) = job.night_remedies()
    assert not remedy.solves
    assert "Rowan is known only by a screen colour" in remedy.sentence
    assert job.after(remedy).night.outcome.clears


def test_the_remedy_for_total_ink_keeps_its_promise_on_the_pixels():
    planes = plates(Soot=20, Rowan=30)
    planes[:, 50:60, 10:30] = 200
    planes[:, 45:60, 60:90] = np.array([255, 200, 120, 100, 90])[:, None, None]
    job = Job(planes)
    findings = job.ink_findings()
    assert [finding.verdict for finding in findings] == [FAIL, FAIL]
    remedies = [finding.remedies[0] for finding in findings]
    assert all(remedy.solves for remedy in remedies)
    after = job.after(*remedies)
    assert after.ink.facts.verdict == PASS
    assert after.ink.facts.max_pct <= 260.0
    (alone,) = [f for f in job.after(remedies[0]).ink.findings if f.verdict == FAIL]
    assert alone.rows_px == findings[1].rows_px


def test_lowering_changes_the_colour_less_than_the_obvious_choice():
    planes = plates(Soot=5)
    planes[:, 50:60, 10:30] = np.array([240, 230, 120, 110, 100])[:, None, None]
    job = Job(planes)
    (finding,) = [f for f in job.ink_findings() if f.verdict == FAIL]
    remedy = finding.remedies[0]
    soot = [step for step in remedy.steps if step.plate == "Soot"]
    assert soot == []  # the black carries the drawing
    assert remedy.reaches_de00 < 4


def test_lowering_never_costs_a_night_that_passes():
    planes = plates(Soot=100, Fjord=80)
    planes[2:, 10:30, 20:60] = 140  # Rowan, Brass and Fog over the night sky
    job = Job(planes)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (PASS, FAIL)
    findings = [finding for finding in job.ink_findings() if finding.verdict == FAIL]
    remedies = [finding.remedies[0] for finding in findings]
    after = job.after(*remedies)
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)


def test_specks_that_fail_together_get_one_remedy_for_the_sheet():
    planes = plates(Soot=20)
    planes[:, 50:60:2, 10:30:2] = 200
    job = Job(planes)
    (finding,) = job.ink_findings()
    assert (finding.name, finding.verdict, finding.place) == ("specks", FAIL, None)
    assert job.after(*finding.remedies).ink.facts.verdict == PASS


@pytest.mark.parametrize("least", [1, 2, 37, 50, 51, 99, 100])
@pytest.mark.parametrize("guess", [1, 40, 50, 100])
def test_the_least_amount_is_found_from_any_guess(least, guess):
    asked = []

    def does(amount: int) -> str | None:
        asked.append(amount)
        return f"did at {amount}" if amount >= least else None

    assert least_amount(does, guess=guess) == (least, f"did at {least}")
    assert len(asked) == len(set(asked))
    assert all(1 <= amount <= 100 for amount in asked)


def test_no_amount_is_found_where_none_does():
    assert least_amount(lambda _: None, guess=30) is None


def test_without_an_ink_limit_night_is_still_mended():
    job = Job(plates(Soot=60, Fjord=40), limit_pct=None)
    (remedy,) = job.night_remedies()
    assert {step.operation for step in remedy.steps} == {RAISE}
    assert job.after(remedy).night.facts.verdict == PASS
    assert job.ink_findings() == job.ink.findings


def test_a_plate_that_is_screened_already_is_left_alone():
    condition = press().with_screened(["Brass"])
    planes = plates(Soot=20, Rowan=50, Fjord=40)
    planes[3] = np.random.default_rng(4).choice(np.array([0, 255], np.uint8), planes[3].shape)
    job = Job(planes, condition, limit_pct=200.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (FAIL, FAIL)
    remedies = [*job.night_remedies(), *(r for f in job.ink_findings() for r in f.remedies)]
    steps = [step for remedy in remedies for step in remedy.steps]
    assert steps
    assert all(step.plate != "Brass" for step in steps)
