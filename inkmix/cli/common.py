"""What several commands share: finding the book, telling progress, naming verdicts."""

import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.base.names import composed
from inkmix.base.plain_text import plain_json, plain_line, plain_text
from inkmix.base.shutdown import undone_when_left

if TYPE_CHECKING:
    from inkmix.book.values import Book
    from inkmix.plates.files.scratch.room import ScratchRoom

BOOK_FILE = "book.toml"
BOOK_NEEDED = "a book.toml, or the folder that holds one,"
PLATE_ENDINGS = (".tif", ".tiff", ".png")

OF_LOOSE_FILES = {
    "paper": "the book says the paper",
    "process": "the book says the process",
    "ppi": "the book or its plates say the resolution",
}
OF_BOOKS = {"spread_name": "loose files are one spread"}
"""Options of `predict` that the one or the other kind of path takes, and why not the other."""

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
    _refuse_picture(file)
    return read_book(file)


def _refuse_picture(file: Path) -> None:
    from inkmix.plates.files.sniff import picture_kind

    kind = picture_kind(file)
    if kind is not None:
        expected = f"{BOOK_NEEDED} is needed"
        do = "name the folder of its book; plates are TIFF or PNG files"
        found = f"is a {kind} file"
        raise UsageError(Fault(where=str(file), found=found, expected=expected, do=do))


def book_of_spread(book: "Book", spread: str | None) -> "Book":
    """The book as it holds for a spread, or by itself where none is named; no plate is opened.

    Raises
    ------
    InkmixError
        If the book says nothing of the spread and its plates are not there.
    """
    if spread is None:
        return book
    from inkmix.book.meant.plates import find_spread

    name = composed(spread)  # shells hand out names as the disk has them
    if any(name in override.spreads for override in book.overrides):
        return book.for_spread(name)
    return book.for_spread(find_spread(book, name).name)


@contextmanager
def told_progress() -> Iterator[Told]:
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
def _shown_progress() -> Iterator[Told]:
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
    from inkmix.plates.files.scratch.room import ScratchRoom

    return ScratchRoom(folder=folder, announce=say)


def told_inks(texts: Iterable[str]) -> dict[str, str]:
    """Colour by ink, of texts like "NAME=COLOUR".

    Raises
    ------
    UsageError
        With every text of another form, and every ink that is told twice.
    """
    told: dict[str, str] = {}
    faults = []
    for text in texts:
        name, sign, colour = (part.strip() for part in text.partition("="))
        if not (name and sign and colour):
            expected = "NAME=SWATCH or NAME=#rrggbb is needed"
            faults.append(Fault(where="--ink", found=f"{text!r}", expected=expected))
        elif name in told:
            found = f"{name} is told twice, as {told[name]} and as {colour}"
            faults.append(Fault(where="--ink", found=found, do="choose one of them"))
        else:
            told[name] = colour
    if faults:
        raise UsageError(faults)
    return told


def say(text: str) -> None:
    """A line for people, on stderr. All words of all commands go through here or `put`."""
    click.echo(plain_line(text), err=True)


def put(text: str, *, colour: bool = False) -> None:
    """An answer of one line or several, on stdout; with `colour` in the colours it holds."""
    click.echo(plain_text(text, keep="\n", colour=colour), color=colour)


def put_json(text: str, *, whole: bool = True) -> None:
    """JSON on stdout, or a piece of it."""
    click.echo(plain_json(text), nl=whole)
