"""Work done by threads: the order of results, how many are on their way, what an error leaves."""

import os
import threading
import time

import pytest

from inkmix.base import ordered_threads as inorder
from inkmix.base.ordered_threads import each_in_order, in_order, thread_count, use_at_most


def test_results_come_in_the_order_of_their_items_though_early_ones_take_longest():
    def work(number: int) -> int:
        time.sleep(0.003 * (8 - number))
        return number

    assert list(in_order(work, range(8), threads=3)) == list(range(8))
    taken: list[int] = []
    each_in_order(work, range(8), taken.append, threads=3)
    assert taken == list(range(8))


def test_few_items_are_on_their_way_at_once():
    """As many as there are threads, and one result more: what bounds the memory of a sheet."""
    begun: list[int] = []
    results = in_order(lambda number: begun.append(number), range(50), threads=3)
    next(results)
    time.sleep(0.05)  # whatever was given out has begun by now
    assert len(begun) <= 4
    results.close()


def test_after_an_error_no_work_is_left_under_way():
    """Files that work reads are closed by whoever sees the error."""
    running, lock = [0], threading.Lock()

    def work(number: int) -> None:
        with lock:
            running[0] += 1
        try:
            time.sleep(0.05 * number)
            if number == 0:
                raise ValueError("the first one")
        finally:
            with lock:
                running[0] -= 1

    with pytest.raises(ValueError, match="the first one"):
        list(in_order(work, range(20), threads=3))
    assert running[0] == 0


@pytest.fixture
def told():
    before = inorder._Told.threads
    yield
    use_at_most(before)


def test_no_more_threads_than_cores_than_a_few_or_than_was_told(told, monkeypatch):
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: set(range(64)), raising=False)
    assert thread_count() == inorder.MAX_THREADS == 4
    use_at_most(1)
    assert thread_count() == 1
    use_at_most(3)
    monkeypatch.setattr(os, "sched_getaffinity", lambda _: {0, 7}, raising=False)
    assert thread_count() == 2
