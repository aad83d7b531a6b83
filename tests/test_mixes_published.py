"""Mixes against published prints: what is said to be in reach is, and lies where it is said to.

The charts are FOGRA39L, FOGRA29L and TR 002 (tests/reference/NOTICE.txt). The model is told their
ramps, never a mixture. Between patches the measured colours are interpolated: see `Print`.
"""

from functools import cache

import numpy as np
import pytest
from published_sets import SETS, chart
from scipy.interpolate import RBFInterpolator

from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.nearest import found_for_all
from inkmix.mixes.values import Aims
from inkmix.press.scoring.known_part import tell

PATCHES = 200
NO_LIMIT = Aims(ink_limit_pct=None)


@cache
def told(name, known="ramps"):
    return tell(chart(name), known=known, paper_class=SETS[name])[0]


@cache
def looked_for(name):
    """200 random patches of a chart, and what is found for their measured colours."""
    rows = np.random.default_rng(2026).choice(len(chart(name).lab), PATCHES, replace=False)
    return rows, list(found_for_all(told(name), chart(name).lab[rows], NO_LIMIT))


class Print:
    """What the press printed for any tone values, interpolated among the patches of its chart.

    Thin-plate splines through all patches: of the cube roots of XYZ, over tone values that are
    bent by the measured ramp of each ink, so that they run evenly in lightness. No part of the
    press model takes part.
    """

    def __init__(self, name, without=()):
        one = chart(name)
        self.bends = [self._bend(one, ink) for ink in range(len(one.plates))]
        tones, index = np.unique(one.tone_pct, axis=0, return_inverse=True)
        roots = np.cbrt(np.maximum(one.xyz100, 0))
        means = np.array([roots[index.reshape(-1) == k].mean(axis=0) for k in range(len(tones))])
        self.tones, self.roots = tones, means
        kept = np.setdiff1d(np.arange(len(tones)), without)
        self.spline = RBFInterpolator(
            self._bent(tones[kept]), means[kept], kernel="thin_plate_spline", neighbors=80
        )

    @staticmethod
    def _bend(one, ink):
        """Tone values of one ink alone, and how far its ramp has gone there, 0-1."""
        alone = (np.delete(one.tone_pct, ink, axis=1) == 0).all(axis=1)
        tones = np.unique(one.tone_pct[alone, ink])
        roots = np.cbrt(
            [one.xyz100[alone & (one.tone_pct[:, ink] == t)].mean(axis=0) for t in tones]
        )
        gone = np.linalg.norm(roots - roots[0], axis=1)
        return tones, gone / gone[-1]

    def _bent(self, tone_pct):
        return np.stack(
            [np.interp(tone_pct[:, k], *bend) for k, bend in enumerate(self.bends)], axis=1
        )

    def lab(self, tone_pct):
        return xyz100_to_lab(self.spline(self._bent(tone_pct)) ** 3)


@cache
def printed(name):
    return Print(name)


def tones_of(mixes):
    return np.array([list(mix.tone_pct.values()) for mix in mixes])


@pytest.mark.parametrize("name", SETS)
def test_measured_colours_are_found_again(name):
    """The target of the customer: 88 % within 0.5, the rest declared out of reach."""
    _, found = looked_for(name)
    left = np.array([one.left_de00 for one in found])
    assert (left <= 0.5).mean() >= 0.88
    assert [one.in_reach for one in found] == (left <= 0.5).tolist()


@pytest.mark.parametrize("name", SETS)
def test_the_interpolation_is_much_nearer_than_what_it_judges(name):
    """Patches left out of it are found within a fifth of the expected error, on average."""
    one = printed(name)
    left_out = np.random.default_rng(0).choice(len(one.tones), 60, replace=False)
    found = Print(name, without=left_out).lab(one.tones[left_out])
    assert delta_e00(found, xyz100_to_lab(one.roots[left_out] ** 3)).mean() < 0.25


@pytest.mark.parametrize("name", SETS)
def test_mixes_put_through_the_measured_data_lie_within_the_expected_error(name):
    rows, found = looked_for(name)
    reached = [(row, one) for row, one in zip(rows, found, strict=True) if one.in_reach]
    lab = printed(name).lab(tones_of([one.nearest for _, one in reached]))
    predicted = np.array([one.nearest.lab for _, one in reached])
    error = np.array([one.nearest.error_de00 for _, one in reached])
    assert (delta_e00(lab, predicted) <= error).mean() >= 0.9


# L* of the darkest patches, as the customer read them from the charts.
DARKEST_PATCH_L = {
    "fogra39l": {240: 9.0, 300: 7.9, 400: 7.9},
    "fogra29l": {240: 27.5, 300: 26.4, 400: 26.2},
    "tr002": {240: 32.9, 300: 30.5, 400: 30.5},
}
DARKEST = [
    (name, known, limit)
    for name in SETS
    for known in ("solids", "ramps")
    for limit in (240, 300, 400)
]


@pytest.mark.parametrize(("name", "known", "limit"), DARKEST)
def test_the_darkest_mix_is_as_dark_as_the_darkest_patch(name, known, limit):
    one = chart(name)
    measured = one.lab[one.tone_pct.sum(axis=1) <= limit, 0].min()
    assert round(measured, 1) == DARKEST_PATCH_L[name][limit]
    aims = Aims(ink_limit_pct=limit, least_pct=3)
    mix = darkest_mixes(told(name, known), aims)[0]
    assert mix.total_pct <= limit
    assert mix.lab[0] == pytest.approx(measured, abs=2.5)
