"""Colours that somebody lists: in words, in a file, or both."""

import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from inkmix.base.errors import Fault, UsageError
from inkmix.base.inputs import opened_input
from inkmix.book.meant.collected_faults import all_of
from inkmix.colour.written import MAX_BYTES, ToldColour, told_arguments, told_colours

STDIN = Path("-")


def listed_colours(texts: Sequence[str], file: Path | None) -> tuple[ToldColour, ...]:
    """The colours of some words, then those of a file.

    Raises
    ------
    UsageError
        With all that is wrong with them.
    """
    lists = [partial(told_arguments, texts)]
    if file is not None:
        lists.append(partial(colours_in, file))
    return tuple(one for colours in all_of(lists) for one in colours)


def colours_in(file: Path) -> tuple[ToldColour, ...]:
    """The colours of a file, one a line; "-" is what comes in on stdin.

    Raises
    ------
    UsageError
        If it cannot be read, with all lines that hold no colour.
    """
    if file == STDIN:
        return told_colours(sys.stdin.buffer.read(MAX_BYTES + 1), where="stdin")
    try:
        with opened_input(file) as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError as error:
        found = f"cannot be read ({error.strerror or type(error).__name__})"
        raise UsageError(Fault(where=str(file), found=found)) from None
    return told_colours(data, where=str(file))
