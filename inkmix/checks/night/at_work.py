"""The night areas of a spread, at work: all of them in one pass."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from inkmix.base.errors import Fault
from inkmix.checks.check import Answer, Ground, OpenedCheck
from inkmix.checks.finding import FAIL, UNSURE, Finding
from inkmix.checks.night.answer import answer_of
from inkmix.checks.night.check import NightPart, NightResult
from inkmix.checks.night.facts import NightFacts
from inkmix.checks.night.mending import NightMender
from inkmix.checks.night.on_spread import NightOnSpread, guessed_masks, notes_of, open_nights
from inkmix.checks.night.papers import other_papers
from inkmix.checks.night.remedies import night_remedies
from inkmix.checks.orders.check import NightAtHand
from inkmix.checks.trials.trials import Guard, Trials
from inkmix.checks.window import CheckedWindow, Counts
from inkmix.plates.masks.inverted import SuspectedMask

MOST_SEARCHED = 20
"""Night areas of a spread that remedies are searched for: a search takes a third of a second."""


def opened(ground: Ground, *, unasked: Answer) -> "OpenedNights | None":
    """The night areas that a spread must hold; None where there are none.

    `unasked` is the answer where its own masks mark nothing.

    Raises
    ------
    InkmixError
        With the faults of all masks.
    """
    nights = open_nights(ground)
    return OpenedNights(ground, nights, unasked) if nights else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightsPart:
    """Some windows of all areas, and what they show of masks whose polarity nobody told."""

    areas: tuple[NightPart, ...]
    suspicion: Counts


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NightsResult:
    """Each area judged, and masks that look inverted."""

    areas: tuple[NightResult, ...]
    inverted: tuple[SuspectedMask, ...]


class OpenedNights(OpenedCheck[NightsPart, NightsResult]):
    """The night areas of one spread."""

    def __init__(self, ground: Ground, nights: Sequence[NightOnSpread], unasked: Answer) -> None:
        self._ground, self._unasked = ground, unasked
        self._nights = tuple(night for night in nights if night.is_there)
        self._papers = cache(partial(other_papers, ground.book, ground.condition))
        self._guessed = guessed_masks(self._nights, ground)
        self._notes = notes_of(nights, ground.sheet)

    def start(self) -> NightsPart:
        areas = tuple(night.check.start() for night in self._nights)
        return NightsPart(areas=areas, suspicion=self._guessed.start())

    def part(self, window: CheckedWindow) -> NightsPart:
        return NightsPart(
            areas=tuple(
                night.check.part(window, night.mask.read(window.rows, window.cols, window.planes))
                for night in self._nights
            ),
            suspicion=self._guessed.part(
                window.rows, window.cols, window.for_colour, window.lightness
            ),
        )

    def merge(self, first: NightsPart, second: NightsPart) -> NightsPart:
        pairs = zip(self._nights, first.areas, second.areas, strict=True)
        return NightsPart(
            areas=tuple(night.check.merge(one, other) for night, one, other in pairs),
            suspicion=first.suspicion + second.suspicion,
        )

    def finish(self, part: NightsPart) -> NightsResult:
        areas = zip(self._nights, part.areas, strict=True)
        return NightsResult(
            areas=tuple(night.check.finish(counted) for night, counted in areas),
            inverted=self._guessed.finish(part.suspicion),
        )

    def faults(self, result: NightsResult) -> tuple[Fault, ...]:
        return tuple(mask.fault for mask in result.inverted if mask.is_sure)

    def guards(self, result: NightsResult) -> tuple[Guard, ...]:
        return tuple(
            Guard(check=night.check, result=one, mask=night.mask)
            for night, one in zip(self._nights, result.areas, strict=True)
        )

    def findings(self, result: NightsResult, trials: Trials) -> tuple[Finding, ...]:
        return tuple(self._with_remedies(result.areas, trials))

    def told(self, result: NightsResult) -> tuple[Finding, ...]:
        return tuple(area.finding for area in result.areas)

    def menders(self, result: NightsResult) -> tuple[NightMender, ...]:
        skipped = not_searched([area.facts for area in result.areas])
        pairs = enumerate(zip(self._nights, result.areas, strict=True))
        return tuple(
            NightMender(check=night.check, result=area, papers=self._papers)
            for index, (night, area) in pairs
            if index not in skipped
        )

    def _with_remedies(self, areas: Sequence[NightResult], trials: Trials) -> Iterator[Finding]:
        skipped = not_searched([area.facts for area in areas])
        for index, (night, area) in enumerate(zip(self._nights, areas, strict=True)):
            if index in skipped:
                yield area.finding
                continue
            remedies = night_remedies(night.check, area, trials, papers=self._papers)
            yield replace(area.finding, remedies=remedies)

    def answer(self, result: NightsResult) -> Answer:
        facts = [area.facts for area in result.areas]
        return replace(
            answer_of(facts) if facts else self._unasked,
            notes=(
                *(mask.note for mask in result.inverted),
                *self._notes,
                *search_notes(facts),
            ),
            movable=tuple(self._movable(result.areas)),
        )

    def _movable(self, areas: Sequence[NightResult]) -> Iterator[NightAtHand]:
        for night, area in zip(self._nights, areas, strict=True):
            yield NightAtHand(
                name=night.check.name,
                counts=area.counts,
                outcome=area.outcome,
                lightest_L=night.check.lightest_L,
                share_pct=night.check.share_pct,
            )


def not_searched(nights: Sequence[NightFacts]) -> frozenset[int]:
    """Which nights get no remedies: those that miss least, where there are too many to serve."""
    missing = [index for index, night in enumerate(nights) if night.verdict in (FAIL, UNSURE)]
    lightest = sorted(missing, key=lambda index: _excess_L(nights[index]), reverse=True)
    return frozenset(lightest[MOST_SEARCHED:])


def _excess_L(facts: NightFacts) -> float:
    return (facts.value_L or 0.0) - (facts.lightest_L or 0.0)


def search_notes(nights: Sequence[NightFacts]) -> tuple[str, ...]:
    """That remedies were not looked for everywhere, where that is so."""
    missing = sum(night.verdict in (FAIL, UNSURE) for night in nights)
    if missing <= MOST_SEARCHED:
        return ()
    return (
        f"{missing} night areas are too light or unsure; remedies were looked for in the "
        f"{MOST_SEARCHED} that miss most: correct these, then check again",
    )
