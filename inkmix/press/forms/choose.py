"""All patches of a form, each once: what is printed, what for, and what is left out.

How often each is printed, and in which order, is a matter of the sheet.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from inkmix.press.forms.mixes import as_if_measured, darks, tints
from inkmix.press.forms.ramps import ramp_steps
from inkmix.press.forms.solids import solid_overprints
from inkmix.press.forms.values import (
    NAMED,
    PAPER,
    RAMP,
    FormInks,
    Mix,
    Patch,
    as_mix,
    held8,
)

DARKS = 12
TINTS_PER_PLATE, MOST_TINTS = 10, 60
SMALL = (10, 20, 40)
BATCH = 10
_ALIKE_PCT = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What a form prints.

    Parameters
    ----------
    patches : tuple of Patch
        Each once, in the order of their use within a kind.
    over_limit : tuple of tuple of str
        Names of the inks of solid overprints that the sheet cannot carry.
    """

    patches: tuple[Patch, ...]
    over_limit: tuple[tuple[str, ...], ...] = ()

    def of_kind(self, *kinds: str) -> tuple[Patch, ...]:
        """Those of some kinds, in their order."""
        return tuple(patch for patch in self.patches if patch.kind in kinds)


def full_form(inks: FormInks, *, named: Iterable[tuple[str, Mix]] = ()) -> Choice:
    """Paper, ramps, solid overprints, darks, named tones, and the tints that teach most.

    Parameters
    ----------
    named : iterable of (name, tone values)
        Mixes that the book names; those that the sheet cannot carry are left out.
    """
    always = _paper_and_ramps(inks)
    solids, over = solid_overprints(inks)
    mixed = _without_twins([*solids, *darks(inks, count=DARKS), *_named(inks, named)])
    told = [patch.tone_pct for patch in (*always, *mixed)]
    count = min(TINTS_PER_PLATE * len(inks.plates), MOST_TINTS)
    return Choice(
        patches=(*always, *mixed, *tints(inks, told=told, count=count)),
        over_limit=tuple(tuple(map(inks.name, chosen)) for chosen in over),
    )


def small_form(inks: FormInks, *, count: int) -> Choice:
    """Paper, ramps and so many tints, the most telling first."""
    always = _paper_and_ramps(inks)
    told = [patch.tone_pct for patch in always]
    return Choice(patches=(*always, *tints(inks, told=told, count=count)))


def expected_de00(inks: FormInks, patches: Sequence[Patch], mixtures: Sequence[Mix]) -> float:
    """Mean of the expected errors of mixtures (95 %, dE00) once these patches are measured."""
    told = np.array([patch.tone_pct for patch in patches], dtype=np.float64)
    known = as_if_measured(inks.condition, told)
    return float(known.expected_error(np.array(mixtures)).de00.mean())


def expected_by_batch(
    inks: FormInks, choice: Choice, mixtures: Sequence[Mix]
) -> tuple[tuple[int, float], ...]:
    """Number of patches beside the ramps, by tens, and the error that is then expected."""
    ramps, chosen = choice.of_kind(PAPER, RAMP), choice.of_kind("tint")
    counts = sorted({*range(0, len(chosen), BATCH), len(chosen)})
    return tuple(
        (count, expected_de00(inks, (*ramps, *chosen[:count]), mixtures)) for count in counts
    )


def _paper_and_ramps(inks: FormInks) -> list[Patch]:
    rows = [Patch(tone_pct=(0.0,) * len(inks.owners), kind=PAPER, why="bare paper")]
    for plate in inks.plates:
        for step in reversed(ramp_steps(inks.condition, plate)):
            row = held8(inks.tones_of([{plate: step}])[0])
            rows.append(Patch(tone_pct=as_mix(row), kind=RAMP, why=inks.name(plate)))
    return rows


def _named(inks: FormInks, named: Iterable[tuple[str, Mix]]) -> list[Patch]:
    """Named tones as plates hold them; a tone of one ink is on its ramp, or near enough."""
    patches = []
    for name, mix in named:
        row = held8(np.array(mix))
        if (row > 0).sum() >= 2 and inks.is_allowed(row[None])[0] and _is_of_plates(inks, row):
            patches.append(Patch(tone_pct=as_mix(row), kind=NAMED, why=name))
    return patches


def _is_of_plates(inks: FormInks, row: np.ndarray) -> bool:
    """Whether every double hit has the tone value of the plate that it prints."""
    return bool((row == row[list(inks.owners)]).all())


def _without_twins(patches: Iterable[Patch]) -> list[Patch]:
    """The first of those whose tone values are alike."""
    kept: list[Patch] = []
    for patch in patches:
        rows = np.array([other.tone_pct for other in kept]).reshape(-1, len(patch.tone_pct))
        if not (np.abs(rows - patch.tone_pct).max(axis=1, initial=0) < _ALIKE_PCT).any():
            kept.append(patch)
    return kept
