"""Which findings the book waives, and which waivers cover anything."""

from collections.abc import Iterable, Sequence

from inkmix.batch.result import EXPIRED, IN_FORCE, NOT_NEEDED, KeptFinding, ShownFinding, WaiverUse
from inkmix.book.values import Waiver
from inkmix.checks.finding import NOT_CHECKED


def with_waivers(
    findings: Iterable[KeptFinding], waivers: Sequence[Waiver], *, spread: str
) -> tuple[ShownFinding, ...]:
    """The findings of a spread, each with the waiver that covers it, or that did until a change."""
    return tuple(_shown(finding, waivers, spread) for finding in findings)


def waiver_uses(
    waivers: Iterable[Waiver], findings: Sequence[ShownFinding]
) -> tuple[WaiverUse, ...]:
    """Every waiver of the book with what it does; `findings` of all spreads."""
    return tuple(_use(waiver, findings) for waiver in waivers)


def _shown(finding: KeptFinding, waivers: Sequence[Waiver], spread: str) -> ShownFinding:
    meant = [waiver for waiver in waivers if _means(waiver, finding, spread)]
    here = next((waiver for waiver in meant if waiver.rests_on == finding.rests_on), None)
    if here is not None:
        return ShownFinding(finding=finding, waiver=here)
    return ShownFinding(finding=finding, expired=next(iter(meant), None))


def _means(waiver: Waiver, finding: KeptFinding, spread: str) -> bool:
    """Whether a waiver speaks of a finding; what was not checked cannot be accepted."""
    return (
        waiver.spread in (None, spread)
        and waiver.check == finding.check
        and waiver.name in (None, finding.name)
        and finding.verdict != NOT_CHECKED
    )


def _use(waiver: Waiver, findings: Sequence[ShownFinding]) -> WaiverUse:
    covered = sum(shown.waiver is waiver for shown in findings)
    expired = sum(shown.expired is waiver for shown in findings)
    state = IN_FORCE if covered else EXPIRED if expired else NOT_NEEDED
    return WaiverUse(waiver=waiver, state=state, findings=covered or expired)
