"""How a worker process begins: it heeds signals, shares the machine, and ends with its run.

Nothing of the work itself is imported here, so that a worker that is only starting can leave.
"""

import gc
import multiprocessing
import os
import signal
from multiprocessing.connection import wait
from multiprocessing.context import SpawnProcess
from threading import Thread

from inkmix.base.allocator import share_one_heap
from inkmix.base.ordered_threads import use_at_most
from inkmix.base.shutdown import held_together, leave_at_signals, signals_wait

_COLLECT_AFTER = 50_000


class WorkerProcess(SpawnProcess):
    """A process that is known before a signal ends the run, and begins deaf to signals."""

    def start(self) -> None:
        """Start it."""
        with held_together(), signals_wait():
            super().start()


def begin(threads: int) -> None:
    """What the process does first; it will use so many threads."""
    leave_at_signals("")  # who started it says the word
    share_one_heap()
    gc.set_threshold(_COLLECT_AFTER)
    use_at_most(threads)
    Thread(target=_end_with_parent, daemon=True).start()


def has_begun() -> None:
    """The least work there is: who can do it has started well."""


def _end_with_parent() -> None:
    """A worker whose run was killed would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os.kill(os.getpid(), signal.SIGTERM)
