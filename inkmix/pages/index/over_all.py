"""What is said over all spreads at once: the usual sheet, verdicts counted, shared notes."""

from collections import Counter
from collections.abc import Iterable

from inkmix.base.words import size_of
from inkmix.jobs.book_answer import Checked, SpreadRow


def sheet(checked: Checked) -> str:
    """Size and paper of a spread."""
    return f"{size_of(checked.width_mm, checked.height_mm, 'mm', digits=0)} on {checked.paper}"


def usual_sheet(spreads: Iterable[Checked | None]) -> str:
    """Size and paper of most spreads; the first of equals."""
    counted = Counter(sheet(checked) for checked in spreads if checked is not None)
    return max(counted, key=lambda name: counted[name], default="")


def verdict_counts(rows: Iterable[SpreadRow]) -> dict[str, Counter[str]]:
    """How many spreads have which verdict, check by check."""
    counted: dict[str, Counter[str]] = {}
    for row in rows:
        for check, verdict in ({} if row.checked is None else row.checked.verdicts).items():
            counted.setdefault(check, Counter())[verdict] += 1
    return counted


def shared_notes(rows: Iterable[SpreadRow]) -> dict[str, list[str]]:
    """Notes of spreads, each with the spreads that it was said of."""
    said: dict[str, list[str]] = {}
    for row in rows:
        for note in () if row.checked is None else row.checked.notes:
            said.setdefault(note, []).append(row.name)
    return said
