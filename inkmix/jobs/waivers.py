"""Which findings the book waives, and which waivers cover anything."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence

from inkmix.book.values import Waiver
from inkmix.checks.finding import NOT_CHECKED, NOT_READY, VERDICTS, worst
from inkmix.jobs.book_answer import (
    EXPIRED,
    IN_FORCE,
    NOT_LOOKED_AT,
    NOT_NEEDED,
    STATES,
    WAIVED,
    KeptFinding,
    ShownFinding,
    WaiverUse,
)

Shown = tuple[ShownFinding, ...]


def with_waivers_everywhere(
    findings: Mapping[str, Iterable[KeptFinding]], waivers: Sequence[Waiver]
) -> dict[str, Shown]:
    """The findings of every spread as `with_waivers` shows them.

    A waiver that covers something anywhere has not expired: what it does not cover elsewhere, on
    another stock or in another area, it never covered.
    """
    first = [with_waivers(found, waivers, spread=name) for name, found in findings.items()]
    alive = {id(one.waiver) for shown in first for one in shown if one.waiver}
    return {
        name: with_waivers(found, waivers, spread=name, alive=alive)
        for name, found in findings.items()
    }


def with_waivers(
    findings: Iterable[KeptFinding],
    waivers: Sequence[Waiver],
    *,
    spread: str,
    alive: Collection[int] = (),
) -> Shown:
    """The findings of a spread, each with the waiver that covers it, or that did until a change.

    Parameters
    ----------
    alive : collection of int
        `id` of waivers that are known not to have expired.
    """
    mine = [waiver for waiver in waivers if waiver.spread in (None, spread)]
    return tuple(_shown(finding, mine, alive) for finding in findings)


def left_of(verdict: str, found: Sequence[ShownFinding]) -> str:
    """What is left of a check's verdict after waivers; a verdict without findings stands."""
    judged = worst([shown.finding.verdict for shown in found])
    left = [shown.finding.verdict for shown in found if shown.waiver is None]
    if VERDICTS.index(verdict) < VERDICTS.index(judged) or len(left) == len(found):
        return verdict
    return min(left, key=STATES.index, default=WAIVED)


def waiver_uses(
    waivers: Iterable[Waiver], findings: Sequence[ShownFinding], *, ran: Collection[str]
) -> tuple[WaiverUse, ...]:
    """Every waiver of the book with what it does.

    `findings` are those of all spreads, `ran` the names of the checks that found them.
    """
    covered = Counter(id(shown.waiver) for shown in findings)
    expired = Counter(id(shown.expired) for shown in findings)
    return tuple(
        _use(waiver, covered=covered[id(waiver)], expired=expired[id(waiver)])
        if waiver.check in ran
        else WaiverUse(waiver=waiver, state=NOT_LOOKED_AT, findings=0)
        for waiver in waivers
    )


def _shown(finding: KeptFinding, waivers: Sequence[Waiver], alive: Collection[int]) -> ShownFinding:
    meant = [waiver for waiver in waivers if _means(waiver, finding)]
    here = next((waiver for waiver in meant if waiver.rests_on == finding.rests_on), None)
    if here is not None:
        return ShownFinding(finding=finding, waiver=here)
    expired = next((waiver for waiver in meant if id(waiver) not in alive), None)
    return ShownFinding(finding=finding, expired=expired)


def _means(waiver: Waiver, finding: KeptFinding) -> bool:
    """Whether a waiver speaks of a finding; what nobody looked at or told cannot be accepted."""
    return (
        waiver.check == finding.check
        and waiver.name in (None, finding.name)
        and finding.verdict not in (NOT_CHECKED, NOT_READY)
    )


def _use(waiver: Waiver, *, covered: int, expired: int) -> WaiverUse:
    state = IN_FORCE if covered else EXPIRED if expired else NOT_NEEDED
    return WaiverUse(waiver=waiver, state=state, findings=covered or expired)
