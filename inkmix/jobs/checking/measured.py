"""What the colours that a book tells of a print change in its predictions, in sentences."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from inkmix.base.words import count, difference, lightness, listing
from inkmix.base.words import mix as mix_words
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.measured import is_sure, measured_mixes
from inkmix.book.values import Book
from inkmix.checks.night.counts import night_error_L
from inkmix.checks.orders.check import Movable, NightAtHand, Told
from inkmix.checks.tones.facts import SAME_DE00
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import PressCondition

_SHOWN = 0.05  # of L*: less is the same figure
_SURER_DE00 = 0.3


def measured_notes(
    book: Book, condition: PressCondition, movable: Sequence[Movable]
) -> tuple[str, ...]:
    """How far the print was from the prediction, and what nights and tones gain by knowing it.

    Empty where the book tells no measured colour.
    """
    if not book.measured:
        return ()
    without = resolve_condition(replace(book, measured=()))
    return (
        _missed(book, without),
        *_of_nights(condition, without, [one for one in movable if isinstance(one, NightAtHand)]),
        *_of_tones(condition, without, [one for one in movable if isinstance(one, Told)]),
    )


def _missed(book: Book, without: PressCondition) -> str:
    """How far measured colours are from what would be predicted without them."""
    patches = measured_mixes(book, without.paper)
    assert patches is not None, "the book tells some"
    apart = delta_e00(without.lab(patches.tone_pct), xyz100_to_lab(patches.xyz100))
    worst, held = int(apart.argmax()), len(book.measured)
    names = mix_words(dict(book.measured[worst].mix_pct))
    colours = count(held, "measured colour")
    if held == 1:
        said = f"1 measured colour is used: {names} printed {difference(float(apart[0]))}"
        said += " from what would be predicted without it"
    else:
        said = (
            f"{colours} are used: they printed {difference(float(apart.mean()))} on average from "
            f"what would be predicted without them, {difference(float(apart[worst]))} at most "
            f"({names})"
        )
    unsure = sum(not is_sure(one) for one in book.measured)
    if not unsure:
        return said
    which = "It was" if held == 1 else f"{unsure} of them {'was' if unsure == 1 else 'were'}"
    return f"{said}. {which} read wet or by eye: that moves predictions and makes none surer"


def _of_nights(
    now: PressCondition, before: PressCondition, nights: Sequence[NightAtHand]
) -> Iterator[str]:
    for night in nights:
        if not night.counts.pixels:
            continue
        mix = night.counts.typical_mix(night.counts.quantile_level(night.share_pct))
        moved_L = float(now.lab(mix)[0] - before.lab(mix)[0])
        was_L, is_L = night_error_L(before, mix), night_error_L(now, mix)
        moved = f"{lightness(abs(moved_L))} {'darker' if moved_L < 0 else 'lighter'}"
        moved = moved if abs(moved_L) >= _SHOWN else "as before"
        yield (
            f"with the measured colours {night.name} is predicted {moved}, sure to "
            f"{lightness(is_L)} where it was {lightness(was_L)}"
        )


def _of_tones(now: PressCondition, before: PressCondition, tones: Sequence[Told]) -> Iterator[str]:
    names, changed = [ink.name for ink in now.inks], []
    for tone in tones:
        mix = np.array([tone.mix_pct.get(name, 0.0) for name in names])
        moved = float(delta_e00(now.lab(mix), before.lab(mix)))
        was, sure = (float(one.expected_error(mix).de00) for one in (before, now))
        if moved >= SAME_DE00 or abs(sure - was) >= _SURER_DE00:
            changed.append(
                f"{tone.name} by {difference(moved)} (sure to {difference(sure)}, was "
                f"{difference(was)})"
            )
    if changed:
        yield f"with the measured colours other tones are predicted: {listing(changed)}"
    elif tones:
        yield f"with the measured colours no named tone changes by {difference(SAME_DE00)} or more"
