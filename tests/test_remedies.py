"""Remedies: what is promised is done to the pixels here, and the checks run again."""

import math
from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from drawn_nights import KINDS, NightJob, demo_press, drawn
from known_inks import paper_from_lab
from press_for_checks import SOLIDS, inks, paper, press, press_with_hint

from inkmix.checks.finding import FAIL, PASS, TAKE_OFF, UNSURE
from inkmix.checks.mending.cells import Cells
from inkmix.checks.mending.ink_off import InkOff, InkOffGround, ink_off_correction
from inkmix.checks.mending.lights import Light, Lights
from inkmix.checks.mending.lost_lights import largest_lost, lost_lights_words
from inkmix.checks.night.check import NightCheck
from inkmix.checks.night.mending import NightMender
from inkmix.checks.night.other_means import OtherPaper, remedies_beyond
from inkmix.checks.night.remedies import night_remedies, share_for_lights_pct
from inkmix.checks.total_ink.check import TotalInkCheck
from inkmix.checks.total_ink.remedies import (
    LIGHTNESS_WORTHS,
    chosen_correction,
    with_ink_remedies,
)
from inkmix.checks.trials import tally
from inkmix.checks.trials.ground import TrialGround
from inkmix.checks.trials.tally import Band, count_changes
from inkmix.checks.trials.trials import Guard, PixelSource, Trials
from inkmix.checks.window import CheckedWindow
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import ink_from_srgb
from inkmix.press.processes import find_process
from inkmix.press.table.colouring import Colouring
from inkmix.press.table.lookup import build_lookup
from inkmix.sheet.geometry import Sheet, panels_in_a_row
from inkmix.sheet.places import in_sentence

SHEET = Sheet(
    width_px=96,
    height_px=64,
    ppi=50.8,
    panels=panels_in_a_row(2, width_mm=24, height_mm=32),
)
SKY = (slice(0, 40), slice(0, 96))
ROWS, COLS = slice(0, SHEET.height_px), slice(0, SHEET.width_px)


class Job:
    """A small sheet with one night area, checked whole, predicted by the table of colours."""

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
        self.ground = TrialGround(
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
        return colouring(self.condition).lightness(np.ascontiguousarray(planes))

    def window(self) -> CheckedWindow:
        return CheckedWindow(
            rows=ROWS,
            cols=COLS,
            planes=self.planes,
            lightness=self.lightness(self.planes),
        )

    def trials(self) -> Trials:
        def look(planes):
            coloured = colouring(self.condition).coloured(np.ascontiguousarray(planes))
            return coloured.srgb8, coloured.lightness

        source = PixelSource(
            look=look,
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

    def after(self, remedy) -> "Job":
        """The same job once the correction of a remedy is made."""
        return self.with_planes(remedy.correction.applied(self.planes, rows=ROWS, cols=COLS))


@cache
def colouring(condition: PressCondition) -> Colouring:
    """The table of colours of a press."""
    return Colouring(build_lookup(condition, inks=len(condition.inks), depth=8))


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
    job = Job(plates(Soot=45, Fjord=25), lightest_L=42.0)
    assert job.night.finding.verdict == FAIL
    (remedy,) = job.night_remedies()
    assert remedy.solves
    after = job.after(remedy)
    assert after.night.facts.verdict == PASS
    assert after.night.facts.value_L == remedy.reaches_L
    assert after.ink.facts.verdict == PASS
    assert after.ink.facts.max_pct >= remedy.reaches_total_pct
    assert (after.planes >= job.planes).all()
    assert remedy.sentence.startswith("Darken the pale parts of Sky by smooth tone curves")
    gained = (after.planes.astype(int) - job.planes).max(axis=(1, 2)) * 100 / 255
    for step in remedy.curves:
        assert step.most_pct == pytest.approx(gained[list(SOLIDS).index(step.plate)], abs=1)
        assert f"{math.ceil(step.most_pct)} " in remedy.sentence
        assert f" more {step.plate}" in remedy.sentence


def test_what_is_dark_enough_stays_and_stars_stay_as_drawn():
    """A pale cloud at the left; far from it no byte changes."""
    planes = plates(Soot=100, Fjord=60)
    planes[0, 8:24, 4:24] = 110
    planes[:, 28:30, 5:90:9] = planes[:, 29:31, 6:90:9] = 0  # 40 pixels, 1 % of the sky
    job = Job(planes, lightest_L=46.0)
    assert job.night.finding.verdict == UNSURE
    (remedy,) = job.night_remedies()
    after = job.after(remedy)
    assert after.night.facts.verdict == PASS
    assert remedy.lights_kept == 10
    assert remedy.gains.endswith(f"{remedy.lights_kept} lights stay as drawn.")
    assert (after.planes[:, 28:30, 5:90:9] == 0).all()
    assert (after.planes[:, :, 70:] == planes[:, :, 70:]).all()


def test_a_pale_place_that_is_larger_than_the_room_goes_dark_and_the_moon_stays():
    """Of 3,840 pixels 192 may stay light: the moon has 69, the fog 640."""
    planes = plates(Soot=70, Fjord=60)
    rows, cols = np.mgrid[: SHEET.height_px, : SHEET.width_px]
    moon = np.hypot(rows - 12, cols - 70) < 4.6
    planes[:, moon] = 0
    planes[:2, 20:36, 4:44] //= 2
    job = Job(planes)
    (remedy,) = job.night_remedies()
    after = job.after(remedy)
    assert after.night.facts.verdict == PASS
    assert (after.planes[:, moon] == planes[:, moon]).all()
    assert (after.planes[0, 22:34, 8:40] > planes[0, 22:34, 8:40]).all()


def test_a_light_for_which_the_share_has_no_room_is_said_to_turn_dark():
    planes = plates(Soot=70, Fjord=60)
    rows, cols = np.mgrid[: SHEET.height_px, : SHEET.width_px]
    planes[:, np.hypot(rows - 20, cols - 50) < 10] = 0
    (remedy,) = Job(planes, lightest_L=48.0).night_remedies()
    assert (remedy.lights_kept, remedy.lights_lost) == (0, 1)
    assert remedy.loses.startswith("1 light turns dark: the share leaves no room for more.")
    # 317 of 3,840 pixels; lights get 0.8 of what may stay light, and 0.7 of that is reckoned with.
    assert remedy.share_for_lights_pct == math.floor(100 - 100 * 317 / (0.56 * 3840)) == 85
    (where,) = remedy.lights_lost_at  # a circle of 19 px at 2 px a millimetre
    box = where.sheet_x_mm, where.sheet_y_mm, where.width_mm, where.height_mm
    assert box == pytest.approx((41 / 2, 11 / 2, 19 / 2, 19 / 2), abs=0.5)
    assert f"no room for more. It is {in_sentence(where)}." in remedy.loses
    assert "By its size, it would stay with 85 % in place of 95 %" in remedy.loses


@pytest.mark.parametrize(
    ("lost", "named", "said"),
    [
        (1, 1, "It is 5 × 5 mm on panel 1, 12 mm from the left, 8 mm from the top."),
        (2, 2, "They are 5 × 5 mm on panel 1, "),
        (4, 3, "; 1 more is smaller."),
        (12, 3, "The largest are 5 × 5 mm on panel 1, "),
        (12, 3, "; 9 more are smaller."),
    ],
)
def test_the_largest_lights_that_turn_dark_are_named_with_their_place(lost, named, said):
    place = SHEET.place_of(slice(16, 26), slice(24, 34))
    assert said in lost_lights_words(lost, [place] * named)


def test_of_many_lights_the_three_largest_are_named():
    """Cells of 2 px; pixels tell the size, and of equals how far one stands out."""
    box = slice(0, 1), slice(0, 1)
    lights = tuple(
        Light(rows=slice(k, k + 1), cols=box[1], pixels=pixels, stands_out_L=float(k))
        for k, pixels in enumerate((4, 90, 7, 30, 90))
    )
    cells = Cells(rows=ROWS, cols=COLS, factor=2)
    none = np.zeros(cells.shape, np.bool_)
    found = Lights(
        cells=none, going_cells=none, from_L=0.0 * none, level_L=0.0 * none, kept=(), lost=lights
    )
    places = largest_lost(SimpleNamespace(lights=found, cells=cells), SHEET)
    assert [round(place.sheet_y_mm) for place in places] == [4, 1, 3]


def test_with_the_share_that_is_named_all_lights_stay():
    """Snow, for half of which 99 % has no room.

    On 27 drawn nights that lose lights at 99 %, all stayed with the share named on 26.
    """
    drawing = drawn("snow", 6000 + KINDS.index("snow"))
    remedy = NightJob(drawing=drawing, share_pct=99.0).remedies()[0]
    assert remedy.lights_lost
    other = NightJob(drawing=drawing, share_pct=remedy.share_for_lights_pct).remedies()[0]
    assert other.lights_lost == 0
    assert other.share_for_lights_pct is None


def test_a_fault_of_ink_beside_the_night_does_not_stop_its_remedy():
    planes = plates(Soot=60, Fjord=40)
    planes[:, 50:60, 10:30] = 200
    mask = sky()
    mask[50:60, 40:60] = True  # the box around the night now holds the fault as well
    job = Job(planes, mask=mask)
    (remedy,) = job.night_remedies()
    assert remedy.solves
    assert job.after(remedy).night.facts.verdict == PASS


def test_what_would_take_the_picture_is_not_done_for_the_expected_error():
    """To be sure it must come down by all of the error, and half the texture goes with that."""
    job = Job(plates(Soot=45, Fjord=25))
    first, *_ = job.night_remedies()
    assert not first.spoils_picture
    assert "but only just" in first.sentence
    assert job.after(first).night.facts.value_L <= 40


def test_no_more_is_darkened_than_the_expected_error_asks_for():
    job = Job(plates(Soot=70, Fjord=40))
    (remedy,) = job.night_remedies()
    after = job.after(remedy).night
    assert after.outcome.clears
    assert after.facts.value_L > after.facts.lightest_L - after.outcome.error_L - 2


@pytest.mark.parametrize("limit_pct", [160.0, 180.0])
def test_curves_then_ink_off_give_a_sheet_that_passes_both(limit_pct):
    """Rowan and Fog leave no room: what the curves bring over the limit comes off again."""
    planes = plates(Soot=45, Fjord=20, Rowan=55, Fog=20)
    planes[:, 4:12, 10:30] = np.array([130, 90, 170, 30, 90])[:, None, None]
    job = Job(planes, limit_pct=limit_pct, lightest_L=41.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (UNSURE, FAIL)
    (remedy,) = job.night_remedies()
    assert remedy.solves
    assert remedy.advice.startswith("Do the remedy for total ink after it")
    assert remedy.paragraphs == (remedy.do, remedy.loses, remedy.gains, remedy.advice)
    between = job.after(remedy)
    assert between.ink.facts.verdict == FAIL
    after = between.with_ink_off()
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)


@pytest.mark.parametrize("under_pct", [2.0, 10.0])
def test_what_curves_alone_bring_over_the_limit_comes_off_again(under_pct):
    """A place in the night lies so much under the limit, and nothing lies over it."""
    limit_pct = 160.0
    planes = plates(Soot=45, Fjord=20, Rowan=55, Fog=20)
    mix_pct = np.array([45, 20, limit_pct - under_pct - 90, 5, 20])
    planes[:, 4:12, 10:30] = np.floor(2.55 * mix_pct)[:, None, None]
    job = Job(planes, limit_pct=limit_pct, lightest_L=41.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (UNSURE, PASS)
    (remedy,) = job.night_remedies()
    assert remedy.solves
    between = job.after(remedy)
    assert between.ink.facts.verdict == FAIL
    after = between.with_ink_off()
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)


@pytest.mark.parametrize(("share_pct", "named"), [(96.0, 95.0), (95.0, None), (94.0, None)])
def test_no_share_is_named_that_the_book_gives_already(share_pct, named):
    """Lights of 280 pixels in 10,000: 0.8 of the room is for lights, 0.7 of that is reckoned with.

    So 280 / 0.56 = 500 pixels, 5 %, have to be left.
    """
    lights = SimpleNamespace(kept=[SimpleNamespace(pixels=200)], lost=[SimpleNamespace(pixels=80)])
    made = SimpleNamespace(lights=lights, recipe=SimpleNamespace(lights_pct=80.0))
    check = SimpleNamespace(share_pct=share_pct)
    assert share_for_lights_pct(check, made, pixels=10_000) == named


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
    assert not any(remedy.solves or remedy.curves for remedy in remedies)
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


def harbour_in_the_sky(*, base=(150, 50), below_L=None) -> tuple[Job, Trials]:
    """A harbour, dark without Soot, in a sky that is too light, and both on trial.

    Soot is known by its screen colour alone: the harbour would rest on it.
    """
    soot = ink_from_srgb("Soot", "#2a2a2c", paper=paper())
    process = find_process("sheet-fed offset")
    condition = press_condition(paper(), [soot, *inks("Fjord", "Rowan")], process=process)
    planes = np.zeros((3, SHEET.height_px, SHEET.width_px), np.uint8)
    planes[1:] = np.array(base)[:, None, None]
    harbour = slice(10, 20), slice(20, 60)
    planes[1:, *harbour] = np.array([255, 230])[:, None, None]
    job, mask = Job(planes, condition), np.zeros_like(sky())
    if below_L is not None:
        job = Job(planes, condition, lightest_L=job.night.facts.value_L - below_L)
    mask[harbour] = True
    check = replace(job.night_check, name="Harbour", lightest_L=50.0)
    result = check.finish(check.update(check.start(), job.window(), mask))
    assert job.night.facts.verdict in (FAIL, UNSURE)
    assert result.facts.verdict == PASS
    masks, alone = {"Sky": job.mask, "Harbour": mask}, job.trials()
    source = replace(alone.source, night_mask=lambda name, r, c: masks[name][r, c])
    guards = [*alone.guards, Guard(check=check, result=result, mask=None)]
    return job, replace(alone, source=source, guards=guards)


def test_a_remedy_that_spoils_another_night_is_passed_over():
    job, beside = harbour_in_the_sky()
    (alone_remedy, *_) = job.night_remedies()
    assert "Soot" in {step.plate for step in alone_remedy.curves}
    assert beside.spoilt_by(beside.run_correction(alone_remedy.correction, [(ROWS, COLS)]))
    others = night_remedies(job.night_check, job.night, beside)
    for remedy in others:
        if remedy.correction is not None:
            trial = beside.run_correction(remedy.correction, [(ROWS, COLS)])
            assert not beside.spoilt_by(trial)


@pytest.mark.parametrize("may_spoil", [False, True])
def test_what_was_tried_in_vain_is_neither_made_nor_said_to_spoil_the_picture(may_spoil):
    """Curves that would keep the sky's texture, but for which the harbour passes no more."""
    job, beside = harbour_in_the_sky(base=(220, 100), below_L=0.4)
    mender = NightMender(check=job.night_check, result=job.night)
    assert mender.found(beside, may_spoil=may_spoil) is None


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
    assert "but only just: the prediction may be off by" in remedy.sentence
    after = job.after(remedy).night.outcome
    assert 38 < after.value_L <= 40  # whoever darkens for a guess darkens for nothing


def test_a_night_on_a_screen_colour_comes_down_to_its_limit_and_not_by_the_error_further():
    """The prediction may be off by L* 9 here; curves could reach that deep."""
    planes = plates(Soot=60, Fjord=20)[:2]
    found = Job(planes, press_with_hint()).night.facts.value_L
    job = Job(planes, press_with_hint(), lightest_L=found - 1)
    (remedy,) = job.night_remedies()
    after = job.after(remedy).night.outcome
    assert after.error_L > 5
    assert found - 2.5 < after.value_L <= found - 1


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
    assert remedy.do.endswith(" off where total ink is over 260 %.")
    assert remedy.loses.startswith("The colour there changes by ")
    assert remedy.gains == "Total ink then reaches 260 %."
    assert remedy.change.most_de00 < 0.5


def test_where_every_correction_costs_a_night_that_is_said_and_nothing_is_solved():
    job = Job(plates(Soot=100, Fjord=100, Rowan=80), limit_pct=60.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (PASS, FAIL)
    (remedy,) = job.ink_findings()[0].remedies
    assert remedy.loses.endswith(" at most. Sky is no longer dark enough.")
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


def test_of_two_ways_to_take_ink_off_the_one_that_keeps_a_night_dark_is_chosen():
    """On the inks of the demo, of which the predicted L* may be 2 off."""
    job = Job(plates(Soot=95, Fjord=90, Brass=60), demo_press(), limit_pct=200.0, lightest_L=26.2)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (PASS, FAIL)
    wanted = InkOff(limit_pct=200.0, knee_pct=5.0, lightness_worth=LIGHTNESS_WORTHS[0])
    first = ink_off_correction(wanted, job.ink_ground(), job.ink.over)
    lighter = job.with_planes(first.applied(job.planes, rows=ROWS, cols=COLS))
    assert (lighter.night.facts.verdict, lighter.ink.facts.verdict) == (UNSURE, PASS)
    after = job.with_ink_off()
    assert (after.night.facts.verdict, after.ink.facts.verdict) == (PASS, PASS)


def test_a_place_just_over_the_limit_takes_no_ink_from_what_lies_well_under_it():
    """At 8 bits 260 % are 663 steps: a place has 2 more, all around it is 8 under, 3 points."""
    planes = np.full((5, SHEET.height_px, SHEET.width_px), 131, np.uint8)
    planes[:, 44:60, 20:50] = 133
    job = Job(planes)
    assert job.ink.facts.verdict == FAIL
    after = job.with_ink_off()
    assert after.ink.facts.verdict == PASS
    changed = (after.planes != planes).any(axis=0)
    assert changed[44:60, 20:50].all()
    assert changed.sum() == 16 * 30


def test_specks_that_fail_together_get_one_remedy_for_the_sheet():
    planes = plates(Soot=20)
    planes[:, 50:60:2, 10:30:2] = 200
    job = Job(planes)
    (finding,) = job.ink_findings()
    assert (finding.name, finding.verdict, finding.place) == ("specks", FAIL, None)
    assert finding.remedies[0].solves
    assert job.with_ink_off().ink.facts.verdict == PASS


def test_without_an_ink_limit_night_is_still_mended():
    job = Job(plates(Soot=60, Fjord=40), limit_pct=None)
    (remedy,) = job.night_remedies()
    assert job.after(remedy).night.facts.verdict == PASS
    assert job.ink_findings() == job.ink.findings


def test_a_plate_that_is_screened_already_is_left_alone():
    condition = press().with_screened(["Brass"])
    planes = plates(Soot=20, Rowan=50, Fjord=40)
    planes[3] = np.random.default_rng(4).choice(np.array([0, 255], np.uint8), planes[3].shape)
    job = Job(planes, condition, limit_pct=200.0)
    assert (job.night.facts.verdict, job.ink.facts.verdict) == (FAIL, FAIL)
    remedies = [*job.night_remedies(), *(r for f in job.ink_findings() for r in f.remedies)]
    steps = [step for remedy in remedies for step in (*remedy.steps, *remedy.curves)]
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
