"""Mixes as lines for a terminal: the terms first, then a table, a row as soon as it is found."""

from collections.abc import Iterator

from inkmix.jobs.mix import FEW, DarkestMixes, NearestMixes, Terms
from inkmix.pages.mixes.words import (
    LEGEND,
    LEGEND_DARKEST,
    LEGEND_DOUBLE_HIT,
    SHOWN_HELPS,
    Table,
    answer_row,
    answer_rows,
    help_lines,
    step_word,
    terms_sentence,
)


def nearest_head(found: NearestMixes) -> Iterator[str]:
    """The terms, and what the columns mean."""
    return _head(found.terms, LEGEND)


def nearest_table(found: NearestMixes, *, in_full: bool, fields: bool) -> Iterator[str]:
    """A row a mix, or if not in full a row a colour; then what is out of reach.

    Parameters
    ----------
    fields : bool
        Put a field of 24-bit colour before each row.
    """
    width = max(len(one.name or one.text) for one in found.colours)
    table = Table(found.terms.inks, first="colour", width=width, fields=fields)
    yield table.head()
    few, sentences = len(found.colours) <= FEW, list[str]()
    for answer in found.answers:
        if in_full:
            yield from answer_rows(table, answer, found.terms)
        else:
            yield answer_row(table, answer, found.terms)
        sentences += help_lines(answer, most=SHOWN_HELPS if few else 1)
    yield from sentences


def darkest_head(found: DarkestMixes, *, double_hit: bool) -> Iterator[str]:
    """The terms, what the columns mean, and what a second hit is."""
    yield from _head(found.terms, LEGEND_DARKEST)
    if double_hit:
        yield LEGEND_DOUBLE_HIT


def darkest_table(found: DarkestMixes, *, fields: bool) -> Iterator[str]:
    """A row a mix, darkest first."""
    inks = tuple(found.mixes[0].tone_pct) if found.mixes else found.terms.inks
    table = Table(inks, first="rank", width=4, fields=fields, last=("error of L*",))
    yield table.head()
    for rank, one in enumerate(found.mixes, start=1):
        yield table.row(str(rank), step_word(found.terms), one)


def _head(terms: Terms, legend: str) -> Iterator[str]:
    yield terms_sentence(terms)
    yield legend
    yield from (f"note: {doubt}" for doubt in terms.doubts)
