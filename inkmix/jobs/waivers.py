"""Which findings the book waives, and which waivers cover anything."""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence

from inkmix.base.quoting import nearest
from inkmix.book.values import Waiver
from inkmix.checks import table
from inkmix.checks.finding import NOT_CHECKED, NOT_READY, VERDICTS, worst
from inkmix.jobs.book_answer import (
    EXPIRED,
    IN_FORCE,
    NO_SPREAD,
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
    findings = tuple(findings)
    alike = Counter((finding.check, finding.rests_on) for finding in findings)
    return tuple(
        _shown(one, mine, alive, is_alone=alike[one.check, one.rests_on] == 1) for one in findings
    )


def left_of(verdict: str, found: Sequence[ShownFinding]) -> str:
    """What is left of a check's verdict after waivers; a verdict without findings stands."""
    judged = worst([shown.finding.verdict for shown in found])
    left = [shown.finding.verdict for shown in found if shown.waiver is None]
    if VERDICTS.index(verdict) < VERDICTS.index(judged) or len(left) == len(found):
        return verdict
    return min(left, key=STATES.index, default=WAIVED)


def waiver_uses(
    waivers: Iterable[Waiver],
    findings: Sequence[ShownFinding],
    *,
    ran: Collection[str],
    spreads: Collection[str],
) -> tuple[WaiverUse, ...]:
    """Every waiver of the book with what it does.

    `findings` are those of all `spreads`, `ran` the names of the checks that found them.
    """
    covered = Counter(id(shown.waiver) for shown in findings)
    expired: dict[int, list[KeptFinding]] = {}
    for shown in findings:
        expired.setdefault(id(shown.expired), []).append(shown.finding)
    uses = []
    for waiver in waivers:
        if waiver.spread is not None and waiver.spread not in spreads:
            near = nearest(waiver.spread, spreads) or ""
            uses.append(WaiverUse(waiver=waiver, state=NO_SPREAD, findings=0, nearest=near))
        elif waiver.check not in ran:
            uses.append(WaiverUse(waiver=waiver, state=NOT_LOOKED_AT, findings=0))
        else:
            left = expired.get(id(waiver), [])
            uses.append(_use(waiver, covered=covered[id(waiver)], expired=left))
    return tuple(uses)


def what_changed(waiver: Waiver, finding: KeptFinding) -> tuple[str, ...]:
    """What a finding rests on that is no more as it was when it was accepted, in words.

    What comes first among the grounds of a check follows from the others: it is named alone only.
    """
    then, now = (one.rests_on.split("-")[1:] for one in (waiver, finding))
    grounds = table.named(finding.check).grounds
    if not len(then) == len(now) == len(grounds):
        return ()
    columns = zip(grounds, then, now, strict=True)
    changed = tuple(ground for ground, old, new in columns if old != new)
    return changed[1:] if len(changed) > 1 and changed[0] == grounds[0] else changed


def _shown(
    finding: KeptFinding, waivers: Sequence[Waiver], alive: Collection[int], *, is_alone: bool
) -> ShownFinding:
    """`is_alone`: no other finding of the spread rests on the same."""
    meant = [waiver for waiver in waivers if _means(waiver, finding)]
    here = next((one for one in meant if _covers(one, finding, is_alone=is_alone)), None)
    if here is not None:
        return ShownFinding(finding=finding, waiver=here)
    expired = next((one for one in meant if _names(one, finding) and id(one) not in alive), None)
    return ShownFinding(finding=finding, expired=expired)


def _means(waiver: Waiver, finding: KeptFinding) -> bool:
    """Whether a waiver may speak of a finding; what nobody looked at or told cannot be accepted."""
    return waiver.check == finding.check and finding.verdict not in (NOT_CHECKED, NOT_READY)


def _names(waiver: Waiver, finding: KeptFinding) -> bool:
    return waiver.name in (None, finding.name)


def _covers(waiver: Waiver, finding: KeptFinding, *, is_alone: bool) -> bool:
    """Whether all is as it was; the number of a place is another one when others come or go."""
    is_told_by_place = is_alone and table.named(finding.check).is_by_place
    is_meant = is_told_by_place or _names(waiver, finding)
    return is_meant and waiver.rests_on == finding.rests_on


def _use(waiver: Waiver, *, covered: int, expired: Sequence[KeptFinding]) -> WaiverUse:
    if covered or not expired:
        state = IN_FORCE if covered else NOT_NEEDED
        return WaiverUse(waiver=waiver, state=state, findings=covered)
    changed = dict.fromkeys(word for finding in expired for word in what_changed(waiver, finding))
    return WaiverUse(waiver=waiver, state=EXPIRED, findings=len(expired), changed=tuple(changed))
