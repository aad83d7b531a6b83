"""How a book stands, as lines for a terminal."""

from collections.abc import Iterator
from pathlib import Path

from inkmix.checks.finding import UNSURE
from inkmix.checks.guesses import guess_lines
from inkmix.jobs.book_answer import EXPIRED, NO_SPREAD, NOT_NEEDED, STATES, BatchResult, SpreadRow
from inkmix.pages.folders import INDEX_NAME
from inkmix.pages.index.words import headline, not_compared, state, waiver_label, waiver_state

MOST_LINES = 20


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
    last = STATES.index(UNSURE)
    open_rows = [row for row in result.rows if STATES.index(row.state) <= last]
    open_rows.sort(key=lambda row: STATES.index(row.state))
    for row in open_rows[:MOST_LINES]:
        yield f"  {row.name}: {_reason(row)}"
    if len(open_rows) > MOST_LINES:
        yield f"  and {len(open_rows) - MOST_LINES} more"
    yield from _waiver_lines(result)
    if apart := not_compared(result):
        yield apart
    if reused:
        yield f"unchanged since they were checked: {reused} of {len(result.rows)}"
    yield f"index: {to / INDEX_NAME}"


def _waiver_lines(result: BatchResult) -> Iterator[str]:
    """Waivers that do nothing, and why."""
    idle = [use for use in result.waivers if use.state in (NO_SPREAD, EXPIRED, NOT_NEEDED)]
    for use in idle[:MOST_LINES]:
        yield f"  waiver of {waiver_label(use.waiver)}: {waiver_state(use)}"
    if len(idle) > MOST_LINES:
        yield f"  and {len(idle) - MOST_LINES} more waivers that do nothing"


def _reason(row: SpreadRow) -> str:
    """The worst in words."""
    if row.faults:
        return f"{state(row)}: {row.faults[0]}"
    worst = next((one.finding for one in row.findings if one.waiver is None), None)
    return state(row) if worst is None else f"{state(row)}: {worst.sentence}"
