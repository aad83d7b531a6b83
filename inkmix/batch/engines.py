"""Executors of this machine: threads, or processes that are spawned and never outlive their run."""

import gc
import multiprocessing
import os
import signal
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.connection import wait
from threading import Thread
from unittest.mock import patch

from inkmix.batch.crew import Opened
from inkmix.heap import share_one_heap
from inkmix.inorder import use_at_most
from inkmix.leaving import leave_at_signals, undone_when_left

WORKER_BYTES = 400 << 20  # peak of a check of any size with a reference picture: 382 MiB
_PATIENCE_S = 3.0
_COLLECT_AFTER = 50_000


def cores() -> int:
    """Cores that this program may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        return os.cpu_count() or 1


def usual_workers() -> int:
    """One worker a core, as far as the memory that is free now holds what each may need."""
    try:
        free = os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError, OSError):  # not on every system
        return cores()
    return max(1, min(cores(), free // WORKER_BYTES))


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
        """An executor of processes; none is left when it ends, however it ends."""
        workers = min(self.workers, most or self.workers)
        executor = ProcessPoolExecutor(
            workers,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin,
            initargs=(max(1, cores() // self.workers),),
        )
        _start_tracker()
        with undone_when_left(_stop_workers):
            try:
                yield Opened(executor=executor, workers=workers)
            except BaseException:
                executor.shutdown(wait=False, cancel_futures=True)
                _stop_workers()
                raise
            finally:
                executor.shutdown()


def _begin(threads: int) -> None:
    """What a worker does first."""
    leave_at_signals("")  # who started it says the word
    share_one_heap()
    gc.set_threshold(_COLLECT_AFTER)
    use_at_most(threads)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """A worker whose run was killed would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os.kill(os.getpid(), signal.SIGTERM)


def _stop_workers() -> None:
    """Let workers clear up and end; kill those that take long."""
    workers = multiprocessing.active_children()
    for worker in workers:
        worker.terminate()
    for worker in workers:
        worker.join(_PATIENCE_S / len(workers))
        if worker.exitcode is None:
            worker.kill()


def _start_tracker() -> None:
    """What clears up after a run that was left at a signal, without a word about it."""
    with patch.dict(os.environ, PYTHONWARNINGS="ignore"):
        resource_tracker.ensure_running()
