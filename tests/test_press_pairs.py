"""What measured two-ink solids tell of spectra and opacity."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import ink_from_reflectance, paper_from_reflectance

from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.press.condition import Patches, press_condition
from inkmix.press.processes import find_process
from inkmix.press.solids.pairs import Pairs, _Fit, fitted_to_pairs
from inkmix.press.solids.primaries import all_overprints, bed_of, solids_of, stack_of

OFFSET = find_process("sheet-fed offset")
NM = np.arange(380.0, 731.0, 10.0)
PAPER = paper_from_reflectance("p", np.full(36, 0.85), paper_class="coated")


def edge(at, width, low, high):
    return low + (high - low) / (1 + np.exp(-(NM - at) / width))


#: Inks with sharp edges, so that their colours alone do not tell their spectra: invented.
TRUE = {
    "Soot": np.full(36, 0.025),
    "Moss": 0.03 + 0.55 * np.exp(-(((NM - 520) / 35) ** 2)),
    "Ember": edge(575, 7, 0.01, 0.9),
    "Dusk": 0.04 + 0.6 * np.exp(-(((NM - 440) / 30) ** 2)) + 0.3 * edge(680, 10, 0, 1),
}
OPACITY = {"Soot": 0.0, "Moss": 0.0, "Ember": 0.06, "Dusk": 0.0}


def inks(*, spectra):
    made = [ink_from_reflectance(n, 0.85 * share, paper=PAPER) for n, share in TRUE.items()]
    if spectra:
        return [replace(ink, opacity=OPACITY[ink.name]) for ink in made]
    return [replace(ink, reflectance=None) for ink in made]


def rows_of(count):
    rows = np.arange(16)
    held = (rows[:, None] >> np.arange(4)) & 1
    return 100.0 * held[held.sum(axis=1) == count]


def press(*, spectra, patches=None):
    return press_condition(PAPER, inks(spectra=spectra), process=OFFSET, patches=patches)


def told_pairs():
    tones = rows_of(2)
    return Patches(tone_pct=tones, xyz100=press(spectra=True).xyz100(tones))


def test_pairs_make_deeper_overprints_better():
    """Of four inks known by colour, three over each other: pairs told, and pairs put in place."""
    deeper = np.vstack([rows_of(3), rows_of(4)])
    true = press(spectra=True).lab(deeper)
    told = press(spectra=False, patches=told_pairs())
    before = delta_e00(press(spectra=False).lab(deeper), true).mean()
    after = delta_e00(told.lab(deeper), true).mean()
    assert before > 2
    assert after < 0.5 * before


def test_told_pairs_count_exactly():
    told = press(spectra=False, patches=told_pairs())
    tones = rows_of(2)
    off = delta_e00(told.lab(tones), press(spectra=True).lab(tones))
    assert off.max() < 0.05


def test_opacity_is_learnt_from_pairs():
    """Ember scatters .06 where .03 is thought of any orange."""
    usual = press(spectra=False).model.solids[2].opacity.value
    learnt = press(spectra=False, patches=told_pairs()).model.solids[2].opacity.value
    assert usual == pytest.approx(0.03)
    assert 0.045 < learnt < 0.08


def test_measured_spectra_stay():
    solids = press(spectra=True, patches=told_pairs()).model.solids
    for solid, spectrum in zip(solids, TRUE.values(), strict=True):
        np.testing.assert_allclose(solid.spectrum, spectrum[2:33], rtol=1e-9)


def test_slopes_of_the_fit_are_those_of_its_misses():
    solids = solids_of(inks(spectra=False), PAPER)
    bed = bed_of(PAPER, black_density=1.6)
    bands = all_overprints(stack_of(solids), bed, paper=PAPER)[[3, 6, 12]] * 1.1
    fit = _Fit(solids, bed, Pairs(inks=np.array([[0, 1], [1, 2], [2, 3]]), bands=bands))
    rng = np.random.default_rng(3)
    values = fit.start()
    values[:-3] += rng.normal(0, 0.1, len(values) - 3)
    values[-3:] = 0.05, 0.08, 0.02
    misses, slopes = fit.misses(values)
    for at in [*rng.choice(len(values), 12, replace=False).tolist(), len(values) - 2]:
        moved = values.copy()
        moved[at] += 1e-5
        there, _ = fit.misses(moved)
        np.testing.assert_allclose((there - misses) / 1e-5, slopes[:, at], rtol=2e-2, atol=0.05)


def test_process_inks_alone_are_left_as_they_are():
    solids = solids_of(inks(spectra=False)[:1], PAPER)
    pairs = Pairs(inks=np.empty((0, 2), np.int64), bands=np.empty((0, 3)))
    assert fitted_to_pairs(solids, bed_of(PAPER, black_density=1.6), pairs) == solids


def test_a_fit_never_leaves_what_it_was_told_of_single_solids():
    told = press(spectra=False, patches=told_pairs())
    weights = bed_of(PAPER, black_density=1.6).weights
    for solid in told.model.solids:
        shown = told.model.channels.relative_to_xyz100(weights @ solid.spectrum)
        true = told.model.channels.relative_to_xyz100(solid.bands)
        assert delta_e00(xyz100_to_lab(shown), xyz100_to_lab(true)) < 1
