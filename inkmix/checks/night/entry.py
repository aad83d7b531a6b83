"""Night in the table of checks: what it brings to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from inkmix.book import values
from inkmix.checks.check import Answer, Check, Ground, Inputs, template_beside
from inkmix.checks.finding import FAIL, Finding
from inkmix.checks.night.answer import night_chart
from inkmix.checks.night.facts import NIGHT, NightFacts
from inkmix.checks.night.rules import areas
from inkmix.sheet.places import on_panels

if TYPE_CHECKING:
    from inkmix.checks.night.at_work import OpenedNights


class Night(Check):
    """Whether each area that must be dark is as dark as it must be."""

    name = NIGHT
    sections = (values.NIGHT,)
    rules = (areas,)
    facts: ClassVar[Mapping[str, Any]] = {"nights": tuple[NightFacts, ...]}
    rank = 1
    is_guard = True
    grounds = ("the plates there", "the area or its mask", "the sheet", "inks, paper or press")
    hatch = "hatch-level"
    unasked = "the book names no dark area for this spread"

    def opened(self, ground: Ground) -> "OpenedNights | None":
        from inkmix.checks.night.at_work import opened

        return opened(ground, unasked=self.not_asked())

    def recipe(self) -> type:
        from inkmix.checks.mending.recipe import NightRecipe

        return NightRecipe

    def nothing(self) -> Mapping[str, Any]:
        return {"nights": ()}

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """The plates in the area, the area and its mask, the sheet, inks, paper and press."""
        area = next(one for one in inputs.book.nights if one.name == finding.name)
        there = finding.pixels_state or inputs.plates()
        area_and_mask = area, inputs.of_file(area.mask)
        return there, area_and_mask, inputs.book.strip, inputs.press()

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        light = "is too light" if verdict == FAIL else "may be too light"
        return f"{NIGHT}{on_panels(found.place for found in findings)} {light}"

    def template(self) -> str:
        return template_beside("inkmix.checks.night", "night.jinja")

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        nights = answer.facts["nights"]
        return {"charts": {one.name: night_chart(one) for one in nights if one.histogram}}
