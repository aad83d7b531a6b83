"""Named tones in the table of checks: what they bring to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, ClassVar

from inkmix.book import values
from inkmix.checks.check import Answer, Check, Ground, Inputs, Line, OpenedCheck, template_beside
from inkmix.checks.finding import UNSURE, Finding, worst
from inkmix.checks.orders.check import tones_told
from inkmix.checks.tones.check import TonesResult, check_tones
from inkmix.checks.tones.facts import NAMED_TONES, ToneFacts, TonePair
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow


class NamedTones(Check):
    """Mixes that the book names, against the colours that they are meant to have."""

    name = NAMED_TONES
    is_plural = True
    sections = (values.TONES,)
    facts: ClassVar[Mapping[str, Any]] = {
        "tones": tuple[ToneFacts, ...],
        "pairs": tuple[TonePair, ...],
    }
    rank = 3
    is_scattered = False
    unasked = "the book names none"

    def opened(self, ground: Ground) -> "OpenedTones | None":
        return OpenedTones(ground) if ground.book.tones else None

    def nothing(self) -> Mapping[str, Any]:
        return {"tones": (), "pairs": ()}

    def told(self, facts: Sequence[ToneFacts], pairs: Sequence[TonePair] = ()) -> Answer:
        """The answer that the figures of tones make."""
        if not facts:
            return self.not_asked()
        verdict = worst([tone.verdict for tone in facts])
        count = sum(tone.verdict == verdict for tone in facts)
        words = f"{count} of {len(facts)} tones"
        return Answer(
            check=NAMED_TONES,
            verdict=verdict,
            lines=(Line(name=NAMED_TONES, verdict=verdict, words=words),),
            facts={"tones": tuple(facts), "pairs": tuple(pairs)},
        )

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """Its mix, and what inks, paper and press are; no plate."""
        tone = next(one for one in inputs.book.tones if one.name == finding.name)
        return tone, inputs.press()

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        may, end = ("may ", "") if verdict == UNSURE else ("", "s")
        names = list(dict.fromkeys(found.name for found in findings))
        if len(names) == 1:
            return f"the tone “{names[0]}” {may}print{end} too far from what was meant"
        count = f"{len(names)} named tones" if names else "named tones"
        return f"{count} {may}print too far from what was meant"

    def label(self, name: str) -> str:
        return f"named tone: {name}" if name else "named tone"

    def template(self) -> str:
        return template_beside("inkmix.checks.tones", "tones.jinja")

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        return {"by_name": {tone.name: tone for tone in answer.facts["tones"]}}


class OpenedTones(OpenedCheck[None, TonesResult]):
    """The named tones of one spread; no plate is looked at."""

    def __init__(self, ground: Ground) -> None:
        self._ground = ground

    def start(self) -> None:
        return None

    def part(self, window: CheckedWindow) -> None:
        return None

    def merge(self, first: None, second: None) -> None:
        return None

    def finish(self, part: None) -> TonesResult:
        ground, limit = self._ground, self._ground.limits.ink_limit_pct
        return check_tones(
            ground.tone_condition,
            ground.book.tones,
            ink_limit_pct=None if limit is None else limit.value,
        )

    def findings(self, result: TonesResult, trials: Trials) -> tuple[Finding, ...]:
        return result.findings

    def answer(self, result: TonesResult) -> Answer:
        told = NamedTones().told(result.facts, result.pairs)
        return replace(told, movable=tones_told(result.facts))
