"""Many mixes moved at once towards their colours, tone values in any step.

Damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) in the parts of CIEDE2000;
smallest dots, solids and the ink limit bind within each step. Slopes are measured now and then and
kept up between by Broyden's rule, for the model is what takes the time. Steps belong to settle.py.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.lattice import ONE_WAY
from inkmix.mixes.nearness import away_and_weights
from inkmix.mixes.room import Room
from inkmix.press.condition import PressCondition

_STEPS = 2  # after each measurement
_OTHER_WAY_PCT = 8.0  # mixes of the same inks that lie so far apart are other ways
_NEAR_ENOUGH_DE00 = 0.01
_MARGINS = (3.0, 2.0, 1.0, 1.0)  # of BEHIND_DE00, by round: early ones are not there yet
BEHIND_DE00 = 2.0
"""So much farther than the nearest mix, no other set of inks is worth telling."""

_NUDGE_PCT = 0.5
_FIRST_DAMPING = 1e-3  # of the mean square slope
_GREATEST_DAMPING = 1e3


@dataclass(slots=True, kw_only=True, eq=False)
class Rows:
    """Mixes on their way, R of them; changed in place.

    Parameters
    ----------
    tone_pct : (R, I) array
    held : (R, I) array of bool
        Inks of each; the others stay at 0.
    colour : (R,) array of int
    target : (R, 3) array
        Which colour each goes for, and its Lab.
    lab : (R, 3) array
        Of the tone values as they are.
    slopes : (R, 3, I) array
        Change of Lab by a percent of each ink.
    """

    tone_pct: FloatArray
    held: BoolArray
    colour: IntArray
    target: FloatArray
    lab: FloatArray
    slopes: FloatArray

    @property
    def de00(self) -> FloatArray:
        """What is left (R,)."""
        return delta_e00(self.lab, self.target)

    def part(self, rows: BoolArray | IntArray) -> "Rows":
        """Some of them, as copies."""
        return Rows(
            tone_pct=self.tone_pct[rows],
            held=self.held[rows],
            colour=self.colour[rows],
            target=self.target[rows],
            lab=self.lab[rows],
            slopes=self.slopes[rows],
        )

    def put(self, rows: BoolArray, part: "Rows") -> None:
        """Some of them back where they came from."""
        self.tone_pct[rows], self.lab[rows] = part.tone_pct, part.lab
        self.slopes[rows] = part.slopes


def relaxed(
    condition: PressCondition,
    room: Room,
    *,
    tone_pct: FloatArray,
    held: BoolArray,
    colour: IntArray,
    targets: FloatArray,
) -> Rows:
    """Mixes (R, I) of the inks held (R, I), as near to their colours as steps downhill lead.

    Parameters
    ----------
    colour : (R,) array of int
        Row of `targets` (T, 3) that each goes for, rising; one that falls behind the best of its
        colour by BEHIND_DE00 is let go.

    Returns
    -------
    Rows
        Those that were not let go; of sets that mix a colour in one way, the best.
    """
    rows = Rows(
        tone_pct=tone_pct.copy(),
        held=held,
        colour=colour,
        target=targets[colour],
        lab=condition.lab(tone_pct),
        slopes=np.zeros((len(tone_pct), 3, room.inks)),
    )
    live = np.asarray(held.any(axis=1), dtype=np.bool_)
    left = rows.de00
    for margin in _MARGINS:
        if not live.any():
            break
        part = rows.part(live)
        before = left[live]
        _one_round(condition, room, part)
        rows.put(live, part)
        left[live] = part.de00
        live[live] = (left[live] > _NEAR_ENOUGH_DE00) & (left[live] < before - _NEAR_ENOUGH_DE00)
        live &= worth_going_on(rows, left, margin * BEHIND_DE00)
    return rows.part(worth_going_on(rows, left, BEHIND_DE00))


def worth_going_on(rows: Rows, left: FloatArray, behind_de00: float) -> BoolArray:
    """Rows (R,) that are not too far behind, of sets that mix a colour in one way the best."""
    near = left <= _best_of_colour(left, rows.colour) + behind_de00
    return _best_of_sets(rows, left, near)


def _best_of_colour(left: FloatArray, colour: IntArray) -> FloatArray:
    """The least (R,) that is left for the colour of each row."""
    first = np.flatnonzero(np.diff(colour, prepend=-1))
    least = np.minimum.reduceat(left, first)
    return np.asarray(np.repeat(least, np.diff(first, append=len(left))), dtype=np.float64)


def _best_of_sets(rows: Rows, left: FloatArray, kept: BoolArray) -> BoolArray:
    """Which of the rows that are kept (R,) come nearest with their inks."""
    numbers = rows.held @ (1 << np.arange(rows.held.shape[1]))
    many = rows.held.sum(axis=1) > ONE_WAY
    ways = np.where(many[:, None], rows.tone_pct // _OTHER_WAY_PCT + 1, 0)
    keys = np.column_stack([rows.colour, numbers, ways]).astype(np.int64)
    order = np.lexsort((left, *keys.T[::-1]))
    order = order[kept[order]]
    same = (np.diff(keys[order], axis=0, prepend=-1) == 0).all(axis=1)
    best = np.zeros(len(left), dtype=np.bool_)
    best[order[~same]] = True
    return best


def _one_round(condition: PressCondition, room: Room, rows: Rows) -> None:
    """Slopes measured, then some steps."""
    rows.slopes = measured_slopes(condition, rows)
    damping = np.full(len(rows.lab), _FIRST_DAMPING)
    left = rows.de00
    for _ in range(_STEPS):
        step = _step(rows, room, damping)
        tones = np.where(rows.held, np.clip(rows.tone_pct + step, room.least_pct, 100), 0.0)
        lab = condition.lab(tones)
        _keep_up(rows.slopes, tones - rows.tone_pct, lab - rows.lab)
        now = delta_e00(lab, rows.target)
        better = (now < left) & (tones.sum(axis=1) <= room.limit_pct + 1e-6)
        rows.tone_pct[better], rows.lab[better] = tones[better], lab[better]
        left = np.where(better, now, left)
        damping = np.clip(np.where(better, damping / 4, damping * 30), 1e-6, _GREATEST_DAMPING)


def measured_slopes(condition: PressCondition, rows: Rows) -> FloatArray:
    """Change of Lab (R, 3, I) by a percent of each ink that is held."""
    slopes = np.zeros((len(rows.lab), 3, rows.held.shape[1]))
    row, ink = np.nonzero(rows.held)
    nudge = np.where(rows.tone_pct[row, ink] > 100 - _NUDGE_PCT, -_NUDGE_PCT, _NUDGE_PCT)
    tones = rows.tone_pct[row]
    tones[np.arange(len(row)), ink] += nudge
    here = condition.lab(rows.tone_pct)
    slopes[row, :, ink] = (condition.lab(tones) - here[row]) / nudge[:, None]
    return slopes


def _keep_up(slopes: FloatArray, moved: FloatArray, changed: FloatArray) -> None:
    """Slopes corrected by what a move really changed (Broyden 1965)."""
    length2 = (moved**2).sum(axis=1)
    missed = changed - (slopes @ moved[:, :, None])[:, :, 0]
    share = missed / np.maximum(length2, 1e-12)[:, None]
    slopes += np.where(length2 > 1e-6, 1.0, 0.0)[:, None, None] * share[:, :, None] * moved[:, None]


def _step(rows: Rows, room: Room, damping: FloatArray) -> FloatArray:
    """The step (R, I) to the least weighted difference, as the slopes have it, within the room.

    Inks that would leave are held at their bound, a total that would pass is held at the limit, and
    the rest is solved again.
    """
    away, weights = away_and_weights(rows.lab, rows.target)
    slopes = weights @ rows.slopes
    normal = slopes.transpose(0, 2, 1) @ slopes
    pull = -(slopes.transpose(0, 2, 1) @ away[:, :, None])[:, :, 0]
    size = np.maximum(rows.held.sum(axis=1), 1)
    mean_square = np.trace(normal, axis1=1, axis2=2) / size
    normal += (damping * mean_square + 1e-12)[:, None, None] * np.eye(room.inks)
    bound = np.zeros_like(rows.tone_pct)
    free, tight = rows.held.copy(), np.zeros(len(pull), dtype=np.bool_)
    spare = room.limit_pct - rows.tone_pct.sum(axis=1)
    step = bound
    for _ in range(room.inks + 1):
        step = _solved(normal, pull, free=free, bound=bound, tight=tight, spare=spare)
        tones = rows.tone_pct + step
        low, high = free & (tones < room.least_pct - 1e-9), free & (tones > 100 + 1e-9)
        over = ~tight & (step.sum(axis=1) > spare + 1e-9)
        if not (low.any() or high.any() or over.any()):
            break
        bound = np.where(low, room.least_pct - rows.tone_pct, bound)
        bound = np.where(high, 100 - rows.tone_pct, bound)
        free &= ~(low | high)
        tight |= over
    return step


def _solved(
    normal: FloatArray,
    pull: FloatArray,
    *,
    free: BoolArray,
    bound: FloatArray,
    tight: BoolArray,
    spare: FloatArray,
) -> FloatArray:
    """Steps (R, I) of the free inks, the others at their bound, the total at its bound if tight."""
    rows, inks = pull.shape
    system = np.zeros((rows, inks + 1, inks + 1))
    system[:, :inks, :inks] = np.where(free[:, :, None], normal, np.eye(inks))
    binds = tight & free.any(axis=1)
    system[:, :inks, inks] = free & binds[:, None]
    system[:, inks, :inks] = binds[:, None]
    system[:, inks, inks] = ~binds
    right = np.zeros((rows, inks + 1))
    right[:, :inks] = np.where(free, pull, bound)
    right[:, inks] = np.where(binds, spare, 0.0)
    solution = np.linalg.solve(system, right[:, :, None])[:, :inks, 0]
    return np.asarray(solution, dtype=np.float64)
