"""Who works at a batch changes nothing; who is killed loses nothing; nobody is left behind."""

import json
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import batch_runs
import pytest
from batch_runs import (
    DEADLY,
    ROOT,
    SENTENCE,
    batch_line,
    halves,
    long,
    ran,
    report_bytes,
    started,
    tell,
    wait_until,
    with_work,
    written_ns,
)
from drawn_book import BOOK, NIGHT, PPI, command, digests, draw_book, plate_of, plates, untouched
from plate_files import write_tiff

import inkmix.batch.run
import inkmix.batch.work
from inkmix.base.errors import OutputError
from inkmix.batch.document import document_bytes
from inkmix.batch.engines import ProcessCrew, ThreadCrew, cores, usual_workers
from inkmix.batch.run import Wanted, run_batch
from inkmix.batch.worker_pool import each_done
from inkmix.jobs.books import read_book

SPREADS = ("1", "2", "10", "with a space", "last", "one more")
HEAVY, CUT = "2", "10"

posix = pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX")


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Six spreads: one with too much ink, one that cannot be read."""
    folder = draw_book(tmp_path_factory.mktemp("workers") / "book", BOOK + NIGHT, spreads=SPREADS)
    full = plates()["Rowan"] // 255  # 262 % in the cellar
    write_tiff(plate_of(folder, "Rowan", HEAVY), full, PPI)
    cut = plate_of(folder, "Fjord", CUT)
    cut.write_bytes(cut.read_bytes()[:-5000])
    return folder


@pytest.fixture(scope="module")
def alone(book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The reports that one worker wrote."""
    to = tmp_path_factory.mktemp("alone") / "to"
    with untouched(book):
        ended = ran(book, to, "--workers", "1")
    assert (ended.code, set(report_bytes(to))) == (3, {*SPREADS} - {CUT})
    assert ended.err.startswith("1 of 6 spreads cannot be read and 1 fails; 4 pass.")
    return to


def run_here(book: Path, to: Path, crew) -> dict:
    """A run in this process; what its document says."""

    def show(result, last):
        (to / "batch.json").write_bytes(document_bytes(result, last=last))

    run_batch(read_book(book), Wanted(to=to, crew=crew, show=show, tell=lambda _: None))
    return json.loads((to / "batch.json").read_bytes())


# --- the same bytes ------------------------------------------------------------------------------


@pytest.mark.parametrize("workers", [2, pytest.param(3, marks=pytest.mark.long)])
def test_any_number_of_processes_writes_the_same(workers, book, alone, tmp_path):
    assert ran(book, tmp_path / "to", "--workers", str(workers)).code == 3
    assert digests(tmp_path / "to") == digests(alone)


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_any_number_of_threads_writes_the_same(workers, book, alone, tmp_path, capfd):
    options = ("--engine", "threads", "--workers", workers)
    assert command(capfd, "batch", book, "--to", tmp_path / "to", *options).code == 3
    assert digests(tmp_path / "to") == digests(alone)


@pytest.mark.parametrize("seed", [1, 2])
def test_any_order_writes_the_same(seed, book, alone, tmp_path, capfd, monkeypatch):
    def shuffled(crew, work, tasks, take):
        tasks = list(tasks)
        random.Random(seed).shuffle(tasks)
        each_done(crew, work, tasks, take)

    monkeypatch.setattr(inkmix.batch.run, "each_done", shuffled)
    options = ("--engine", "threads", "--workers", 2)
    assert command(capfd, "batch", book, "--to", tmp_path / "to", *options).code == 3
    assert digests(tmp_path / "to") == digests(alone)


def test_as_many_workers_as_cores_and_memory_allow():
    assert 1 <= usual_workers() <= cores()


# --- workers that are killed, and spreads that kill them -----------------------------------------


@posix
def test_a_worker_that_is_killed_costs_nothing(book, alone, tmp_path):
    to = tmp_path / "to"
    with started(batch_line(book, to, "--workers", "2")) as run:
        wait_until(lambda: [*to.glob("*/report.json")], run)
        run.workers()[0].kill()
        ended = run.ended()
        assert run.left() == []
    assert (ended.code, "Traceback" in ended.err) == (3, False)
    assert digests(to) == digests(alone)


@pytest.fixture
def plain_loops(monkeypatch: pytest.MonkeyPatch) -> None:
    """For processes that are started here; compiled loops take a second to load."""
    monkeypatch.setenv("INKMIX_LOOPS", "numpy")


@pytest.fixture
def with_a_deadly_one(tmp_path: Path) -> Path:
    return draw_book(tmp_path / "book", spreads=("1", DEADLY, "3", "4"))


@long
@posix
@pytest.mark.usefixtures("plain_loops")
@pytest.mark.parametrize("workers", [1, 2])
def test_a_spread_that_kills_its_workers_is_named(
    workers, with_a_deadly_one, tmp_path, monkeypatch
):
    with_work(monkeypatch, batch_runs.check_or_die)
    with untouched(with_a_deadly_one):
        said = run_here(with_a_deadly_one, tmp_path / "to", ProcessCrew(workers=workers))
    assert set(report_bytes(tmp_path / "to")) == {"1", "3", "4"}
    rows = {row["name"]: row for row in said["rows"]}
    assert {name: row["state"] for name, row in rows.items()} == {
        "1": "pass",
        "3": "pass",
        "4": "pass",
        DEADLY: "unreadable",
    }
    assert (said["exit_code"], len(rows[DEADLY]["faults"])) == (3, 1)
    fault = rows[DEADLY]["faults"][0]
    assert fault["where"] == DEADLY
    assert fault["found"].startswith("every worker that checked it was killed")
    assert multiprocessing.active_children() == []


@long
@posix
@pytest.mark.usefixtures("plain_loops")
@pytest.mark.parametrize(
    ("work", "found"),
    [
        (batch_runs.check_in_little_memory, "there is not enough memory"),
        (batch_runs.check_or_leave, "no worker could do it (SystemExit: no more)"),
    ],
)
def test_what_goes_wrong_with_one_is_told(work, found, with_a_deadly_one, tmp_path, monkeypatch):
    with_work(monkeypatch, work)
    said = run_here(with_a_deadly_one, tmp_path / "to", ProcessCrew(workers=2))
    assert set(report_bytes(tmp_path / "to")) == {"1", "3", "4"}
    faults = {row["name"]: row["faults"] for row in said["rows"] if row["faults"]}
    assert [(fault["where"], fault["found"]) for fault in faults.pop(DEADLY)] == [(DEADLY, found)]
    assert (faults, said["exit_code"]) == ({}, 3)


@pytest.mark.parametrize(
    ("error", "found"),
    [
        (MemoryError(), "there is not enough memory"),
        (ZeroDivisionError("by nothing"), "ZeroDivisionError: by nothing"),
        (
            OSError(5, "Input/output error", "plates/1/Soot.tif"),
            "cannot be read (Input/output error)",
        ),
    ],
)
def test_no_error_of_a_check_stops_the_others(
    error, found, with_a_deadly_one, tmp_path, monkeypatch
):
    check = inkmix.batch.work.check_spread

    def spoiled(book, name, **options):
        if name == DEADLY:
            raise error
        return check(book, name, **options)

    monkeypatch.setattr(inkmix.batch.work, "check_spread", spoiled)
    said = run_here(with_a_deadly_one, tmp_path / "to", ThreadCrew(workers=2))
    faults = {row["name"]: row["faults"] for row in said["rows"] if row["faults"]}
    assert [fault["found"] for fault in faults.pop(DEADLY)] == [found]
    assert (faults, said["exit_code"]) == ({}, 3)
    assert set(report_bytes(tmp_path / "to")) == {"1", "3", "4"}


# --- workers that cannot be had ------------------------------------------------------------------

_ENDING_AT_ONCE = """
    import os, sys
    if __name__ == "__mp_main__":  # so a worker calls what was started as the program
        os._exit(1)
    from pathlib import Path
    from inkmix.batch.engines import ProcessCrew
    from inkmix.batch.run import Wanted, run_batch
    from inkmix.jobs.books import read_book
    from inkmix.base.errors import UsageError
    wanted = Wanted(
        to=Path(sys.argv[2]), crew=ProcessCrew(workers=2), show=lambda *_: None, tell=lambda _: None
    )
    try:
        run_batch(read_book(Path(sys.argv[1])), wanted)
    except UsageError as error:
        print("told:", error)
"""


def test_workers_that_end_at_once_are_not_blamed_on_the_spreads(with_a_deadly_one, tmp_path):
    script = tmp_path / "script.py"
    script.write_text(textwrap.dedent(_ENDING_AT_ONCE))
    line = [sys.executable, str(script), str(with_a_deadly_one), str(tmp_path / "to")]
    with started(line) as run:
        ended = run.ended()
        assert run.left() == []
    assert (ended.code, ended.out.count("told:"), ended.err) == (0, 1, "")
    assert "told: engine: workers end at once; " in ended.out


_NO_ROOM = """
    import os, resource, sys
    from inkmix.batch.engines import ProcessCrew
    from inkmix.base.errors import UsageError
    highest = max(int(name) for name in os.listdir("/proc/self/fd"))
    resource.setrlimit(resource.RLIMIT_NOFILE, (highest + 1 + int(sys.argv[1]),) * 2)
    try:
        with ProcessCrew(workers=2).opened():
            pass
    except UsageError as error:
        print("told:", error)
"""


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="asks Linux for open files")
def test_a_system_without_room_for_processes(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(textwrap.dedent(_NO_ROOM))
    with started([sys.executable, str(script), "3"]) as run:
        ended = run.ended()
        assert run.left() == []
    assert ended.code == 0
    assert "told: engine: no process can be started ([Errno 24] Too many open files)" in ended.out


@pytest.mark.usefixtures("plain_loops")
def test_processes_of_others_are_left_alone(book, tmp_path):
    """Only what the batch started ends with it."""
    other = multiprocessing.get_context("spawn").Process(target=time.sleep, args=(60,))
    other.start()

    def show(result, last):
        if any(row.checked for row in result.rows):
            raise OutputError(())

    wanted = Wanted(
        to=tmp_path / "to", crew=ProcessCrew(workers=2), show=show, tell=lambda how: None
    )
    try:
        with pytest.raises(OutputError):
            run_batch(read_book(book), wanted)
        assert multiprocessing.active_children() == [other]
        assert other.is_alive()
    finally:
        other.kill()
        other.join()


# --- runs that are ended -------------------------------------------------------------------------

CODES = {signal.SIGINT: 130, signal.SIGTERM: 143, signal.SIGKILL: -signal.SIGKILL}
MANY = tuple(str(number) for number in range(1, 15))


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book that takes a while."""
    return draw_book(tmp_path_factory.mktemp("many") / "book", BOOK + NIGHT, spreads=MANY)


@long
@posix
@pytest.mark.parametrize("number", CODES)
def test_a_run_that_is_ended_leaves_nobody_and_loses_nothing(number, many, tmp_path, capfd):
    """Alone, as `kill` does it, and with its group, as a terminal does."""
    to = tmp_path / "to"
    line = batch_line(many, to, "--workers", "2")
    done = {}
    for group in (False, True):
        done = ended_midway(line, to, number, group=group, done=done)
    goes_on_to_the_end(many, to, done, capfd)


@long
@posix
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_threads_too(number, many, tmp_path, capfd):
    to = tmp_path / "to"
    line = batch_line(many, to, "--workers", "2", "--engine", "threads")
    done = ended_midway(line, to, number, group=False, done={})
    goes_on_to_the_end(many, to, done, capfd)


def ended_midway(line: list[str], to: Path, number: int, *, group: bool, done: dict) -> dict:
    """End a run once it has done something; the reports that there are then, and their times."""
    with started(line) as run:
        wait_until(lambda: len([*to.glob("*/report.json")]) > len(done), run)
        tell(run, number, group=group)
        tell(run, number, group=group)  # impatience
        ended = run.ended()
        assert run.left() == []
    assert ended.code == CODES[number]
    if number != signal.SIGKILL:
        assert (ended.out, ended.err) == ("", SENTENCE)
        assert halves(to) == []
    now = reports_and_times(to)
    assert {name: now[name] for name in done} == done
    assert len(done) < len(now) < len(MANY)
    return now


def goes_on_to_the_end(book: Path, to: Path, done: dict, capfd) -> None:
    """One more run checks what is left, and nothing twice."""
    assert command(capfd, "batch", book, "--to", to, "--engine", "threads").code == 0
    now = reports_and_times(to)
    assert {name: now[name] for name in done} == done
    assert (set(now), halves(to)) == ({*MANY}, [])


def reports_and_times(to: Path) -> dict:
    return {name: (files, written_ns(to, name)) for name, files in report_bytes(to).items()}


@long
@posix
@pytest.mark.parametrize("group", [True, False])
def test_workers_that_are_only_starting_leave_without_a_word(group, many, tmp_path):
    moments = random.Random(3 + group)
    for trial in range(2):
        to = tmp_path / str(trial)
        with started(batch_line(many, to, "--workers", "2")) as run:
            wait_until(run.workers, run)
            time.sleep(moments.uniform(0, 0.3))
            tell(run, signal.SIGINT, group=group)
            at = time.monotonic()
            ended = run.ended()
            took_s = time.monotonic() - at
            assert run.left() == []
        assert (ended.code, ended.out, ended.err) == (CODES[signal.SIGINT], "", SENTENCE)
        assert (halves(to), took_s < 2) == ([], True)


# --- leaving, with several threads ---------------------------------------------------------------

_HELD_BY_A_THREAD = """
    import signal, threading, time
    from inkmix.base.shutdown import held_together, leave_at_signals, undone_when_left
    leave_at_signals()
    inside, sent = threading.Event(), threading.Event()

    def steps():
        with held_together():
            inside.set()
            sent.wait()
            time.sleep(0.1)
            print("both steps", flush=True)

    threading.Thread(target=steps, daemon=True).start()
    inside.wait()
    with undone_when_left(lambda: print("undone", flush=True)):
        signal.raise_signal(signal.SIGTERM)
        sent.set()
        time.sleep(10)
    print("went on")
"""

_BEGUN_TOO_LATE = """
    import signal, sys, threading, time
    from pathlib import Path
    from inkmix.base.shutdown import leave_at_signals, undone_when_left
    from inkmix.base.atomic_files import part_of
    leave_at_signals()
    leaving = threading.Event()

    def begin():
        leaving.wait()
        with part_of(Path(sys.argv[1]) / "late.json"):
            time.sleep(10)

    def undo():
        leaving.set()
        time.sleep(0.2)

    threading.Thread(target=begin, daemon=True).start()
    with undone_when_left(undo):
        signal.raise_signal(signal.SIGINT)
"""


def run_script(text: str, *arguments: str) -> "subprocess.CompletedProcess[str]":
    line = [sys.executable, "-c", textwrap.dedent(text), *arguments]
    return subprocess.run(line, capture_output=True, text=True, cwd=ROOT, check=False)


@posix
def test_a_signal_waits_for_the_steps_of_a_thread_and_then_leaves():
    done = run_script(_HELD_BY_A_THREAD)
    assert (done.returncode, done.stdout, done.stderr) == (143, "both steps\nundone\n", SENTENCE)


@posix
def test_no_thread_begins_a_file_while_the_program_leaves(tmp_path):
    done = run_script(_BEGUN_TOO_LATE, str(tmp_path))
    assert (done.returncode, done.stderr, [*tmp_path.iterdir()]) == (130, SENTENCE, [])
