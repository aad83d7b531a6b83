"""Why what is still open was not mended: a reason for every finding, said once if others share it.

Where a mender looked, it says why; here is what is known without one.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence

from inkmix.checks import table
from inkmix.checks.finding import NO_LIMIT, NOT_READY, PASS, Finding
from inkmix.jobs.mending.values import Undone, WaivedFinding

LEFT_OUT = "it was left out of this run (--only, --skip)"
NO_NUMBER = "the book gives no limit to mend to"
ON_GUESSES = "it rests on guesses; tell the book first"
NO_PLATES = "no correction of plates is made for it; `inkmix check` says what helps"
NOT_FOUND = "no correction of these plates was found; `inkmix check` says what else helps"


def undone_of(
    findings: Iterable[Finding],
    *,
    names: Collection[str],
    known: Sequence[Undone] = (),
    waived: Sequence[WaivedFinding] = (),
) -> tuple[Undone, ...]:
    """A reason for each finding that does not pass; none for what is waived.

    Parameters
    ----------
    names : collection of str
        Names of the checks whose findings were mended.
    known : sequence of Undone
        What menders say; an empty name is for all findings of a check.
    """
    accepted = {_place(one.finding) for one in waived}
    left = (one for one in findings if one.verdict != PASS and _place(one) not in accepted)
    return tuple(dict.fromkeys(_undone(one, names, known) for one in left))


def _undone(finding: Finding, names: Collection[str], known: Sequence[Undone]) -> Undone:
    for one in known:
        if one.check == finding.check and one.name in (finding.name, ""):
            return one
    name = "" if finding.check not in names else finding.name
    return Undone(check=finding.check, name=name, why=next(_reasons(finding, names)))


def _reasons(finding: Finding, names: Collection[str]) -> Iterator[str]:
    """The best first."""
    if finding.check not in names:
        yield LEFT_OUT
    if finding.verdict == NO_LIMIT:
        yield NO_NUMBER
    if finding.verdict == NOT_READY:
        yield ON_GUESSES
    yield NO_PLATES if table.named(finding.check).recipe() is None else NOT_FOUND


def _place(finding: Finding) -> tuple[object, ...]:
    """By which a finding is known again: numbers of places change when others go."""
    where = finding.rows_px, finding.cols_px
    is_by_place = table.named(finding.check).is_by_place and finding.rows_px is not None
    return finding.check, where if is_by_place else finding.name
