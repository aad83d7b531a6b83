"""How far a command is, on a terminal; nothing where stderr is a file or a pipe."""

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager

from inkmix.base.shutdown import undone_when_left

Tell = Callable[[str, float], None]
"""Told what is being done and how far it is, 0-1."""


@contextmanager
def told_progress() -> Iterator[Tell]:
    """Tells progress on a terminal, and nothing where stderr is a file or a pipe.

    An error that ends it says what was being done.
    """
    at: list[str] = []
    with _shown_progress() as show:

        def tell(doing: str, share: float) -> None:
            at[:] = [doing]
            show(doing, share)

        try:
            yield tell
        except (MemoryError, RuntimeError, OSError) as error:
            if at:
                error.add_note(at[0])
            raise


@contextmanager
def _shown_progress() -> Iterator[Tell]:
    if not sys.stderr.isatty():
        yield lambda doing, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True)
    with undone_when_left(bar.stop), bar:
        task = bar.add_task("", total=None)

        def tell(doing: str, share: float) -> None:
            """A share of 0 pulses: nobody knows yet how long it takes."""
            total = 1.0 if share > 0 else None
            bar.update(task, description=doing, total=total, completed=share)

        yield tell


@contextmanager
def told_count(doing: str) -> Iterator[Callable[[int, int], None]]:
    """Tells how many of all are done, and the time left, on a terminal; nothing elsewhere."""
    if not sys.stderr.isatty():
        yield lambda done, of: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeRemainingColumn,
    )

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        TextColumn("left"),
    )
    console = Console(stderr=True)
    bar = Progress(*columns, console=console, transient=True, redirect_stdout=False)
    with undone_when_left(bar.stop), bar:
        task = bar.add_task(doing, total=None)
        yield lambda done, of: bar.update(task, total=of, completed=done)


@contextmanager
def told_counts(words: Mapping[str, str]) -> Iterator[Callable[[str, int, int], None]]:
    """Tells one count after the other, each by its words and with the time left, on a terminal."""
    with ExitStack() as stack:
        bars: dict[str, Callable[[int, int], None]] = {}

        def tell(doing: str, done: int, of: int) -> None:
            if doing not in bars:
                stack.close()  # one bar at a time
                bars[doing] = stack.enter_context(told_count(words.get(doing, doing)))
            bars[doing](done, of)

        yield tell
