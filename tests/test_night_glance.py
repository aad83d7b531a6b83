"""A night that no curve can save is told by a few squares of it, before all its pixels are seen."""

from dataclasses import replace

import numpy as np
import pytest
from drawn_nights import KINDS, ROWS, NightJob, drawn

from inkmix.checks.finding import FAIL, Remedy
from inkmix.checks.mending.glance import squares_of
from inkmix.checks.mending.mender import Mended, Spoiling
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.mending.view import AreaSource
from inkmix.checks.night.mending import NightMender
from inkmix.checks.night.remedies import _AreaSearch, curve_remedy, sparing_remedy
from inkmix.checks.night.remedy_words import too_bright as too_bright_words
from inkmix.checks.trials.trials import Trials


def day() -> NightJob:
    """A bright picture, all of it marked as night: strokes of light and dark over the sheet."""
    drawing = drawn("brush strokes, moon", 4)
    rng = np.random.default_rng(5)
    cells = rng.uniform(0, 90, (2, 50, 70)).repeat(4, axis=1).repeat(4, axis=2)
    planes = np.zeros_like(drawing.planes)
    planes[:2] = cells
    planes[2:4] = rng.uniform(0, 60, (2, 50, 70)).repeat(4, axis=1).repeat(4, axis=2)
    mask = np.ones_like(drawing.mask)
    return NightJob(drawing=replace(drawing, planes=planes, mask=mask), lightest_L=27.0)


def too_bright(job: NightJob, trials: Trials | None = None) -> Remedy | None:
    return _AreaSearch(job.check, job.result, trials or job.trials()).too_bright()


def mender(job: NightJob) -> NightMender:
    return NightMender(check=job.check, result=job.result)


def test_a_day_that_is_marked_as_night_is_told_to_be_too_bright():
    job = day()
    assert job.result.outcome.verdict == FAIL
    first, *others = job.remedies()
    assert first.correction is None
    assert not first.curves
    assert not first.solves
    assert first.do.startswith("Sky is too bright to be made dark by tone curves: by a few squares")
    assert f"only some {round(first.texture_pct)} % of its texture would stay" in first.do
    assert others[0].do.startswith("The darkest that these inks reach")


def test_what_a_few_squares_tell_is_what_curves_would_do():
    job = day()
    told = too_bright(job)
    made = curve_remedy(job.check, job.result, job.trials())
    assert made.remedy.texture_pct == pytest.approx(told.texture_pct, abs=12)
    assert made.remedy.spoils_picture


def test_only_a_few_rows_are_read_for_that(monkeypatch):
    job, seen = day(), []
    trials, read = job.trials(), job.read

    def watched(rows, cols):
        seen.append(rows.stop - rows.start)
        return read(rows, cols)

    watching = replace(trials, source=replace(trials.source, read=watched))
    assert too_bright(job, watching) is not None
    assert 0 < sum(seen) <= 64 < ROWS.stop


@pytest.mark.parametrize("kind", KINDS)
def test_no_drawn_night_is_called_too_bright(kind):
    job = NightJob(drawing=drawn(kind, 3000 + KINDS.index(kind)))
    assert too_bright(job) is None


def test_a_day_that_keeps_some_of_its_texture_is_darkened():
    """Too little of it for a picture, but somebody may want to see it."""
    job = replace(day(), lightest_L=34.0)
    assert too_bright(job) is None
    told = sparing_remedy(job.check, job.result, job.trials())
    assert isinstance(told, Remedy)
    assert 25 < told.texture_pct < 50


def test_where_not_even_solids_are_dark_enough_curves_are_not_blamed():
    """The darkest mix of these inks has L* 20."""
    job = replace(day(), lightest_L=18.0)
    assert too_bright(job) is None
    first = job.remedies()[0]
    assert first.do.startswith("The darkest that these inks reach")


def test_an_area_too_small_for_squares_is_searched_as_ever():
    job = day()
    mask = np.zeros_like(job.drawing.mask)
    mask[100:106, 40:200] = True
    job = replace(job, drawing=replace(job.drawing, mask=mask))
    assert job.result.outcome.verdict == FAIL
    assert too_bright(job) is None


def test_a_mender_tells_it_and_darkens_only_if_it_may():
    job = day()
    found = mender(job).found(job.trials(), may_spoil=False)
    assert isinstance(found, Spoiling)
    assert found.remedy.do.startswith("Sky is too bright")
    found = mender(job).found(job.trials(), may_spoil=True)
    assert isinstance(found, Mended)
    after = job.after(found.correction)
    assert after.result.outcome.value_L <= job.lightest_L


def test_what_would_cost_lights_is_told_without_trying_it_on_all_pixels(monkeypatch):
    """Snow, for half of which 99 % has no room."""
    job = NightJob(drawing=drawn("snow", 6000 + KINDS.index("snow")), share_pct=99.0)
    tried = []
    run = Trials.run_correction

    def counted(self, *args, **more):
        tried.append(args)
        return run(self, *args, **more)

    monkeypatch.setattr(Trials, "run_correction", counted)
    told = mender(job).found(job.trials(), may_spoil=False)
    assert isinstance(told, Spoiling)
    assert tried == []
    made = mender(job).found(job.trials(), may_spoil=True)
    assert tried
    for name in ("lights_kept", "lights_lost", "lights_lost_at", "share_for_lights_pct"):
        assert getattr(told.remedy, name) == getattr(made.remedy, name)
    assert told.remedy.lights_lost


def test_what_spoils_a_picture_is_taken_where_it_only_just_does(monkeypatch):
    """The second try lies below the limit, if not by all of its error; no third is made."""
    tried = []
    run = Trials.run_correction

    def counted(self, correction, boxes, **more):
        tried.extend([correction] * isinstance(correction, NightCorrection))
        return run(self, correction, boxes, **more)

    monkeypatch.setattr(Trials, "run_correction", counted)
    job = replace(day(), lightest_L=21.8)
    found = curve_remedy(job.check, job.result, job.trials())
    assert not found.is_sure
    assert not found.remedy.solves
    assert len(tried) == 2
    assert tried[1] is found.remedy.correction
    assert 19.6 < job.after(found.remedy.correction).result.outcome.value_L < 20.9


def test_only_squares_that_lie_in_the_area_are_looked_at():
    """Blocks of 30 x 12 pixels: no square of 8 holds any of what lies between."""
    rows, cols = np.mgrid[:120, :200]
    mask = (rows % 40 < 30) & (cols % 16 < 12)
    planes = np.broadcast_to(np.where(mask, 80, 200), (3, 120, 200)).astype(np.uint8)
    source = AreaSource(
        read=lambda rows, cols: planes[:, rows, cols],
        lightness=lambda planes: planes[0].astype(np.int16),
        mask=lambda rows, cols: mask[rows, cols],
    )
    squares = squares_of(source, slice(0, 120), slice(0, 200))
    assert squares.shape[1] > 12
    assert (squares == 80).all()


@pytest.mark.parametrize(
    ("texture_pct", "words"), [(3.0, "hardly any of its texture"), (7.4, "only some 7 % of its")]
)
def test_how_much_would_stay_is_said_roughly(texture_pct, words):
    assert words in too_bright_words("sky", texture_pct)


@pytest.mark.parametrize(("dark_rows", "is_looked_at"), [(100, True), (140, False)])
def test_a_night_that_is_mostly_dark_is_searched_without_a_glance(dark_rows, is_looked_at):
    """Of 200 rows; from 60 % on that are dark enough."""
    job, seen = day(), []
    planes = job.drawing.planes.copy()
    planes[:2, :dark_rows], planes[2:, :dark_rows] = 255, 0
    job = replace(job, drawing=replace(job.drawing, planes=planes))
    assert job.result.outcome.reached_pct == pytest.approx(dark_rows / 2, abs=1)
    trials, read = job.trials(), job.read

    def watched(rows, cols):
        seen.append(rows)
        return read(rows, cols)

    too_bright(job, replace(trials, source=replace(trials.source, read=watched)))
    assert bool(seen) == is_looked_at
