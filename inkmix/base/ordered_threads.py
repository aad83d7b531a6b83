"""Work done by threads, results in order: nothing here knows what is worked on.

Few pieces are on their way at once, so memory stays bounded however long the work is. An error, or
an interruption of whoever takes the results, lets no further piece begin.
"""

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import closing
from functools import cache
from typing import TypeVar

MAX_THREADS = 4  # each holds a window of all plates
_AHEAD = 1  # results that may wait for an earlier one

_Item = TypeVar("_Item")
_Result = TypeVar("_Result")


class _Told:
    """What this process was told when it began."""

    threads = MAX_THREADS


def use_at_most(threads: int) -> None:
    """From now on this process works with no more threads; several share the machine's cores."""
    _Told.threads = threads


def thread_count() -> int:
    """Threads to work with: one for each core that may be used, within bounds."""
    try:
        cores = len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        cores = os.cpu_count() or 1
    return max(1, min(cores, MAX_THREADS, _Told.threads))


def in_order(
    work: Callable[[_Item], _Result], items: Iterable[_Item], *, threads: int | None = None
) -> Generator[_Result]:
    """Results of `work` for each item, in the order of the items.

    Parameters
    ----------
    threads : int or None
        How many items are worked on at once; None for `thread_count()`. With 1 nothing is threaded.
        `work` itself must not ask for results in order of its own.
    """
    threads = thread_count() if threads is None else threads
    if threads == 1:
        yield from map(work, items)
        return
    pool, waiting = _pool(threads), deque[Future[_Result]]()
    try:
        for item in items:
            waiting.append(pool.submit(work, item))
            if len(waiting) >= threads + _AHEAD:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        wait([future for future in waiting if not future.cancel()])


@cache
def _pool(threads: int) -> ThreadPoolExecutor:
    """Threads that stay: new ones would take new heaps, which the system does not give back."""
    return ThreadPoolExecutor(threads, thread_name_prefix="inkmix")


def each_in_order(
    work: Callable[[_Item], _Result],
    items: Iterable[_Item],
    take: Callable[[_Result], None],
    *,
    threads: int | None = None,
) -> None:
    """Hand every result to `take`, in the order of the items."""
    with closing(in_order(work, items, threads=threads)) as results:
        for result in results:
            take(result)
