"""Many mixes moved at once towards their colours, tone values in any step.

Damped Gauss-Newton steps (Levenberg 1944, Marquardt 1963) in the parts of CIEDE2000;
smallest dots, solids and the ink limit bind within each step. Slopes are measured now and then and
kept up between by Broyden's rule, for the model is what takes the time. Steps belong to settle.py.
"""

from dataclasses import dataclass

import numpy as np

from inkmix.base.arrays import BoolArray, FloatArray, IntArray
from inkmix.mixes.constraints import Constraints
from inkmix.mixes.goals import Goal
from inkmix.mixes.lattice import ONE_WAY, Model, Starts

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
    model : Model
    goal : Goal
    tone_pct : (R, I) array
    held : (R, I) array of bool
        Inks of each; the others stay at 0.
    of_set, wish : (R,) array of int
        The set of the model and the row of the goal that each belongs to.
    rivals : (R,) array of int
        Rising; rows of one number are after one thing, and the best of them counts.
    lab : (R, 3) array
        Of the tone values as they are.
    slopes : (R, 3, I) array
        Change of Lab by a percent of each ink.
    """

    model: Model
    goal: Goal
    tone_pct: FloatArray
    held: BoolArray
    of_set: IntArray
    wish: IntArray
    rivals: IntArray
    lab: FloatArray
    slopes: FloatArray

    @property
    def left(self) -> FloatArray:
        """What is left (R,)."""
        return self.goal.left(self.lab, self.wish)

    def part(self, rows: BoolArray | IntArray) -> "Rows":
        """Some of them, as copies."""
        return Rows(
            model=self.model,
            goal=self.goal,
            tone_pct=self.tone_pct[rows],
            held=self.held[rows],
            of_set=self.of_set[rows],
            wish=self.wish[rows],
            rivals=self.rivals[rows],
            lab=self.lab[rows],
            slopes=self.slopes[rows],
        )

    def put(self, rows: BoolArray, part: "Rows") -> None:
        """Some of them back where they came from."""
        self.tone_pct[rows], self.lab[rows] = part.tone_pct, part.lab
        self.slopes[rows] = part.slopes


def relaxed(
    model: Model,
    constraints: Constraints,
    goal: Goal,
    starts: Starts,
    *,
    rounds: int = len(_MARGINS),
) -> Rows:
    """Mixes as near to their goal as steps downhill lead from where they start.

    A row that falls behind the best of its rivals by BEHIND_DE00 is let go.

    Returns
    -------
    Rows
        Those that were not let go; of sets that mix a colour in one way, the best.
    """
    rows = begun(model, goal, starts)
    live = np.asarray(rows.held.any(axis=1), dtype=np.bool_)
    left, damping = rows.left, np.full(len(rows.lab), _FIRST_DAMPING)
    for margin in _MARGINS[:rounds]:
        if not live.any():
            break
        part = rows.part(live)
        before = left[live]
        damping[live] = _one_round(constraints, part, damping[live])
        rows.put(live, part)
        left[live] = part.left
        moved = left[live] < before - _NEAR_ENOUGH_DE00
        can_move = moved | (damping[live] < _GREATEST_DAMPING)
        live[live] = (left[live] > _NEAR_ENOUGH_DE00) & can_move
        live &= worth_going_on(rows, left, margin * BEHIND_DE00)
    return rows.part(worth_going_on(rows, left, BEHIND_DE00))


def begun(model: Model, goal: Goal, starts: Starts) -> Rows:
    """The rows where they start."""
    return Rows(
        model=model,
        goal=goal,
        tone_pct=starts.tone_pct.copy(),
        held=starts.held,
        of_set=starts.of_set,
        wish=starts.wish,
        rivals=starts.rivals,
        lab=model.lab(starts.tone_pct, starts.of_set),
        slopes=np.zeros((len(starts.tone_pct), 3, starts.held.shape[1])),
    )


def worth_going_on(rows: Rows, left: FloatArray, behind_de00: float) -> BoolArray:
    """Rows (R,) that are not too far behind, of sets that mix a colour in one way the best."""
    near = left <= _best_of_rivals(left, rows.rivals) + behind_de00
    return _best_of_sets(rows, left, near)


def _best_of_rivals(left: FloatArray, rivals: IntArray) -> FloatArray:
    """The least (R,) that any rival of each row leaves."""
    first = np.flatnonzero(np.diff(rivals, prepend=-1))
    least = np.minimum.reduceat(left, first)
    return np.asarray(np.repeat(least, np.diff(first, append=len(left))), dtype=np.float64)


def _best_of_sets(rows: Rows, left: FloatArray, kept: BoolArray) -> BoolArray:
    """Which of the rows that are kept (R,) come nearest with their inks."""
    numbers = rows.held @ (1 << np.arange(rows.held.shape[1]))
    many = rows.held.sum(axis=1) > ONE_WAY
    ways = np.where(many[:, None], rows.tone_pct // _OTHER_WAY_PCT + 1, 0)
    keys = np.column_stack([rows.rivals, numbers, ways]).astype(np.int64)
    order = np.lexsort((left, *keys.T[::-1]))
    order = order[kept[order]]
    same = (np.diff(keys[order], axis=0, prepend=-1) == 0).all(axis=1)
    best = np.zeros(len(left), dtype=np.bool_)
    best[order[~same]] = True
    return best


def _one_round(constraints: Constraints, rows: Rows, damping: FloatArray) -> FloatArray:
    """Slopes measured, then some steps; the damping (R,) that is left."""
    rows.slopes = _measured_slopes(rows)
    left = rows.left
    for _ in range(_STEPS):
        step = _step(rows, constraints, damping)
        moved = np.clip(rows.tone_pct + step, constraints.floor_pct, 100)
        tones = np.where(rows.held, moved, 0.0)
        lab = rows.model.lab(tones, rows.of_set)
        _keep_up(rows.slopes, tones - rows.tone_pct, lab - rows.lab)
        now = rows.goal.left(lab, rows.wish)
        better = (now < left) & (tones.sum(axis=1) <= constraints.limit_pct + 1e-6)
        rows.tone_pct[better], rows.lab[better] = tones[better], lab[better]
        left = np.where(better, now, left)
        damping = np.clip(np.where(better, damping / 4, damping * 30), 1e-6, _GREATEST_DAMPING)
    return damping


def _measured_slopes(rows: Rows) -> FloatArray:
    """Change of Lab (R, 3, I) by a percent of each ink that is held."""
    slopes = np.zeros((len(rows.lab), 3, rows.held.shape[1]))
    row, ink = np.nonzero(rows.held)
    nudge = np.where(rows.tone_pct[row, ink] > 100 - _NUDGE_PCT, -_NUDGE_PCT, _NUDGE_PCT)
    tones = rows.tone_pct[row]
    tones[np.arange(len(row)), ink] += nudge
    changed = rows.model.lab(tones, rows.of_set[row]) - rows.lab[row]
    slopes[row, :, ink] = changed / nudge[:, None]
    return slopes


def _keep_up(slopes: FloatArray, moved: FloatArray, changed: FloatArray) -> None:
    """Slopes corrected by what a move really changed (Broyden 1965)."""
    length2 = (moved**2).sum(axis=1)
    missed = changed - (slopes @ moved[:, :, None])[:, :, 0]
    share = missed / np.maximum(length2, 1e-12)[:, None]
    slopes += np.where(length2 > 1e-6, 1.0, 0.0)[:, None, None] * share[:, :, None] * moved[:, None]


def _step(rows: Rows, constraints: Constraints, damping: FloatArray) -> FloatArray:
    """The step (R, I) to the least weighted difference, as the slopes have it.

    Inks that would leave are held at their bound, a total that would pass is held at the limit, and
    the rest is solved again.
    """
    away, weights = rows.goal.downhill(rows.lab, rows.wish)
    slopes = weights @ rows.slopes
    normal = slopes.transpose(0, 2, 1) @ slopes
    pull = -(slopes.transpose(0, 2, 1) @ away[:, :, None])[:, :, 0]
    size = np.maximum(rows.held.sum(axis=1), 1)
    mean_square = np.trace(normal, axis1=1, axis2=2) / size
    normal += (damping * mean_square + 1e-12)[:, None, None] * np.eye(constraints.inks)
    bound = np.zeros_like(rows.tone_pct)
    free, tight = rows.held.copy(), np.zeros(len(pull), dtype=np.bool_)
    spare = constraints.limit_pct - rows.tone_pct.sum(axis=1)
    step = bound
    for _ in range(constraints.inks + 1):
        step = _solved(normal, pull, free=free, bound=bound, tight=tight, spare=spare)
        tones = rows.tone_pct + step
        low, high = free & (tones < constraints.floor_pct - 1e-9), free & (tones > 100 + 1e-9)
        over = ~tight & (step.sum(axis=1) > spare + 1e-9)
        if not (low.any() or high.any() or over.any()):
            break
        bound = np.where(low, constraints.floor_pct - rows.tone_pct, bound)
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
