"""What files can hold of a correction: other depths, finer plates, plates that print twice."""

from types import SimpleNamespace

import numpy as np
import pytest
from night_book import HEAVY, draw_book

from inkmix.checks.trials.after import after
from inkmix.jobs.books import read_book
from inkmix.jobs.check import looked_at, trials_of
from inkmix.jobs.spread import no_progress, open_uncounted
from inkmix.plates.corrected import fixed, following, held, in_file

ALL = slice(0, 160), slice(0, 200)


def plate_set(tmp_path, form: str):
    book = read_book(draw_book(tmp_path / "in", form).folder)
    return open_uncounted(book, "01").plates


def test_plates_that_hold_everything_get_it(tmp_path):
    plates = plate_set(tmp_path, "grey")
    before = plates.read(*ALL)
    wanted = before // 2
    assert held(plates, before, wanted) is wanted
    assert fixed(plates) == frozenset()


def test_a_plate_of_eight_bits_among_sixteen_gets_the_step_below(tmp_path):
    plates = plate_set(tmp_path, "sixteen and eight")
    before = plates.read(*ALL)
    wanted = np.minimum(before.astype(np.int64) + 200, 65535).astype(np.uint16)
    done = held(plates, before, wanted)
    np.testing.assert_array_equal(done[:2], wanted[:2])  # Soot and Fjord hold 16 bits
    assert (done[2:] % 257 == 0).all()
    assert (done <= wanted).all()
    assert (wanted[2:] - done[2:] < 257).all()
    rowan = plates.plates[2].read(*ALL)
    made = in_file(plates, 2, rowan, before=before[2], after=done[2])
    assert made.dtype == np.uint8
    np.testing.assert_array_equal(made.astype(int) * 257, done[2])


def test_a_second_hit_follows_its_plate(tmp_path):
    plates = plate_set(tmp_path, "double hit")
    before = plates.read(*ALL)
    wanted = before.copy()
    wanted[0], wanted[4] = 200, 99
    done = held(plates, before, wanted)
    assert fixed(plates) == {4}
    assert (done[0] == 200).all()
    assert (done[4] == 200).all()
    np.testing.assert_array_equal(following(plates, wanted), done)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_a_finer_plate_keeps_its_grain_and_has_the_mean_that_is_wanted(tmp_path, share):
    plates = plate_set(tmp_path, "finer")
    before = plates.read(*ALL)[0]
    fine = plates.plates[0].read(slice(0, 320), slice(0, 400))
    for wanted in (before * share, before + (255 - before) * share):
        wanted = wanted.astype(np.uint8)
        made = in_file(plates, 0, fine, before=before, after=wanted)
        mean = made.reshape(160, 2, 200, 2).mean(axis=(1, 3))
        # Numbers are whole, and so is the mean that the set works with: a step and a half.
        assert np.abs(mean - wanted).max() <= 1.5
        assert (np.sign(made.astype(int) - fine) * np.sign(wanted.astype(int) - before).repeat(
            2, axis=0).repeat(2, axis=1) >= 0).all()  # fmt: skip


def test_later_trials_see_what_a_correction_leaves(tmp_path):
    book = read_book(draw_book(tmp_path / "in", lightest_L=31).folder)
    looked = looked_at(open_uncounted(book, "01"), ["night"], None, None, no_progress)
    trials = trials_of(looked)

    def darker(planes, *, rows, cols):
        return np.maximum(planes, np.uint8(240))

    now = after(trials, SimpleNamespace(applied=darker), [ALL])
    planes, total = now.source.read(*HEAVY)
    assert planes.min() == 240
    np.testing.assert_array_equal(total, planes.astype(int).sum(axis=0))
    (guard,), (was,) = now.guards, trials.guards
    assert guard.result.outcome.value_L < was.result.outcome.value_L - 5
    assert now.changed == (ALL,)
    half = slice(0, 160), slice(0, 100)

    def darker_at_left(planes, *, rows, cols):
        left = np.arange(cols.start, cols.stop) < half[1].stop
        return np.where(left, np.maximum(planes, np.uint8(240)), planes)

    for box, applied in ((ALL, darker), (half, darker_at_left)):  # counted once, not twice
        correction = SimpleNamespace(applied=applied)
        trial = trials.run_correction(correction, [box])
        (counted,) = after(trials, correction, [box], counts=trial.counts).guards
        (anew,) = after(trials, correction, [box]).guards
        assert counted.result.outcome == anew.result.outcome
        assert counted.result.facts == anew.result.facts
        assert counted.result.outcome.reached_pct > was.result.outcome.reached_pct
