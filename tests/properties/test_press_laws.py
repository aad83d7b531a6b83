"""Laws that the press model keeps for any inks: no number here comes from a print."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from known_inks import paper_from_reflectance

from inkmix.colour.colorimetry import reflectance_to_xyz100
from inkmix.press import constants, forward
from inkmix.press.condition import Patches, press_condition
from inkmix.press.halftone import demichel_weights, mix, others_share, spread, to_power
from inkmix.press.inks import ink_from_ramp
from inkmix.press.processes import find_process
from inkmix.press.solids.overprint import (
    Layer,
    inks_in_rows,
    saturate,
    solid_overprints,
    unsaturate,
)
from inkmix.press.tone import ToneCurve, curve_from_ramp, curve_from_solid

SEEDS = st.integers(0, 2**32 - 1)
OFFSET = find_process("sheet-fed offset")
few = settings(max_examples=25, deadline=None)


def some_press(seed, *, inks, spectral=True, ramps=True, paper_class=None):
    """A press of random inks: smooth spectra, ramps with random gain, any paper class."""
    rng = np.random.default_rng(seed)
    paper = paper_from_reflectance(
        "paper",
        smooth(rng, 0.6, 1.05),
        paper_class=paper_class or rng.choice(constants.PAPER_CLASSES),
    )
    made = []
    for i in range(inks):
        solid = smooth(rng, 0.03, 1.0)
        tones = np.array([20.0, 50, 80, 100]) if ramps else np.array([100.0])
        share = (tones / 100) ** rng.uniform(0.6, 1.2)
        spectra = paper.reflectance * (1 - share[:, None] * (1 - solid))
        colours = (
            {"reflectance": spectra} if spectral else {"xyz100": reflectance_to_xyz100(spectra)}
        )
        made.append(ink_from_ramp(f"ink {i}", tone_pct=tones, paper=paper, **colours))
    return press_condition(paper, made, process=OFFSET)


def smooth(rng, low, high):
    return np.interp(np.arange(36), np.linspace(0, 35, 6), rng.uniform(low, high, 6))


def tones_of(seed, inks, count=20):
    return np.random.default_rng(seed).uniform(0, 100, (count, inks))


@few
@given(SEEDS, st.integers(1, 8), st.booleans())
def test_no_ink_is_the_paper(seed, inks, spectral):
    press = some_press(seed, inks=inks, spectral=spectral)
    np.testing.assert_allclose(press.xyz100(np.zeros(inks)), press.paper.xyz100, rtol=1e-9)


@few
@given(SEEDS, st.integers(1, 6), st.booleans())
def test_full_ink_is_its_solid(seed, inks, spectral):
    press = some_press(seed, inks=inks, spectral=spectral)
    solids = np.stack([ink.solid_xyz100 for ink in press.inks])
    np.testing.assert_allclose(press.xyz100(100 * np.eye(inks)), solids, rtol=1e-6, atol=2e-2)


@few
@given(SEEDS, st.integers(1, 6))
def test_full_inks_are_their_primary(seed, inks):
    press = some_press(seed, inks=inks)
    y = press.model.root(press.model.coverage(100.0 * inks_in_rows(inks)))
    np.testing.assert_allclose(y, press.model.primaries, rtol=1e-12)


@few
@given(SEEDS, st.integers(1, 8))
def test_weights_sum_to_one(seed, inks):
    coverage = np.random.default_rng(seed).uniform(0, 1, (inks, 7, 3))
    weights = demichel_weights(coverage)
    assert (weights >= 0).all()
    np.testing.assert_allclose(weights.sum(axis=0), 1, rtol=1e-12)


@few
@given(SEEDS, st.integers(1, 8))
def test_folding_is_the_weighted_sum(seed, inks):
    rng = np.random.default_rng(seed)
    coverage, primaries = rng.uniform(0, 1, (inks, 7, 3)), rng.uniform(0, 1, (2**inks, 3))
    whole = (demichel_weights(coverage) * primaries[:, None]).sum(axis=0)
    np.testing.assert_allclose(mix(coverage, primaries), whole, rtol=1e-10)


@few
@given(SEEDS, st.integers(1, 4))
def test_n_of_one_is_plain_neugebauer(seed, inks):
    """With n = 1 and no spreading a colour is the mean of its primaries by area."""
    press = some_press(seed, inks=inks)
    still = replace(press.model.spreading, strength=0.0, because=None)
    primaries = press.model.primaries**press.model.n
    plain = replace(press.model, n=1.0, spreading=still, primaries=primaries)
    tones = tones_of(seed, inks)
    weights = demichel_weights(plain.coverage(tones))
    by_area = (weights * plain.primaries[:, None]).sum(axis=0)
    np.testing.assert_allclose(plain.relative(tones), by_area, rtol=1e-10)


@few
@given(SEEDS, st.integers(2, 5))
def test_order_changes_nothing_without_trapping(seed, inks):
    """With t = 0 inks may be permuted if their primaries are."""
    rng = np.random.default_rng(seed)
    solids, order = rng.uniform(0.02, 1.3, (inks, 3)), rng.permutation(inks)
    plain, moved = (
        solid_overprints([Layer(solid=solid) for solid in laid], 3.0, trapping_loss=0.0)
        for laid in (solids, solids[order])
    )
    rows = inks_in_rows(inks) @ (1 << order)
    np.testing.assert_allclose(moved, plain[rows], rtol=1e-9)
    coverage = rng.uniform(0, 1, (inks, 9, 3))
    np.testing.assert_allclose(mix(coverage[order], moved), mix(coverage, plain), rtol=1e-9)


@few
@given(SEEDS)
def test_without_saturation_and_trapping_layers_multiply(seed):
    solids = np.random.default_rng(seed).uniform(0.05, 1.2, (3, 4))
    layers = [Layer(solid=solid) for solid in solids]
    rows = solid_overprints(layers, 1e9, trapping_loss=0.0)
    np.testing.assert_allclose(rows[-1], solids.prod(axis=0), rtol=1e-6)


@few
@given(SEEDS, st.integers(2, 6))
def test_more_dark_ink_is_never_lighter(seed, inks):
    """Adding a layer that absorbs everywhere darkens every channel, up to the greatest."""
    solids = np.random.default_rng(seed).uniform(0.02, 0.95, (inks, 3))
    layers = [Layer(solid=solid) for solid in solids]
    rows = solid_overprints(layers, 2.0, trapping_loss=1 / 6)
    held = inks_in_rows(inks)
    for row in np.flatnonzero(held.sum(axis=1) >= 2):
        top = int(np.flatnonzero(held[row])[-1])
        if held[row].sum() > 2:
            assert (rows[row] < rows[row - 2**top]).all()
        assert (rows[row] > 10.0**-2.0).all()


@given(st.floats(0, 1.9), st.floats(2, 4))
def test_saturation_and_its_inverse_cancel(density, greatest):
    back = saturate(unsaturate(np.array([density]), greatest), greatest)
    np.testing.assert_allclose(back, density, rtol=1e-9, atol=1e-12)


@few
@given(SEEDS, st.booleans())
def test_tone_curve_and_its_inverse_cancel(seed, measured):
    rng = np.random.default_rng(seed)
    solid = rng.uniform(0.02, 0.6, 3)
    if measured:
        tones = np.array([0.0, 10, 30, 50, 75, 100])
        share = (tones / 100) ** rng.uniform(0.5, 1.2)
        curve = curve_from_ramp(tones, 1 - share[:, None] * (1 - solid), n=2.0)
    else:
        paper = constants.MODEL.paper[rng.choice(constants.PAPER_CLASSES)]
        offset, nothing = rng.uniform(0, 0.05), np.zeros((2, 3))
        curve = curve_from_solid(solid, paper, offset=offset, common=nothing)
    tone_pct = rng.uniform(0, 100, 30)
    coverage = curve.coverage(tone_pct).mean(axis=-1)
    np.testing.assert_allclose(tone_pct_where(curve, coverage), tone_pct, atol=1e-6)


def tone_pct_where(curve: ToneCurve, coverage: np.ndarray) -> np.ndarray:
    """Tone values (N,) at which the mean coverage over the channels is reached, by bisection."""
    low, high = np.zeros_like(coverage), np.full_like(coverage, 100.0)
    for _ in range(48):
        middle = (low + high) / 2
        below = curve.coverage(middle).mean(axis=-1) < coverage
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return (low + high) / 2


@few
@given(SEEDS, st.integers(2, 4), st.booleans())
def test_all_solids_told_equals_measured_overprints(seed, inks, spectral):
    """Kriging through every solid overprint puts the measured ones in place of the predicted."""
    press = some_press(seed, inks=inks, spectral=spectral)
    other = some_press(seed + 1, inks=inks, spectral=spectral, paper_class=press.paper.paper_class)
    rows = inks_in_rows(inks)
    mixed = rows.sum(axis=1) >= 2
    measured = other.model.channels.relative_to_xyz100(other.model.primaries**other.model.n)
    patches = Patches(tone_pct=100.0 * rows[mixed], xyz100=np.maximum(measured[mixed], 0))
    told = press_condition(press.paper, press.inks, process=OFFSET, patches=patches)
    put = press.model.channels.relative(patches.xyz100)
    primaries = press.model.primaries.copy()
    primaries[mixed] = put ** (1 / press.model.n)
    tones = tones_of(seed, inks)
    expected = replace(press.model, primaries=primaries).relative(tones)
    np.testing.assert_allclose(told.model.relative(tones), expected, rtol=1e-4, atol=1e-7)
    assert told.level == "overprints"


@few
@given(SEEDS, st.integers(1, 5), st.integers(1, 40))
def test_chunks_do_not_change_the_result(seed, inks, count):
    """Prediction of many colours at once is that of each by itself."""
    press, tones = some_press(seed, inks=inks), tones_of(seed, inks, count)
    alone = np.stack([press.xyz100(row) for row in tones])
    np.testing.assert_allclose(press.xyz100(tones), alone, rtol=1e-12)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(forward, "_FOLD_BYTES", 1)
        np.testing.assert_allclose(press.xyz100(tones), alone, rtol=1e-12)


@few
@given(SEEDS, st.integers(1, 4), st.booleans())
def test_expected_error_is_a_bound(seed, inks, spectral):
    press = some_press(seed, inks=inks, spectral=spectral)
    error = press.expected_error(tones_of(seed, inks))
    assert (error.de00 > 0).all()
    assert (error.L > 0).all()


@few
@given(SEEDS, st.integers(1, 5), st.floats(0, 0.3))
def test_spreading_keeps_coverage_a_share(seed, inks, strength):
    coverage = np.random.default_rng(seed).uniform(0, 1, (inks, 11, 2))
    presence = np.random.default_rng(seed).uniform(0, 1, inks)
    spreaded = spread(coverage, others_share(coverage, presence), strength=strength)
    assert (spreaded >= coverage).all()
    assert (spreaded <= 1).all()
    ends = np.round(coverage)
    np.testing.assert_array_equal(
        spread(ends, others_share(ends, presence), strength=strength), ends
    )


@given(st.floats(0, 1.5), st.sampled_from([1.0, 2.0, 3.0, 5.0, 6.0, 1.7]))
def test_power_by_products(y, n):
    assert to_power(np.array([y]), n)[0] == pytest.approx(y**n, rel=1e-12, abs=1e-300)
