"""What the page shows, in its order: findings numbered, things to do, marks, charts, texts.

Choosing and ordering only; wording is in phrases, drawing in drawing and charts, layout in the
templates.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from inkmix.checks.finding import FAIL, NOT_CHECKED, PASS, UNSURE, VERDICTS, Finding, Remedy, worst
from inkmix.checks.night.facts import NIGHT, NightFacts
from inkmix.checks.tones.facts import NAMED_TONES, ToneFacts
from inkmix.checks.total_ink.facts import TOTAL_INK, TotalInkFacts
from inkmix.jobs.answer import SpreadResult
from inkmix.pages.report.charts import Axis, Line, histogram
from inkmix.pages.report.phrases import number, percent
from inkmix.pages.report.plan import Mark
from inkmix.sheet.geometry import Place

_NO_TONES = "the book names none"

MOST_SPOTS = 8
MOST_ROWS = 40  # findings listed and drawn; report.json holds all of them
HATCHES = {TOTAL_INK: "hatch-slant", NIGHT: "hatch-level"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """A finding with the number that it carries throughout the page."""

    number: int
    finding: Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One line of the table of verdicts."""

    name: str
    verdict: str
    words: str


def numbered(findings: Iterable[Finding]) -> tuple[Numbered, ...]:
    """Findings that somebody has to look at, worst first, from 1; what passes has no number."""
    open_ones = [found for found in findings if found.verdict != PASS]
    ordered = sorted(open_ones, key=lambda found: VERDICTS.index(found.verdict))
    return tuple(Numbered(number=k, finding=found) for k, found in enumerate(ordered, start=1))


def of_check(items: Iterable[Numbered], check: str, name: str | None = None) -> list[Numbered]:
    """The numbered findings of one check, or of one area or tone of it."""
    mine = [item for item in items if item.finding.check == check]
    return [item for item in mine if name is None or item.finding.name == name]


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


def marks(items: Iterable[Numbered]) -> list[Mark]:
    """Numbered rectangles for the plan; the several places of a finding share its number."""
    listed = list(items)[:MOST_ROWS]
    return [_mark(item, place) for item in listed for place in places(item.finding)]


def places(finding: Finding) -> list[Place]:
    """The places of a finding, largest first, as many as a plan can show."""
    several = [spot.place for spot in finding.spots[:MOST_SPOTS]]
    return several or ([finding.place] if finding.place else [])


def _mark(item: Numbered, place: Place) -> Mark:
    return Mark(
        number=item.number,
        hatch=HATCHES.get(item.finding.check, "hatch-dots"),
        dashed=item.finding.verdict != FAIL,
        x_mm=place.sheet_x_mm,
        y_mm=place.sheet_y_mm,
        width_mm=place.width_mm,
        height_mm=place.height_mm,
    )


def checked(result: SpreadResult) -> list[Checked]:
    """Every check and its verdict, for the table at the head."""
    ink = result.total_ink
    found = f"reaches {percent(ink.max_pct)} on the sheet"
    rows = [Checked(name=TOTAL_INK, verdict=ink.verdict, words=found)]
    nights = [
        Checked(name=f"night: {one.name}", verdict=one.verdict, words=_night_words(one))
        for one in result.nights
    ]
    rows += nights or [_not_asked(NIGHT, "no dark area is named for this spread")]
    rows.append(
        _tones_checked(result.tones) if result.tones else _not_asked(NAMED_TONES, _NO_TONES)
    )
    return rows


def _not_asked(name: str, words: str) -> Checked:
    """The line of a check that the book does not ask for: silence would read as a pass."""
    return Checked(name=name, verdict=NOT_CHECKED, words=words)


def _night_words(night: NightFacts) -> str:
    if night.value_L is None:
        return ""
    return f"{percent(night.share_pct)} of it at L* {number(night.value_L)} or darker"


def _tones_checked(tones: tuple[ToneFacts, ...]) -> Checked:
    verdict = worst(tuple(tone.verdict for tone in tones))
    count = sum(tone.verdict == verdict for tone in tones)
    return Checked(name=NAMED_TONES, verdict=verdict, words=f"{count} of {len(tones)} tones")


def total_ink_chart(facts: TotalInkFacts) -> Markup:
    """Histogram of total ink over the sheet."""
    highest = max([facts.max_pct, *(start for start, share in facts.histogram if share > 0)])
    stop = max(highest, facts.limit_pct or 0.0) + 20
    limit = None
    if facts.limit_pct is not None:
        limit = Line(value=facts.limit_pct, words=f"limit {percent(facts.limit_pct)}")
    axis = Axis(start=0.0, stop=stop, tick=50.0, words="total ink, % (height: share of the sheet)")
    return histogram(facts.histogram, step=10.0, axis=axis, limit=limit)


def night_chart(facts: NightFacts) -> Markup:
    """Histogram of L* in a night area, with the limit and the value that counts."""
    known = [start for start, share in facts.histogram if share > 0]
    known += [value for value in (facts.lightest_L, facts.value_L) if value is not None]
    axis = Axis(
        start=max(min(known) - 5, 0.0),
        stop=max(known) + 5,
        tick=5.0 if max(known) - min(known) < 50 else 10.0,
        words="L* (0 black, 100 white; height: share of the area)",
    )
    limit = reached = None
    if facts.lightest_L is not None:
        limit = Line(value=facts.lightest_L, words=f"limit {number(facts.lightest_L)}")
    if facts.value_L is not None:
        reached = Line(
            value=facts.value_L,
            words=f"reached {number(facts.value_L)}",
            error=facts.error_L or 0.0,
        )
    return histogram(facts.histogram, step=1.0, axis=axis, limit=limit, reached=reached)
