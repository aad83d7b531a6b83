"""`inkmix batch`: every spread of a book checked, with one index page over all reports."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.cli.common import load_book, say, told_count

if TYPE_CHECKING:
    from inkmix.batch.compare import LastRun
    from inkmix.batch.crew import Crew
    from inkmix.batch.result import BatchResult, SpreadRow
    from inkmix.batch.run import HowFar, Wanted
    from inkmix.errors import Fault

REPORTS = "reports"
CLUSTER = "dask:"
MOST_LINES = 20


@click.command()
@click.argument("book", type=click.Path(path_type=Path), default=".")
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path),
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
@click.option("--strict", is_flag=True, help="Leave with exit code 1 also where it is unsure.")
@click.option("--json", "as_json", is_flag=True, help="Write batch.json to stdout as well.")
def batch(
    book: Path,
    folder: Path | None,
    workers: int | None,
    engine: str,
    again: bool,
    watch: bool,
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
    from inkmix.index.write import refuse_index, write_index

    crew = _crew(engine, workers)
    read = load_book(book)
    to = folder or read.folder / REPORTS
    refuse_index(to)

    def show(result: "BatchResult", last: "LastRun | None") -> None:
        write_index(result, to, document=document_bytes(result, last=last))

    with _told() as tell:
        wanted = Wanted(
            to=to.resolve(), crew=crew, show=show, tell=tell, strict=strict, again=again
        )
        if watch:
            _watch(read.path, wanted)
        result = run_batch(read, wanted)
    _say_result(result, to)
    if as_json:
        click.echo((to / "batch.json").read_text(encoding="utf-8"), nl=False)
    return result.exit_code


def _crew(engine: str, workers: int | None) -> "Crew":
    """The workers asked for.

    Raises
    ------
    click.BadParameter
        For an engine that there is not.
    """
    from inkmix.batch.cluster import ClusterCrew
    from inkmix.batch.engines import ProcessCrew, ThreadCrew, usual_workers

    if engine.startswith(CLUSTER):
        return ClusterCrew(address=engine.removeprefix(CLUSTER), most=workers)
    if engine == "processes":
        return ProcessCrew(workers=workers or usual_workers())
    if engine == "threads":
        return ThreadCrew(workers=workers or usual_workers())
    known = "say processes, threads, or dask:tcp://HOST:PORT"
    raise click.BadParameter(f"{engine} is none; {known}", param_hint="--engine")


@contextmanager
def _told() -> "Iterator[Callable[[HowFar], None]]":
    with told_count("checking spreads") as tell:

        def told(how: "HowFar") -> None:
            tell(how.done, how.all)

        yield told


def _watch(path: Path, wanted: "Wanted") -> None:
    """Run until interrupted."""
    from inkmix.batch.watch import watch_book

    def done(result: "BatchResult") -> None:
        _say_result(result, wanted.to)
        say("Looking for changes; Ctrl-C ends.")

    def refused(faults: "Iterable[Fault]") -> None:
        for fault in faults:
            say(f"inkmix: {fault}")
        say("Looking for changes; Ctrl-C ends.")

    watch_book(path, wanted, done=done, refused=refused)


def _say_result(result: "BatchResult", to: Path) -> None:
    """How the book stands, and the spreads that somebody has to look at, worst first."""
    from inkmix.index.words import headline

    say(headline(result))
    open_rows = [row for row in result.rows if row.exit_code]
    open_rows.sort(key=lambda row: -row.exit_code)
    for row in open_rows[:MOST_LINES]:
        say(f"  {row.name}: {_reason(row)}")
    if len(open_rows) > MOST_LINES:
        say(f"  and {len(open_rows) - MOST_LINES} more")
    say(f"index: {to / 'index.html'}")


def _reason(row: "SpreadRow") -> str:
    """The worst in words."""
    if row.faults:
        return f"{row.state}: {row.faults[0]}"
    worst = next((one.finding for one in row.findings if one.waiver is None), None)
    return row.state if worst is None else f"{row.state}: {worst.sentence}"
