"""Giving out the spreads of a batch, few at once, to whatever `concurrent.futures.Executor`.

A worker that is killed takes its executor with it. What was on its way then is done once more,
singly, so that a spread which kills its worker is known by name and the others are done.
"""

from collections import deque
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

from inkmix.base.errors import Fault, UsageError
from inkmix.batch.task import Outcome, Task, lost
from inkmix.batch.worker import has_begun

_LOOK_EVERY_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """An executor that is ready.

    Parameters
    ----------
    workers : int
        How many tasks it works on at once.
    killed : tuple of exception types
        By which it says that a task killed every worker it was given to; it did not break then.
    look : callable
        Called now and then while nothing ends; raises UsageError where workers went away.
    """

    executor: Executor
    workers: int
    killed: tuple[type[BaseException], ...] = ()
    look: Callable[[], None] = lambda: None


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
        _singly(crew, work, on_their_way, take)


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
                    on_their_way[_given(crowd, work, task)] = task
                    task = next(tasks, None)
                if not on_their_way:
                    return []
                done = _some_done(on_their_way, crowd)
                for future in sorted(done, key=_is_broken):  # what is done is taken first
                    outcome = _outcome(future, on_their_way[future], crowd)
                    del on_their_way[future]
                    take(outcome)
    except BrokenExecutor:
        return [*on_their_way.values(), *([] if task is None else [task])]


def _singly(crew: Crew, work: Work, tasks: Iterable[Task], take: Callable[[Outcome], None]) -> None:
    """Do tasks one after the other, so that it is known which one kills its worker."""
    waiting = deque(tasks)
    while waiting:
        first = waiting[0]
        try:
            with crew.opened(1) as alone:
                while waiting:
                    future = _given(alone, work, waiting[0])
                    _some_done([future], alone)
                    outcome = _outcome(future, waiting[0], alone)
                    waiting.popleft()
                    take(outcome)
        except BrokenExecutor:
            if waiting[0] is first:  # else it gets a worker that did nothing else
                _refuse_if_none_begins(crew)
                take(_killer(waiting.popleft()))


def _killer(task: Task) -> Outcome:
    found = "every worker that checked it was killed, the last one had done nothing else"
    do = "if memory was short, run fewer workers; or check it alone with `inkmix check`"
    return lost(task.found.name, Fault(where=task.found.name, found=found, do=do))


def _refuse_if_none_begins(crew: Crew) -> None:
    """Raise UsageError where no worker lives long enough to do nothing: no task is to blame."""
    try:
        with crew.opened(1) as alone:
            with _starting():
                begun = alone.executor.submit(has_begun)
            begun.result()
    except BrokenExecutor as error:
        do = "see above, or in the system's log, what ends them; `--engine threads` needs none"
        raise UsageError(Fault(where="engine", found="workers end at once", do=do)) from error


def _given(crowd: Opened, work: Work, task: Task) -> Future[Outcome]:
    """A task given out; a process may be started for it."""
    with _starting():
        return crowd.executor.submit(work, task)


@contextmanager
def _starting() -> Iterator[None]:
    """Raise UsageError if the system lets no worker be started here."""
    try:
        yield
    except BrokenExecutor:
        raise
    except (OSError, RuntimeError) as error:  # no room for a process, or a thread
        found, do = f"a worker cannot be started ({error})", "run fewer --workers"
        raise UsageError(Fault(where="workers", found=found, do=do)) from error


def _some_done(on_their_way: Iterable[Future[Outcome]], crowd: Opened) -> set[Future[Outcome]]:
    while True:
        done = wait(on_their_way, timeout=_LOOK_EVERY_S, return_when=FIRST_COMPLETED).done
        if done:
            return done
        crowd.look()


def _is_broken(future: Future[Outcome]) -> bool:
    return not future.cancelled() and isinstance(future.exception(), BrokenExecutor)


def _outcome(future: Future[Outcome], task: Task, crowd: Opened) -> Outcome:
    """What became of a task.

    Raises
    ------
    BrokenExecutor
        If a worker was killed, this one's or another's.
    UsageError
        If the workers went away for good.
    """
    try:
        error = future.exception()
    except CancelledError as gone:
        found, do = "the workers went away", "start them again and run again: what is done is kept"
        raise UsageError(Fault(where="engine", found=found, do=do)) from gone
    if error is None:
        return future.result()
    if isinstance(error, BrokenExecutor):
        raise error
    if isinstance(error, crowd.killed):
        return _killer(task)
    name, what = task.found.name, f"{type(error).__name__}: {error}"
    return lost(name, Fault(where=name, found=f"no worker could do it ({what})"))
