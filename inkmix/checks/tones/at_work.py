"""The named tones of a spread, at work."""

from dataclasses import replace

from inkmix.checks.check import Answer, Ground, OpenedCheck
from inkmix.checks.finding import Finding
from inkmix.checks.orders.check import tones_told
from inkmix.checks.tones.answer import answer_of
from inkmix.checks.tones.check import TonesResult, check_tones
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow


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

    def told(self, result: TonesResult) -> tuple[Finding, ...]:
        return result.findings

    def answer(self, result: TonesResult) -> Answer:
        told = answer_of(result.facts, result.pairs)
        return replace(told, movable=tones_told(result.facts))
