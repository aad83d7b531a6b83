"""Remedies: what is promised is done to the pixels here, and the checks run again."""

from dataclasses import replace

import numpy as np
import pytest
from inkmix.checks.night.plans import least_amount, planner
from known_inks import paper_from_lab
from press_for_checks import SOLIDS, inks, paper, press, press_with_hint

from inkmix.checks.finding import FAIL, LOWER, PASS, RAISE, TAKE_OFF, UNSURE, Finding, Spot
from inkmix.checks.mending.ink_off import InkOffGround
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.remedies import night_remedies, pale_box
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.total_ink.remedies import chosen_correction, with_ink_remedies
from inkmix.checks.trials import tally
from inkmix.checks.trials.steps import StepGround, apply_steps
from inkmix.checks.trials.tally import Band, count_changes
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import CheckedWindow
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import press_condition
from inkmix.press.inks import ink_from_srgb
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
        return with_ink_remedies(self.ink, self.ink_ground(), self.trials())

    def ink_ground(self) -> InkOffGround:
        return InkOffGround(
            read=self.trials().source.read,
            condition=self.condition,
            sheet=SHEET,
            printed_from=tuple(range(len(self.planes))),
        )

    def with_ink_off(self) -> "Job":
        """The same job once the correction that its remedies speak of was made."""
        correction = chosen_correction(self.ink, self.ink_ground(), self.trials())
        return self.with_planes(correction.applied(self.planes, rows=ROWS, cols=COLS))

    def with_planes(self, planes: np.ndarray) -> "Job":
        return Job(
            planes,
            self.condition,
            limit_pct=self.ground.ink_limit_pct,
            lightest_L=self.night_check.lightest_L,
            mask=self.mask,
        )

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
        return self.with_planes(planes)


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


@pytest.mark.parametrize(
    ("limits_pct", "named"),
    [((120, 240, 160, 200), [240, 200]), ((100, 120), [120])],
)
def test_papers_are_named_from_the_one_on_which_night_comes_out_darkest(limits_pct, named):
    """Papers that differ by the ink they carry alone; here it is 180 %."""
    papers = [
        OtherPaper(name=f"{limit} %", condition=press(), ink_limit_pct=limit)
        for limit in limits_pct
    ]
    found = remedies_beyond(press(), ink_limit_pct=180, lightest_L=20, papers=papers)
    words = [remedy.sentence for remedy in found if remedy.sentence.startswith("On ")]
    assert [sentence.split(" %")[0] for sentence in words] == [f"On {limit}" for limit in named]


def test_a_double_hit_is_named_where_it_gains():
    one = press("Soot")
    remedies = remedies_beyond(one, ink_limit_pct=260.0, lightest_L=20.0)
    (hit,) = [remedy for remedy in remedies if "double hit of Soot" in remedy.sentence]
    assert hit.reaches_L < remedies[0].reaches_L
    assert hit.reaches_total_pct == 200.0
    assert not hit.solves


def test_a_remedy_that_spoils_another_night_is_passed_over():
    """Soot is known by its screen colour alone: the harbour, dark without it, would rest on it."""
    soot = ink_from_srgb("Soot", "#2a2a2c", paper=paper())
    process = find_process("sheet-fed offset")
    condition = press_condition(paper(), [soot, *inks("Fjord", "Rowan")], process=process)
    planes = np.zeros((3, SHEET.height_px, SHEET.width_px), np.uint8)
    planes[1:] = np.array([150, 50])[:, None, None]
    harbour = slice(10, 20), slice(20, 60)
    planes[1:, *harbour] = np.array([255, 230])[:, None, None]
    job, mask = Job(planes, condition), np.zeros_like(sky())
    mask[harbour] = True
    check = replace(job.night_check, name="Harbour", lightest_L=50.0)
    result = check.finish(check.update(check.start(), job.window(), mask))
    assert (job.night.facts.verdict, result.facts.verdict) == (FAIL, PASS)
    masks, alone = {"Sky": job.mask, "Harbour": mask}, job.trials()
    source = replace(alone.source, night_mask=lambda name, r, c: masks[name][r, c])
    guards = [*alone.guards, Guard(check=check, result=result, mask=None)]
    beside = replace(alone, source=source, guards=guards)
    assert "Soot" in {step.plate for step in job.night_remedies()[0].steps}
    others = night_remedies(job.night_check, job.night, beside)
    assert "Soot" not in {step.plate for remedy in others for step in remedy.steps}


def test_a_raise_keeps_the_ink_limit_where_plates_hold_more_than_it_asks_for():
    """Rowan holds 90 % already: of two dark inks at once nothing could be lowered to make room."""
    planes = plates(Soot=40, Fjord=20, Rowan=90, Brass=40, Fog=60)
    job = Job(planes, limit_pct=180.0, lightest_L=30.0)
    raising = [remedy for remedy in job.night_remedies() if remedy.steps]
    assert raising
    for remedy in raising:
        after = job.after(remedy).planes[:, *SKY].sum(axis=0, dtype=int)
        assert after.max() <= 180 * 255 / 100


def planned(job, *, margin=False):
    plans = planner(
        job.condition,
        job.night.counts,
        lightest_L=job.night_check.lightest_L,
        share_pct=job.night_check.share_pct,
        ink_limit_pct=job.ground.ink_limit_pct,
    )
    return plans, plans.ranked(margin=margin)


def test_plans_cost_the_change_of_colour_and_half_a_point_a_plate():
    """Over one even mix the change is that of one colour; the gentlest plan stands first."""
    planes = np.zeros((5, SHEET.height_px, SHEET.width_px), np.uint8)
    planes[:2] = np.array([128, 102])[:, None, None]
    job = Job(planes)
    _, ranked = planned(job)
    before = np.array([100 * 128 / 255, 40, 0, 0, 0])
    for one in ranked:
        after = before.copy()
        for plate, floor in one.plan.floors(one.amount).items():
            after[plate] = max(after[plate], floor)
        change = delta_e00(job.condition.lab(before), job.condition.lab(after))
        plates_raised = len(one.plan.floors(one.amount))
        assert one.cost_de00 == pytest.approx(change + 0.5 * plates_raised, abs=1e-6)
    costs = [one.cost_de00 for one in ranked]
    assert len(set(costs)) > 3
    assert costs == sorted(costs)


def test_dark_inks_are_raised_and_the_palest_make_room():
    """By L* of the solids: Soot 32, Fjord 40 and Rowan 55; Fog 80 and Brass 82 deepen no night."""
    plans, ranked = planned(Job(plates(Soot=60, Fjord=40)))
    raised = {plate for one in ranked for plate in one.plan.floors(50)}
    assert raised == {0, 1, 2}
    assert plans.palest_first({0: 80.0}) == [3, 4, 2, 1]


def test_with_a_margin_more_is_raised_and_lamps_are_no_reason_to():
    even, lamps = plates(Soot=60, Fjord=40), plates(Soot=60, Fjord=40)
    lamps[:, 5:9, 5:41] = 0  # 3.75 % of the sky; 5 % may stay light
    just, sure = ({one.plan: one.amount for one in planned(Job(even), margin=margin)[1]}
                  for margin in (False, True))  # fmt: skip
    assert all(sure[plan] >= just[plan] for plan in sure)
    assert any(sure[plan] > just[plan] for plan in sure)
    lit = {one.plan: one.amount for one in planned(Job(lamps))[1]}
    assert all(lit[plan] <= just[plan] + 2 for plan in just)


def test_a_place_is_large_enough_where_the_rest_may_stay_light():
    """30 of 100 mm² are too light and 20 may be: without a patch of 8 mm² 22 are left, then 16."""
    spots = tuple(
        Spot(place=SHEET.place_of(slice(row, row + 4), slice(0, 9)), rows_px=(row, row + 4),
             cols_px=(0, 9), value=50.0, area_mm2=area_mm2)
        for row, area_mm2 in ((0, 8.0), (10, 6.0), (20, 5.0))
    )  # fmt: skip
    finding = Finding(check="night", name="Sky", verdict=FAIL, sentence="", unit="L*",
                      area_mm2=30.0, area_pct=30.0, spots=spots)  # fmt: skip
    assert pale_box(finding, share_pct=80.0) == (slice(0, 14), slice(0, 9))
    assert pale_box(finding, share_pct=95.0) is None


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
    """Change and points are those of the correction, which serves both places."""
    planes = plates(Soot=20, Rowan=30)
    planes[:, 50:60, 10:30] = 200
    planes[:, 45:60, 60:90] = np.array([255, 200, 120, 100, 90])[:, None, None]
    job = Job(planes)
    findings = job.ink_findings()
    assert [finding.verdict for finding in findings] == [FAIL, FAIL]
    remedies = [finding.remedies[0] for finding in findings]
    assert all(remedy.solves for remedy in remedies)
    after = job.with_ink_off()
    assert after.ink.facts.verdict == PASS
    assert after.ink.facts.max_pct <= 260.0
    for finding, remedy in zip(findings, remedies, strict=True):
        place = slice(*finding.rows_px), slice(*finding.cols_px)
        before_pct, after_pct = (one.planes[:, *place] / 2.55 for one in (job, after))
        taken = np.ceil((before_pct - after_pct).max(axis=(1, 2)) - 1e-9)
        assert {step.plate: step.amount_pct for step in remedy.steps} == {
            name: points for name, points in zip(SOLIDS, taken, strict=True) if points
        }
        labs = [job.condition.lab(np.moveaxis(pct, 0, -1)) for pct in (before_pct, after_pct)]
        assert remedy.change.mean_de00 == pytest.approx(delta_e00(*labs).mean(), abs=1e-6)


def test_taking_ink_off_changes_the_colour_less_than_the_obvious_choice():
    planes = plates(Soot=5)
    planes[:, 50:60, 10:30] = np.array([240, 230, 120, 110, 100])[:, None, None]
    (finding,) = [f for f in Job(planes).ink_findings() if f.verdict == FAIL]
    (remedy,) = finding.remedies
    assert {step.operation for step in remedy.steps} == {TAKE_OFF}
    assert "Soot" not in {step.plate for step in remedy.steps}  # the black carries the drawing
    assert remedy.steps[0].plate == "Fog"  # pale, and near to the paper's hue
    assert remedy.sentence.startswith("Take up to 39 points of Fog, 9 of Brass, ")
    assert " off where total ink is over 260 %: it then reaches 260 %, " in remedy.sentence
    assert remedy.change.most_de00 < 0.5


def test_where_every_correction_costs_a_night_that_is_said_and_nothing_is_solved():
    job = Job(plates(Soot=100, Fjord=100, Rowan=80), limit_pct=60.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (PASS, FAIL)
    (remedy,) = job.ink_findings()[0].remedies
    assert remedy.sentence.endswith("but then Sky is no longer dark enough.")
    assert not remedy.solves
    after = job.with_ink_off()
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (FAIL, PASS)


def test_taking_ink_off_never_costs_a_night_that_passes():
    planes = plates(Soot=100, Fjord=80)
    planes[2:, 10:30, 20:60] = 140  # Rowan, Brass and Fog over the night sky
    job = Job(planes)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (PASS, FAIL)
    after = job.with_ink_off()
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)


def test_specks_that_fail_together_get_one_remedy_for_the_sheet():
    planes = plates(Soot=20)
    planes[:, 50:60:2, 10:30:2] = 200
    job = Job(planes)
    (finding,) = job.ink_findings()
    assert (finding.name, finding.verdict, finding.place) == ("specks", FAIL, None)
    assert finding.remedies[0].solves
    assert job.with_ink_off().ink.facts.verdict == PASS


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


def test_bands_of_a_trial_change_nothing(monkeypatch):
    """Rows of the sheet one by one are as good as all at once; the most ink lies in the middle."""
    planes = plates(Soot=20, Rowan=30)
    planes[:, 45:60, 60:90] = np.array([255, 200, 120, 100, 90])[:, None, None]
    planes[:, 52, 70:80] = 200
    night = plates(Soot=60, Fjord=40)
    jobs = Job(planes), Job(night)
    whole = jobs[0].ink_findings(), jobs[1].night_remedies()
    monkeypatch.setattr("inkmix.checks.window.BAND_PX", 1)
    assert (jobs[0].ink_findings(), jobs[1].night_remedies()) == whole


def test_compiled_and_plain_loops_count_changes_alike():
    """Pixels just at the limit are within it, for either."""
    before = np.full((2, 4, 4), 200, np.uint8)
    after = before.copy()
    after[0, :2] = 55
    after[0, 0, 0] = 56
    band = Band(before=before, after=after, ink_sum=after.sum(axis=0, dtype=np.int32), masks={})
    counted = count_changes(band, limit=255)
    plain = tally._plain(band, 255)
    assert (counted.over_px, counted.left_over_px, counted.losing_px) == (9, 1, 8)
    assert (plain.highest, plain.over_px, plain.left_over_px) == (400, 9, 1)
    np.testing.assert_array_equal(plain.most, counted.most)
    np.testing.assert_array_equal(plain.taken, counted.taken)
