"""`inkmix palette`: choose inks that are to print together."""

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.errors import Fault, OutputError, UsageError
from inkmix.base.inputs import opened_input
from inkmix.cli.arguments import Command, InputPath, OutputPath
from inkmix.cli.common import (
    BOOK_NEEDED,
    book_of_spread,
    load_book,
    put,
    put_json,
    say,
    scratch_room,
    told_count,
)

if TYPE_CHECKING:
    from inkmix.colour.written import ToldColour
    from inkmix.jobs.palettes.facts import PaletteFacts
    from inkmix.jobs.palettes.gather import Progress

USUAL = "palette.html"

WEIGHTS = {
    "tones": "tones_de00",
    "worst": "tones_worst_de00",
    "dark": "darkest_L",
    "neutral": "darkest_chroma",
    "bright": "solids_chroma",
    "grey": "grey_steps",
    "mixes": "different_mixes",
    "room": "gamut_volume",
    "sure": "error_de00",
}
"""Short names of the measures."""

_DOING = {
    "mixes": "mixes of few inks",
    "palettes": "palettes",
    "best palettes": "the best, in full",
    "plates": "plates in palettes",
}


def _names(ctx: object, param: click.Parameter, text: str | None) -> tuple[str, ...]:
    """Names parted by commas."""
    if text is None:
        return ()
    names = tuple(name.strip() for name in text.split(","))
    if not all(names):
        raise click.BadParameter(f"{text!r}: names parted by commas are needed")
    return tuple(dict.fromkeys(names))


def _weights(ctx: object, param: click.Parameter, texts: tuple[str, ...]) -> dict[str, float]:
    """Weights by measure, of texts like tones=3."""
    weights: dict[str, float] = {}
    for text in (part for told in texts for part in told.split(",")):
        name, sign, amount = (part.strip() for part in text.partition("="))
        try:
            value = float(amount)
        except ValueError:
            value = -1.0
        if name not in WEIGHTS or not sign or not 0 <= value < float("inf"):
            known = ", ".join(WEIGHTS)
            raise click.BadParameter(
                f"{text!r}: a measure and its weight, 0 or more, as tones=3; measures: {known}"
            )
        if WEIGHTS[name] in weights:
            raise click.BadParameter(f"{name} is weighed twice; give it one weight")
        weights[WEIGHTS[name]] = value
    return weights


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--inks", "count", type=int, required=True, help="Inks to choose, 1-6, beside the fixed ones."
)
@click.option("--fix", "fixed", callback=_names, help="Inks that must be there: Soot,Fjord.")
@click.option("--without", "excluded", callback=_names, help="Inks that must not.")
@click.option(
    "--candidates",
    callback=_names,
    help="Ink sets (night-ferry), or CGATS files of inks; else the sets of the book's inks.",
)
@click.option(
    "--tones",
    "tones_file",
    type=InputPath("a file of colours, one a line,"),
    help="Intended colours from a file, one a line, instead of the book's named tones.",
)
@click.option(
    "--picture",
    type=InputPath("a picture"),
    help="A picture whose main colours are the intended tones.",
)
@click.option(
    "--weight",
    "weights",
    multiple=True,
    callback=_weights,
    metavar="MEASURE=W",
    help=f"What counts how much: {', '.join(WEIGHTS)}.",
)
@click.option("--limit", type=float, help="Greatest total ink, %, instead of the book's.")
@click.option("--spread", help="The spread that is meant, where the book has several.")
@click.option("--no-plates", is_flag=True, help="Leave the plates aside.")
@click.option(
    "--to",
    "target",
    type=OutputPath(),
    help="Page to write, .html; else palette.html beside the book.",
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON to stdout.")
def palette(
    book: Path,
    count: int,
    fixed: tuple[str, ...],
    excluded: tuple[str, ...],
    candidates: tuple[str, ...],
    tones_file: Path | None,
    picture: Path | None,
    weights: dict[str, float],
    limit: float | None,
    spread: str | None,
    no_plates: bool,
    target: Path | None,
    as_json: bool,
) -> None:
    """Choose inks: the best palettes for a book, side by side on a page.

    BOOK is a book.toml, or the folder that holds one; it gives paper, process, ink limit and named
    tones, which count by the area they fill where its plates are at hand. The page shows each
    palette as a small overprint sheet, what it gives and what not, and the plates printed in it.
    """
    from inkmix.jobs.palettes.asked import Asked, palette_facts

    _refuse_two_sources(tones_file, picture)
    read = load_book(book)
    if no_plates:  # the spread says more than its plates: its inks, its paper, its limit
        read, spread = book_of_spread(read, spread), None
    if target is None and not as_json:
        target = read.folder / USUAL
    if target is not None:
        _refuse_target(target)
    asked = Asked(
        k=count,
        fixed=fixed,
        excluded=excluded,
        candidates=candidates,
        colours=() if tones_file is None else _colours(tones_file),
        colours_from="" if tones_file is None else tones_file.name,
        picture=picture,
        weights=weights,
        limit_pct=limit,
        spread=spread,
        with_plates=not no_plates,
    )
    room = scratch_room(read.folder if target is None else target.parent)
    with _told_progress() as progress:
        facts = palette_facts(
            read, asked, book_words=str(book), room=room, say=say, progress=progress
        )
    _give(facts, target, as_json=as_json)


def _give(facts: "PaletteFacts", target: Path | None, *, as_json: bool) -> None:
    from inkmix.pages.palettes.document import palette_document
    from inkmix.pages.palettes.text import as_text

    if target is not None:
        _write(target, facts)
    if as_json:
        put_json(json.dumps(palette_document(facts), ensure_ascii=False, indent=2))
    else:
        put(as_text(facts))
    if target is not None:
        say(f"written: {target}")


def _refuse_two_sources(tones_file: Path | None, picture: Path | None) -> None:
    if tones_file is not None and picture is not None:
        found = "tones from a file and from a picture"
        raise UsageError(Fault(where="--tones, --picture", found=found, do="give one of them"))


def _refuse_target(path: Path) -> None:
    from inkmix.base.output_files import Output, refuse_outputs
    from inkmix.pages.palettes.page import PAGE_MARK

    if path.suffix.lower() not in (".html", ".htm"):
        found, expected = f"ends in {path.suffix or 'nothing'}", "a page ends in .html"
        raise OutputError(Fault(where=str(path), found=found, expected=expected))
    refuse_outputs([Output(path=path, mark=PAGE_MARK)])


def _write(path: Path, facts: "PaletteFacts") -> None:
    from inkmix.base.output_files import Output, write_together
    from inkmix.pages.palettes.page import PAGE_MARK, render_page

    write_together({Output(path=path, mark=PAGE_MARK): render_page(facts)})


def _colours(path: Path) -> "tuple[ToldColour, ...]":
    """The colours of a file; pixels of pictures beside the folder where the command runs."""
    from inkmix.colour.written import MAX_BYTES, told_colours

    try:
        with opened_input(path) as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        found = f"cannot be read ({error.strerror or type(error).__name__})"
        raise UsageError(Fault(where=str(path), found=found)) from None
    return told_colours(data, where=str(path))


@contextmanager
def _told_progress() -> "Iterator[Progress]":
    """Progress of one thing after the other, each with the time it has left, on a terminal."""
    with ExitStack() as stack:
        bars: dict[str, Callable[[int, int], None]] = {}

        def tell(doing: str, done: int, of: int) -> None:
            if doing not in bars:
                stack.close()  # one bar at a time
                bars[doing] = stack.enter_context(told_count(_DOING.get(doing, doing)))
            bars[doing](done, of)

        yield tell
