"""The named tones of a spread, at work: judged by their mixes, and found on its plates."""

from dataclasses import dataclass, replace

from inkmix.checks.check import Answer, Ground, OpenedCheck
from inkmix.checks.finding import Finding
from inkmix.checks.orders.check import tones_told
from inkmix.checks.tones.answer import answer_of
from inkmix.checks.tones.check import TonesResult, check_tones, tone_facts
from inkmix.checks.tones.finder import Found, ToneFinder, UsesPart
from inkmix.checks.tones.near import labels_of
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow
from inkmix.colour.colorimetry import xyz100_to_lab


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TonesOnSpread:
    """The tones judged, which no plate changes, and where they are used."""

    judged: TonesResult
    found: Found


class OpenedTones(OpenedCheck[UsesPart, TonesOnSpread]):
    """The named tones of one spread."""

    def __init__(self, ground: Ground) -> None:
        self._ground = ground
        facts = tone_facts(ground.tone_condition, ground.book.tones)
        L, a, b = xyz100_to_lab(ground.condition.paper.xyz100).tolist()
        self._finder = ToneFinder(
            facts=facts,
            inks=tuple(ink.name for ink in ground.condition.inks),
            labels=labels_of(facts, (L, a, b)),
            sheet=ground.sheet,
            min_area_mm2=ground.book.min_area_mm2,
        )

    def start(self) -> UsesPart:
        return self._finder.start()

    def part(self, window: CheckedWindow) -> UsesPart:
        return self._finder.part(window)

    def merge(self, first: UsesPart, second: UsesPart) -> UsesPart:
        return self._finder.merge(first, second)

    def finish(self, part: UsesPart) -> TonesOnSpread:
        ground, limit = self._ground, self._ground.limits.ink_limit_pct
        judged = check_tones(
            ground.tone_condition,
            ground.book.tones,
            ink_limit_pct=None if limit is None else limit.value,
        )
        return TonesOnSpread(judged=judged, found=self._finder.finish(part))

    def findings(self, result: TonesOnSpread, trials: Trials) -> tuple[Finding, ...]:
        return result.judged.findings

    def told(self, result: TonesOnSpread) -> tuple[Finding, ...]:
        return result.judged.findings

    def answer(self, result: TonesOnSpread) -> Answer:
        judged, found = result.judged, result.found
        return replace(
            answer_of(judged.facts, judged.pairs, found),
            movable=tones_told(judged.facts),
        )
