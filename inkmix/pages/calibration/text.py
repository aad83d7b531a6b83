"""A calibration in a few lines, for a terminal."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from inkmix.base.words import count, difference, lightness, listing, percent
from inkmix.base.words import mix as mix_words
from inkmix.jobs.calibrating.values import Calibration
from inkmix.press.calibration.drift import Moved

_SEEN_DE00 = 1.0
_SHOWN = 6


def calibration_lines(found: Calibration, written: Sequence[Path]) -> Iterator[str]:
    """What was read, how well it is foretold, what changes, what is written and what to do."""
    press, readings = found.press, found.readings
    yield (
        f"{press.origin.measurements}: {count(len(readings), 'reading')} of {listing(press.names)} "
        f"on {press.paper.paper_class} paper, {len(press.mixes.rows)} mixes among them."
    )
    yield from (f"note: {note}." for note in found.notes)
    yield from _left_out(found)
    yield from _foretold(found)
    yield from _solids(found)
    yield from _mixes(found)
    yield from _order(found)
    yield from _drift(found)
    unknown = [said for said in press.origin.conditions if "does not say" in said]
    if unknown:
        yield "Ask whoever measured it:"
        yield from (f"  {said}" for said in unknown)
    yield from (f"written: {path}" for path in written)
    yield from _next(found, written[0])


def _left_out(found: Calibration) -> Iterator[str]:
    if found.suspects:
        yield f"Left out, {count(len(found.suspects), 'reading')}:"
        yield from (f"  {one.patch}: {one.why}" for one in found.press.left_out)


def _foretold(found: Calibration) -> Iterator[str]:
    if found.before is not None:
        was = found.before
        yield (
            f"Mixes as the book foretold them: {difference(was.mean_de00)} off on average, "
            f"{percent(100 * was.inside)} within the expected error."
        )
    if found.after is not None:
        now = found.after
        yield (
            f"Each mix foretold from the others: {difference(now.mean_de00)} off on average, 95 of "
            f"100 within {difference(now.p95_de00)}; {percent(100 * now.inside)} within the "
            "expected error."
        )
    else:
        yield "Too few mixes were read to say how well one is foretold from the others."
    if found.scatter is not None:
        one = found.scatter
        yield (
            f"Repeats part by {difference(one.mean_de00)} on average, "
            f"{difference(one.most_de00)} at most ({count(one.repeated, 'recipe')} read twice or "
            "more): the press across the sheet, and the instrument."
        )


def _solids(found: Calibration) -> Iterator[str]:
    far = [one for one in found.solids if one.de00 >= _SEEN_DE00]
    if far:
        yield "Measured colours that differ from the book's; the measured ones are used:"
        yield from (f"  {one.name}: {difference(one.de00)} (the book: {one.told})" for one in far)


def _mixes(found: Calibration) -> Iterator[str]:
    yield "What the book asks for:"
    for one in found.mixes:
        yield (
            f"  {one.name} ({mix_words(one.mix_pct)}): {difference(one.moved_de00)} from before; "
            f"sure to {difference(one.de00)} and {lightness(one.L)}, was "
            f"{difference(one.was_de00)} and {lightness(one.was_L)}"
        )
    if found.thin:
        worst = (f"{mix_words(one.mix_pct)} ({difference(one.de00)})" for one in found.thin[:3])
        yield f"Still known worst: {listing(list(worst))}."


def _order(found: Calibration) -> Iterator[str]:
    order = found.order
    if order is None or order.is_told:
        return
    pair = order.pairs[0]
    yield (
        f"The overprints look as if printed in another order: {listing(order.inks)}. "
        f"{pair.second} on {pair.first} is {difference(pair.as_told_de00)} from the prediction, "
        f"{pair.first} on {pair.second} would be {difference(pair.turned_de00)}. That is a hint "
        "only: ask the printer."
    )


def _drift(found: Calibration) -> Iterator[str]:
    drift = found.drift
    if drift is None:
        return
    yield f"Since {drift.since}:"
    for word, moved in (("the press", drift.basics), ("what the book asks for", drift.mixes)):
        far = [one for one in moved if one.de00 >= _SEEN_DE00][:_SHOWN]
        if not far:
            yield f"  {word}: nothing moved by {difference(_SEEN_DE00)} or more"
        yield from (f"  {_moved(one)}" for one in far)


def _moved(one: Moved) -> str:
    way = "lighter" if one.lighter_L > 0 else "darker"
    return f"{one.what}: {difference(one.de00)}, {lightness(abs(one.lighter_L))} {way}"


def _next(found: Calibration, path: Path) -> Iterator[str]:
    folder = found.book.folder
    if not path.resolve().is_relative_to(folder):
        yield f"Next: copy {path.name} into {folder} and name it in {found.book.path.name}:"
        name = path.name
    else:
        name = path.resolve().relative_to(folder).as_posix()
        if found.book.press.condition == name:
            yield f"{found.book.path.name} names this file already."
            return
        yield f"Next: name it in {found.book.path.name}, under [press]:"
    yield f'  condition = "{name}"'
