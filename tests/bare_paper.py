"""A check of the tests' own, of which the package knows nothing: how much paper is left bare."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from inkmix.base.words import percent
from inkmix.book.keys import MERGED, Section, SpreadPath, key, keyed
from inkmix.book.meant.inputs import spread_file
from inkmix.checks.check import Answer, Check, Ground, Inputs, OpenedCheck, VerdictRow
from inkmix.checks.finding import FAIL, PASS, Finding
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow
from inkmix.plates.masks.mask import Mask
from inkmix.plates.masks.picture import open_mask

BARE_PAPER = "bare paper"


@keyed
class Fog:
    """Where paper is meant to be bare."""

    mask: SpreadPath = key("picture that shows it in white; may hold {spread}")


@keyed
class BareSpec:
    """How much paper may stay bare."""

    at_most_pct: float = key("largest share left bare", unit="%", low=0, high=50, example="10")
    fog: Fog | None = key("where it is meant", example='{ mask = "fog.png" }', default=None)


BARE: Section[BareSpec | None] = Section(
    table="bare_paper",
    kind=BareSpec,
    about="how much paper may stay bare",
    absent=None,
    override=MERGED,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BareFacts:
    """How much of the sheet is left bare."""

    verdict: str
    bare_pct: float
    most_pct: float


class BarePaper(Check):
    """Whether too much of the sheet is left bare."""

    name = BARE_PAPER
    sections = (BARE,)
    unasked = "the book allows any"
    grounds = ("the plates", "what the book allows")
    card_means = "bare paper is its share of the sheet"
    facts: ClassVar[Mapping[str, Any]] = {"bare_paper": BareFacts | None}
    figures: ClassVar[Mapping[str, str]] = {"bare_paper_pct": "area of paper left bare"}

    def opened(self, ground: Ground) -> "OpenedBarePaper | None":
        told = ground.book.section(BARE)
        return None if told is None else OpenedBarePaper(told, _fog(told, ground))

    def nothing(self) -> Mapping[str, Any]:
        return {"bare_paper": None}

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        told = inputs.book.section(BARE)
        assert told is not None
        return inputs.plates(), (told, inputs.of_file(told.fog.mask if told.fog else None))

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        return "too much paper is left bare"

    def card(self, figures: Mapping[str, float | None]) -> tuple[str, str, str] | None:
        share = figures["bare_paper_pct"]
        return None if share is None else (BARE_PAPER, percent(share), "")

    def template(self) -> str:
        return (
            '<section aria-labelledby="bare"><h2 id="bare">Bare paper</h2><div class="body">'
            "<p>{{ part.lines[0].words }}.</p>"
            "{% for item in of_check(items, part.check) %}{{ m.finding(item) }}{% endfor %}"
            "</div></section>\n"
        )


def _fog(told: BareSpec, ground: Ground) -> Mask | None:
    if told.fog is None:
        return None
    path = spread_file(ground.book, told.fog.mask, ground.name, key="bare_paper: fog: mask")
    return open_mask(path, ground.sheet, room=ground.room)


class OpenedBarePaper(OpenedCheck[tuple[int, int], BareFacts]):
    """Pixels without ink where none is meant to be, and all."""

    def __init__(self, told: BareSpec, fog: Mask | None) -> None:
        self._told, self._fog = told, fog

    def start(self) -> tuple[int, int]:
        return 0, 0

    def part(self, window: CheckedWindow) -> tuple[int, int]:
        bare = ~window.planes.any(axis=0)
        if self._fog is not None:
            bare &= ~self._fog.read(window.rows, window.cols, window.planes)
        return int(np.count_nonzero(bare)), bare.size

    def merge(self, first: tuple[int, int], second: tuple[int, int]) -> tuple[int, int]:
        return first[0] + second[0], first[1] + second[1]

    def finish(self, part: tuple[int, int]) -> BareFacts:
        bare_pct = 100 * part[0] / part[1]
        most_pct = self._told.at_most_pct
        verdict = FAIL if bare_pct > most_pct else PASS
        return BareFacts(verdict=verdict, bare_pct=bare_pct, most_pct=most_pct)

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
