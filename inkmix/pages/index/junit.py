"""junit.xml: the answer about a book for build servers.

There is no official standard. Written here is what is commonly read: `testsuites` and `testsuite`
with `tests`, `failures`, `errors`, `skipped`; `testcase` with `classname` and `name`; in it at most
one of `failure`, `error`, `skipped` with a `message`. One suite is the book, one case a check of a
spread; a check that no plate changes has one case for all spreads of which it says the same. What
is waived, not ready to judge or unsure (unless strict), not limited, not checked or left out of the
run is skipped. There are no times: same input, same bytes.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from inkmix.base.plain_text import plain_text
from inkmix.base.words import first_of
from inkmix.checks import table
from inkmix.checks.check import LEFT_OUT
from inkmix.checks.finding import PASS, stops
from inkmix.jobs.book_answer import WAITING, WAIVED, BatchResult, ShownFinding, SpreadRow
from inkmix.jobs.waivers import left_of

SUITES = "inkmix"  # by which the file is known as ours
MOST_NAMED = 8  # spreads in the name of a case of the book
PLATES = "plates"  # name of the only case of a spread that could not be checked

_FAILURE, _ERROR, _SKIPPED = "failure", "error", "skipped"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One case; `spread` None where it is one of the book, `outcome` empty where it passed."""

    spread: str | None
    name: str
    outcome: str = ""
    kind: str = ""
    message: str = ""
    text: str = ""


def junit_xml(result: BatchResult) -> bytes:
    """The document as UTF-8; same result, same bytes."""
    cases = [*_of_book(result), *(case for row in result.rows for case in _cases(row, result))]
    counts = _counts(cases)
    suites = ElementTree.Element("testsuites", {"name": SUITES, **counts})
    suite = ElementTree.SubElement(suites, "testsuite", {"name": _legal(result.title), **counts})
    for case in cases:
        _add(suite, case, title=result.title)
    ElementTree.indent(suites)
    body = ElementTree.tostring(suites, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'.encode()


def _counts(cases: list[Case]) -> dict[str, str]:
    of = Counter(case.outcome for case in cases)
    return {
        "tests": str(len(cases)),
        "failures": str(of[_FAILURE]),
        "errors": str(of[_ERROR]),
        "skipped": str(of[_SKIPPED]),
    }


def _add(suite: ElementTree.Element, case: Case, *, title: str) -> None:
    whose = title if case.spread is None else f"{title}.{case.spread}"
    names = {"classname": _legal(whose), "name": _legal(case.name)}
    element = ElementTree.SubElement(suite, "testcase", names)
    if case.outcome:
        said = {"message": _legal(case.message)}
        if case.kind:
            said["type"] = _legal(case.kind)
        ElementTree.SubElement(element, case.outcome, said).text = _legal(case.text) or None


def _cases(row: SpreadRow, result: BatchResult) -> Iterator[Case]:
    if row.checked is None:
        yield _unchecked(row)
        return
    for check in row.checked.verdicts:
        if not table.is_of_book(check):
            yield _said_of(row, check).case(row.name, check, strict=result.strict)
    for check in result.left_out:
        if not table.is_of_book(check):
            yield Case(spread=row.name, name=check, outcome=_SKIPPED, message=LEFT_OUT)


def _unchecked(row: SpreadRow) -> Case:
    if row.state == WAITING:
        return Case(spread=row.name, name=PLATES, outcome=_SKIPPED, message=WAITING)
    faults = [str(fault) for fault in row.faults]
    return Case(
        spread=row.name,
        name=PLATES,
        outcome=_ERROR,
        kind=row.state,
        message=next(iter(faults), row.state),
        text="\n".join(faults),
    )


def _of_book(result: BatchResult) -> Iterator[Case]:
    """One case for each check that follows from the book, or for each answer that it has."""
    for check in filter(table.is_of_book, result.checks):
        same: dict[_Said, list[str]] = {}
        for row in result.rows:
            if row.checked is not None and check in row.checked.verdicts:
                same.setdefault(_said_of(row, check), []).append(row.name)
        for said, spreads in same.items():
            name = check if len(same) == 1 else f"{check} on {first_of(spreads, most=MOST_NAMED)}"
            yield said.case(None, name, strict=result.strict)
    for check in filter(table.is_of_book, result.left_out):
        yield Case(spread=None, name=check, outcome=_SKIPPED, message=LEFT_OUT)


@dataclass(frozen=True, slots=True)
class _Said:
    """What a check says of a spread: how that stands after waivers, and what speaks for it."""

    state: str
    lines: tuple[str, ...]

    def case(self, spread: str | None, name: str, *, strict: bool) -> Case:
        outcome = _outcome(self.state, strict=strict)
        if not outcome:
            return Case(spread=spread, name=name)
        lines = self.lines
        return Case(
            spread=spread,
            name=name,
            outcome=outcome,
            kind="" if outcome == _SKIPPED else self.state,
            message=f"{self.state}: {lines[0]}" if lines else self.state,
            text="\n".join(lines),
        )


def _said_of(row: SpreadRow, check: str) -> _Said:
    assert row.checked is not None
    found = [shown for shown in row.findings if shown.finding.check == check]
    state = left_of(row.checked.verdicts[check], found)
    return _Said(state, tuple(_line(shown) for shown in found if _speaks(shown, state)))


def _outcome(state: str, *, strict: bool) -> str:
    if stops(state, strict=strict):
        return _FAILURE
    return "" if state == PASS else _SKIPPED


def _speaks(shown: ShownFinding, state: str) -> bool:
    """Whether a finding is what made the state."""
    if state == WAIVED:
        return shown.waiver is not None
    return shown.waiver is None and shown.finding.verdict == state


def _line(shown: ShownFinding) -> str:
    found = shown.finding
    parts = [found.sentence, found.where and f"Where: {found.where}."]
    parts += found.do.split("\n")
    if shown.waiver is not None:
        parts.append(f"Waived by {shown.waiver.by}: {shown.waiver.reason}")
    return " ".join(part for part in parts if part)


def _legal(text: str) -> str:
    """Text that XML 1.0 can hold (section 2.2, Char), and any terminal; the rest as escapes."""
    shown = plain_text(text, keep="\t\n\r")
    return "".join(c if _is_legal(ord(c)) else f"\\u{ord(c):04x}" for c in shown)


def _is_legal(point: int) -> bool:
    return (
        point in (0x9, 0xA, 0xD)
        or 0x20 <= point <= 0xD7FF
        or 0xE000 <= point <= 0xFFFD
        or point >= 0x10000
    )
