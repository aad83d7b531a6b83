"""Named tones in the table of checks: what they bring to the report, to batches and to waivers."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from inkmix.book import values
from inkmix.checks.check import Answer, Check, Ground, Inputs, template_beside
from inkmix.checks.finding import UNSURE, Finding
from inkmix.checks.tones.facts import NAMED_TONES, ToneFacts, TonePair
from inkmix.checks.tones.rules import intents
from inkmix.checks.tones.words import within_words
from inkmix.checks.uses import ColourUse

if TYPE_CHECKING:
    from inkmix.checks.tones.at_work import OpenedTones


class NamedTones(Check):
    """Mixes that the book names, against the colours that they are meant to have."""

    name = NAMED_TONES
    is_plural = True
    sections = (values.TONES,)
    rules = (intents,)
    facts: ClassVar[Mapping[str, Any]] = {
        "tones": tuple[ToneFacts, ...],
        "pairs": tuple[TonePair, ...],
        "tone_uses": tuple[ColourUse, ...],
    }
    rank = 3
    is_scattered = False
    is_of_book = True
    grounds = ("the mix or its colour", "inks, paper or press")
    unasked = "the book names none"

    def opened(self, ground: Ground) -> "OpenedTones | None":
        from inkmix.checks.tones.at_work import OpenedTones

        return OpenedTones(ground) if ground.book.tones else None

    def nothing(self) -> Mapping[str, Any]:
        return {"tones": (), "pairs": (), "tone_uses": ()}

    def rests_on(self, finding: Finding, inputs: Inputs) -> tuple[object, ...]:
        """Its mix, and what inks, paper and press are; no plate."""
        tone = next(one for one in inputs.book.tones if one.name == finding.name)
        return tone, inputs.press()

    def clause(self, verdict: str, findings: Sequence[Finding]) -> str:
        may, end = ("may ", "") if verdict == UNSURE else ("", "s")
        names = list(dict.fromkeys(found.name for found in findings))
        if len(names) == 1:
            return f"the tone “{names[0]}” {may}print{end} too far from its intended colour"
        count = f"{len(names)} named tones" if names else "named tones"
        return f"{count} {may}print too far from their intended colours"

    def label(self, name: str) -> str:
        return f"named tone: {name}" if name else "named tone"

    def template(self) -> str:
        return template_beside("inkmix.checks.tones", "tones.jinja")

    def shown(self, answer: Answer) -> Mapping[str, Any]:
        by_size = sorted(answer.uses, key=lambda use: -use.area_mm2)
        return {
            "by_name": {tone.name: tone for tone in answer.facts["tones"]},
            "used": [use for use in by_size if use.is_used],
            "unused": [use.name for use in answer.uses if not (use.is_used or use.same_mix_as)],
            "same": [use for use in answer.uses if use.same_mix_as],
            "within": within_words(answer.uses),
        }
