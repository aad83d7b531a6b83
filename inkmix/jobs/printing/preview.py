"""A small picture of what a spread will print, from few of its pixels: quick, and no check."""

import numpy as np
from numpy.typing import NDArray

from inkmix.book.meant.plates import SpreadFiles
from inkmix.book.values import Book
from inkmix.jobs import ranges
from inkmix.jobs.printing.colourings import print_colouring
from inkmix.jobs.refusals import refuse_no_book
from inkmix.jobs.spread import Spread, choose_spread, open_uncounted
from inkmix.plates.files.scratch.room import TEMPORARY, ScratchRoom
from inkmix.plates.files.snapshots import while_at_rest
from inkmix.plates.overview import factor_for

PREVIEW_PX = 360


def preview_spread(
    book: Book,
    name: str | None = None,
    *,
    found: SpreadFiles | None = None,
    longest_px: int = PREVIEW_PX,
    room: ScratchRoom | None = None,
) -> NDArray[np.uint8]:
    """The predicted print of a spread, (rows, cols, 3) uint8 sRGB, every so many-th pixel of it.

    Grain and fine lines are not averaged, and plates that only their pixels show to be made of dots
    gain like others: it shows that something came out, not how well.

    Parameters
    ----------
    name : str or None
        Name of the spread; None: the only one.
    found : SpreadFiles or None
        Its files; None: they are looked for.
    room : ScratchRoom or None
        For files that cannot be read by windows; None: the system's temporary folder.
    longest_px : int
        The longer side of the picture, at most; 1-10,000.

    Raises
    ------
    InkmixError
        Where an input cannot be used.

    Examples
    --------
    ::

        book = inkmix.read_book("night-ferry")
        srgb8 = inkmix.preview_spread(book, "night-ferry", longest_px=100)
        assert srgb8.dtype == "uint8" and srgb8.shape[2] == 3 and max(srgb8.shape) <= 100
    """
    refuse_no_book(book)
    ranges.PREVIEW_PX.refuse(longest_px)
    spread_name = choose_spread(book, name)

    def previewed() -> NDArray[np.uint8]:
        spread = open_uncounted(book, spread_name, found=found, room=room or TEMPORARY, tries=1)
        with spread.seen.held():
            return _previewed(spread, longest_px)

    return while_at_rest(previewed)


def _previewed(spread: Spread, longest_px: int) -> NDArray[np.uint8]:
    plates, colouring = spread.plates, print_colouring(spread)
    step = factor_for(plates.width_px, plates.height_px, longest_px=longest_px)
    shape = (-(-plates.height_px // step), -(-plates.width_px // step), 3)
    picture = np.zeros(shape, np.uint8)
    plates.sample_into(picture, lambda amounts: colouring.srgb8(amounts)[0], step=step)
    return picture
