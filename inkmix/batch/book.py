"""A whole book checked, and one page written over all its reports."""

from collections.abc import Callable, Collection
from functools import partial
from pathlib import Path

from inkmix.base.arguments import path_of, text_of
from inkmix.base.errors import Fault, UsageError
from inkmix.base.quoting import quoted
from inkmix.batch.compare import LastRun
from inkmix.batch.document import document_bytes
from inkmix.batch.engines import ProcessCrew, ThreadCrew, usual_workers
from inkmix.batch.run import HowFar, Wanted, run_batch
from inkmix.batch.worker_pool import Crew
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.jobs.book_answer import BatchResult
from inkmix.jobs.ranges import WORKERS
from inkmix.jobs.refusals import refuse_no_book
from inkmix.pages.folders import REPORTS
from inkmix.pages.index.write import refuse_index, write_index

CLUSTER = "dask:"


def _unheard(how: HowFar) -> None:
    """Tell nobody."""


@table.names_told
def check_book(
    book: Book,
    *,
    to: str | Path | None = None,
    engine: str = "processes",
    workers: int | None = None,
    strict: bool = False,
    again: bool = False,
    checks: str | Collection[str] | None = None,
    tell: Callable[[HowFar], None] | None = None,
) -> BatchResult:
    """Check every spread of a book, and write a report of each and one page over all of them.

    Spreads whose plates, masks and book did not change since the last run are not computed again.
    One that cannot be read stops no other.

    Parameters
    ----------
    to : str, Path or None
        Folder for index.html, batch.json and the reports; None: reports/ beside the book.
    engine : str
        "processes", "threads", or "dask:tcp://HOST:PORT", a cluster that runs already. A script
        that uses processes needs the guard `if __name__ == "__main__":`.
    workers : int or None
        Spreads worked on at once, 1-256; None: one a core, as far as memory goes.
    strict : bool
        What is unsure counts as failing.
    again : bool
        Unchanged spreads are checked too.
    checks : str, collection of str, or None
        Names of the checks to run: {checks}. None: all.
    tell : callable of HowFar, or None
        Told at the beginning, and whenever a spread is done.

    Raises
    ------
    InkmixError
        Where the book has no spread, the folder cannot be written, or workers cannot be had.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        result = inkmix.check_book(book, engine="threads")
        assert all(row.checked for row in result.rows)  # all could be read
        assert (book.folder / "reports" / "index.html").exists()
    """
    refuse_no_book(book)
    crew = crew_of(text_of(engine, what="engine"), workers)
    folder = book.folder / REPORTS if to is None else path_of(to, what="to")
    refuse_index(folder)
    names, told = table.asked_for(checks), tell or _unheard
    wanted = run_into(folder, crew, tell=told, strict=strict, again=again, checks=names)
    return run_batch(book, wanted)


def run_into(
    to: Path,
    crew: Crew,
    *,
    tell: Callable[[HowFar], None],
    strict: bool,
    again: bool,
    checks: Collection[str] | None,
) -> Wanted:
    """A run whose page and reports are written into a folder."""
    return Wanted(
        to=to.resolve(),
        crew=crew,
        show=partial(_show, to),
        tell=tell,
        strict=strict,
        again=again,
        checks=checks,
    )


def _show(to: Path, result: BatchResult, last: LastRun | None) -> None:
    write_index(result, to, document=document_bytes(result, last=last))


def crew_of(engine: str, workers: int | None) -> Crew:
    """The workers asked for; none is started.

    Raises
    ------
    UsageError
        For an engine that there is not, or a number of workers out of range.
    """
    if workers is not None:
        WORKERS.refuse(workers)
    if engine.startswith(CLUSTER):
        from inkmix.batch.cluster import ClusterCrew  # it brings asyncio along

        return ClusterCrew(address=engine.removeprefix(CLUSTER), most=workers)
    if engine == "processes":
        return ProcessCrew(workers=workers or usual_workers())
    if engine == "threads":
        return ThreadCrew(workers=workers or usual_workers())
    do = f"there are processes, threads, and {CLUSTER}tcp://HOST:PORT"
    raise UsageError(Fault(where="engine", found=f"there is no engine {quoted(engine)}", do=do))
