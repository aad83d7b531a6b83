"""Mixtures of a form: darks near the ink limit, and the tints that lower the doubt most.

Tints are chosen as if ramps and solid overprints had been measured already, since they are printed
beside them.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.evidence import level_of_ink
from inkmix.press.forms.solids import darkest_ink
from inkmix.press.forms.values import DARK, TINT, FormInks, Mix, Patch, as_mix, held8
from inkmix.press.inks import Ink, ink_from_ramp
from inkmix.press.paper_change import is_same_paper
from inkmix.press.patches import Patches, solid_row
from inkmix.press.scoring.choosing import MOST_INKS, may_be_told, mixtures_to_tell

TINTS_PCT = (40.0, 70.0, 100.0)
"""Of candidates, as published charts have them in the middle and the dark."""
DARKS_PCT = (40.0, 60.0, 80.0, 100.0)
NEAR_LIMIT = 0.85
"""A dark takes at least this share of the ink that the sheet can carry, or that its inks give."""
APART_PCT = 30.0
"""Two darks differ by as much in some ink, or are one. Chosen."""
LITTLE_BLACK_PCT = 60.0
"""Of the darkest ink, in half of the darks: in others all inks beside it look alike. Chosen."""
_SEED = 20
_ALIKE_PCT = 1.0

MOST_CANDIDATES = 1000
"""Eight inks have some 3,700, and covariances grow with them. Of eight invented inks all told 60
tints bring mixtures to dE00 3.38 of 2,000, to 3.39 of 1,000, to 3.44 of 500 and to 3.47 of 250."""


def darks(inks: FormInks, *, count: int) -> list[Patch]:
    """The darkest mixtures near the ink limit that differ, half of them with little black."""
    rows = _grid(inks, DARKS_PCT)
    rows = rows[~solid_row(rows)[0]]
    most = 100.0 * (rows > 0).sum(axis=1)
    if inks.ink_limit_pct is not None:
        most = np.minimum(most, inks.ink_limit_pct)
    rows = rows[rows.sum(axis=1) >= NEAR_LIMIT * most]
    if not len(rows):
        return []
    rows = rows[np.argsort(inks.condition.lab(rows)[:, 0], kind="stable")]
    chosen: list[FloatArray] = []
    _add_darkest(chosen, rows, count=count - count // 2)
    lean = rows[:, darkest_ink(inks)] <= LITTLE_BLACK_PCT
    _add_darkest(chosen, rows[lean], count=count)
    return [
        Patch(tone_pct=as_mix(row), kind=DARK, why=f"total ink {row.sum():.0f} %") for row in chosen
    ]


def _add_darkest(chosen: list[FloatArray], rows: FloatArray, *, count: int) -> None:
    """Take rows, which come by darkness, that differ from those chosen, until there are so many."""
    for row in rows:
        if len(chosen) == count:
            return
        if all(np.abs(row - other).max() >= APART_PCT for other in chosen):
            chosen.append(row)


def tints(inks: FormInks, *, told: Sequence[Mix], count: int) -> list[Patch]:
    """The tints that lower the doubt about all mixtures most, the most telling first.

    Parameters
    ----------
    told : sequence of tuple
        Tone values of what is printed anyway.
    """
    rows = _some(_grid(inks, TINTS_PCT))
    if not len(rows):
        return []
    given = np.array(told, dtype=np.float64).reshape(-1, rows.shape[1])
    known = _are_among(rows, given)
    there = int(may_be_told(rows, known).sum())
    if not there:
        return []
    model = as_if_measured(inks.condition, given).model
    picked = mixtures_to_tell(model, rows, known, count=min(count, there))
    return [
        Patch(tone_pct=as_mix(rows[at]), kind=TINT, why="lowers the doubt most") for at in picked
    ]


def next_tints(inks: FormInks, *, wanted: FloatArray, count: int) -> tuple[FloatArray, FloatArray]:
    """Of a press that was measured, the tints (K, I) that lower the doubt that is left most.

    Parameters
    ----------
    wanted : (W, I) array
        Mixtures that a book asks for; they count, and may be chosen, like all others.

    Returns
    -------
    tuple of (K, I) and (R, I) ndarray
        The tints, the most telling first, in whole percents; and the mixtures that nobody read.
    """
    patches = inks.condition.patches
    read = np.zeros((0, wanted.shape[1])) if patches is None else patches.tone_pct
    grid = np.concatenate([_some(_grid(inks, TINTS_PCT)), wanted]).round()
    rows = np.unique(grid[(grid > 0).sum(axis=1) >= 2], axis=0)
    known = _are_among(rows, read)
    there = int(may_be_told(rows, known).sum())
    if not there:
        return rows[:0], rows[~known]
    picked = mixtures_to_tell(inks.condition.model, rows, known, count=min(count, there))
    return rows[picked], rows[~known]


def _are_among(rows: FloatArray, others: FloatArray) -> BoolArray:
    """Which rows (N,) are among others, near enough."""
    near = [(np.abs(others - row).max(axis=1) < _ALIKE_PCT).any() for row in rows]
    return np.array(near, dtype=np.bool_)


def as_if_measured(condition: PressCondition, told: FloatArray) -> PressCondition:
    """The condition as it will be known once ramps and mixtures (P, I) are measured as predicted.

    Colours stay as they are; what shrinks is the doubt about them.
    """
    mixed = told[(told > 0).sum(axis=1) >= 2]
    patches = None
    if len(mixed):
        patches = Patches(tone_pct=mixed, xyz100=condition.xyz100(mixed))
    if condition.patches is not None:
        patches = condition.patches if patches is None else condition.patches.with_more(patches)
    inks = [_with_ramp(condition, at) for at in range(len(condition.inks))]
    return press_condition(condition.paper, inks, process=condition.process, patches=patches)


def _with_ramp(condition: PressCondition, at: int) -> Ink:
    """An ink with the ramp that is predicted of it; one whose ramp is known already as it is."""
    ink, steps = condition.inks[at], np.linspace(0, 100, 11)
    if level_of_ink(ink) == "ramps" and is_same_paper(ink.measured_on, condition.paper):
        return ink
    rows = np.zeros((len(steps), len(condition.inks)))
    rows[:, at] = steps
    ramp = ink_from_ramp(
        ink.name, tone_pct=steps, xyz100=condition.xyz100(rows), paper=condition.paper
    )
    return replace(
        ramp,
        opacity=ink.opacity,
        character=ink.character,
        over_black_xyz100=ink.over_black_xyz100,
        black_xyz100=ink.black_xyz100,
    )


def _grid(inks: FormInks, levels_pct: Sequence[float]) -> FloatArray:
    """Mixtures (N, I) of two to four plates in these tone values that the sheet can carry."""
    sizes = range(2, min(len(inks.plates), MOST_INKS) + 1)
    mixes = [
        dict(zip(chosen, tones, strict=True))
        for size in sizes
        for chosen in inks.sets(size)
        for tones in product(levels_pct, repeat=size)
    ]
    rows = held8(inks.tones_of(mixes))
    return np.asarray(rows[_carried(inks, rows)], dtype=np.float64)


def _carried(inks: FormInks, rows: FloatArray) -> BoolArray:
    return np.asarray(inks.is_allowed(rows), dtype=np.bool_)


def _some(rows: FloatArray) -> FloatArray:
    """Some candidates in place of very many, the same ones each time."""
    if len(rows) <= MOST_CANDIDATES:
        return rows
    drawn = np.random.default_rng(_SEED).choice(len(rows), MOST_CANDIDATES, replace=False)
    return rows[np.sort(drawn)]
