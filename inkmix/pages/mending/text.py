"""What was mended in a few lines, for a terminal."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from inkmix.checks.finding import Finding
from inkmix.checks.guesses import guess_lines
from inkmix.jobs.mending.folder import RECIPE_NAME
from inkmix.jobs.mending.values import BookMended, SpreadMended
from inkmix.pages.mending import words
from inkmix.pages.mending.page import PAGE_NAME

MOST_LEFT = 5


def result_lines(book: BookMended, folder: Path) -> Iterator[str]:
    """What was done, what is left, where it lies."""
    yield from (f"note: {note}" for note in words.note_lines(book))
    yield words.headline(book)
    for said in words.misfits(book):
        yield f"  no longer fits: {said}"
    for said in words.unneeded(book):
        yield f"  kept in the recipe: {said}"
    of_book = words.open_of_book(book)
    for one in book.spreads:
        yield from _spread_lines(one, words.open_of(one, of_book))
    for found in of_book:
        yield f"still open: {found.verdict}: {found.sentence}"
    if book.gone:
        yield words.gone(book)
    if not book.is_changed:
        return
    yield words.NO_PROOF
    yield f"written: {folder / PAGE_NAME}"
    yield f"written: {folder / RECIPE_NAME}, for fresh exports (--again)"


def _spread_lines(one: SpreadMended, left: Sequence[Finding]) -> Iterator[str]:
    yield "; ".join(filter(None, (f"{one.spread}: {words.verdicts(one)}", words.costs(one))))
    for made in one.corrections:
        did, *more = made.remedy.paragraphs
        yield f"  mended: {did}"
        yield from (f"    {said}" for said in more)
    for waived in one.waived:
        yield f"  {words.waived_words(waived)}"
    for plate in one.plates:
        yield f"  {words.plate_words(plate)}"
    for found in left[:MOST_LEFT]:
        yield f"  still open: {found.verdict}: {found.sentence}"
    if len(left) > MOST_LEFT:
        yield f"  still open: {len(left) - MOST_LEFT} more"
    for said in words.undone_lines(one.undone):
        yield f"  {said}"
    if one.guesses:
        yield "  Tell the book first; nothing is darkened for a guess:"
        yield from guess_lines(one.guesses)
