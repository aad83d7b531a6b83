"""Mixes whose colours the book tells one by one, as readings for the press model."""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import InkmixError
from inkmix.book.meant.collected_faults import placed
from inkmix.book.meant.densities import ink_of_reading
from inkmix.book.meant.tones import screen_colour_over
from inkmix.book.values import Book, MeasuredMix
from inkmix.colour.colorimetry import lab_to_xyz100
from inkmix.press.inks import Paper
from inkmix.press.patches import BY_EYE, ONE_READING, WET, Patches


def measured_mixes(book: Book, paper: Paper) -> Patches | None:
    """The mixes of a book's [[measured]] tables; None where it has none.

    Raises
    ------
    InkmixError
        Where densities cannot be those of a print on this paper.
    """
    if not book.measured:
        return None
    return Patches(
        tone_pct=np.array([_tones(one, book) for one in book.measured]),
        xyz100=np.stack([_xyz100(book, at, paper) for at in range(len(book.measured))]),
        noise=tuple(_noise(one) for one in book.measured),
    )


def is_sure(measured: MeasuredMix) -> bool:
    """Whether it makes predictions surer: read with an instrument, of dry ink."""
    return _noise(measured) == ONE_READING


def _noise(measured: MeasuredMix) -> str:
    if measured.looks_like is not None:
        return BY_EYE
    return WET if measured.wet else ONE_READING


def _tones(measured: MeasuredMix, book: Book) -> list[float]:
    """Tone values in lay-down order; a double hit holds what its plate does."""
    return [measured.mix_pct.get(ink.plate or ink.name, 0.0) for ink in book.inks]


def _xyz100(book: Book, at: int, paper: Paper) -> FloatArray:
    measured = book.measured[at]
    if measured.lab is not None:
        return lab_to_xyz100(measured.lab)
    if measured.looks_like is not None:
        return screen_colour_over(paper.xyz100, measured.looks_like)
    if measured.xyz100 is not None:
        return np.array(measured.xyz100)
    reading = measured.density
    assert reading is not None, "exactly one of the colours is given"
    try:
        ink = ink_of_reading(reading, "the mix", paper=paper)
    except InkmixError as error:
        raise placed(error, f"{book.path.name}: measured[{at + 1}]") from None
    return np.asarray(ink.xyz100[-1])
