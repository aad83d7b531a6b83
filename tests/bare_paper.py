"""A check of the tests' own, of which the package knows nothing: how much paper is left bare."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from inkmix.checks.check import Answer, Check, Ground, Inputs, OpenedCheck, VerdictRow
from inkmix.checks.finding import FAIL, PASS, Finding
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow

BARE_PAPER = "bare paper"
MOST_PCT = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BareFacts:
    """How much of the sheet is left bare."""

    verdict: str
    bare_pct: float
    most_pct: float


class BarePaper(Check):
    """Whether too much of the sheet is left bare."""

    name = BARE_PAPER
    facts: ClassVar[Mapping[str, Any]] = {"bare_paper": BareFacts | None}
    figures: ClassVar[Mapping[str, str]] = {"bare_paper_pct": "area of paper left bare"}

    def opened(self, ground: Ground) -> "OpenedBarePaper":
        return OpenedBarePaper()

    def nothing(self) -> Mapping[str, Any]:
        return {"bare_paper": None}

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        return (inputs.plates(),)

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        return "too much paper is left bare"

    def template(self) -> str:
        return (
            '<section aria-labelledby="bare"><h2 id="bare">Bare paper</h2><div class="body">'
            "<p>{{ part.lines[0].words }}.</p>"
            "{% for item in of_check(items, part.check) %}{{ m.finding(item) }}{% endfor %}"
            "</div></section>\n"
        )


class OpenedBarePaper(OpenedCheck[tuple[int, int], tuple[int, int]]):
    """Pixels without ink, and all."""

    def start(self) -> tuple[int, int]:
        return 0, 0

    def part(self, window: CheckedWindow) -> tuple[int, int]:
        bare = ~window.planes.any(axis=0)
        return int(np.count_nonzero(bare)), bare.size

    def merge(self, first: tuple[int, int], second: tuple[int, int]) -> tuple[int, int]:
        return first[0] + second[0], first[1] + second[1]

    def finish(self, part: tuple[int, int]) -> BareFacts:
        bare_pct = 100 * part[0] / part[1]
        verdict = FAIL if bare_pct > MOST_PCT else PASS
        return BareFacts(verdict=verdict, bare_pct=bare_pct, most_pct=MOST_PCT)

    def findings(self, result: BareFacts, trials: Trials) -> tuple[Finding, ...]:
        return (
            Finding(
                check=BARE_PAPER,
                name="whole sheet",
                verdict=result.verdict,
                sentence=f"{result.bare_pct:.0f} % of the sheet is bare.",
                unit="%",
                value=result.bare_pct,
                limit=result.most_pct,
                error=0.0,
            ),
        )

    def answer(self, result: BareFacts) -> Answer:
        words = f"{result.bare_pct:.0f} % of the sheet is bare"
        return Answer(
            check=BARE_PAPER,
            verdict=result.verdict,
            lines=(VerdictRow(name=BARE_PAPER, verdict=result.verdict, words=words),),
            facts={"bare_paper": result},
            figures={"bare_paper_pct": result.bare_pct},
        )
