"""Steps of a ramp: from the smallest dot to the solid, closer where dots gain much.

How far apart they lie follows from the process; nothing is said of where they are printed.
"""

import numpy as np

from inkmix.base.arrays import FloatArray
from inkmix.press.condition import PressCondition
from inkmix.press.processes import Process

STEP_PCT = 12.0
"""Between tints whose dots do not gain: nine steps a ramp. Chosen."""
STEP_IN_DOTS = 4.0
"""Of a process with large dots, in its smallest dots: such a ramp has less to tell. Chosen."""
CLOSER_PCT = 20.0
"""Of such a tone value increase steps are half as wide. Chosen."""
_READ = 201
_LEAST_STEPS = 4


def ramp_steps(condition: PressCondition, ink: int) -> tuple[float, ...]:
    """Tone values of an ink's ramp, whole percents, rising to 100."""
    process = condition.process
    tones = np.linspace(process.min_tone_pct, 100, _READ)
    density = (1 + _increase_pct(condition, ink, tones) / CLOSER_PCT) / _step_pct(process)
    between = (density[1:] + density[:-1]) / 2 * np.diff(tones)
    passed = np.concatenate([[0.0], np.cumsum(between)])
    count = max(round(float(passed[-1])), _LEAST_STEPS)
    steps = np.interp(np.linspace(0, passed[-1], count + 1), passed, tones)
    return tuple(sorted({float(step) for step in np.rint([*steps, process.max_tone_pct, 100])}))


def _increase_pct(condition: PressCondition, ink: int, tones: FloatArray) -> FloatArray:
    """By how much tints (S,) are taken to gain on this press."""
    rows = np.zeros((len(tones), len(condition.inks)))
    rows[:, ink] = tones
    gained = 100 * condition.coverage(rows)[:, ink] - tones
    return np.asarray(np.maximum(gained, 0), dtype=np.float64)


def _step_pct(process: Process) -> float:
    return max(STEP_PCT, STEP_IN_DOTS * process.min_tone_pct)
