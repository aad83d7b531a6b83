"""Which mixes to print next, and what they would gain."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.press.condition import PressCondition
from inkmix.press.forms.mixes import as_if_measured, next_tints
from inkmix.press.forms.values import FormInks

MIXES = 10
_ALIKE_PCT = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NextMix:
    """A mix to print, its predicted colour, and how far that may be off now (95 %)."""

    mix_pct: Mapping[str, float]
    lab: FloatArray
    de00: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NextMixes:
    """Mixes that teach most, and the mean expected error (95 %, dE00) of others by them.

    Parameters
    ----------
    mixes : tuple of NextMix
        The most telling first.
    all_de00, all_then_de00 : float
        Of tints of two to four inks within the ink limit, now and once these are measured.
    asked_de00, asked_then_de00 : float
        Of what the book asks for.
    unread : tuple of str
        What the book asks for and nobody read: named tones, the darkest mix.
    """

    mixes: tuple[NextMix, ...]
    all_de00: float
    all_then_de00: float
    asked_de00: float
    asked_then_de00: float
    unread: tuple[str, ...]


def mixes_to_print(
    condition: PressCondition,
    asked: Sequence[tuple[str, FloatArray]],
    *,
    ink_limit_pct: float | None,
) -> NextMixes | None:
    """What to print next; None where there is nothing to mix.

    Parameters
    ----------
    condition : PressCondition
        Its inks are those that were read.
    asked : sequence of (name, tone values (I,))
        What the book asks for of these inks.
    """
    inks = FormInks(
        condition=condition,
        owners=tuple(range(len(condition.inks))),
        ink_limit_pct=ink_limit_pct,
    )
    wanted = np.array([row for _, row in asked]).reshape(-1, len(condition.inks))
    rows, others = next_tints(inks, wanted=wanted, count=MIXES)
    if not len(rows):
        return None
    then = as_if_measured(condition, rows)
    bound = condition.expected_error(rows).de00
    return NextMixes(
        mixes=tuple(
            NextMix(mix_pct=condition.mix_of(row), lab=condition.lab(row), de00=float(off))
            for row, off in zip(rows, bound, strict=True)
        ),
        all_de00=_mean_de00(condition, others),
        all_then_de00=_mean_de00(then, others),
        asked_de00=_mean_de00(condition, wanted),
        asked_then_de00=_mean_de00(then, wanted),
        unread=tuple(name for name, row in asked if not _is_read(row, condition)),
    )


def _mean_de00(condition: PressCondition, rows: FloatArray) -> float:
    return float(condition.expected_error(rows).de00.mean()) if len(rows) else 0.0


def _is_read(row: FloatArray, condition: PressCondition) -> bool:
    """Whether a mix was read, or can be read off a ramp."""
    if (row > 0).sum() < 2:
        return True
    if condition.patches is None:
        return False
    return bool((np.abs(condition.patches.tone_pct - row).max(axis=1) < _ALIKE_PCT).any())
