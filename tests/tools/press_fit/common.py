"""What presses have in common in process inks: residuals that all of them share.

Ridge regression over presses: each set weighs alike, and `RIDGE` sets without any residual are
thought to stand beside them.
"""

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from inkmix.press.constants import PROCESS_LETTERS, Common, ModelConstants
from inkmix.press.halftone import contrasts, mix
from inkmix.press.tone import curve_from_ramp
from press_fit import overprints
from press_fit.constants_in_use import in_use
from press_fit.tones import ramps

RIDGE = 1.0
_PAIRS = [(i, j) for i in range(4) for j in range(4) if i != j]


def without_common(before: ModelConstants) -> ModelConstants:
    """The constants where presses have nothing in common."""
    nothing = Common(
        overprint=MappingProxyType({}), spreading=np.zeros((4, 4, 3)), tone=np.zeros((4, 2, 3))
    )
    groups = before.process_inks.common
    process = replace(before.process_inks, common=MappingProxyType(dict.fromkeys(groups, nothing)))
    return replace(before, process_inks=process)


def fit(sets, before: ModelConstants) -> ModelConstants:
    """The constants with what the sets have in common, by group of papers."""
    bare = without_common(before)
    common = {}
    for group in before.process_inks.common:
        here = [
            one for one in sets if one.is_process and bare.paper[one.paper_class].group == group
        ]
        with in_use(bare):
            common[group] = Common(
                overprint=MappingProxyType(_of_overprints(here, bare)),
                spreading=_of_spreading(here),
                tone=_of_tones(here),
            )
    process = replace(before.process_inks, common=MappingProxyType(common))
    return replace(before, process_inks=process)


def _of_overprints(sets, constants: ModelConstants) -> dict[str, np.ndarray]:
    total, count = np.zeros((16, 3)), np.zeros(16)
    for one in sets:
        data = overprints.measured(one)
        off = np.log10(data["relative"]) - np.log10(overprints.predicted(data, constants))
        total[data["counted"]] += off[data["counted"]]
        count += data["counted"]
    mean = total / (count + RIDGE)[:, None]
    letters = ["".join(PROCESS_LETTERS[i] for i in range(4) if row >> i & 1) for row in range(16)]
    return {letters[row]: mean[row] for row in range(16) if len(letters[row]) > 1}


def _of_tones(sets) -> np.ndarray:
    """(4, 2, 3) gain and skew of each ink's curve."""
    normal, pull = np.zeros((4, 3, 2, 2)), np.zeros((4, 3, 2))
    for one in sets:
        condition, _, _ = one.told("solids")
        n = condition.model.n
        for ink, (tones, relative) in enumerate(ramps(one)):
            steps = np.append(0.0, tones)
            told = curve_from_ramp(100 * steps, np.vstack([np.ones(3), relative]), n=n).steps[1:-1]
            usual = condition.model.curves[ink].coverage(100 * tones[:-1])
            bump = 4 * tones[:-1] * (1 - tones[:-1])
            basis = np.column_stack([bump, 2 * bump * (1 - 2 * tones[:-1])])
            for band in range(3):
                size = len(bump)
                normal[ink, band] += basis.T @ basis / size
                pull[ink, band] += basis.T @ (told - usual)[:, band] / size
    ridge = RIDGE * 0.2 * np.eye(2)  # a set's own weight is some 0.3
    found = np.linalg.solve(normal + ridge, pull[..., None])[..., 0]
    return found.transpose(0, 2, 1)


def _of_spreading(sets) -> np.ndarray:
    """(4, 4, 3) how much further ink i spreads because of ink j, where overprints are told."""
    normal, pull = np.zeros((3, 12, 12)), np.zeros((3, 12))
    for one in sets:
        condition, tones, _ = one.told("overprints")
        model = condition.model
        rows = (one.chart.mixed) & ~np.isin(one.chart.tone_pct, (0, 100)).all(axis=1)
        tones, xyz100 = one.chart.tone_pct[rows], one.chart.xyz100[rows]
        coverage = model.coverage(tones)
        spreaded = model.spread(coverage)
        primaries = model.primaries + model.field.primaries_shift
        off = model.channels.relative(xyz100) ** (1 / model.n) - mix(spreaded, primaries)
        slopes = contrasts(spreaded, primaries)
        room = coverage * (1 - coverage) * slopes
        for band in range(3):
            basis = np.stack([room[i, :, band] * coverage[j, :, band] for i, j in _PAIRS], axis=1)
            normal[band] += basis.T @ basis / len(off)
            pull[band] += basis.T @ off[:, band] / len(off)
    result = np.zeros((4, 4, 3))
    count = max(len(sets), 1)
    for band in range(3):
        size = np.trace(normal[band]) / 12 / count
        ridge = RIDGE * max(size, 1e-12) * np.eye(12)
        for (i, j), value in zip(_PAIRS, np.linalg.solve(normal[band] + ridge, pull[band]),
                                 strict=True):  # fmt: skip
            result[i, j, band] = value
    return result
