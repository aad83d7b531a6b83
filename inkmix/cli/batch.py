"""`inkmix batch`: every spread of a book checked, with one index page over all reports."""

from collections.abc import Callable, Iterable
from contextlib import ExitStack, closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.cli.arguments import (
    BOOK_NEEDED,
    Command,
    InputPath,
    OutputPath,
    check_choice,
    chosen_checks,
)
from inkmix.cli.common import put_json, say
from inkmix.cli.progress import told_count
from inkmix.jobs.ranges import WORKERS

if TYPE_CHECKING:
    from inkmix.base.errors import Fault
    from inkmix.batch.run import HowFar, Wanted
    from inkmix.jobs.book_answer import BatchResult


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
    type=click.IntRange(int(WORKERS.low), int(WORKERS.high)),
    help="Spreads worked on at once; else one per core, as far as memory allows.",
)
@click.option(
    "--engine",
    default="processes",
    show_default=True,
    help="What does the work: processes, threads, or dask:tcp://HOST:PORT, a running cluster.",
)
@click.option("--again", is_flag=True, help="Check unchanged spreads too.")
@click.option(
    "--watch",
    is_flag=True,
    help="Keep checking whatever changes, until you press Ctrl-C; the page stays up to date.",
)
@check_choice
@click.option("--strict", is_flag=True, help="Also exit with 1 if something is unsure.")
@click.option("--json", "as_json", is_flag=True, help="Write batch.json to stdout as well.")
def batch(
    book: Path,
    folder: Path | None,
    workers: int | None,
    engine: str,
    again: bool,
    watch: bool,
    only: str | None,
    skip: str | None,
    strict: bool,
    as_json: bool,
) -> int:
    """Check every spread of a book and write one page over all of them.

    BOOK is a book.toml, or the folder that holds one. Spreads whose plates, masks and book did not
    change since the last run are not computed again. Exits with 2 if the book is wrong, 3 if a
    spread cannot be read, 1 if one fails, else with 0.
    """
    from inkmix.batch.book import crew_of, run_into
    from inkmix.batch.document import document_bytes
    from inkmix.batch.run import run_batch
    from inkmix.jobs.books import read_book
    from inkmix.pages.folders import REPORTS
    from inkmix.pages.index.write import refuse_index

    if watch and as_json:
        raise click.UsageError("--json waits for the end, and --watch has none; read batch.json")
    checks = chosen_checks(only, skip)
    crew = crew_of(engine, workers)
    read = read_book(book)
    to = folder or read.folder / REPORTS
    refuse_index(to)
    with closing(_Bar()) as bar:
        wanted = run_into(to, crew, tell=bar.tell, strict=strict, again=again, checks=checks)
        if watch:
            _watch(read.path, wanted, bar)
        result = run_batch(read, wanted)
    _say_result(result, to, reused=bar.reused)
    if as_json:
        put_json(document_bytes(result, last=None).decode(), whole=False)
    return result.exit_code


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
    from inkmix.pages.index.text import result_lines

    for line in result_lines(result, to, reused=reused):
        say(line)
