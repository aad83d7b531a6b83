"""What several commands share: finding the book, telling progress, naming verdicts."""

import sys
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.errors import Fault, UsageError
from inkmix.leaving import undone_when_left
from inkmix.plain_text import plain_text

if TYPE_CHECKING:
    from inkmix.book.values import Book
    from inkmix.plates.scratch import ScratchRoom

BOOK_FILE = "book.toml"
PLATE_ENDINGS = (".tif", ".tiff", ".png")

Told = Callable[[str, float], None]


def ppi_between(low: int, high: int) -> "Callable[[object, object, float | None], float | None]":
    """What refuses a resolution outside of the range, not a number included."""

    def checked(ctx: object, param: object, ppi: float | None) -> float | None:
        if ppi is not None and not low <= ppi <= high:
            raise click.BadParameter(f"{ppi:g} is no resolution from {low} to {high} ppi")
        return ppi

    return checked


def load_book(path: Path) -> "Book":
    """The book of a folder, or the book file itself.

    Raises
    ------
    UsageError
        Where there is none.
    """
    from inkmix.book.read import read_book

    file = path / BOOK_FILE if path.is_dir() else path
    if not path.exists():
        do = "name the folder of a book, or its book.toml"
        raise UsageError(Fault(where=str(path), found="there is no such file or folder", do=do))
    if not file.exists():
        do = f"write one with `inkmix start {path if path.is_dir() else path.parent}`"
        raise UsageError(Fault(where=str(file), found="there is no book file", do=do))
    if file.suffix.lower() in PLATE_ENDINGS:
        do = "name the folder of its book; `inkmix predict` also takes plates without one"
        raise UsageError(Fault(where=str(file), found="is no book file", do=do))
    return read_book(file)


def book_of_spread(book: "Book", spread: str | None) -> "Book":
    """The book as it holds for a spread, or by itself where none is named; no plate is opened.

    Raises
    ------
    InkmixError
        If the book says nothing of the spread and its plates are not there.
    """
    if spread is None:
        return book
    from inkmix.resolve.plates import find_spread

    name = unicodedata.normalize("NFC", spread)  # shells hand out names as the disk has them
    if any(name in override.spreads for override in book.overrides):
        return book.for_spread(name)
    return book.for_spread(find_spread(book, name).name)


@contextmanager
def told_progress() -> Iterator[Told]:
    """Tells progress on a terminal, and nothing where stderr is a file or a pipe."""
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


def scratch_room(folder: Path) -> "ScratchRoom":
    """Room beside what is written into a folder; what is used of it is said."""
    from inkmix.plates.scratch import ScratchRoom

    return ScratchRoom(folder=folder, announce=say)


def told_ink(text: str) -> tuple[str, str]:
    """Name and colour of "NAME=COLOUR"."""
    name, sign, colour = text.partition("=")
    if not (name and sign and colour):
        expected = "NAME=SWATCH or NAME=#rrggbb is needed"
        raise UsageError(Fault(where="--ink", found=f"{text!r}", expected=expected))
    return name, colour


def say(text: str) -> None:
    """A line for people, on stderr; what others wrote in it is obeyed by no terminal."""
    click.echo(plain_text(text), err=True)
