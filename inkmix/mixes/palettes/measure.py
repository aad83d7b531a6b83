"""A palette measured in full: every figure from the exact model of its own inks, all at once."""

from types import MappingProxyType

import numpy as np

from inkmix.base.arrays import FloatArray, IntArray
from inkmix.colour.colorimetry import WHITE_XYZ100, delta_e00
from inkmix.mixes.palettes.distinct import count_different, grid_of_mixes, hull_volume
from inkmix.mixes.palettes.measures import MEASURES, points_of
from inkmix.mixes.palettes.nearest import Sets, best_mixes, further_of, way_of
from inkmix.mixes.palettes.press import TONES_PCT
from inkmix.mixes.palettes.shortlist import grey_of, solids_chroma
from inkmix.mixes.palettes.task import Task
from inkmix.mixes.palettes.values import Measured, MixOfTone
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.expected import ExpectedError

_NODES = {1: 21, 2: 21, 3: 11, 4: 7, 5: 5, 6: 4, 7: 3, 8: 3}
_STARTS = 8
_STEPS = (16, 8, 4, 2, 1)
_POLISH = (2, 1)
_VOLUME_UNIT = 1000.0


def condition_of(task: Task, members: IntArray) -> PressCondition:
    """The press condition of a palette (I,), told by its inks alone."""
    inks = [task.inks[member] for member in members]
    return press_condition(task.wish.paper, inks, process=task.wish.process)


def measure(task: Task, members: IntArray) -> Measured:
    """All figures of a palette (I,)."""
    condition = condition_of(task, members)
    tones = best_tones(condition, task)
    lab = condition.lab(tones)
    de00 = delta_e00(lab[:-1], task.aims.goals)
    bounds = condition.expected_error(tones)
    figures = {
        **_of_tones(task, de00),
        **_of_darkest(lab[-1]),
        **_of_mixes(condition, task),
        "solids_chroma": float(solids_chroma(task, _chosen(task, members)[None])[0]),
        "grey_steps": float(grey_of(task, members[None])[0]),
        "error_de00": _mean_error(task, bounds),
    }
    figures = {name: figures[name] for name in MEASURES if name in figures}
    points = {
        name: float(points_of(name, np.array(figure), task.weights[name]))
        for name, figure in figures.items()
    }
    mixes = [_mix(condition, tones, lab, row, bounds) for row in range(len(tones))]
    named = [
        _named(mix, tone.name, float(distance))
        for mix, tone, distance in zip(mixes, task.wish.tones, de00, strict=False)
    ]
    return Measured(
        inks=task.names(members),
        figures=MappingProxyType(figures),
        points=MappingProxyType(points),
        total_points=float(sum(points.values())),
        per_tone=tuple(named),
        darkest=mixes[-1],
    )


def best_tones(condition: PressCondition, task: Task) -> FloatArray:
    """Tone values (T + 1, I) of the nearest mix of each wished tone, and of the darkest."""
    model, inks = condition.model, len(condition.inks)
    way = way_of(inks, task.aims, nodes=_NODES[inks], starts=_STARTS, steps=_STEPS, polish=_POLISH)
    sets = Sets(
        members=np.arange(inks)[None],
        spots=model.spreading.spots[None],
        because=further_of(model.spreading.because, inks)[None],
        primaries=model.primaries[None],
        covers=np.stack([curve.coverage(TONES_PCT) for curve in model.curves]),
        presence=model.spreading.presence,
        to_ratio=model.channels.paper[:, None] * model.channels.to_xyz100 / WHITE_XYZ100,
        n=model.n,
        spreading=model.spreading.strength,
    )
    return np.asarray(best_mixes(sets, task.aims, way).tone_pct[0], dtype=np.float64)


def nearest_de00(task: Task, members: IntArray) -> FloatArray:
    """How near (T,) some inks (I,) come to each tone."""
    condition = condition_of(task, members)
    lab = condition.lab(best_tones(condition, task)[:-1])
    return np.asarray(delta_e00(lab, task.aims.goals))


def _chosen(task: Task, members: IntArray) -> IntArray:
    return members[~np.isin(members, task.fixed)]


def _of_tones(task: Task, de00: FloatArray) -> dict[str, float]:
    if not len(de00):
        return {}
    return {"tones_de00": float(de00 @ task.tone_weights), "tones_worst_de00": float(de00.max())}


def _of_darkest(lab: FloatArray) -> dict[str, float]:
    return {"darkest_L": float(lab[0]), "darkest_chroma": float(np.hypot(lab[1], lab[2]))}


def _of_mixes(condition: PressCondition, task: Task) -> dict[str, float]:
    lab = condition.lab(grid_of_mixes(len(condition.inks), limit_pct=task.aims.limit_pct))
    volume = hull_volume(lab) / _VOLUME_UNIT
    return {"different_mixes": float(count_different(lab)), "gamut_volume": volume}


def _mean_error(task: Task, bounds: ExpectedError) -> float:
    """Over the wished tones by their weights, the darkest mix counting as one of them."""
    count = len(task.tone_weights)
    return float((bounds.de00[:-1] @ task.tone_weights * count + bounds.de00[-1]) / (count + 1))


def _mix(
    condition: PressCondition, tones: FloatArray, lab: FloatArray, row: int, bounds: ExpectedError
) -> MixOfTone:
    names = [ink.name for ink in condition.inks]
    L, a, b = (float(value) for value in lab[row])
    return MixOfTone(
        name="darkest",
        tone_pct=MappingProxyType(dict(zip(names, tones[row].tolist(), strict=True))),
        lab=(L, a, b),
        de00=None,
        error_de00=float(bounds.de00[row]),
        total_pct=float(tones[row].sum()),
    )


def _named(mix: MixOfTone, name: str, de00: float) -> MixOfTone:
    return MixOfTone(
        name=name,
        tone_pct=mix.tone_pct,
        lab=mix.lab,
        de00=de00,
        error_de00=mix.error_de00,
        total_pct=mix.total_pct,
    )
