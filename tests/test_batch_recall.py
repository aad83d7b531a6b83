"""What a run knows from the run before: which files need no reading, which spreads no trying."""

import os
import threading
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from drawn_book import BOOK, INKS, NIGHT, batched, draw_book, plate_of, states
from plate_files import write_png
from report_cases import failing

import inkmix.batch.digests as digests_module
from inkmix.base import file_state as filestate
from inkmix.base.errors import Fault, PassingFault, PlateError
from inkmix.base.file_state import state_of
from inkmix.base.output_files import held
from inkmix.batch.digests import ABSENT, FileDigests
from inkmix.batch.recall import recalled
from inkmix.batch.run import HowFar, Wanted, run_batch
from inkmix.batch.spread_record import kept_bytes
from inkmix.batch.summary import summary
from inkmix.batch.task import RUN_NAME, Outcome, task_for
from inkmix.batch.work import check_one
from inkmix.book.meant.plates import look_into
from inkmix.checks import table
from inkmix.jobs.book_answer import UNREADABLE
from inkmix.jobs.books import read_book
from inkmix.pages.folders import JSON_NAME, KEPT_NAME, PAGE_NAME

SPREADS = ("1", "2", "10")


@pytest.fixture
def cache(tmp_path, monkeypatch):
    """An empty cache of this test's own."""
    monkeypatch.setenv("INKMIX_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache" / "digests"


@pytest.fixture
def rested(monkeypatch):
    """Files count as long at rest, though they were drawn just now."""
    monkeypatch.setattr(filestate, "REST_S", -3600)


@pytest.fixture
def reads(monkeypatch):
    """Files that were read for their digest, by any thread."""
    really, lock, read = digests_module.input_digest, threading.Lock(), []

    def noted(path):
        with lock:
            read.append(path)
        return really(path)

    monkeypatch.setattr(digests_module, "input_digest", noted)
    return read


# --- digests -------------------------------------------------------------------------------------


def test_a_file_at_rest_is_read_once_while_it_stays(tmp_path, reads, rested):
    path, digests = tmp_path / "file", FileDigests()
    path.write_text("one")
    first = {digests.of(path, name="file") for _ in range(3)}
    assert (len(first), reads) == (1, [path])
    path.write_text("two")
    assert digests.of(path, name="file") not in first
    assert reads == [path, path]


def test_a_file_changed_just_now_is_read_again_though_its_time_of_content_is_old(tmp_path, reads):
    """As copies are that keep the times of their originals."""
    path, digests = tmp_path / "file", FileDigests()
    path.write_text("one")
    os.utime(path, (1_000_000_000, 1_000_000_000))
    for _ in range(2):
        digests.of(path, name="file")
    assert reads == [path, path]


def test_a_file_written_just_now_is_read_again(tmp_path, reads):
    """Another change within one tick of a coarse clock would leave all its times as they are."""
    path, digests = tmp_path / "file", FileDigests()
    path.write_text("one")
    for _ in range(2):
        digests.of(path, name="file")
    assert reads == [path, path]
    assert not digests.known


def test_a_file_that_rested_for_some_seconds_is_trusted(tmp_path, reads):
    path, digests = tmp_path / "file", FileDigests()
    path.write_text("one")
    time.sleep(filestate.REST_S + 0.1)
    for _ in range(2):
        digests.of(path, name="file")
    assert reads == [path]


def test_a_file_of_the_future_is_read_again(tmp_path, reads, monkeypatch):
    path, digests = tmp_path / "file", FileDigests()
    path.write_text("one")
    ahead_ns = time.time_ns() + 10**12
    os.utime(path, ns=(ahead_ns, ahead_ns))
    for _ in range(2):
        digests.of(path, name="file")
    assert reads == [path, path]


def test_a_digest_of_what_is_not_there_or_cannot_be_read(tmp_path):
    digests = FileDigests()
    assert digests.of(tmp_path / "none", name="none") == ABSENT
    with pytest.raises(PlateError, match="a folder: cannot be read"):
        digests.of(tmp_path, name="a folder")


# --- from run to run -----------------------------------------------------------------------------


def test_a_second_run_reads_no_plate(tmp_path, capfd, cache, reads, rested):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    first = batched(folder, capfd)
    assert len(set(reads)) == len(SPREADS) * len(INKS) + 1  # and the mask
    reads.clear()
    second = batched(folder, capfd)
    assert reads == []
    assert "unchanged since they were checked: 3 of 3" in second["err"]
    assert states(second) == states(first)


def test_what_keeps_its_size_and_its_time_is_seen_to_be_changed(tmp_path, capfd, cache, rested):
    """As a tool that sets times back does it; the time of change is nobody's to set."""
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    batched(folder, capfd)
    plate = plate_of(folder, "Fjord", "2")
    before, data = plate.stat(), bytearray(plate.read_bytes())
    data[-1] ^= 255
    plate.write_bytes(data)
    os.utime(plate, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert (plate.stat().st_size, plate.stat().st_mtime_ns) == (before.st_size, before.st_mtime_ns)
    assert "unchanged since they were checked: 2 of 3" in batched(folder, capfd)["err"]


def test_a_run_that_was_stopped_has_learnt(tmp_path, cache, rested):
    path = tmp_path / "file"
    path.write_text("one")
    with suppress(KeyboardInterrupt), recalled(tmp_path) as digests:
        digest = digests.of(path, name="file")
        raise KeyboardInterrupt
    with recalled(tmp_path) as digests:
        assert digests.known[path].digest == digest


def test_files_that_changed_or_went_are_forgotten(tmp_path, cache, rested):
    stays, changes, goes = (tmp_path / name for name in ("stays", "changes", "goes"))
    with recalled(tmp_path) as digests:
        for path in (stays, changes, goes):
            path.write_text("one")
            digests.of(path, name="file")
        changes.write_text("other")
        goes.unlink()
    with recalled(tmp_path) as digests:
        assert set(digests.known) == {stays}


def test_names_of_any_bytes(tmp_path, cache, rested):
    path = tmp_path / os.fsdecode(b'\xfflatin "quoted"\n')
    path.write_text("one")
    with recalled(path.parent) as digests:
        digests.of(path, name="file")
    with recalled(path.parent) as digests:
        assert set(digests.known) == {path}


def test_books_do_not_know_each_others_files(tmp_path, cache, rested):
    for name in "ab":
        (tmp_path / name).mkdir()
        (tmp_path / name / "file").write_text("one")
        with recalled(tmp_path / name) as digests:
            assert not digests.known
            digests.of(tmp_path / name / "file", name="file")
    assert len(list(cache.iterdir())) == 2


SPOILT = {
    "empty": lambda text: "",
    "cut off": lambda text: text[:-20],
    "no object": lambda text: "[]",
    "another format": lambda text: text.replace('"format": 1', '"format": 2'),
    "another folder": lambda text: text.replace('"folder": "', '"folder": "/else'),
    "no digest": lambda text: text.replace('"7692c3', '"XX92c3'),
    "a short state": lambda text: text.replace("[\n", "[\n1,\n", 1),
    "deep": lambda text: "[" * 100_000,
    "not UTF-8": lambda text: "\udcff",
}


@pytest.mark.parametrize("way", SPOILT)
def test_what_is_no_record_is_nothing(way, tmp_path, cache, reads, rested):
    path = tmp_path / "file"
    path.write_text("one")
    with recalled(tmp_path) as digests:
        digests.of(path, name="file")
    (record,) = cache.iterdir()
    text = record.read_text(encoding="ascii")
    spoilt = SPOILT[way](text)
    assert spoilt != text
    record.write_text(spoilt, encoding="utf-8", errors="surrogateescape")
    with recalled(tmp_path) as digests:
        assert not digests.known
        digests.of(path, name="file")
    assert record.read_text(encoding="ascii") == text
    assert reads == [path, path]


@pytest.mark.parametrize("kind", ["a file", "a device", "below a file"])
def test_an_unusable_cache_stops_nothing(kind, tmp_path, capfd, monkeypatch, reads, rested):
    file = tmp_path / "file"
    file.write_text("")
    places = {"a file": file, "a device": Path("/dev/null"), "below a file": file / "deeper"}
    monkeypatch.setenv("INKMIX_CACHE", str(places[kind]))
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1",))
    for _ in range(2):
        reads.clear()
        assert states(batched(folder, capfd)) == {"1": "pass"}
    assert reads


def test_where_no_time_of_change_is_told_nothing_is_kept(tmp_path, cache, rested, monkeypatch):
    monkeypatch.setattr(filestate, "TELLS_CHANGES", False)
    (tmp_path / "file").write_text("one")
    with recalled(tmp_path) as digests:
        digests.of(tmp_path / "file", name="file")
    assert not cache.exists()


# --- spreads that cannot be read -----------------------------------------------------------------


@pytest.fixture
def tried(monkeypatch):
    """Names of the spreads that were tried."""
    import inkmix.batch.work as work_module

    really, names = work_module.check_spread, []

    def noted(book, name, **options):
        names.append(name)
        return really(book, name, **options)

    monkeypatch.setattr(work_module, "check_spread", noted)
    return names


def test_a_damaged_plate_is_tried_again_when_it_changes(tmp_path, capfd, tried):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    plate = plate_of(folder, "Fjord", "2")
    whole = plate.read_bytes()
    os.truncate(plate, 300)
    first = batched(folder, capfd)
    assert sorted(tried) == sorted(SPREADS)
    tried.clear()
    second = batched(folder, capfd)
    assert tried == []
    assert second["rows"] == first["rows"]
    assert second["exit_code"] == 3
    assert "unchanged since they were checked: 3 of 3" in second["err"]
    batched(folder, capfd, "--again")
    assert sorted(tried) == sorted(SPREADS)
    tried.clear()
    os.truncate(plate, 200)
    assert states(batched(folder, capfd))["2"] == "unreadable"
    plate.write_bytes(whole)
    mended = batched(folder, capfd)
    assert tried == ["2", "2"]
    assert states(mended) == dict.fromkeys(SPREADS, "pass")
    assert mended["rows"][1]["turned"] == "can be checked again"


def test_a_report_of_before_the_damage_is_not_shown_after_it(tmp_path, capfd, tried):
    folder = draw_book(tmp_path / "book", BOOK, spreads=SPREADS)
    batched(folder, capfd)
    plate = plate_of(folder, "Fjord", "2")
    whole = plate.read_bytes()
    os.truncate(plate, 300)
    for _ in range(2):
        assert states(batched(folder, capfd))["2"] == "unreadable"
    assert tried.count("2") == 2
    plate.write_bytes(whole)  # as it was kept
    assert states(batched(folder, capfd))["2"] == "pass"
    assert tried.count("2") == 2


@pytest.mark.parametrize(
    ("error", "tries"),
    [
        (PlateError(Fault(where="a", found="is damaged")), 1),
        (PlateError([Fault(where="a", found="b"), PassingFault(where="a", found="no room")]), 2),
        (OSError(5, "Input/output error"), 2),
        (MemoryError(), 2),
        (RuntimeError("a mistake of ours"), 2),
    ],
    ids=["damage", "no room", "disk", "memory", "mistake"],
)
def test_what_may_pass_is_tried_each_time(error, tries, tmp_path, capfd, monkeypatch):
    folder, names = draw_book(tmp_path / "book", BOOK, spreads=("1",)), []

    def fails(book, name, **options):
        names.append(name)
        raise error

    monkeypatch.setattr("inkmix.batch.work.check_spread", fails)
    documents = [batched(folder, capfd) for _ in range(2)]
    assert documents[0]["rows"] == documents[1]["rows"]
    assert len(names) == tries


def test_a_change_while_it_was_read_is_what_is_told(tmp_path, capfd, monkeypatch):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1",))

    def changes(book, name, **options):
        plate = plate_of(folder, "Fjord", "1")
        plate.write_bytes(plate.read_bytes() + b"more")
        raise PlateError(Fault(where="Fjord.tif", found="is damaged"))

    monkeypatch.setattr("inkmix.batch.work.check_spread", changes)
    monkeypatch.setattr("inkmix.plates.files.snapshots.PAUSE_S", 0)
    (row,) = batched(folder, capfd)["rows"]
    assert "was changed while it was read" in row["faults"][0]["found"]
    assert row["faults_key"] == ""


def test_a_state_tells_a_file_replaced_by_its_like(tmp_path):
    path, other = tmp_path / "file", tmp_path / "other"
    for file in (path, other):
        file.write_text("one")
        os.utime(file, ns=(10**18, 10**18))
    before = state_of(path)
    other.replace(path)
    assert state_of(path) != before


def test_a_spread_whose_files_rival_is_done_and_not_counted_as_unchanged(tmp_path, cache):
    folder = draw_book(tmp_path / "book")
    plate = plate_of(folder, "Soot", "front")
    plate.with_suffix(".tiff").write_bytes(plate.read_bytes())
    told: list[HowFar] = []
    wanted = Wanted(to=tmp_path / "to", crew=None, show=lambda *_: None, tell=told.append)
    result = run_batch(read_book(folder), wanted)  # nothing is given out, so nobody is needed
    assert [(how.done, how.reused, how.all) for how in told] == [(0, 0, 1), (1, 0, 1)]
    assert (result.rows[0].state, result.exit_code) == (UNREADABLE, 3)


def test_an_older_report_is_not_taken_for_the_one_that_a_worker_says_it_wrote(
    tmp_path, cache, monkeypatch
):
    """As where a worker writes to another machine's folder of that name."""
    folder = draw_book(tmp_path / "book")
    older = summary(
        failing(), folder="front", key="a" * 64, rests_on=lambda _: "0" * 12,
        files={PAGE_NAME: b"", JSON_NAME: b""},
    )  # fmt: skip
    (tmp_path / "to" / "front").mkdir(parents=True)
    (tmp_path / "to" / "front" / KEPT_NAME).write_bytes(kept_bytes(older))

    def say_so(_crew, _work, tasks, take):
        for task in tasks:
            take(Outcome(name=task.found.name, key="f" * 64))

    monkeypatch.setattr("inkmix.batch.run.each_done", say_so)
    wanted = Wanted(to=tmp_path / "to", crew=None, show=lambda *_: None, tell=lambda _: None)
    (row,) = run_batch(read_book(folder), wanted).rows
    assert (row.state, row.checked) == (UNREADABLE, None)
    assert "a worker says that it wrote a report here" in row.faults[0].found


def test_no_report_is_kept_of_plates_that_change_while_they_are_checked(
    tmp_path, cache, monkeypatch
):
    folder, to = draw_book(tmp_path / "book"), tmp_path / "to"
    book = read_book(folder)
    (found,) = look_into(book).spreads

    def check(*_args, **_options):
        write_png(plate_of(folder, "Soot", "front"), np.zeros((4, 4), np.uint8))
        return failing()

    monkeypatch.setattr("inkmix.batch.work.check_spread", check)
    with held(to / RUN_NAME):
        outcome = check_one(task_for(book, found, to, checks=table.names()))
    assert [fault.found for fault in outcome.faults] == ["was changed while it was read"]
    assert outcome.key == ""
    assert not list(to.rglob("*.html"))
