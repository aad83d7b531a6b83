"""A calibration in a few lines, for a terminal; the page says more."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from inkmix.base.words import difference, first_of, fixed, listing, number
from inkmix.base.words import mix as mix_words
from inkmix.colour.measured.conditions import left_open
from inkmix.jobs.calibrating.values import Calibration
from inkmix.pages.calibration import next_steps, words
from inkmix.pages.calibration.photograph_words import how_it_was, what_it_cannot_tell
from inkmix.pages.tables import line

_MOST = 6
_LEAST_WIDTH = 14


def calibration_lines(found: Calibration, written: Sequence[Path]) -> Iterator[str]:
    """What was read, how well it is foretold, what changes, what is written and what to do."""
    yield words.what_was_read(found)
    if found.photograph is not None:
        yield from how_it_was(found.photograph)
        yield from what_it_cannot_tell(found)
    yield from (f"note: {note}." for note in found.notes)
    yield from _left_out(found)
    yield from words.foretold(found)
    if found.scatter is not None:
        yield words.repeats(found)
    yield from _solids(found)
    yield from _mixes(found)
    yield from _still_unknown(found)
    if found.order is not None and not found.order.is_told:
        yield " ".join(words.order_words(found.order))
    yield from _drift(found)
    yield from _not_said(found)
    yield from (f"written: {path}" for path in written)
    yield from _next(found, written[0])


def _left_out(found: Calibration) -> Iterator[str]:
    if found.suspects:
        yield words.left_out(found)
        yield from (f"  {one.patch}: {one.why}" for one in found.press.left_out[:_MOST])
    if len(found.suspects) > _MOST:
        yield f"  and {len(found.suspects) - _MOST} more, named on the page"


def _solids(found: Calibration) -> Iterator[str]:
    far = [one for one in found.solids if one.de00 >= words.SEEN_DE00]
    if far:
        names = [f"{one.name} ({difference(one.de00)})" for one in far]
        used = f"the {words.read_how(found)} ones are used"
        yield f"Other than the book’s colours; {used}: {listing(names)}."


def _mixes(found: Calibration) -> Iterator[str]:
    """A table: by how much each moved, and the expected errors now and before."""
    width = max([_LEAST_WIDTH, *(len(one.name) for one in found.mixes)]) + 2
    widths = (-2, -width, 6, 9, 8, 9, 8)
    yield line(widths, "", "the book asks for", "moved", "dE00 ±", "(was)", "L* ±", "(was)")
    for one in found.mixes:
        was = f"({fixed(one.was_de00)})", f"({fixed(one.was_L)})"
        figures = fixed(one.moved_de00), fixed(one.de00), was[0], fixed(one.L), was[1]
        yield line(widths, "", one.name, *figures)


def _still_unknown(found: Calibration) -> Iterator[str]:
    if found.thin:
        worst = [f"{mix_words(one.mix_pct)} ({number(one.de00)})" for one in found.thin]
        yield f"Known worst: {first_of(worst[:3], most=3)}, by expected error."
    if found.to_print is not None:
        yield words.gains(found.to_print)


def _drift(found: Calibration) -> Iterator[str]:
    if found.drift is None:
        return
    yield words.drift_words(found)
    for one in found.drift.mixes:
        if one.de00 >= words.SEEN_DE00:
            yield f"  {one.what}: {words.moved_words(one)}; {words.matters(one, found.mixes)}"


def _not_said(found: Calibration) -> Iterator[str]:
    """What is unknown of the measurement, each with the line that tells it."""
    asked = left_open(found.press.origin.conditions)
    if asked:
        yield (
            "Unknown of how it was measured (a line at the head of the readings tells it, in CSV "
            "behind a #; the page says why it matters):"
        )
        yield from (f"  whether {one.called}: {one.line}" for one in asked)


def _next(found: Calibration, path: Path) -> Iterator[str]:
    for one in next_steps.to_do(found, next_steps.naming(found, path)):
        yield f"Next: {one.do}, {one.why}{':' if one.line else '.'}"
        if one.line:
            yield f"  [press]  {one.line}"
