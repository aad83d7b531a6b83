"""`inkmix sheet`: the overprint sheet of a book's inks, to print, to look at, to reckon with."""

import logging
from pathlib import Path

import click

from inkmix.cli.arguments import (
    BOOK_NEEDED,
    SWAPS,
    Command,
    InputPath,
    OutputPath,
    ink_pairs,
    refuse_beside,
    within,
)
from inkmix.cli.common import say_all
from inkmix.cli.progress import told_progress
from inkmix.jobs.ranges import SHEET_PPI

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
    callback=within(SHEET_PPI),
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
    an office printer is not a proof.
    """
    from inkmix.jobs.books import book_as_printed, read_book
    from inkmix.jobs.overprints.sheet import sheet_of_book
    from inkmix.pages.doubts import doubt_lines
    from inkmix.pages.overprints.write import refuse_sheets, write_sheets

    _refuse_forms(ctx, targets or (Path(USUAL),))
    read = read_book(book)
    printed = book_as_printed(read, spread=spread, swaps=ink_pairs(swaps, words=SWAPS))
    paths = targets or (read.folder / USUAL,)
    refuse_sheets(paths, page=page, ppi=ppi)
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # where it keeps its fonts is no news
    with told_progress() as tell:
        tell("searching the deepest darks", 0.0)
        made = sheet_of_book(printed, view=view or "plain")
        tell("drawing", 0.0)
        write_sheets(made, paths, page=page, ppi=ppi)
    known = made.condition
    say_all(
        doubt_lines(
            notes=printed.notes, cautions=known.cautions, unproven=known.unproven, hints=known.hints
        )
    )
    say_all(f"written: {path}" for path in paths)


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
