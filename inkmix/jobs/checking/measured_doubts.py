"""Which [[measured]] colours of a book do not agree with all else that it knows, in sentences."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.base.errors import InkmixError
from inkmix.base.inputs import read_input
from inkmix.base.words import difference
from inkmix.base.words import mix as mix_words
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.measured import is_sure, measured_mixes
from inkmix.book.text import MAX_BYTES, parse_book_text
from inkmix.book.values import Book, MeasuredMix
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import PressCondition

MOST_TRIED = 5
"""Of the colours that are farthest off; each is predicted by a model of its own."""
_TIMES_EXPECTED = 1.5
"""The expected error holds for 95 of 100; a reading as far off as this is hardly of that mix."""
_HARDLY_DE00, _BY_EYE_DE00 = 3.0, 8.0
"""Less than this parts two sheets, or the first match of an eye from an instrument."""


def measured_doubts(book: Book, without: PressCondition) -> tuple[str, ...]:
    """A sentence on each colour that is far from what is predicted by all others; the worst first.

    Parameters
    ----------
    without : PressCondition
        Of the book without its [[measured]] colours.
    """
    patches = measured_mixes(book, without.paper)
    if patches is None:
        return ()
    read_lab = xyz100_to_lab(patches.xyz100)
    apart = delta_e00(without.lab(patches.tone_pct), read_lab)
    far = apart > [_least_de00(one) for one in book.measured]
    worst = [int(at) for at in np.argsort(-apart, kind="stable") if far[at]][:MOST_TRIED]
    return tuple(
        said for at in worst for said in _against(book, at, patches.tone_pct[at], read_lab[at])
    )


def _least_de00(measured: MeasuredMix) -> float:
    return _HARDLY_DE00 if is_sure(measured) else _BY_EYE_DE00


def _against(book: Book, at: int, tone_pct: FloatArray, read_lab: FloatArray) -> Iterator[str]:
    """What the book without this one colour says of it, if that is far off."""
    one = book.measured[at]
    others = book.measured[:at] + book.measured[at + 1 :]
    condition = resolve_condition(replace(book, measured=others))
    off = float(delta_e00(condition.lab(tone_pct), read_lab))
    expected = float(condition.expected_error(tone_pct).de00)
    if off > max(_TIMES_EXPECTED * expected, _least_de00(one)):
        do = "check its mix and its colour" if is_sure(one) else "read it dry, with an instrument"
        yield (
            f"the measured colour of {mix_words(dict(one.mix_pct))} ({_place(book, at)}) is "
            f"{difference(off)} from what all else leads to expect, sure to "
            f"{difference(expected)}: {do}, or take it out; it moves predictions all the same"
        )


def _place(book: Book, at: int) -> str:
    """The key path of a colour, with its line while the file can be read."""
    try:
        data = read_input(book.path, most_bytes=MAX_BYTES)
        return parse_book_text(data, name=book.path.name).where(("measured", at))
    except (OSError, InkmixError):
        return f"{book.path.name}: measured[{at + 1}]"
