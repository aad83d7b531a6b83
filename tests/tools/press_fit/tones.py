"""The usual tone curve of process inks, from measured ramps."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np

from inkmix.press.channels import narrow_bands
from inkmix.press.constants import ModelConstants

_SMOOTH, _ROUGH = 0, 1


def ramps(print_set):
    """Tone values (S,), 0-1, and reflectance (S, 3) relative to the paper, an ink each."""
    chart = print_set.chart
    bare = (chart.tone_pct == 0).all(axis=1)
    bands = narrow_bands(chart.xyz100[bare].mean(axis=0))
    for ink in range(len(chart.plates)):
        rows = (chart.tone_pct[:, ink] > 0) & ~chart.mixed
        tones = np.unique(chart.tone_pct[rows, ink])
        means = [chart.xyz100[rows & (chart.tone_pct[:, ink] == tone)].mean(axis=0)
                 for tone in tones]  # fmt: skip
        yield tones / 100, bands.relative(np.array(means))


def fit(sets, before: ModelConstants) -> ModelConstants:
    """The constants with the usual tone curve fitted: a linear problem; each set counts alike."""
    rows, seen = [], []
    for one in sets:
        if one.is_process:
            part, values = _equations(one, before)
            rows.append(part / np.sqrt(len(values)))
            seen.append(values / np.sqrt(len(values)))
    found = np.linalg.lstsq(np.vstack(rows), np.concatenate(seen), rcond=None)[0]
    skew, by_density = float(found[4]), float(found[5])
    papers = {}
    for name, paper in before.paper.items():
        at = 2 * (_SMOOTH if paper.group == "smooth" else _ROUGH)
        papers[name] = replace(
            paper, tone_offset=float(found[at]), tone_by_density=float(-found[at + 1])
        )
    tone = replace(before.tone, skew=skew, gain_by_density=by_density)
    return replace(before, paper=MappingProxyType(papers), tone=tone)


def _equations(one, constants: ModelConstants):
    """Rows (N, 6) and what they should give (N,): coverage gained, in n = 2."""
    paper = constants.paper[one.paper_class]
    base = 2 * (_SMOOTH if paper.group == "smooth" else _ROUGH)
    xyz100, _ = one.measured_solids()
    above = np.log10(xyz100[0, 1] / xyz100[1, 1]) - paper.tone_offset_at
    rows, seen = [], []
    for tones, relative in ramps(one):
        root, solid = relative ** (1 / constants.tone.n), relative[-1] ** (1 / constants.tone.n)
        density = np.maximum(-np.log10(relative[-1]), 0)
        for band in np.flatnonzero(1 - solid > constants.tone.contrast_own):
            bump = 4 * tones[:-1] * (1 - tones[:-1])
            weight = 1 - solid[band]
            part = np.zeros((len(bump), 6))
            part[:, base], part[:, base + 1] = bump, above * bump
            part[:, 4] = -(1 - 2 * tones[:-1]) * bump / 4
            part[:, 5] = (1 - density[band] / density.max()) * bump
            rows.append(weight * part)
            coverage = (1 - root[:-1, band]) / (1 - solid[band])
            seen.append(weight * (coverage - tones[:-1]))
    return np.vstack(rows), np.concatenate(seen)
