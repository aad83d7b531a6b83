"""Giving out the spreads of a batch, few at once, to whatever `concurrent.futures.Executor`.

A worker that is killed takes its executor with it. What was on its way then is done once more,
singly, so that a spread which kills its worker is known by name and the others are done.
"""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    wait,
)
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from typing import Protocol

from inkmix.batch.work import Outcome, Task, lost
from inkmix.errors import Fault, UsageError
from inkmix.leaving import signals_wait


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """An executor that is ready, and how many tasks it works on at once."""

    executor: Executor
    workers: int


class Crew(Protocol):
    """Workers to be had; each call opens an executor anew."""

    def opened(self, most: int | None = None) -> AbstractContextManager[Opened]:
        """An executor for as long as it is entered, with no more than `most` workers."""
        ...


class StandingCrew:
    """Another crew whose executor stays from one opening to the next, until it breaks."""

    def __init__(self, crew: Crew) -> None:
        self._crew, self._standing = crew, ExitStack()
        self._executor: Opened | None = None

    @contextmanager
    def opened(self, most: int | None = None) -> Iterator[Opened]:
        """The executor that is there; a new one where fewer workers are wanted."""
        if most is not None:
            with self._crew.opened(most) as few:
                yield few
            return
        if self._executor is None:
            self._executor = self._standing.enter_context(self._crew.opened())
        try:
            yield self._executor
        except BrokenExecutor:
            self.dismiss()
            raise

    def dismiss(self) -> None:
        """Let the workers go."""
        self._executor = None
        self._standing.close()


Work = Callable[[Task], Outcome]  # of work.py, so that it can travel; raises nothing


def each_done(
    crew: Crew, work: Work, tasks: Iterable[Task], take: Callable[[Outcome], None]
) -> None:
    """Hand the outcome of every task to `take`, in whatever order they end.

    Raises
    ------
    UsageError
        Where workers cannot be had, or went away for good.
    """
    waiting = iter(tasks)
    while on_their_way := _until_broken(crew, work, waiting, take):
        for task in on_their_way:
            take(_singly(crew, work, task))


def _until_broken(
    crew: Crew, work: Work, tasks: Iterator[Task], take: Callable[[Outcome], None]
) -> list[Task]:
    """Work with one executor; the tasks that were on their way if it broke."""
    task = next(tasks, None)
    if task is None:
        return []
    on_their_way: dict[Future[Outcome], Task] = {}
    try:
        with crew.opened() as crowd:
            while True:
                while task is not None and len(on_their_way) < crowd.workers:
                    on_their_way[_given(crowd.executor, work, task)] = task
                    task = next(tasks, None)
                if not on_their_way:
                    return []
                for future in wait(on_their_way, return_when=FIRST_COMPLETED).done:
                    outcome = _outcome(future, on_their_way[future])
                    del on_their_way[future]
                    take(outcome)
    except BrokenExecutor:
        return [*on_their_way.values(), *([] if task is None else [task])]


def _singly(crew: Crew, work: Work, task: Task) -> Outcome:
    """The outcome of a task that is alone, so that it is known if it kills its worker."""
    try:
        with crew.opened(1) as alone:
            return _outcome(_given(alone.executor, work, task), task)
    except BrokenExecutor:
        found = "the worker that checked it was killed, and another one too that did nothing else"
        do = "if memory was short, run fewer workers; or check it alone with `inkmix check`"
        return lost(task.found.name, Fault(where=task.found.name, found=found, do=do))


def _given(executor: Executor, work: Work, task: Task) -> Future[Outcome]:
    """A task given out; a process may be started for it, which begins deaf to signals."""
    with signals_wait():
        return executor.submit(work, task)


def _outcome(future: Future[Outcome], task: Task) -> Outcome:
    """What became of a task.

    Raises
    ------
    BrokenExecutor
        If a worker was killed, this one's or another's.
    UsageError
        If the workers went away for good.
    """
    try:
        return future.result()
    except BrokenExecutor:
        raise
    except CancelledError as error:
        found, do = "the workers went away", "start them again and run again: what is done is kept"
        raise UsageError(Fault(where="--engine", found=found, do=do)) from error
    except Exception as error:  # the work itself raises nothing
        what = f"{type(error).__name__}: {error}"
        found = f"no worker could do it ({what})"
        return lost(task.found.name, Fault(where=task.found.name, found=found))
