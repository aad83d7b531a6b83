"""What is new since the last run that ended, and what is gone since then.

Compared is what both runs looked at: of a check that either left out, nothing is new and nothing
gone.

A place over the ink limit has no name of its own: it is the same where it overlaps one of the last
run. Of two places over one of before the second is new, for it may be; what two places of before
became, one over both, is neither new nor gone. Everything else is the same by check and name.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from inkmix.checks import table
from inkmix.jobs.book_answer import KeptFinding, ShownFinding


@dataclass(frozen=True, slots=True, kw_only=True)
class LastRun:
    """The last run that ended: its checks, and the findings of each spread that could be read."""

    checks: tuple[str, ...]
    findings: Mapping[str, tuple[KeptFinding, ...] | None]


def with_news(
    shown: Sequence[ShownFinding], before: Sequence[KeptFinding], *, checks: Collection[str]
) -> tuple[tuple[ShownFinding, ...], tuple[KeptFinding, ...]]:
    """The findings of now, marked where they are new, and those of before that are gone.

    `checks` are those that looked at the spread both times.
    """
    left = [old for old in before if old.check in checks]
    marked = []
    for one in shown:
        same = next((old for old in left if is_same(one.finding, old)), None)
        if same is not None:
            left.remove(same)
        marked.append(replace(one, is_new=same is None and one.finding.check in checks))
    gone = (old for old in left if not any(is_same(one.finding, old) for one in shown))
    return tuple(marked), tuple(gone)


def is_same(now: KeptFinding, before: KeptFinding) -> bool:
    """Whether two findings of one spread speak of the same thing with the same verdict."""
    if (now.check, now.verdict) != (before.check, before.verdict):
        return False
    if not table.named(now.check).is_by_place or None in (now.rows_px, before.rows_px):
        return now.name == before.name
    return _overlap(now.rows_px, before.rows_px) and _overlap(now.cols_px, before.cols_px)


def _overlap(first: tuple[int, int] | None, second: tuple[int, int] | None) -> bool:
    return bool(first and second and first[0] < second[1] and second[0] < first[1])
