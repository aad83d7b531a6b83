"""A palette measured in full: every figure from the exact model of its own inks, all at once."""

from types import MappingProxyType

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.constraints import constraints_omitting
from inkmix.mixes.goals import Darkness, Nearness
from inkmix.mixes.palettes.distinct import count_different, grid_of_mixes, hull_volume
from inkmix.mixes.palettes.measures import MEASURES, points_of
from inkmix.mixes.palettes.mixtures import differences, mixtures_of
from inkmix.mixes.palettes.shortlist import grey_of, solids_chroma
from inkmix.mixes.palettes.task import Task
from inkmix.mixes.palettes.values import Measured
from inkmix.mixes.search import darkest_of_each, nearest_of_each
from inkmix.mixes.values import as_mixes
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.expected import ExpectedError

_ALONG = (0, 21, 21, 11, 7, 5, 4, 3, 3)  # tone values along each ink, by the number of inks
_VOLUME_UNIT = 1000.0
INK_WORTH = 1e-4
"""dE00 or L* that a percent of ink is worth: decides between equals only."""

_DARKEST = Darkness(hue=np.zeros(2), wanted=False, ink_worth=INK_WORTH)


def condition_of(task: Task, members: IntArray) -> PressCondition:
    """The press condition of a palette (I,), told by its inks alone."""
    inks = [task.inks[member] for member in members]
    return press_condition(task.wish.paper, inks, process=task.wish.process)


def measure(task: Task, members: IntArray) -> list[Measured]:
    """All figures of palettes (P, I)."""
    tones = best_tones(task, members)
    return [_measured(task, *palette) for palette in zip(members, tones, strict=True)]


def _measured(task: Task, members: IntArray, tones: FloatArray) -> Measured:
    """All figures of a palette (I,) by its best tone values (T + 1, I)."""
    condition = condition_of(task, members)
    lab = condition.lab(tones)
    de00 = delta_e00(lab[:-1], task.goals)
    bounds = condition.expected_error(tones)
    chosen = members[~np.isin(members, task.fixed)]
    figures = {
        **_of_tones(task, de00),
        **_of_darkest(lab[-1]),
        **_of_mixes(condition, task),
        "solids_chroma": float(solids_chroma(task, chosen[None])[0]),
        "grey_steps": float(grey_of(task, members[None])[0]),
        "error_de00": _mean_error(task, bounds),
    }
    figures = {name: figures[name] for name in MEASURES if name in figures}
    points = {
        name: float(points_of(name, np.array(figure), task.weights[name]))
        for name, figure in figures.items()
    }
    *nearest, darkest = as_mixes(condition, tones, lab, [*de00.tolist(), None], bounds)
    return Measured(
        inks=task.names(members),
        figures=MappingProxyType(figures),
        points=MappingProxyType(points),
        total_points=float(sum(points.values())),
        per_tone=tuple(nearest),
        darkest=darkest,
    )


def best_tones(task: Task, members: IntArray) -> FloatArray:
    """Tone values (P, T + 1, I) of palettes (P, I) that are nearest to each wish, and darkest."""
    mixtures = mixtures_of(task.press, members)
    constraints = constraints_omitting(task.aims, inks=members.shape[1])
    lattice = mixtures.lattice(constraints, along=_ALONG)
    found = [darkest_of_each(mixtures, constraints, _DARKEST, lattice)]
    if len(task.goals):
        goal = Nearness(targets=task.goals, ink_worth=INK_WORTH)
        apart = differences(lattice.lab, task.goals)
        found.insert(0, nearest_of_each(mixtures, constraints, goal, lattice, apart))
    return np.concatenate([best.tone_pct for best in found]).swapaxes(0, 1)


def nearest_de00(task: Task, members: IntArray) -> FloatArray:
    """How near (T,) some inks (I,) come to each tone."""
    lab = condition_of(task, members).lab(best_tones(task, members[None])[0, :-1])
    return np.asarray(delta_e00(lab, task.goals))


def _of_tones(task: Task, de00: FloatArray) -> dict[str, float]:
    if not len(de00):
        return {}
    return {"tones_de00": float(de00 @ task.tone_weights), "tones_worst_de00": float(de00.max())}


def _of_darkest(lab: FloatArray) -> dict[str, float]:
    return {"darkest_L": float(lab[0]), "darkest_chroma": float(np.hypot(lab[1], lab[2]))}


def _of_mixes(condition: PressCondition, task: Task) -> dict[str, float]:
    limit = np.inf if task.aims.ink_limit_pct is None else task.aims.ink_limit_pct
    lab = condition.lab(grid_of_mixes(len(condition.inks), limit_pct=limit))
    volume = hull_volume(lab) / _VOLUME_UNIT
    return {"different_mixes": float(count_different(lab)), "gamut_volume": volume}


def _mean_error(task: Task, bounds: ExpectedError) -> float:
    """Over the wished tones by their weights, the darkest mix counting as one of them."""
    count = len(task.tone_weights)
    return float((bounds.de00[:-1] @ task.tone_weights * count + bounds.de00[-1]) / (count + 1))
