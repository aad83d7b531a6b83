"""Pixels kept in scratch space while a spread is mended: the same ones, once computed, or none.

Expected values are arrays drawn by lot; nothing of the package says what they are.
"""

from collections import namedtuple
from types import SimpleNamespace

import numpy as np
import pytest
from drawn_book import digests
from night_book import HEIGHT_PX, SKY, WIDTH_PX, draw_book

import inkmix
from inkmix.base.errors import PassingFault, PlateError
from inkmix.checks.mending.night import NightCorrection
from inkmix.checks.total_ink.mending import InkMender
from inkmix.checks.trials.after import after
from inkmix.checks.trials.kept import Keeping
from inkmix.jobs.books import read_book
from inkmix.jobs.check import looked_at, trials_of
from inkmix.jobs.mending import find
from inkmix.jobs.spread import no_progress, open_uncounted
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.scratch.space import FileSpace
from inkmix.plates.kept import kept_planes

Usage = namedtuple("Usage", "total used free")
BOXES = (slice(3, 12), slice(5, 20)), (slice(20, 30), slice(0, 40))
WHOLE = slice(0, 40), slice(0, 40)
SHEET = slice(0, HEIGHT_PX), slice(0, WIDTH_PX)


def drawn(full=255, shape=(3, 40, 40)):
    return (
        np.random.default_rng(4)
        .integers(full + 1, size=shape)
        .astype(np.uint8 if full == 255 else np.uint16)
    )


def part_of(planes, rows, cols):
    return planes[:, rows, cols]


@pytest.mark.parametrize("full", [255, 65535])
def test_what_is_kept_comes_back_in_any_rectangle(tmp_path, full):
    planes, room = drawn(full), ScratchRoom(folder=tmp_path)
    kept = kept_planes(BOXES, room, planes=3, full=full, leaving=0)
    for top in range(0, 40, 7):
        rows = slice(top, min(top + 7, 40))
        kept.put(planes[:, rows], rows=rows, cols=WHOLE[1])
    for rows, cols in (*BOXES, (slice(4, 9), slice(7, 8)), (slice(22, 23), slice(3, 40))):
        found = kept.whole(rows=rows, cols=cols)
        assert found.dtype == planes.dtype
        np.testing.assert_array_equal(found, part_of(planes, rows, cols))
    zeros = np.zeros_like(planes)
    over = kept.over(zeros, rows=WHOLE[0], cols=WHOLE[1])
    expected = zeros.copy()
    for rows, cols in BOXES:
        expected[:, rows, cols] = part_of(planes, rows, cols)
    np.testing.assert_array_equal(over, expected)
    assert not zeros.any()  # nobody's planes are written over
    assert kept.whole(rows=slice(3, 13), cols=BOXES[0][1]) is None  # leaves the rectangle


def test_rows_that_came_in_part_are_not_kept(tmp_path):
    planes, (rows, cols) = drawn(), BOXES[0]
    kept = kept_planes(BOXES[:1], ScratchRoom(folder=tmp_path), planes=3, full=255, leaving=0)
    narrow = slice(cols.start, cols.stop - 1)
    kept.put(part_of(planes, rows, narrow), rows=rows, cols=narrow)
    assert kept.whole(rows=rows, cols=cols) is None
    upper = slice(rows.start, rows.start + 4)
    kept.put(part_of(planes, upper, cols), rows=upper, cols=cols)
    assert kept.whole(rows=upper, cols=cols) is not None
    assert kept.whole(rows=slice(upper.stop - 1, upper.stop + 1), cols=cols) is None
    assert kept.over(planes, rows=WHOLE[0], cols=WHOLE[1]) is None


def test_a_disk_that_fills_up_keeps_nothing_and_says_nothing(tmp_path, monkeypatch):
    planes, (rows, cols) = drawn(), BOXES[0]
    kept = kept_planes(BOXES, ScratchRoom(folder=tmp_path), planes=3, full=255, leaving=0)

    def full(self, offset, data):
        raise PlateError(PassingFault(where="scratch", found="is full"))

    monkeypatch.setattr(FileSpace, "write", full)
    kept.put(part_of(planes, rows, cols), rows=rows, cols=cols)
    assert kept.whole(rows=rows, cols=cols) is None


def test_room_that_others_need_is_left(tmp_path, monkeypatch):
    def free(count):
        usage = Usage(10**9, 0, count)
        monkeypatch.setattr("shutil.disk_usage", lambda path: usage)

    room = ScratchRoom(folder=tmp_path, announce=pytest.fail)
    free(1499)
    assert room.spare(1000, leaving=500) is None
    free(1500)
    assert room.spare(1000, leaving=500) is not None

    def refuse(*args, **options):
        raise PermissionError(13, "denied")

    monkeypatch.setattr("tempfile.TemporaryFile", refuse)
    assert room.spare(1000, leaving=500) is None


def keeping(tmp_path, *, sheet_px=1600):
    return Keeping(ScratchRoom(folder=tmp_path), planes=3, full=255, sheet_px=sheet_px)


def test_only_what_was_tried_last_is_taken_over(tmp_path):
    source, first, second = object(), object(), object()
    kept = keeping(tmp_path)
    tried = kept.tried(source, first, BOXES)
    assert kept.made(source, first, list(BOXES)) is tried
    for asked in ((object(), first, BOXES), (source, second, BOXES), (source, first, BOXES[:1])):
        kept = keeping(tmp_path)
        tried = kept.tried(source, first, BOXES)
        assert kept.made(*asked) not in (None, tried)
    kept = keeping(tmp_path)
    kept.tried(source, first, BOXES)
    kept.tried(source, second, BOXES)
    assert kept.made(source, first, BOXES) is not None  # empty: the second try took its place


def test_no_more_is_kept_than_a_sheet_takes(tmp_path):
    half, source = [(slice(0, 20), slice(0, 40))], object()
    kept = keeping(tmp_path)
    assert all(kept.tried(source, object(), half) for _ in range(9))  # each goes for the next
    assert kept.made(source, object(), half) is not None
    assert kept.made(source, object(), half) is not None
    assert kept.made(source, object(), half) is None
    assert kept.tried(source, object(), half) is None
    assert kept.made(source, object(), half) is None


def opened(tmp_path, form="grey"):
    book = read_book(draw_book(tmp_path / "in", form, lightest_L=31).folder)
    return open_uncounted(book, "01")


def test_a_set_reads_once_what_it_keeps(tmp_path, monkeypatch):
    plates = opened(tmp_path).plates
    expected, kept = plates.read(*SHEET), plates.keeping(ScratchRoom(folder=tmp_path))
    np.testing.assert_array_equal(kept.read(*SHEET), expected)
    monkeypatch.setattr("inkmix.plates.set.CommonPlate.for_colour", pytest.fail)
    np.testing.assert_array_equal(kept.read(*SKY), part_of(expected, *SKY))
    amounts, tones = kept.read_both(*SKY)
    assert tones is amounts
    grown = kept.with_screened(["Soot"])
    assert grown.kept is None
    assert grown.keeping(ScratchRoom(folder=tmp_path)) is grown


def darker_trials(tmp_path):
    """Trials that keep, and a correction that counts how often it is asked."""
    looked = looked_at(opened(tmp_path), ["night"], None, None, no_progress)
    asked = []

    def applied(planes, *, rows, cols):
        asked.append((rows, cols))
        return np.maximum(planes, np.uint8(240))

    return find._keeping(looked.spread, trials_of(looked)), SimpleNamespace(applied=applied), asked


def test_pixels_of_the_last_trial_are_those_that_are_made(tmp_path):
    trials, correction, asked = darker_trials(tmp_path)
    trials.run_correction(correction, [SKY])
    count = len(asked)
    now = after(trials, correction, [SKY])
    planes, total = now.source.read(*SKY)
    assert len(asked) == count
    assert planes.min() == 240
    np.testing.assert_array_equal(total, planes.astype(int).sum(axis=0))
    before, _ = trials.source.read(*SHEET)
    wider, total = now.source.read(*SHEET)
    np.testing.assert_array_equal(part_of(wider, *SKY), planes)
    np.testing.assert_array_equal(total, wider.astype(int).sum(axis=0))
    np.testing.assert_array_equal(now.corrected(before, rows=SHEET[0], cols=SHEET[1]), wider)
    assert len(asked) == count
    wider[:, SKY[0], SKY[1]] = part_of(before, *SKY)
    np.testing.assert_array_equal(wider, before)


def test_another_correction_is_not_taken_for_the_one_that_was_tried(tmp_path):
    trials, correction, _ = darker_trials(tmp_path)
    trials.run_correction(correction, [SKY])
    plain = SimpleNamespace(applied=lambda planes, *, rows, cols: planes // 2)
    now = after(trials, plain, [SKY])
    for _ in range(2):  # computed, then kept
        np.testing.assert_array_equal(now.source.read(*SKY)[0], trials.source.read(*SKY)[0] // 2)


@pytest.mark.parametrize(
    "form", ["grey", pytest.param("sixteen and eight", marks=pytest.mark.long)]
)
def test_copies_are_the_same_whether_pixels_are_kept_or_not(tmp_path, monkeypatch, form):
    book = read_book(draw_book(tmp_path / "in", form).folder)
    applied, asked = NightCorrection.applied, []

    def counted(self, planes, *, rows, cols):
        asked.append(rows)
        return applied(self, planes, rows=rows, cols=cols)

    monkeypatch.setattr(NightCorrection, "applied", counted)
    inkmix.mend_book(book, tmp_path / "kept")
    with_kept = len(asked)
    monkeypatch.setattr(ScratchRoom, "spare", lambda self, count, *, leaving: None)
    inkmix.mend_book(book, tmp_path / "anew")
    assert len(asked) - with_kept > with_kept
    assert digests(tmp_path / "kept") == digests(tmp_path / "anew")


def test_nobody_looks_at_pixels_to_say_nothing(monkeypatch):
    monkeypatch.setattr(
        "inkmix.checks.total_ink.mending.ink_off_ground",
        lambda spread, read: SimpleNamespace(has_dots=False),
    )
    mender = InkMender(spread=None, result=None)
    trials = SimpleNamespace(source=SimpleNamespace(read=pytest.fail))
    assert mender.why_not(trials) == ""


@pytest.mark.parametrize(("times", "is_kept"), [(2.9, False), (3.1, True)])
def test_plates_are_kept_where_twice_as_much_stays_free(tmp_path, monkeypatch, times, is_kept):
    """Grey plates of one byte a pixel."""
    book = read_book(draw_book(tmp_path / "book").folder)
    room = ScratchRoom(folder=tmp_path)
    spread = open_uncounted(book, "01", room=room, progress=no_progress, tries=1)
    count = len(spread.plates.inks) * WIDTH_PX * HEIGHT_PX
    usage = Usage(9e9, 9e9, int(times * count))
    monkeypatch.setattr("shutil.disk_usage", lambda path: usage)
    assert (spread.plates.keeping(room).kept is not None) == is_kept
