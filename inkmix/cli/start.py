"""`inkmix start`: a first book.toml from the plates that lie in a folder."""

from pathlib import Path

import click


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
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
    from inkmix.start.folder import start_book

    started = start_book(folder)
    click.echo(f"Wrote {started.path}. Guessed in it:", err=True)
    for line in started.guesses:
        click.echo(f"  {line}", err=True)
    for note in started.notes:
        click.echo(f"Left out: {note}", err=True)
    click.echo("Next:", err=True)
    for number, step in enumerate(started.next_steps, 1):
        click.echo(f"  {number}. {step}", err=True)


def _schema(folder: Path) -> None:
    from inkmix.start.folder import write_schema

    path = write_schema(folder)
    click.echo(f"Wrote {path}.", err=True)
    click.echo(f"Put this in the first line of book.toml:  #:schema {path.name}", err=True)
