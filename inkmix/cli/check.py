"""`inkmix check`: one spread checked, with a report for people and one for scripts."""

from collections.abc import Collection
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
from inkmix.cli.common import put_json, say, say_all
from inkmix.cli.progress import told_progress

if TYPE_CHECKING:
    from inkmix.jobs.answer import SpreadResult


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option("--spread", help="Name of the spread, where the book has several.")
@click.option(
    "--to",
    "folder",
    type=OutputPath(folder=True),
    help="Folder for report.html and report.json; else reports/SPREAD beside the book.",
)
@click.option(
    "--picture",
    type=OutputPath(),
    help="Also write the predicted print at full size here, .png or .tif, in the same pass.",
)
@check_choice
@click.option("--strict", is_flag=True, help="Also exit with 1 if something is unsure.")
@click.option("--json", "as_json", is_flag=True, help="Write report.json to stdout as well.")
def check(
    book: Path,
    spread: str | None,
    folder: Path | None,
    picture: Path | None,
    only: str | None,
    skip: str | None,
    strict: bool,
    as_json: bool,
) -> int:
    """Check the plates of a spread before they go to the printer.

    BOOK is a book.toml, or the folder that holds one. Writes report.html and report.json, and
    exits with 1 if something fails.
    """
    from inkmix.pages.report.text import result_lines

    checks = chosen_checks(only, skip)
    result, page, data = checked(book, spread=spread, folder=folder, picture=picture, checks=checks)
    say_all(result_lines(result, page))
    if picture is not None:
        say(f"written: {picture}")
    if as_json:
        put_json(data.read_text(encoding="utf-8"), whole=False)
    return exit_code(result.verdict, strict=strict)


def checked(
    book_path: Path,
    *,
    spread: str | None,
    folder: Path | None,
    picture: Path | None = None,
    checks: Collection[str] | None = None,
) -> "tuple[SpreadResult, Path, Path]":
    """Check a spread, write report and, if wanted, picture; the result, report.html and .json."""
    from inkmix.jobs.books import read_book
    from inkmix.jobs.check import check_spread
    from inkmix.jobs.spread import choose_spread
    from inkmix.pages.folders import REPORTS, report_folder
    from inkmix.pages.report.text import waiver_lines
    from inkmix.pages.report.write import refuse_folder, write_report
    from inkmix.plates.files.scratch.room import ScratchRoom

    book = read_book(book_path)
    name = choose_spread(book, spread)
    say_all(waiver_lines(book, name))
    folder = folder or book.folder / REPORTS / report_folder(name)
    refuse_folder(folder)
    with told_progress() as progress:
        result = check_spread(
            book,
            name,
            checks=checks,
            picture=picture,
            room=ScratchRoom(folder=folder, announce=say),
            progress=progress,
        )
    page, data = write_report(result, folder)
    return result, page, data


def exit_code(verdict: str, *, strict: bool) -> int:
    """1 where something fails; with `strict` also where it is unsure."""
    return int(verdict == "fail" or (strict and verdict == "unsure"))
