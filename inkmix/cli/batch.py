"""`inkmix batch`: every spread of a book checked, with one index page over all reports."""

from collections.abc import Callable, Iterable
from contextlib import ExitStack, closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.cli.arguments import Command, InputPath, OutputPath
from inkmix.cli.common import (
    BOOK_NEEDED,
    check_choice,
    chosen_checks,
    load_book,
    put_json,
    say,
    told_count,
)

if TYPE_CHECKING:
    from inkmix.base.errors import Fault
    from inkmix.batch.compare import LastRun
    from inkmix.batch.run import HowFar, Wanted
    from inkmix.batch.worker_pool import Crew
    from inkmix.jobs.book_answer import BatchResult, SpreadRow

REPORTS = "reports"
CLUSTER = "dask:"
MOST_LINES = 20


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--to",
    "folder",
    type=OutputPath(folder=True),
    help="Folder for index.html, batch.json and the reports; else reports/ beside the book.",
)
@click.option(
    "--workers",
    type=click.IntRange(1, 256),
    help="Spreads worked on at once; else one a core, as far as memory goes.",
)
@click.option(
    "--engine",
    default="processes",
    show_default=True,
    help="Who works: processes, threads, or dask:tcp://HOST:PORT, a cluster that runs already.",
)
@click.option("--again", is_flag=True, help="Check unchanged spreads too.")
@click.option(
    "--watch",
    is_flag=True,
    help="Go on: check again whatever changes, until you press Ctrl-C; the page keeps up.",
)
@check_choice
@click.option("--strict", is_flag=True, help="Leave with exit code 1 also where it is unsure.")
@click.option("--json", "as_json", is_flag=True, help="Write batch.json to stdout as well.")
def batch(
    book: Path,
    folder: Path | None,
    workers: int | None,
    engine: str,
    again: bool,
    watch: bool,
    only: tuple[str, ...],
    skip: tuple[str, ...],
    strict: bool,
    as_json: bool,
) -> int:
    """Check every spread of a book and write one page over all of them.

    BOOK is a book.toml, or the folder that holds one. Spreads whose plates, masks and book did not
    change since the last run are not computed again. Leaves with exit code 2 for a wrong book, 3 if
    a spread cannot be read, 1 if one fails, 0 else.
    """
    from inkmix.batch.document import document_bytes
    from inkmix.batch.run import Wanted, run_batch
    from inkmix.pages.index.write import refuse_index, write_index

    if watch and as_json:
        raise click.UsageError("--json waits for the end, and --watch has none; read batch.json")
    checks = chosen_checks(only, skip)
    crew = _crew(engine, workers)
    read = load_book(book)
    to = folder or read.folder / REPORTS
    refuse_index(to)

    def show(result: "BatchResult", last: "LastRun | None") -> None:
        write_index(result, to, document=document_bytes(result, last=last))

    with closing(_Bar()) as bar:
        wanted = Wanted(
            to=to.resolve(),
            crew=crew,
            show=show,
            tell=bar.tell,
            strict=strict,
            again=again,
            checks=checks,
        )
        if watch:
            _watch(read.path, wanted, bar)
        result = run_batch(read, wanted)
    _say_result(result, to, reused=bar.reused)
    if as_json:
        put_json(document_bytes(result, last=None).decode(), whole=False)
    return result.exit_code


def _crew(engine: str, workers: int | None) -> "Crew":
    """The workers asked for.

    Raises
    ------
    click.BadParameter
        For an engine that there is not.
    """
    from inkmix.batch.engines import ProcessCrew, ThreadCrew, usual_workers

    if engine.startswith(CLUSTER):
        from inkmix.batch.cluster import ClusterCrew

        return ClusterCrew(address=engine.removeprefix(CLUSTER), most=workers)
    if engine == "processes":
        return ProcessCrew(workers=workers or usual_workers())
    if engine == "threads":
        return ThreadCrew(workers=workers or usual_workers())
    known = "there are processes, threads, and dask:tcp://HOST:PORT"
    raise click.BadParameter(f"there is no engine '{engine}'; {known}", param_hint="--engine")


class _Bar:
    """How far a run is, on a terminal, from its first word until it is closed."""

    def __init__(self) -> None:
        self._open = ExitStack()
        self._tell: Callable[[int, int], None] | None = None
        self.reused = 0

    def tell(self, how: "HowFar") -> None:
        """Show it."""
        if self._tell is None:
            self._tell = self._open.enter_context(told_count("checking spreads"))
        self._tell(how.done, how.all)
        self.reused = how.reused

    def close(self) -> None:
        """Leave the terminal to others; the next word opens it again."""
        self._tell = None
        self._open.close()


def _watch(path: Path, wanted: "Wanted", bar: _Bar) -> None:
    """Run until interrupted."""
    from inkmix.batch.watch import watch_book

    def done(result: "BatchResult") -> None:
        bar.close()
        _say_result(result, wanted.to, reused=bar.reused)
        say("Looking for changes; Ctrl-C ends.")

    def refused(faults: "Iterable[Fault]") -> None:
        bar.close()
        for fault in faults:
            say(f"inkmix: {fault}")
        say("Looking for changes; Ctrl-C ends.")

    watch_book(path, wanted, done=done, refused=refused)


def _say_result(result: "BatchResult", to: Path, *, reused: int) -> None:
    """How the book stands, and the spreads that somebody has to look at, worst first."""
    from inkmix.checks.finding import UNSURE
    from inkmix.jobs.book_answer import STATES
    from inkmix.pages.index.words import headline

    say(headline(result))
    last = STATES.index(UNSURE)
    open_rows = [row for row in result.rows if STATES.index(row.state) <= last]
    open_rows.sort(key=lambda row: STATES.index(row.state))
    for row in open_rows[:MOST_LINES]:
        say(f"  {row.name}: {_reason(row)}")
    if len(open_rows) > MOST_LINES:
        say(f"  and {len(open_rows) - MOST_LINES} more")
    if reused:
        say(f"unchanged since they were checked: {reused} of {len(result.rows)}")
    say(f"index: {to / 'index.html'}")


def _reason(row: "SpreadRow") -> str:
    """The worst in words."""
    from inkmix.pages.index.words import state

    if row.faults:
        return f"{state(row)}: {row.faults[0]}"
    worst = next((one.finding for one in row.findings if one.waiver is None), None)
    return state(row) if worst is None else f"{state(row)}: {worst.sentence}"
