"""The plates of a book that are at hand for looking at palettes; a book may have none yet."""

from dataclasses import dataclass
from functools import partial

from inkmix.base.errors import InkmixError, PlateError
from inkmix.base.words import count
from inkmix.book.meant.plates import book_spreads
from inkmix.book.values import Book
from inkmix.jobs.spread import Spread, choose_spread, open_uncounted
from inkmix.mixes.assigned.plates import SampledPlates, sampled_plates
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import while_at_rest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtHand:
    """The plates of one spread, read once.

    Parameters
    ----------
    spread : Spread
    sampled : SampledPlates
        Without the second hits of inks, which print a plate once more.
    notes : tuple of str
    """

    spread: Spread
    sampled: SampledPlates
    notes: tuple[str, ...]


def plates_at_hand(
    book: Book, name: str | None, *, room: ScratchRoom = TEMPORARY
) -> tuple[AtHand | None, str]:
    """The plates of a spread, and what has to be said.

    Where no spread is named it is the first one of the book, and plates that are not there or
    cannot be read are left aside.

    Raises
    ------
    InkmixError
        Where a spread is named and cannot be used.
    """
    if name is not None:
        return _at_hand(book, choose_spread(book, name), (), room), ""
    try:
        spreads = [spread.name for spread in book_spreads(book)]
    except PlateError:
        return None, "there are no plates: tones count equally, and no pictures are shown"
    several = f"the first of {count(len(spreads), 'spread')}; --spread shows another"
    notes = (f"Shown is {spreads[0]}, {several}.",) if len(spreads) > 1 else ()
    try:
        return _at_hand(book, spreads[0], notes, room), ""
    except InkmixError as error:
        return None, f"the plates are not used: {error.faults[0]}"


def _at_hand(book: Book, name: str, notes: tuple[str, ...], room: ScratchRoom) -> AtHand:
    spread, sampled = while_at_rest(partial(_sampled, book, name, room))
    if len(sampled.names) < len(spread.plates.inks):
        notes = (*notes, "Second hits of an ink are not used.")
    return AtHand(spread=spread, sampled=sampled, notes=notes)


def _sampled(book: Book, name: str, room: ScratchRoom) -> tuple[Spread, SampledPlates]:
    spread = open_uncounted(book, name, room=room, tries=1)
    own = [ink.name for ink in spread.book.inks if ink.hit_of is None]
    with spread.seen.held():
        return spread, sampled_plates(spread.plates).only(own)
