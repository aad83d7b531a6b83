"""Night in the table of checks: what it brings to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from inkmix.base.words import lightness, number, percent
from inkmix.book import values
from inkmix.checks.chart import Axis, Histogram, Line
from inkmix.checks.check import Answer, Check, Ground, Inputs, template_beside
from inkmix.checks.check import Line as TableLine
from inkmix.checks.finding import FAIL, Finding, worst
from inkmix.checks.night.facts import NIGHT, NightFacts
from inkmix.sheet.places import on_panels

if TYPE_CHECKING:
    from inkmix.checks.night.at_work import OpenedNights

_BEYOND_L = 5  # shown of the axis on both sides of what is there
_FEW_L = 50  # over which ticks stand closely


class Night(Check):
    """Whether each area that must be dark is as dark as it must be."""

    name = NIGHT
    sections = (values.NIGHT,)
    facts: ClassVar[Mapping[str, Any]] = {"nights": tuple[NightFacts, ...]}
    rank = 1
    hatch = "hatch-level"
    unasked = "the book names no dark area for this spread"

    def opened(self, ground: Ground) -> "OpenedNights | None":
        from inkmix.checks.night.at_work import opened

        return opened(ground)

    def nothing(self) -> Mapping[str, Any]:
        return {"nights": ()}

    def told(self, facts: Sequence[NightFacts]) -> Answer:
        """The answer that the figures of areas make."""
        if not facts:
            return self.not_asked()
        return Answer(
            check=NIGHT,
            verdict=worst([one.verdict for one in facts]),
            lines=tuple(
                TableLine(name=f"night: {one.name}", verdict=one.verdict, words=_words(one))
                for one in facts
            ),
            facts={"nights": tuple(facts)},
        )

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """The plates, the area and its mask, and what inks, paper and press are."""
        area = next(one for one in inputs.book.nights if one.name == finding.name)
        return inputs.plates(), area, inputs.of_file(area.mask), inputs.press()

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        light = "is too light" if verdict == FAIL else "may be too light"
        return f"{NIGHT}{on_panels(found.place for found in findings)} {light}"

    def template(self) -> str:
        return template_beside("inkmix.checks.night", "night.jinja")

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        nights = answer.facts["nights"]
        return {"charts": {one.name: night_chart(one) for one in nights if one.histogram}}


def _words(night: NightFacts) -> str:
    if night.value_L is None:
        return ""
    reached = lightness(night.value_L, beside=night.lightest_L)
    return f"{percent(night.share_pct)} of it at {reached} or darker"


def night_chart(facts: NightFacts) -> Histogram:
    """Histogram of L* in a night area, with the limit and the value that counts."""
    known = [start for start, share in facts.histogram if share > 0]
    known += [value for value in (facts.lightest_L, facts.value_L) if value is not None]
    axis = Axis(
        start=max(min(known) - _BEYOND_L, 0.0),
        stop=max(known) + _BEYOND_L,
        tick=5.0 if max(known) - min(known) < _FEW_L else 10.0,
        words="L* (0 black, 100 white; height: share of the area)",
    )
    limit = reached = None
    if facts.lightest_L is not None:
        limit = Line(value=facts.lightest_L, words=f"limit {number(facts.lightest_L)}")
    if facts.value_L is not None:
        words, error = (
            f"reached {number(facts.value_L, beside=facts.lightest_L)}",
            facts.error_L or 0.0,
        )
        reached = Line(value=facts.value_L, words=words, error=error)
    return Histogram(bars=facts.histogram, step=1.0, axis=axis, limit=limit, reached=reached)
