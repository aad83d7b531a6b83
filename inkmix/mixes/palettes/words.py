"""What has to be said beside the figures of a choice, in words for people."""

from collections.abc import Sequence

import numpy as np

from inkmix.base.words import count, difference, first_of, opening
from inkmix.mixes.palettes.measure import nearest_de00
from inkmix.mixes.palettes.shortlist import Shortlist
from inkmix.mixes.palettes.task import Task
from inkmix.mixes.palettes.thin import Searchable, seconds_for_all
from inkmix.mixes.palettes.values import Measured
from inkmix.mixes.values import REACH_DE00

_NAMED = 8
_UNITS = ((365.25 * 86400, "year"), (86400.0, "day"), (3600.0, "hour"), (60.0, "minute"))


def words_of(
    task: Task, tried: Searchable, left: Shortlist, ranked: Sequence[Measured]
) -> tuple[str, ...]:
    """Sentences about what was searched, tones out of reach, and what is a guess."""
    return (*_of_search(task, tried, left), *_of_tones(task, left, ranked), *_of_inks(task, ranked))


def _of_search(task: Task, tried: Searchable, left: Shortlist) -> list[str]:
    said = []
    if left.left_out:
        said.append(
            f"{opening(count(left.left_out, 'palette'))} with two blacks or without a colour "
            f"{'was' if left.left_out == 1 else 'were'} left out; fix both inks to have one."
        )
    if tried.is_all:
        return said
    return [
        *said,
        f"Trying every choice of {task.wish.k} out of {len(task.free)} inks would take about "
        f"{_about(seconds_for_all(task))}. The {len(tried.free)} inks that are of most use in the "
        f"best small sets were searched instead ({left.searched:,} palettes): a better palette "
        "may hold one of the others.",
    ]


def _about(seconds: float) -> str:
    """A time in one unit, on two cores.

    >>> _about(100), _about(1.2e5), _about(3e9)
    ('2 minutes on two cores', '33 hours on two cores', '95 years on two cores')
    """
    size, unit = next(((s, u) for s, u in _UNITS if seconds >= 2 * s), _UNITS[-1])
    amount = max(1, round(seconds / size))
    return f"{count(amount, unit)} on two cores"


def _of_tones(task: Task, left: Shortlist, ranked: Sequence[Measured]) -> list[str]:
    """Tones that no palette reaches; they stay, and count like the others."""
    if not task.wish.tones:
        return []
    found = np.array([[mix.de00 for mix in one.per_tone] for one in ranked], np.float64)
    nearest = found.min(axis=0)
    for tone in np.flatnonzero(nearest > REACH_DE00):  # nearer ones may not be among the best
        nearest[tone] = min(nearest[tone], nearest_de00(task, left.nearest[tone])[tone])
    return [
        f"No palette here reaches {tone.name}: the nearest comes within {difference(near)}."
        for tone, near in zip(task.wish.tones, nearest, strict=True)
        if near > REACH_DE00
    ]


def _of_inks(task: Task, ranked: Sequence[Measured]) -> list[str]:
    held = {name for one in ranked for name in one.inks}
    carried = [ink for ink in task.carried() if ink.name in held]
    parts = (
        ("Measured on another paper: ", [i.name for i in carried if not i.measured_on.guessed]),
        ("Nobody says on which paper: ", [i.name for i in carried if i.measured_on.guessed]),
    )
    return [
        f"{opened}{first_of(names, most=_NAMED)}. How that prints on this one is a guess, with a "
        "larger expected error."
        for opened, names in parts
        if names
    ]
