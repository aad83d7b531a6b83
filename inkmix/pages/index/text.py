"""How a book stands, as lines for a terminal."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from inkmix.base.words import first_of
from inkmix.checks import table
from inkmix.checks.finding import UNSURE
from inkmix.checks.guesses import guess_lines
from inkmix.jobs.book_answer import EXPIRED, NO_SPREAD, NOT_NEEDED, STATES, BatchResult, SpreadRow
from inkmix.pages.folders import INDEX_NAME
from inkmix.pages.index.view import Common, common_findings
from inkmix.pages.index.words import (
    drifts_on,
    headline,
    not_compared,
    state,
    waiver_label,
    waiver_state,
)

MOST_LINES = 20
MOST_OF_BOOK = 5  # findings that follow from the book, so that no spread stands behind them
MOST_NAMED = 8  # spreads of a finding that several share
_LAST = STATES.index(UNSURE)
"""The last state that somebody has to look at."""


def result_lines(result: BatchResult, to: Path, *, reused: int) -> Iterator[str]:
    """How the book stands, and the spreads that somebody has to look at, worst first.

    Parameters
    ----------
    to : Path
        Folder of the index page.
    reused : int
        Spreads that were not checked again.
    """
    yield headline(result)
    yield from guess_lines(result.guesses)
    of_book = _of_book(result)
    for one in of_book[:MOST_OF_BOOK]:
        yield f"  {_on(one, result)}: {one.finding.verdict}: {one.finding.sentence}"
    if len(of_book) > MOST_OF_BOOK:
        yield f"  and {len(of_book) - MOST_OF_BOOK} more"
    reasons = {
        row.name: _reason(row, of_book)
        for row in sorted(result.rows, key=lambda row: STATES.index(row.state))
        if STATES.index(row.state) <= _LAST
    }
    said = [f"  {name}: {reason}" for name, reason in reasons.items() if reason]
    yield from said[:MOST_LINES]
    if len(said) > MOST_LINES:
        yield f"  and {len(said) - MOST_LINES} more"
    yield from _drift_lines(result)
    yield from _waiver_lines(result)
    if apart := not_compared(result):
        yield apart
    if reused:
        yield f"unchanged since they were checked: {reused} of {len(result.rows)}"
    yield f"index: {to / INDEX_NAME}"


def _drift_lines(result: BatchResult) -> Iterator[str]:
    """Named tones that are farther from what they are elsewhere than they may; nothing fails."""
    notes = [
        f"note: {row.name}: {said}"
        for row in result.rows
        for said in drifts_on(row.name, result.colours)
    ]
    yield from notes[:MOST_LINES]
    if len(notes) > MOST_LINES:
        yield f"note: {len(notes) - MOST_LINES} more named tones drift: see the index page"


def _waiver_lines(result: BatchResult) -> Iterator[str]:
    """Waivers that do nothing, and why."""
    idle = [use for use in result.waivers if use.state in (NO_SPREAD, EXPIRED, NOT_NEEDED)]
    for use in idle[:MOST_LINES]:
        yield f"  waiver of {waiver_label(use.waiver)}: {waiver_state(use)}"
    if len(idle) > MOST_LINES:
        yield f"  and {len(idle) - MOST_LINES} more waivers that do nothing"


def _of_book(result: BatchResult) -> list[Common]:
    """What several spreads share because it follows from the book, and somebody has to look at."""
    return [
        one
        for one in common_findings(result.rows)
        if table.is_of_book(one.finding.check) and STATES.index(one.finding.verdict) <= _LAST
    ]


def _on(one: Common, result: BatchResult) -> str:
    if len(one.spreads) == len(result.rows):
        return f"all {len(one.spreads)} spreads"
    return first_of(one.spreads, most=MOST_NAMED)


def _reason(row: SpreadRow, of_book: Iterable[Common]) -> str:
    """The worst in words, with its own verdict; empty where it was said of several spreads.

    The spread may be worse than that, by what was said of all.
    """
    if row.faults:
        return f"{state(row)}: {row.faults[0]}"
    said = {(one.finding.check, one.finding.name) for one in of_book if row.name in one.spreads}
    left = [one.finding for one in row.findings if one.waiver is None]
    own = [found for found in left if (found.check, found.name) not in said]
    worst = min(own, key=lambda found: STATES.index(found.verdict), default=None)
    if worst is None or STATES.index(worst.verdict) > _LAST:
        return "" if said else state(row)
    return f"{worst.verdict}: {worst.sentence}"
