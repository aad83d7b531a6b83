"""`inkmix sheet`: the overprint sheet of a book's inks, to print, to look at, to reckon with."""

import logging
from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.cli.arguments import Command, InputPath, OutputPath, refuse_beside
from inkmix.cli.common import (
    BOOK_NEEDED,
    book_of_spread,
    load_book,
    ppi_between,
    say,
    told_progress,
)

if TYPE_CHECKING:
    from inkmix.book.values import Book

USUAL = "overprints.pdf"


@click.command(cls=Command)
@click.argument("book", type=InputPath(BOOK_NEEDED), default=".")
@click.option(
    "--to",
    "targets",
    multiple=True,
    type=OutputPath(),
    help="File to write: .pdf, .svg, .png, .csv or .json; may be given several times. "
    "Else overprints.pdf beside the book.",
)
@click.option("--spread", help="A spread for which the book says other inks, paper or limits.")
@click.option(
    "--ink",
    "swaps",
    multiple=True,
    metavar="OLD=NEW",
    help="Print the plate of an ink in another one: Rowan=Ember.",
)
@click.option(
    "--as",
    "view",
    type=click.Choice(["grey", "protan", "deutan", "tritan"]),
    help="In grey, or as seen with a colour-vision deficiency.",
)
@click.option(
    "--page",
    type=click.Choice(["A4", "A3", "A2"], case_sensitive=False),
    default="A3",
    show_default=True,
    help="Size of the sheet.",
)
@click.option(
    "--ppi",
    type=float,
    default=200,
    show_default=True,
    callback=ppi_between(36, 600),
    help="Resolution of a PNG.",
)
@click.pass_context
def sheet(
    ctx: click.Context,
    book: Path,
    targets: tuple[Path, ...],
    spread: str | None,
    swaps: tuple[str, ...],
    view: str | None,
    page: str,
    ppi: float,
) -> None:
    """Draw the overprint sheet of a book's inks.

    Solids and all their overprints, every ink's ramp, every pair in tints, and the deepest darks
    that the ink limit allows, each with its mix, L*, total ink and expected error. BOOK is a
    book.toml, or the folder that holds one; no plates are needed. A prediction on a screen or from
    an office printer is no proof.
    """
    from inkmix.book.meant.condition import resolve_condition, resolve_limits
    from inkmix.colour.vision import PLAIN
    from inkmix.jobs.overprints.sheet import overprint_sheet
    from inkmix.pages.overprints.write import refuse_sheets, write_sheets

    _refuse_forms(ctx, targets or (Path(USUAL),))
    read = _book(book, spread, swaps)
    paths = targets or (read.folder / USUAL,)
    refuse_sheets(paths, page=page, ppi=ppi)
    condition = resolve_condition(read)
    limits = resolve_limits(read, condition.paper)
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # where it keeps its fonts is no news
    with told_progress() as progress:
        progress("searching the deepest darks", 0.0)
        made = overprint_sheet(condition, limits=limits, title=read.title, view=view or PLAIN)
        progress("drawing", 0.0)
        write_sheets(made, paths, page=page, ppi=ppi)
    for note in read.notes:
        say(f"note: {note}")
    for caution in made.cautions:
        say(f"caution: {caution}")
    for reason in made.unproven:
        say(f"unproven: {reason}")
    for name in made.hints:
        say(f"hint only: {name} is known by a screen colour")
    for path in paths:
        say(f"written: {path}")


def _refuse_forms(ctx: click.Context, targets: tuple[Path, ...]) -> None:
    """What is said of a form that is not asked for."""
    forms = {path.suffix.lower() for path in targets}
    if not forms & {".pdf", ".svg", ".png"}:
        reason = {"page": "a table has no page"}
        refuse_beside(ctx, reason, beside="tables", do="leave it out, or add --to overprints.pdf")
    if ".png" not in forms:
        reason = {"ppi": "only a PNG has pixels"}
        beside = f"{', '.join(sorted(forms))}"
        refuse_beside(ctx, reason, beside=beside, do="leave it out, or add --to overprints.png")


def _book(path: Path, spread: str | None, texts: tuple[str, ...]) -> "Book":
    """The book as it holds for the spread, its inks swapped."""
    from inkmix.book.meant.swap import named_as_printed, swaps_told, with_swapped

    book = book_of_spread(load_book(path), spread)
    swaps = swaps_told(texts)
    return named_as_printed(with_swapped(book, swaps), swaps) if swaps else book
