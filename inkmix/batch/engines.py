"""Executors of this machine: threads, or processes that are spawned and never outlive their run."""

import os
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.context import SpawnContext
from typing import Any

from inkmix.base.errors import Fault, UsageError
from inkmix.base.shutdown import signals_wait, undone_when_left
from inkmix.batch.worker import WorkerProcess, begin
from inkmix.batch.worker_pool import Opened

WORKER_BYTES = 400 << 20  # peak of a check of any size with a reference picture: 382 MiB
_MOST_PROCESSES = 61 if sys.platform == "win32" else sys.maxsize  # that can be waited for there
_PATIENCE_S = 3.0
_AVAILABLE = "MemAvailable:"


def cores() -> int:
    """Cores that this program may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def usual_workers() -> int:
    """One worker a core, as far as the memory that can be had now holds what each may need."""
    free = _free_bytes()
    return cores() if free is None else max(1, min(cores(), free // WORKER_BYTES))


def _free_bytes() -> int | None:
    """Memory that can be had, that of files kept by the system included; None if nobody says."""
    with suppress(OSError, ValueError), open("/proc/meminfo", encoding="ascii") as said:
        for line in said:
            if line.startswith(_AVAILABLE):
                return int(line.split()[1]) << 10
    try:
        return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError, OSError):  # not on every system
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadCrew:
    """Threads of this very process."""

    workers: int

    @contextmanager
    def opened(self, most: int | None = None) -> Iterator[Opened]:
        """An executor of threads."""
        workers = min(self.workers, most or self.workers)
        with ThreadPoolExecutor(workers, thread_name_prefix="inkmix spread") as executor:
            yield Opened(executor=executor, workers=workers)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessCrew:
    """Processes, each with its share of the cores."""

    workers: int

    @contextmanager
    def opened(self, most: int | None = None) -> Iterator[Opened]:
        """An executor of processes; none is left when it ends, however it ends.

        Raises
        ------
        UsageError
            Where the system has no room for them.
        """
        workers = min(self.workers, most or self.workers, _MOST_PROCESSES)
        started = _Started()
        executor = self._executor(workers, started)
        with undone_when_left(started.stop):
            try:
                yield Opened(executor=executor, workers=workers)
            except BaseException:
                started.stop()
                raise
            finally:
                executor.shutdown(cancel_futures=True)

    def _executor(self, workers: int, started: "_Started") -> ProcessPoolExecutor:
        threads = max(1, cores() // self.workers)
        try:
            _start_tracker()
            return ProcessPoolExecutor(
                workers, mp_context=started, initializer=begin, initargs=(threads,)
            )
        except (OSError, NotImplementedError) as error:
            found, do = f"no process can be started ({error})", "try `--engine threads`"
            raise UsageError(Fault(where="engine", found=found, do=do)) from error


class _Started(SpawnContext):
    """Where an executor gets its processes from, and which they are."""

    def __init__(self) -> None:
        super().__init__()
        self._processes: list[WorkerProcess] = []

    def Process(self, *args: Any, **kwargs: Any) -> WorkerProcess:  # type: ignore[override]
        """A process, not yet started."""
        process = WorkerProcess(*args, **kwargs)
        self._processes.append(process)
        return process

    def stop(self) -> None:
        """Let the workers clear up and end; kill those that take long."""
        running = [process for process in self._processes if process.pid is not None]
        for process in running:
            process.terminate()
        until = time.monotonic() + _PATIENCE_S
        for process in running:
            process.join(max(0.0, until - time.monotonic()))
            if process.exitcode is None:
                process.kill()


def _start_tracker() -> None:
    """Start what clears up after a run that was left at a signal; it says and hears nothing."""
    if os.name != "posix":  # nothing has to be cleared up there
        return
    before = os.environ.get("PYTHONWARNINGS")
    os.environ["PYTHONWARNINGS"] = "ignore"
    try:
        with signals_wait():
            resource_tracker.ensure_running()
    finally:
        if before is None:
            del os.environ["PYTHONWARNINGS"]
        else:
            os.environ["PYTHONWARNINGS"] = before
