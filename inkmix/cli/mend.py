"""`inkmix mend`: corrected copies of a book's plates, checked again, and a recipe for the next."""

from functools import partial
from pathlib import Path

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


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--to",
    "folder",
    type=OutputPath(folder=True),
    required=True,
    help="Folder for the mended book: a new one, an empty one, or one written so before.",
)
@click.option("--spread", help="Mend this spread alone; others are copied without a check.")
@click.option(
    "--again",
    type=InputPath("a recipe.json"),
    help="Make the corrections of this recipe.json on fresh plates, instead of searching.",
)
@partial(check_choice, only="Mend what these checks find alone", skip="Mend nothing of")
@click.option(
    "--give-up-lights",
    is_flag=True,
    help="Also make corrections that turn lights dark, or take half the texture of a night.",
)
@click.option(
    "--strict", is_flag=True, help="Also exit with 1 if something is unsure or rests on guesses."
)
@click.option("--json", "as_json", is_flag=True, help="Write mending.json to stdout as well.")
def mend(
    book: Path,
    folder: Path,
    spread: str | None,
    again: Path | None,
    only: str | None,
    skip: str | None,
    give_up_lights: bool,
    strict: bool,
    as_json: bool,
) -> int:
    """Write corrected copies of the plates: nights dark enough, ink within the limit.

    BOOK is a book.toml, or the folder that holds one. Its plates are never changed. The copies are
    a whole book, with the ink that came and went as grey pictures beside each plate; they are
    checked again by all checks, whatever was mended, and mended.html shows before and after. Exits
    with 1 if something still fails.

    A prediction on a screen is not a proof: look at the copies before you send them.
    """
    from inkmix.batch.mend import mend_book
    from inkmix.checks.finding import stops
    from inkmix.jobs.books import read_book
    from inkmix.pages.mending.document import mending_bytes
    from inkmix.pages.mending.text import result_lines
    from inkmix.plates.files.scratch.room import ScratchRoom

    checks = chosen_checks(only, skip)
    read = read_book(book)
    with told_progress() as progress:
        result = mend_book(
            read,
            folder,
            spread=spread,
            checks=checks,
            again=again,
            give_up_lights=give_up_lights,
            room=ScratchRoom(folder=folder, announce=say),
            progress=progress,
        )
    say_all(result_lines(result, folder))
    if as_json:
        put_json(mending_bytes(result).decode("utf-8", "surrogateescape"), whole=False)
    return int(stops(result.verdict, strict=strict))
