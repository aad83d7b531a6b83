"""`inkmix start`: a first book.toml from the plates that lie in a folder."""

from pathlib import Path

import click

from inkmix.cli.arguments import Command, InputPath
from inkmix.cli.common import say


@click.command(cls=Command)
@click.argument("folder", type=InputPath("the folder of the plates"))
@click.option(
    "--schema",
    is_flag=True,
    help="Write book.schema.json, by which editors complete and check book.toml; no book.",
)
def start(folder: Path, schema: bool) -> None:
    """Write a commented book.toml from the plates that lie in FOLDER.

    Inks are guessed from file names, sizes from the plates. What is guessed is marked so. A book
    that is there already is never overwritten.
    """
    if schema:
        _schema(folder)
    else:
        _book(folder)


def _book(folder: Path) -> None:
    from inkmix.jobs.start import start_book

    started = start_book(folder)
    say(f"written: {started.path}")
    say("Guessed in it:")
    for line in started.guesses:
        say(f"  {line}")
    for note in started.notes:
        say(f"Left out: {note}")
    say("Next:")
    for number, step in enumerate(started.next_steps, 1):
        say(f"  {number}. {step}")


def _schema(folder: Path) -> None:
    from inkmix.jobs.start import write_book_schema

    path = write_book_schema(folder)
    say(f"written: {path}")
    say(f"Put this in the first line of book.toml:  #:schema {path.name}")
