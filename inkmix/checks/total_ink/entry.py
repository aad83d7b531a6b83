"""Total ink in the table of checks: what it brings to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from inkmix.base.words import percent
from inkmix.book import values
from inkmix.checks.check import Answer, Check, Ground, Inputs, template_beside
from inkmix.checks.finding import FAIL, Finding
from inkmix.checks.total_ink.answer import total_ink_chart
from inkmix.checks.total_ink.facts import TOTAL_INK, TotalInkFacts
from inkmix.sheet.places import on_panels

if TYPE_CHECKING:
    from inkmix.checks.total_ink.at_work import OpenedTotalInk


class TotalInk(Check):
    """Every pixel's sum of tone values against the ink limit."""

    name = TOTAL_INK
    sections = (values.TOTAL_INK,)
    facts: ClassVar[Mapping[str, Any]] = {"total_ink": TotalInkFacts | None}
    figures: ClassVar[Mapping[str, str]] = {
        "max_total_ink_pct": "most total ink",
        "ink_limit_pct": "most total ink allowed; empty: no limit given, or left out",
    }
    card_means = "total ink is the most on the spread"
    sorts_by = "max_total_ink_pct"
    rank = 2
    hatch = "hatch-slant"
    is_by_place = True
    grounds = ("the plates there", "the ink limit", "the sheet")

    def opened(self, ground: Ground) -> "OpenedTotalInk":
        from inkmix.checks.total_ink.at_work import OpenedTotalInk

        return OpenedTotalInk(ground)

    def recipe(self) -> type:
        from inkmix.checks.mending.ink_off import InkOff

        return InkOff

    def nothing(self) -> Mapping[str, Any]:
        return {"total_ink": None}

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """Which pixels are over the limit, and by how much; elsewhere plates may change."""
        book = inputs.book
        there = finding.pixels_state or inputs.plates()
        return (there, finding.area_mm2), (finding.limit, book.min_area_mm2), book.strip

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
