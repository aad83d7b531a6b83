"""Total ink of a spread, at work."""

from inkmix.checks.check import Answer, Ground, OpenedCheck
from inkmix.checks.finding import Finding
from inkmix.checks.mending.ink_off import ink_off_ground
from inkmix.checks.total_ink.answer import answer_of
from inkmix.checks.total_ink.check import TotalInkCheck, TotalInkPart, TotalInkResult
from inkmix.checks.total_ink.mending import InkMender
from inkmix.checks.total_ink.remedies import with_ink_remedies
from inkmix.checks.trials.trials import Trials
from inkmix.checks.window import CheckedWindow


class OpenedTotalInk(OpenedCheck[TotalInkPart, TotalInkResult]):
    """Total ink of one spread."""

    def __init__(self, ground: Ground) -> None:
        limit = ground.limits.ink_limit_pct
        self._spread = ground
        self.check = TotalInkCheck(
            sheet=ground.sheet,
            limit_pct=None if limit is None else limit.value,
            whose="user" if limit is None else limit.whose,
            min_area_mm2=ground.book.min_area_mm2,
        )

    def start(self) -> TotalInkPart:
        return self.check.start()

    def part(self, window: CheckedWindow) -> TotalInkPart:
        return self.check.part(window)

    def merge(self, first: TotalInkPart, second: TotalInkPart) -> TotalInkPart:
        return self.check.merge(first, second)

    def finish(self, part: TotalInkPart) -> TotalInkResult:
        return self.check.finish(part)

    def findings(self, result: TotalInkResult, trials: Trials) -> tuple[Finding, ...]:
        ground = ink_off_ground(self._spread, trials.source.read)
        return with_ink_remedies(result, ground, trials)

    def menders(self, result: TotalInkResult) -> tuple[InkMender, ...]:
        return (InkMender(result=result, spread=self._spread),)

    def told(self, result: TotalInkResult) -> tuple[Finding, ...]:
        return result.findings

    def answer(self, result: TotalInkResult) -> Answer:
        return answer_of(result.facts)
