"""What the page shows, in its order: findings numbered, things to do, marks, parts of checks.

Choosing and ordering only; wording is in phrases, drawing in drawing and charts, layout in the
templates.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inkmix.base.words import listing
from inkmix.checks import table
from inkmix.checks.check import Answer, Check, VerdictRow
from inkmix.checks.finding import FAIL, PASS, UNSURE, VERDICTS, Finding, Remedy
from inkmix.jobs.answer import OpenValue, ShownRemedy, SpreadResult
from inkmix.pages.report.outlines import outlines
from inkmix.pages.report.plan import Mark
from inkmix.sheet.geometry import Place

MOST_SPOTS = 8
FINE_MM = 0.4  # a pixel of the plan, on a wide screen
MOST_ROWS = 40  # findings listed and drawn; report.json holds all of them
CHECK_TEMPLATES = "check: "


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """A finding with the number that it carries throughout the page."""

    number: int
    finding: Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A check's part of the page: its answer, what it shows beside that, and its template."""

    part: Answer
    values: Mapping[str, Any]
    template: str


def numbered(findings: Iterable[Finding]) -> tuple[Numbered, ...]:
    """Findings that somebody has to look at, worst first, from 1; what passes has no number."""
    open_ones = [found for found in findings if found.verdict != PASS]
    ordered = sorted(open_ones, key=lambda found: VERDICTS.index(found.verdict))
    return tuple(Numbered(number=k, finding=found) for k, found in enumerate(ordered, start=1))


def of_check(items: Iterable[Numbered], check: str, name: str | None = None) -> list[Numbered]:
    """The numbered findings of one check, or of one area or tone of it."""
    mine = [item for item in items if item.finding.check == check]
    return [item for item in mine if name is None or item.finding.name == name]


def skipped_checks(result: SpreadResult) -> list[str]:
    """Names of the checks that were left out of the run."""
    return [answer.check for answer in result.answers if answer.is_left_out]


def to_do(items: Iterable[Numbered]) -> list[tuple[str, list[Numbered]]]:
    """What must be changed, then what has to be decided, each with its heading."""
    groups = (
        ("Change before sending", FAIL),
        ("Ask or decide: nobody can tell before printing", UNSURE),
    )
    listed = list(items)[:MOST_ROWS]
    parts = [(head, [item for item in listed if item.finding.verdict == v]) for head, v in groups]
    return [(head, rows) for head, rows in parts if rows]


def has_unsure(items: Iterable[Numbered]) -> bool:
    """Whether any finding needs the word "unsure" explained."""
    return any(item.finding.verdict == UNSURE for item in items)


def best_remedy(finding: Finding) -> Remedy | None:
    """The first remedy that settles a finding; without one, the first that was tried."""
    settles = [remedy for remedy in finding.remedies if remedy.solves]
    return next(iter(settles or finding.remedies), None)


def same_as(items: Iterable[Numbered]) -> dict[int, int]:
    """Findings, by number, whose remedy an earlier one has already: that one's number."""
    first: dict[object, int] = {}
    same = {}
    for item in items:
        remedy = best_remedy(item.finding)
        if remedy is None:
            continue
        key = remedy.sentence if remedy.correction is None else id(remedy.correction)
        earlier = first.setdefault(key, item.number)
        if earlier != item.number:
            same[item.number] = earlier
    return same


def mended(items: Iterable[Numbered], shown: Sequence[ShownRemedy]) -> dict[int, ShownRemedy]:
    """What is shown of corrections, by the number of the first finding that each settles."""
    of_finding = {name: one for one in reversed(shown) for name in one.findings}
    found: dict[int, ShownRemedy] = {}
    for item in items:
        one = of_finding.get((item.finding.check, item.finding.name))
        if one is not None and one not in found.values():
            found[item.number] = one
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What the printer is asked once: things that share a reason and whose word they are."""

    what: str
    values: tuple[str, ...]
    whose: str
    why: str


def questions(asked: Iterable[OpenValue]) -> list[Question]:
    """Open values with those that share a reason together, in the order of the first of each."""
    shared: dict[tuple[str, str], list[OpenValue]] = {}
    for one in asked:
        shared.setdefault((one.why, one.whose), []).append(one)
    return [_question(ones) for ones in shared.values()]


def _question(ones: Sequence[OpenValue]) -> Question:
    """One question; several values each say what they are of."""
    first = ones[0]
    values = [first.value] if len(ones) == 1 else [f"{one.what}: {one.value}" for one in ones]
    return Question(
        what=listing(list(dict.fromkeys(one.what for one in ones))),
        values=tuple(values),
        whose=first.whose,
        why=first.why,
    )


def marks(items: Iterable[Numbered]) -> list[Mark]:
    """A mark for each finding that has a place, with all its places."""
    return [_mark(item) for item in list(items)[:MOST_ROWS] if places(item.finding)]


def places(finding: Finding) -> list[Place]:
    """The places of a finding, largest first, as many as a plan can show."""
    several = [spot.place for spot in finding.spots[:MOST_SPOTS]]
    return several or ([finding.place] if finding.place else [])


def _mark(item: Numbered) -> Mark:
    finding = item.finding
    return Mark(
        number=item.number,
        hatch=hatch(finding.check),
        dashed=finding.verdict != FAIL,
        places=tuple(
            (one.sheet_x_mm, one.sheet_y_mm, one.width_mm, one.height_mm) for one in places(finding)
        ),
        outlines=() if finding.shape is None else outlines(finding.shape, fine_mm=FINE_MM),
    )


def sections(result: SpreadResult) -> list[Section]:
    """The parts of all checks, in the order of the page."""
    answers = {answer.check: answer for answer in result.answers}
    return [
        Section(
            part=answers[check.name],
            values=check.shown(answers[check.name]),
            template=template_of(check),
        )
        for check in table.by_rank()
        if check.name in answers
    ]


def template_of(check: Check) -> str:
    """The name under which the page knows a check's template."""
    return f"{CHECK_TEMPLATES}{check.name}"


def template_text(name: str) -> str | None:
    """A check's template by that name; None for other names."""
    known = {template_of(check): check for check in table.CHECKS}
    return known[name].template() if name in known else None


def check_lines(result: SpreadResult) -> list[VerdictRow]:
    """Every check and its verdict, for the table at the head."""
    return [line for answer in result.answers for line in answer.lines]


def hatch(check: str) -> str:
    """How the places of a check are marked."""
    return table.named(check).hatch


def about(finding: Finding) -> str:
    """What a finding is about."""
    return table.named(finding.check).label(finding.name)


def is_scattered(finding: Finding) -> bool:
    """Whether a finding without a place stands for places all over the sheet."""
    return finding.place is None and table.named(finding.check).is_scattered


def check_names() -> tuple[str, ...]:
    """All checks, in the order of the table."""
    return table.names()
