"""What taking over changes in the expected error, and which reading would take most off it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from inkmix.book.meant.condition import resolve_condition
from inkmix.book.values import Book
from inkmix.jobs.adopting.values import ErrorChange, NextReading
from inkmix.jobs.mix import mix_darkest
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import Ink, ink_from_ramp
from inkmix.press.paper_change import is_same_paper, put_on_paper

DARKEST = "the darkest mix under the ink limit"
_WORTH_DE00 = 0.1  # what less changes, nobody sees
_MOST_NEXT = 3

Mixes = Mapping[str, Mapping[str, float]]


def mixes_of(book: Book) -> Mixes:
    """The named tones, and the darkest mix, which stands for night: tone values of inks, %."""
    darkest = mix_darkest(book, most=1).mixes[0]
    dark = {ink: pct for ink, pct in darkest.tone_pct.items() if pct > 0}
    return {tone.name: tone.mix_pct for tone in book.tones} | {DARKEST: dark}


def error_changes(before: Book, after: Book, mixes: Mixes) -> tuple[ErrorChange, ...]:
    """Expected errors by what each of two books knows, both with the same inks."""
    old, new = resolve_condition(before), resolve_condition(after)
    here = _with_inks(new, {ink.name: put_on_paper(ink, new.paper) for ink in new.inks})
    changes = []
    for name, mix in mixes.items():
        (was, was_L), (now, now_L), (at_home, at_home_L) = (
            _error(one, mix) for one in (old, new, here)
        )
        changes.append(
            ErrorChange(
                name=name,
                mix_pct=dict(mix),
                before_de00=was,
                after_de00=now,
                before_L=was_L,
                after_L=now_L,
                paper_costs_de00=max(0.0, now - at_home),
                paper_costs_L=max(0.0, now_L - at_home_L),
            )
        )
    return tuple(changes)


def next_readings(book: Book, mixes: Mixes) -> tuple[NextReading, ...]:
    """Inks of which a measured ramp on this paper would take most off the error of some mix."""
    condition = resolve_condition(book)
    found = [one for ink in condition.inks for one in _saved_by(condition, ink, mixes)]
    found.sort(key=lambda one: -one.saves_de00)
    return tuple(found[:_MOST_NEXT])


def _saved_by(condition: PressCondition, ink: Ink, mixes: Mixes) -> Iterator[NextReading]:
    """The mix that gains most where a ramp of the ink is read; none where nothing gains."""
    if ink.known == "ramp" and is_same_paper(ink.measured_on, condition.paper):
        return
    known = _with_inks(condition, {ink.name: _as_read(condition, ink)})
    saved = {name: _error(condition, mix)[0] - _error(known, mix)[0] for name, mix in mixes.items()}
    best = max(saved, key=saved.__getitem__)
    if saved[best] >= _WORTH_DE00:
        yield NextReading(ink=ink.name, mix=best, saves_de00=saved[best])


def _as_read(condition: PressCondition, ink: Ink) -> Ink:
    """The ink as if a ramp of it, just as it is predicted, had been measured on the paper."""
    at = [one.name for one in condition.inks].index(ink.name)
    steps = np.zeros((11, len(condition.inks)))
    steps[:, at] = np.linspace(0, 100, 11)
    read = ink_from_ramp(
        ink.name, tone_pct=steps[:, at], xyz100=condition.xyz100(steps), paper=condition.paper
    )
    return replace(read, opacity=ink.opacity, character=ink.character)


def _with_inks(condition: PressCondition, inks: Mapping[str, Ink]) -> PressCondition:
    return press_condition(
        condition.paper,
        [inks.get(ink.name, ink) for ink in condition.inks],
        process=condition.process,
        patches=condition.patches,
    )


def _error(condition: PressCondition, mix: Mapping[str, float]) -> tuple[float, float]:
    """Expected error of a mix: dE00, L*."""
    tones = [mix.get(ink.name, 0.0) for ink in condition.inks]
    error = condition.expected_error(np.array(tones))
    return float(error.de00), float(error.L)
