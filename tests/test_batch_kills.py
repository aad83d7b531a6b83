"""A batch is killed twenty times at random moments: no finished report is lost or spoiled."""

import os
import random
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from batch_runs import (
    SENTENCE,
    Ended,
    Run,
    batch_line,
    halves,
    long,
    ran,
    report_bytes,
    started,
    tell,
    wait_until,
)
from drawn_book import BOOK, NIGHT, command, digests, draw_book, plate_of, untouched

pytestmark = [
    long,
    pytest.mark.skipif(os.name != "posix", reason="signals are a thing of POSIX"),
]

SPREADS = tuple(str(number) for number in range(1, 9))
CUT = "4"
SEED, TIMES = 20, 20
CODES = {signal.SIGINT: 130, signal.SIGTERM: 143, signal.SIGKILL: -signal.SIGKILL}
MOST_REPORTS = 3  # that a run may write before it is disturbed
STARTS_S, CHECKS_S = 0.6, 0.15  # a worker, and one spread, take about that long


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Spreads of which one cannot be read."""
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    cut = plate_of(folder, "Rowan", CUT)
    cut.write_bytes(cut.read_bytes()[:-3000])
    return folder


def a_worker(run: Run, chance: random.Random) -> None:
    """Kill one worker; the run goes on."""
    workers = run.workers()
    if workers:
        chance.choice(workers).kill()


def ended_by(number: int, *, group: bool) -> Callable[[Run, random.Random], None]:
    """End the run, or all processes of its group."""

    def end(run: Run, chance: random.Random) -> None:
        tell(run, number, group=group)

    return end


WAYS = {
    ("worker", signal.SIGKILL): a_worker,
    **{
        (who, number): ended_by(number, group=who == "group")
        for who in ("run", "group")
        for number in CODES
    },
}


def test_no_finished_report_is_ever_lost(book, tmp_path, capfd):
    """Every way comes up about three times; long all is whole, runs do all of it again."""
    to, undisturbed = tmp_path / "to", tmp_path / "undisturbed"
    assert ran(book, undisturbed, "--workers", "2").code == 3
    wanted, chance = report_bytes(undisturbed), random.Random(SEED)
    assert set(wanted) == {*SPREADS} - {CUT}
    finished: set[str] = set()
    ways = chance.sample(sorted(WAYS) * 3, TIMES)
    for turn, way in enumerate(ways):
        options = ("--workers", "2", *(["--again"] if finished == set(wanted) else []))
        before = set(halves(to))  # of killed runs; cleared by who writes there next
        with started(batch_line(book, to, *options)) as run, untouched(book):
            _wait_for_a_moment(run, to, chance)
            WAYS[way](run, chance)
            ended = run.ended()
            assert run.left() == [], (turn, way)
        there = report_bytes(to)
        assert finished <= set(there), (turn, way)
        assert {name: wanted[name] for name in there} == there, (turn, way)
        finished = set(there)
        _is_as_it_should(way, ended)
        if ended.code != CODES[signal.SIGKILL]:
            assert set(halves(to)) <= before, (turn, way)
    for folder in (to, undisturbed):  # both compare with a run before
        assert command(capfd, "batch", book, "--to", folder, "--engine", "threads").code == 3
    assert digests(to) == digests(undisturbed)


def _wait_for_a_moment(run: Run, to: Path, chance: random.Random) -> None:
    """Until some time after workers are there, or some reports were written, maybe again."""
    reports, part = chance.randint(0, MOST_REPORTS), chance.random()
    before = _times(to)
    wait_until(run.workers, run)
    wait_until(lambda: len(_times(to) - before) >= reports, run)
    time.sleep(part * (CHECKS_S if reports else STARTS_S))


def _times(to: Path) -> set[tuple[str, int]]:
    """The reports that there are, and when each was written."""
    found = set()
    for path in to.glob("*/report.json"):
        with suppress(FileNotFoundError):  # it is being replaced
            found.add((path.parent.name, path.stat().st_mtime_ns))
    return found


def _is_as_it_should(way: tuple[str, int], ended: Ended) -> None:
    """A run that was killed, or had ended before, or lost one worker and went on."""
    who, number = way
    if who == "worker" or ended.code == 3:
        assert (ended.code, "Traceback" in ended.err) == (3, False)
    else:
        assert ended.code == CODES[number]
        assert number == signal.SIGKILL or ended.err == SENTENCE
