"""Total ink in the table of checks: what it brings to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from inkmix.base.words import percent
from inkmix.book import values
from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.checks.check import Answer, Check, Ground, Inputs, template_beside
from inkmix.checks.check import Line as TableLine
from inkmix.checks.finding import FAIL, Finding
from inkmix.checks.total_ink.facts import BAND_PCT, TOTAL_INK, TotalInkFacts
from inkmix.sheet.places import on_panels

if TYPE_CHECKING:
    from inkmix.checks.total_ink.at_work import OpenedTotalInk

_BEYOND_PCT = 20  # shown of the axis behind the last bar
_TICK_PCT = 50.0


class TotalInk(Check):
    """Every pixel's sum of tone values against the ink limit."""

    name = TOTAL_INK
    sections = (values.TOTAL_INK,)
    facts: ClassVar[Mapping[str, Any]] = {"total_ink": TotalInkFacts | None}
    figures: ClassVar[Mapping[str, str]] = {
        "max_total_ink_pct": "most total ink",
        "ink_limit_pct": "most total ink allowed; empty: no limit given",
    }
    sorts_by = "max_total_ink_pct"
    rank = 2
    hatch = "hatch-slant"
    is_by_place = True

    def opened(self, ground: Ground) -> "OpenedTotalInk":
        from inkmix.checks.total_ink.at_work import OpenedTotalInk

        return OpenedTotalInk(ground)

    def nothing(self) -> Mapping[str, Any]:
        return {"total_ink": None}

    def told(self, facts: TotalInkFacts) -> Answer:
        """The answer that figures make."""
        words = f"reaches {percent(facts.max_pct, beside=facts.limit_pct)} on the sheet"
        return Answer(
            check=TOTAL_INK,
            verdict=facts.verdict,
            lines=(TableLine(name=TOTAL_INK, verdict=facts.verdict, words=words),),
            facts={"total_ink": facts},
            figures={"max_total_ink_pct": facts.max_pct, "ink_limit_pct": facts.limit_pct},
        )

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """The plates, how they are read, the sheet and its limit."""
        return inputs.plates(), finding.limit, inputs.book.min_area_mm2

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        over = "is over the limit" if verdict == FAIL else "may be over the limit"
        return f"{TOTAL_INK}{on_panels(found.place for found in findings)} {over}"

    def label(self, name: str) -> str:
        return TOTAL_INK

    def template(self) -> str:
        return template_beside("inkmix.checks.total_ink", "total_ink.jinja")

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        facts = answer.facts["total_ink"]
        return {} if facts is None else {"chart": total_ink_chart(facts)}

    def card(self, figures: Mapping[str, float | None]) -> tuple[str, str, str] | None:
        most, limit = figures["max_total_ink_pct"], figures["ink_limit_pct"]
        if most is None:
            return None
        return (
            TOTAL_INK,
            percent(most, beside=limit),
            "" if limit is None else f", limit {percent(limit)}",
        )


def total_ink_chart(facts: TotalInkFacts) -> Histogram:
    """Histogram of total ink over the sheet."""
    highest = max([facts.max_pct, *(start for start, share in facts.histogram if share > 0)])
    stop = max(highest, facts.limit_pct or 0.0) + _BEYOND_PCT
    limit = None
    if facts.limit_pct is not None:
        limit = Line(value=facts.limit_pct, words=f"limit {percent(facts.limit_pct)}")
    words = "total ink, % (height: share of the sheet)"
    return Histogram(
        bars=facts.histogram,
        step=float(BAND_PCT),
        axis=Axis(start=0.0, stop=stop, tick=_TICK_PCT, words=words),
        limit=limit,
    )
