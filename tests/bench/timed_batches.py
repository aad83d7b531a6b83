"""One run of `inkmix batch` as a program of its own: its time, and the memory of its workers.

What is run and in which order is told in batch.py.
"""

import os
import resource
import shutil
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from threading import Event, Thread

from timing import MIB

LOOK_EVERY_S = 0.2
FAILS, UNREADABLE = 1, 3

_UNCOMPILED = "PYTHONDONTWRITEBYTECODE"


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What a run took.

    Parameters
    ----------
    seconds, cpu_s : float
        On the wall, and computing by the program and its workers.
    worker_mib : float or None
        Peak resident memory of the largest worker; None where the system does not tell.
    reports : int
        Of spreads that could be read.
    """

    seconds: float
    cpu_s: float
    worker_mib: float | None
    reports: int


def run_batch(book: Path, to: Path, *, workers: int) -> Run:
    """Run it once, quietly; as where it is installed, with its own text compiled.

    Raises
    ------
    RuntimeError
        With what it said, if it ended otherwise than with an index.
    """
    command = [sys.executable, "-m", "inkmix", "batch", str(book), "--to", str(to)]
    command += ["--workers", str(workers)]
    environment = {key: value for key, value in os.environ.items() if key != _UNCOMPILED}
    start, cpu_start = time.perf_counter(), _cpu_s()
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env=environment
    ) as program:
        peaks = _Peaks(program.pid)
        said = program.communicate()[1]
        seconds = time.perf_counter() - start
        worker_mib = peaks.greatest_mib()
    if program.returncode not in (0, FAILS, UNREADABLE):
        raise RuntimeError(f"{' '.join(command)}: exit code {program.returncode}\n{said}")
    reports = sum(1 for _ in to.glob("*/report.json"))
    return Run(seconds=seconds, cpu_s=_cpu_s() - cpu_start, worker_mib=worker_mib, reports=reports)


def fresh(folder: Path) -> Path:
    """The same folder, not there any more."""
    shutil.rmtree(folder, ignore_errors=True)
    return folder


def _cpu_s() -> float:
    """Computed by programs that were waited for, their workers included."""
    usage = resource.getrusage(resource.RUSAGE_CHILDREN)
    return usage.ru_utime + usage.ru_stime


class _Peaks:
    """Looks at the children of a program while it runs; each tells its own peak so far."""

    def __init__(self, pid: int) -> None:
        self._pid, self._most = pid, 0.0
        self._ended = Event()
        self._thread = Thread(target=self._look, daemon=True)
        self._thread.start()

    def greatest_mib(self) -> float | None:
        """The greatest of all peaks; the looking ends."""
        self._ended.set()
        self._thread.join()
        return self._most or None

    def _look(self) -> None:
        while not self._ended.wait(LOOK_EVERY_S):
            for child in _children(self._pid):
                self._most = max(self._most, _peak_mib(child))


def _children(pid: int) -> list[str]:
    """Processes that any thread of a process started."""
    found: list[str] = []
    for listed in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            found += listed.read_text(encoding="ascii").split()
        except OSError:  # it has ended
            continue
    return found


def _peak_mib(pid: str) -> float:
    try:
        text = Path(f"/proc/{pid}/status").read_text(encoding="utf-8")
    except OSError:
        return 0.0
    lines = (line.split() for line in text.splitlines() if line.startswith("VmHWM:"))
    return max((int(line[1]) / MIB for line in lines), default=0.0)
