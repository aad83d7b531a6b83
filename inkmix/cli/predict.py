"""`inkmix predict`: pictures of what will print; with `--order` what another order would change."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from inkmix.base.arguments import Range
from inkmix.base.errors import Fault, UsageError
from inkmix.base.words import percent
from inkmix.cli.arguments import (
    COLOURS,
    SWAPS,
    Command,
    InputPath,
    OutputPath,
    ink_pairs,
    names_in,
    refuse_beside,
    within,
)
from inkmix.cli.common import put, say, say_all
from inkmix.cli.progress import told_progress

if TYPE_CHECKING:
    from inkmix.book.first.loose import LoosePlates
    from inkmix.book.values import Book
    from inkmix.jobs.printing.print_pictures import Pictures, Predicted

# Why each option says nothing of the one or the other, so that nothing asked for is passed over.
_OF_LOOSE_FILES = {
    "paper": "the book says the paper",
    "process": "the book says the process",
    "ppi": "the book or its plates say the resolution",
}
_OF_BOOKS = {
    "spread_name": "loose files are one spread",
    "candidates": "loose files are printed in swatches or screen colours",
}
_OF_PICTURES = {
    "inks": "a tone is made of all its inks",
    "each": "it is for pictures of plates",
    "pair": "it is for pictures of plates",
    "adapt_to_paper": "tones are shown on the colour of the paper",
    "ppi": "no plate is looked at",
}


_PPI = Range(what="ppi", low=20, high=5080, unit="ppi")  # as in a book


@click.command(cls=Command)
@click.argument("paths", nargs=-1, type=InputPath("a book.toml, its folder, or a plate file"))
@click.option("--to", "target", type=OutputPath(), help="Picture: .png or .tif.")
@click.option("--spread", "spread_name", help="Name of the spread, where the book has several.")
@click.option("--inks", callback=names_in, help="Only these plates, separated by commas.")
@click.option(
    "--order",
    is_flag=True,
    help="Which named tones another lay-down order would change; --to draws them.",
)
@click.option("--each", is_flag=True, help="One picture a plate, each in its ink.")
@click.option("--pair", is_flag=True, help="Also the layers as a screen multiplies them.")
@click.option(
    "--adapt-to-paper",
    is_flag=True,
    help="Show the paper as the screen's white, as eyes adapt to it.",
)
@click.option(
    "--ink",
    "swaps",
    multiple=True,
    metavar="NAME=COLOUR",
    help="Of a book: print this ink's plate in another one, Rowan=Ember. Loose files: a swatch, or "
    "#rrggbb as a hint; give in lay-down order.",
)
@click.option(
    "--candidates",
    callback=names_in,
    help="Where to look for the new inks of --ink: shade cards, CGATS files, or ink sets; else "
    "among those that come with inkmix.",
)
@click.option("--paper", default="night-ferry/uncoated", help="Loose files: the paper's swatch.")
@click.option("--process", default="sheet-fed offset", help="Loose files: the process.")
@click.option(
    "--ppi",
    type=float,
    callback=within(_PPI),
    help="Loose files: resolution, where the files do not say it.",
)
@click.pass_context
def predict(
    ctx: click.Context,
    paths: tuple[Path, ...],
    target: Path | None,
    spread_name: str | None,
    inks: tuple[str, ...],
    order: bool,
    each: bool,
    pair: bool,
    adapt_to_paper: bool,
    swaps: tuple[str, ...],
    candidates: tuple[str, ...],
    paper: str,
    process: str,
    ppi: float | None,
) -> None:
    """Write a picture of what will print, the paper's colour included.

    PATHS is a book.toml, the folder that holds one, or loose plate files, one an ink and named
    after it. A prediction on a screen is not a proof.

    With --order no plates are looked at: of every named tone, or of every two solids where none is
    named, it says what becomes of it if one ink is printed first or last instead of where the book
    has it.
    """
    from inkmix.export.picture import refuse_target
    from inkmix.jobs.books import is_plate
    from inkmix.jobs.printing.print_pictures import Pictures

    paths = paths or (Path("."),)
    loose = all(map(is_plate, paths))
    refused = _OF_BOOKS if loose else _OF_LOOSE_FILES
    if order:
        refuse_beside(ctx, refused | _OF_PICTURES, beside="--order")
    else:
        refuse_beside(ctx, refused, beside="loose files" if loose else "a book")
    if target is not None:
        refuse_target(target)
    if order:
        _say_orders(_loose_book(ctx, paths) if loose else _book(ctx, paths), target)
        return
    pictures = Pictures(to=target, inks=inks, each=each, pair=pair, adapt_to_paper=adapt_to_paper)
    _say_written(_of_plates(ctx, paths, pictures) if loose else _of_book(ctx, paths, pictures))


def _of_book(ctx: click.Context, paths: tuple[Path, ...], pictures: "Pictures") -> "Predicted":
    from inkmix.jobs.books import read_book
    from inkmix.jobs.printing.print_pictures import predict_spread

    book, name = read_book(_only(paths)), ctx.params["spread_name"]
    swaps = ink_pairs(ctx.params["swaps"], words=SWAPS)
    with told_progress() as tell:
        return predict_spread(
            book,
            name,
            pictures=pictures,
            swaps=swaps,
            candidates=ctx.params["candidates"],
            announce=say,
            progress=tell,
        )


def _of_plates(ctx: click.Context, paths: tuple[Path, ...], pictures: "Pictures") -> "Predicted":
    from inkmix.jobs.printing.print_pictures import predict_plates

    plates = _loose(ctx, paths)
    say_all(f"guessed: {guess}" for guess in plates.guesses)
    with told_progress() as tell:
        return predict_plates(plates, pictures=pictures, announce=say, progress=tell)


def _say_written(predicted: "Predicted") -> None:
    from inkmix.jobs.printing.predict import OUTSIDE_SRGB
    from inkmix.pages.doubts import doubt_lines

    doubts = doubt_lines(
        notes=predicted.notes,
        cautions=predicted.cautions,
        unproven=predicted.unproven,
        hints=predicted.hints,
    )
    say_all(doubts)
    for written in predicted.written:
        say(f"written: {written.path}")
        if written.outside_srgb_pct > 0:
            say(f"  {percent(written.outside_srgb_pct)} {OUTSIDE_SRGB}")


def _say_orders(book: "Book", target: Path | None) -> None:
    from inkmix.jobs.orders import orders_of_book
    from inkmix.pages.overprints.order_page import write_order_page
    from inkmix.pages.overprints.order_text import foot_lines, head_lines

    orders = orders_of_book(book)
    say_all(head_lines(orders))
    for change in orders.changes:
        put(change.sentence)
    say_all(foot_lines(orders))
    if target is not None and orders.changes:
        write_order_page(target, orders)
        say(f"written: {target}")
    elif target is not None:
        say(f"not written: {target}: there is nothing to show")


def _book(ctx: click.Context, paths: tuple[Path, ...]) -> "Book":
    from inkmix.jobs.books import book_as_printed, read_book

    book = read_book(_only(paths))
    swaps = ink_pairs(ctx.params["swaps"], words=SWAPS)
    name, candidates = ctx.params["spread_name"], ctx.params["candidates"]
    return book_as_printed(book, spread=name, swaps=swaps, candidates=candidates)


def _loose_book(ctx: click.Context, paths: tuple[Path, ...]) -> "Book":
    from inkmix.jobs.orders import book_of_plates

    return book_of_plates(_loose(ctx, paths))


def _loose(ctx: click.Context, paths: tuple[Path, ...]) -> "LoosePlates":
    from inkmix.book.first.loose import loose_book

    given = ctx.params
    colours = ink_pairs(given["swaps"], words=COLOURS)
    return loose_book(
        paths, inks=colours, paper=given["paper"], process=given["process"], ppi=given["ppi"]
    )


def _only(paths: tuple[Path, ...]) -> Path:
    if len(paths) > 1:
        found = f"{len(paths)} paths that are not all plates"
        expected = "one book or folder, or .tif and .png plates"
        raise UsageError(Fault(where=str(paths[0]), found=found, expected=expected))
    return paths[0]
