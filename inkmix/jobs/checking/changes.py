"""What knowing a press better changes for the nights and named tones of a spread, in sentences."""

from collections.abc import Iterator, Sequence

import numpy as np

from inkmix.base.words import difference, lightness, listing
from inkmix.checks.night.counts import night_error_L
from inkmix.checks.orders.check import Movable, NightAtHand, Told
from inkmix.checks.tones.facts import SAME_DE00
from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import PressCondition

_SHOWN = 0.05  # of L*: less is the same figure
_SURER_DE00 = 0.3


def what_changes(
    now: PressCondition, before: PressCondition, movable: Sequence[Movable], *, by: str
) -> Iterator[str]:
    """By how much nights and tones are predicted otherwise, and how sure they are and were.

    Parameters
    ----------
    by : str
        What is known now, as the sentences begin: "with the measured colours".
    """
    yield from _of_nights(now, before, [one for one in movable if isinstance(one, NightAtHand)], by)
    yield from _of_tones(now, before, [one for one in movable if isinstance(one, Told)], by)


def _of_nights(
    now: PressCondition, before: PressCondition, nights: Sequence[NightAtHand], by: str
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
            f"{by} {night.name} is predicted {moved}, sure to "
            f"{lightness(is_L)} where it was {lightness(was_L)}"
        )


def _of_tones(
    now: PressCondition, before: PressCondition, tones: Sequence[Told], by: str
) -> Iterator[str]:
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
        yield f"{by} other tones are predicted: {listing(changed)}"
    elif tones:
        yield f"{by} no named tone changes by {difference(SAME_DE00)} or more"
