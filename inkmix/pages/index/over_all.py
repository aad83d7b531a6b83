"""What is said over all spreads at once: the usual sheet, verdicts counted, shared notes."""

from collections import Counter
from collections.abc import Iterable, Mapping

from inkmix.base.words import size_of
from inkmix.checks.finding import NOT_READY, VERDICTS
from inkmix.checks.uses import ColourUse
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


def verdicts_shown(counted: Mapping[str, Counter[str]]) -> list[str]:
    """The columns of that table; that of guesses only where one is, for most books have none."""
    guessed = any(amounts[NOT_READY] for amounts in counted.values())
    return [verdict for verdict in VERDICTS if verdict != NOT_READY or guessed]


def shared_notes(rows: Iterable[SpreadRow]) -> dict[str, list[str]]:
    """Notes of spreads, each with the spreads that it was said of."""
    said: dict[str, list[str]] = {}
    for row in rows:
        for note in () if row.checked is None else row.checked.notes:
            said.setdefault(note, []).append(row.name)
    return said


def most_cover(rows: Iterable[SpreadRow]) -> float:
    """The most that the mean coverages of a spread's inks add up to, %; more than 0."""
    uses = (row.checked.inks for row in rows if row.checked is not None)
    return max((sum(use.mean_coverage_pct for use in inks) for inks in uses), default=0.0) or 100.0


def colours_looked_for(rows: Iterable[SpreadRow]) -> list[ColourUse]:
    """Each colour that the book names once, as it was looked for where it comes first."""
    checked = (row.checked for row in rows if row.checked is not None)
    return list({kept.use.name: kept.use for one in checked for kept in one.uses}.values())
