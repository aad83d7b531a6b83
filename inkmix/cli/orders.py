"""`inkmix predict --order`: what another lay-down order would change."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from inkmix.base.errors import Fault, UsageError
from inkmix.cli.arguments import refuse_beside
from inkmix.cli.common import (
    OF_BOOKS,
    OF_LOOSE_FILES,
    PLATE_ENDINGS,
    book_of_spread,
    load_book,
    put,
    say,
    told_inks,
)

if TYPE_CHECKING:
    from inkmix.book.values import Book
    from inkmix.checks.orders.facts import ToneOrder
    from inkmix.press.condition import PressCondition

# What each other option would say of, so that nothing asked for is passed over.
_OF_PICTURES = {
    "inks": "a tone is made of all its inks",
    "each": "it is for pictures of plates",
    "pair": "it is for pictures of plates",
    "paper_white": "tones are shown on the colour of the paper",
    "ppi": "no plate is looked at",
}


def predict_orders(ctx: click.Context, paths: tuple[Path, ...]) -> None:
    """Say what another order would change, and draw it where a picture is asked for."""
    from inkmix.book.meant.condition import resolve_condition
    from inkmix.jobs.orders import book_orders

    loose = all(path.suffix.lower() in PLATE_ENDINGS and not path.is_dir() for path in paths)
    refuse_beside(ctx, (OF_BOOKS if loose else OF_LOOSE_FILES) | _OF_PICTURES, beside="--order")
    target: Path | None = ctx.params["target"]
    if target is not None:
        _refuse_target(target)
    book = _loose_book(ctx.params, paths) if loose else _named_book(ctx.params, paths)
    condition = resolve_condition(book)
    orders = book_orders(book, condition)
    _say_head(book, condition)
    for one in orders:
        put(one.sentence)
    if not orders:
        say(_nothing(book))
    say("Ask your printer, who decides the order. A prediction on a screen is no proof.")
    if target is not None:
        _draw(target, orders, book, condition)


def _refuse_target(target: Path) -> None:
    from inkmix.export.picture import refuse_target

    refuse_target(target)


def _named_book(params: dict[str, Any], paths: tuple[Path, ...]) -> "Book":
    """The book as it holds for the spread, inks swapped, and called by what prints."""
    from inkmix.book.meant.swap import named_as_printed, swaps_told, with_swapped
    from inkmix.book.values import TONES

    if len(paths) > 1:
        found = f"{len(paths)} paths that are not all plates"
        expected = "one book or folder, or .tif and .png plates"
        raise UsageError(Fault(where=str(paths[0]), found=found, expected=expected))
    swaps = swaps_told(params["swaps"])
    book = with_swapped(book_of_spread(load_book(paths[0]), params["spread_name"]), swaps)
    printed = named_as_printed(book, swaps) if swaps else book
    names = dict(zip(book.ink_names, printed.ink_names, strict=True))
    tones = (
        replace(tone, mix_pct={names[ink]: pct for ink, pct in tone.mix_pct.items()})
        for tone in book.tones
    )
    return replace(printed, sections={**printed.sections, TONES.table: tuple(tones)})


def _loose_book(params: dict[str, Any], paths: tuple[Path, ...]) -> "Book":
    from inkmix.book.first.loose import loose_book

    book, _, guesses = loose_book(
        paths,
        inks=told_inks(params["swaps"]),
        paper=params["paper"],
        process=params["process"],
        ppi=None,
    )
    missing = [path for path in paths if not path.exists()]
    if missing:
        raise UsageError(Fault(where=str(path), found="there is no such file") for path in missing)
    return replace(book, notes=(*book.notes, *(f"guessed: {guess}" for guess in guesses)))


def _say_head(book: "Book", condition: "PressCondition") -> None:
    for note in book.notes:
        say(f"note: {note}")
    for reason in condition.unproven:
        say(f"unproven: {reason}")
    for name in condition.hints:
        say(f"hint only: {name} is known by a screen colour")
    say(f"Predicted is this order: {', '.join(book.ink_names)}.")
    if len(book.inks) > 1 and not book.tones:
        say("No tones are named, so these are solids of two inks over each other.")


def _nothing(book: "Book") -> str:
    if len(book.inks) == 1:
        return "One ink has no order."
    what = "named tone" if book.tones else "solid of two inks over each other"
    return f"With any one ink moved to first or last no {what} changes by dE00 1 or more."


def _draw(
    target: Path, orders: "tuple[ToneOrder, ...]", book: "Book", condition: "PressCondition"
) -> None:
    if not orders:
        say(f"not written: {target}, for there is nothing to show")
        return
    from inkmix.export.picture import write_picture
    from inkmix.pages.overprints.order_page import PPI, order_page

    page = order_page(orders, title=book.title, inks=book.ink_names, paper=condition.paper)
    write_picture(target, page.srgb8(ppi=PPI), ppi=PPI)
    say(f"written: {target}")
