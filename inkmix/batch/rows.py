"""From what became of each spread to the answer about the book: states, news, waivers, ink."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from inkmix.base.errors import Fault
from inkmix.batch.compare import LastRun, with_news
from inkmix.book.values import Book
from inkmix.checks import table
from inkmix.checks.finding import overall, stops
from inkmix.jobs.book_answer import (
    BROKEN,
    MENDED,
    STATES,
    UNREADABLE,
    WAITING,
    BatchResult,
    Checked,
    InkTotal,
    InkUse,
    KeptFinding,
    ShownFinding,
    SpreadRow,
)
from inkmix.jobs.colour_drifts import colour_drifts
from inkmix.jobs.waivers import left_of, waiver_uses, with_waivers_everywhere


@dataclass(frozen=True, slots=True, kw_only=True)
class Fared:
    """How one spread fared so far: checked, or not with faults, or neither yet.

    As long as all that decides its answer has the key `faults_key`, its faults stay; empty where
    they may pass.
    """

    checked: Checked | None = None
    faults: tuple[Fault, ...] = ()
    faults_key: str = ""
    exit_code: int = 0
    preview: bytes = b""


def batch_result(
    book: Book,
    fared: Mapping[str, Fared],
    *,
    last: LastRun | None,
    notes: tuple[str, ...],
    complete: bool,
    strict: bool = False,
    watched: bool = False,
    checks: Collection[str] | None = None,
) -> BatchResult:
    """The answer about the book, with what is known so far.

    Parameters
    ----------
    fared : mapping of name to Fared
        Every spread, in natural order.
    last : LastRun or None
        None where there was no run before.
    checks : collection of str or None
        Names of the checks that run, None: all. Of others nothing is known: no waiver of theirs
        is needless, and nothing that the last run found with them is gone.
    """
    ran = table.asked_for(checks)
    before: Collection[str] = () if last is None else last.checks
    both = ran.intersection(before)
    found = {name: how.checked.findings for name, how in fared.items() if how.checked is not None}
    shown = with_waivers_everywhere(found, book.waivers)
    rows = tuple(
        _row(name, how, shown.get(name, ()), last, strict=strict, both=both)
        for name, how in fared.items()
    )
    findings = [shown for row in rows for shown in row.findings]
    return BatchResult(
        title=book.title,
        book=book.path.name,
        complete=complete,
        checks=table.in_table_order(ran),
        checks_before=table.in_table_order(before),
        compared=last is not None,
        rows=rows,
        inks=ink_totals(row.checked for row in rows if row.checked is not None),
        colours=colour_drifts(row.checked for row in rows if row.checked is not None),
        waivers=waiver_uses(book.waivers, findings, ran=ran, spreads=fared),
        lost=() if last is None else tuple(name for name in last.findings if name not in fared),
        notes=notes,
        strict=strict,
        watched=watched,
    )


def unreadable(rows: Iterable[SpreadRow]) -> dict[str, Fared]:
    """Spreads that cannot be checked before something of them changes, by name."""
    return {
        row.name: Fared(faults=row.faults, faults_key=row.faults_key, exit_code=row.exit_code)
        for row in rows
        if row.faults_key
    }


def ink_totals(spreads: Iterable[Checked]) -> tuple[InkTotal, ...]:
    """Ink by ink over all spreads, in the order in which inks come first."""
    uses: dict[str, list[tuple[InkUse, float]]] = {}
    for checked in spreads:
        for use in checked.inks:
            uses.setdefault(use.ink, []).append((use, checked.sheet_m2))
    return tuple(_total(ink, of_ink) for ink, of_ink in uses.items())


def _total(ink: str, uses: Sequence[tuple[InkUse, float]]) -> InkTotal:
    solid_m2, sheet_m2 = sum(use.solid_m2 for use, _ in uses), sum(area for _, area in uses)
    return InkTotal(
        ink=ink,
        solid_srgb8=uses[0][0].solid_srgb8,
        spreads=sum(use.mean_tone_pct > 0 for use, _ in uses),
        mean_coverage_pct=100 * solid_m2 / sheet_m2,
        solid_m2=solid_m2,
    )


def _row(
    name: str,
    how: Fared,
    shown: tuple[ShownFinding, ...],
    last: LastRun | None,
    *,
    strict: bool,
    both: Collection[str],
) -> SpreadRow:
    is_new = last is not None and name not in last.findings
    if how.checked is None:
        state = UNREADABLE if how.faults else WAITING
        return SpreadRow(
            name=name,
            state=state,
            faults=how.faults,
            faults_key=how.faults_key,
            preview=how.preview,
            exit_code=how.exit_code,
            is_new=is_new,
            turned=_turned(name, how, last),
        )
    gone: tuple[KeptFinding, ...] = ()
    before = None if last is None else last.findings.get(name)
    if last is not None:
        shown, gone = with_news(shown, before or (), checks=both)
    state = _state(how.checked.verdicts, shown)
    return SpreadRow(
        name=name,
        state=state,
        checked=how.checked,
        exit_code=int(stops(state, strict=strict)),
        findings=shown,
        is_new=is_new,
        gone=gone,
        turned=_turned(name, how, last),
    )


def _turned(name: str, how: Fared, last: LastRun | None) -> str:
    if last is None or name not in last.findings:
        return ""
    could = last.findings[name] is not None
    if how.faults and could:
        return BROKEN
    return MENDED if how.checked is not None and not could else ""


def _state(verdicts: Mapping[str, str], shown: Sequence[ShownFinding]) -> str:
    """The worst verdict of all checks after waivers; "not checked" only where nothing was."""
    said = [
        left_of(verdict, [one for one in shown if one.finding.check == check])
        for check, verdict in verdicts.items()
    ]
    return overall(said, STATES)
