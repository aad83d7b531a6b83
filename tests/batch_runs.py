"""Runs of `inkmix batch` in programs of their own: started, disturbed, and what they leave."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO
from uuid import uuid4

import psutil
import pytest

import inkmix.batch.run
from inkmix.batch.task import Outcome, Task
from inkmix.batch.work import check_one
from inkmix.batch.worker_pool import each_done

ROOT = Path(__file__).parents[1]
MARK = "INKMIX_TEST_RUN"
SENTENCE = "inkmix: interrupted; nothing half-written is left behind\n"
PATIENCE_S = 60.0

long = pytest.mark.long  # minutes; `.ci/run` runs them, and who changes how a batch is worked on


@dataclass(frozen=True, kw_only=True)
class Ended:
    """How a run ended."""

    code: int
    out: str
    err: str


@dataclass(frozen=True, kw_only=True)
class Run:
    """A program that leads a group of processes, all of which carry its mark."""

    process: "subprocess.Popen[bytes]"
    mark: str
    out: IO[bytes]
    err: IO[bytes]

    def workers(self) -> list[psutil.Process]:
        """The processes that it has check spreads."""
        with suppress(psutil.NoSuchProcess):
            children = psutil.Process(self.process.pid).children()
            return [child for child in children if "spawn_main" in " ".join(line_of(child))]
        return []

    def ended(self) -> Ended:
        """How it ended, once it did."""
        code = self.process.wait(PATIENCE_S)
        return Ended(code=code, out=said(self.out), err=said(self.err))

    def left(self) -> list[psutil.Process]:
        """Processes of it that there are still, if some do not end within moments."""
        until = time.monotonic() + 5
        while (there := marked(self.mark)) and time.monotonic() < until:
            time.sleep(0.05)
        return there


@contextmanager
def started(line: list[str], **environment: str) -> Iterator[Run]:
    """A program; it and all that it started are killed in the end, should there be any left."""
    mark = uuid4().hex
    with TemporaryFile() as out, TemporaryFile() as err:
        process = subprocess.Popen(
            line,
            stdin=subprocess.DEVNULL,
            stdout=out,
            stderr=err,
            cwd=ROOT,
            env={**os.environ, "INKMIX_LOOPS": "numpy", **environment, MARK: mark},
            start_new_session=True,  # a group of its own, as from a terminal
        )
        try:
            yield Run(process=process, mark=mark, out=out, err=err)
        finally:
            for one in marked(mark):
                with suppress(psutil.NoSuchProcess):
                    one.kill()
            process.wait(PATIENCE_S)


def batch_line(book: Path, to: Path, *options: str) -> list[str]:
    """The command; plain loops, because compiled ones take a second to load."""
    return [sys.executable, "-m", "inkmix", "batch", str(book), "--to", str(to), *options]


def ran(book: Path, to: Path, *options: str) -> Ended:
    """A run that nobody disturbs."""
    with started(batch_line(book, to, *options)) as run:
        ended = run.ended()
        assert run.left() == []
    return ended


def marked(mark: str) -> list[psutil.Process]:
    """Living processes that were started with a mark."""
    return [one for one in psutil.process_iter() if _has(one, mark)]


def _has(process: psutil.Process, mark: str) -> bool:
    try:
        is_dead = process.status() == psutil.STATUS_ZOMBIE
        return not is_dead and process.environ().get(MARK) == mark
    except psutil.Error:
        return False


def line_of(process: psutil.Process) -> list[str]:
    """The words by which a process was started; none of one that has ended."""
    try:
        return process.cmdline()
    except psutil.Error:
        return []


def wait_until(there: Callable[[], object], run: Run) -> None:
    """Wait for something that a run does; it may have ended before."""
    until = time.monotonic() + PATIENCE_S
    while run.process.poll() is None and not there():
        assert time.monotonic() < until
        time.sleep(0.02)


def said(file: IO[bytes]) -> str:
    file.seek(0)
    return file.read().decode()


def tell(run: Run, number: int, *, group: bool) -> None:
    """Send a signal to the program, or as a terminal does, to all of its group."""
    with suppress(ProcessLookupError):
        (os.killpg if group else os.kill)(run.process.pid, number)


# --- what lies in the folder of reports ----------------------------------------------------------


def report_bytes(to: Path) -> dict[str, tuple[bytes, ...]]:
    """The three files of each spread that has a finished report, which is whole."""
    found = {}
    for folder in sorted(path for path in to.glob("*/") if path.is_dir()):
        files = [folder / name for name in ("report.html", "report.json", "kept.json")]
        if all(file.exists() for file in files):
            page, data, kept = found[folder.name] = tuple(file.read_bytes() for file in files)
            assert json.loads(data)["page"]["sha256"] == sha256(page).hexdigest()
            assert json.loads(kept)["report_sha256"] == sha256(page).hexdigest()
            assert json.loads(kept)["data_sha256"] == sha256(data).hexdigest()
    return found


def halves(to: Path) -> list[Path]:
    """Files that somebody began to write and did not end."""
    return sorted(to.rglob("*.inkmix-part"))


def written_ns(to: Path, spread: str) -> list[int]:
    """When the files of a report were written; changes whenever they are written again."""
    return [file.stat().st_mtime_ns for file in sorted((to / spread).iterdir())]


def with_work(monkeypatch: pytest.MonkeyPatch, work: Callable[[Task], Outcome]) -> None:
    """Runs of this process give out other work than to check."""
    monkeypatch.setattr(
        inkmix.batch.run,
        "each_done",
        lambda crew, check, tasks, take: each_done(crew, work, tasks, take),
    )


# --- work for workers, which a process that is started anew can import ---------------------------

DEADLY = "deadly"
_TOO_MANY_BYTES = 2**29


def check_or_die(task: Task) -> Outcome:
    """Check a spread; the one that is named so kills whoever checks it."""
    if task.found.name == DEADLY:
        os.kill(os.getpid(), signal.SIGKILL)
    return check_one(task)


def check_in_little_memory(task: Task) -> Outcome:
    """Check a spread; the one that is named so needs more memory than its process may have."""
    import resource
    from unittest.mock import patch

    import numpy as np

    from inkmix.batch import work

    def check(*_args, **_options):
        return np.ones(_TOO_MANY_BYTES // 8)

    if task.found.name != DEADLY:
        return check_one(task)
    most = psutil.Process().memory_info().vms + _TOO_MANY_BYTES // 2
    resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))
    try:
        with patch.object(work, "check_spread", check):
            return check_one(task)
    finally:
        resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY,) * 2)


def check_or_leave(task: Task) -> Outcome:
    """Check a spread; the one that is named so makes its worker want to end."""
    if task.found.name == DEADLY:
        sys.exit("no more")
    return check_one(task)
