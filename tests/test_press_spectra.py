"""Spectra of solids: recovered from a colour, and overprints made of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from known_inks import ink_from_reflectance, paper_from_lab, paper_from_reflectance

from inkmix.colour.colorimetry import delta_e00, reflectance_to_xyz100, xyz100_to_lab
from inkmix.colour.observer import WAVELENGTHS_NM
from inkmix.press.channels import narrow_bands, xyz100_to_bands
from inkmix.press.condition import press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.press.spectra import (
    SPECTRUM_NM,
    band_weights,
    cube_root_misses,
    measured_spectrum,
    recovered_spectrum,
)
from inkmix.press.swatches.by_name import list_inks, load_ink, load_paper

OFFSET = find_process("sheet-fed offset")
WHITE = paper_from_lab("p", (95, 0, -2), paper_class="coated")
#: Solids of a press with orange, green and violet on coated paper, as published (APTEC 2025).
BRIGHT = {"Orange": (67.6, 61.7, 81.8), "Green": (60.2, -74.7, 0.8), "Violet": (25.1, 48.4, -58.9)}


def shown(spectrum, paper=WHITE):
    return band_weights(paper) @ spectrum


def bands_of(lab, paper=WHITE):
    return narrow_bands(paper.xyz100).relative(ink_from_lab("ink", lab, paper=paper).xyz100[-1])


def test_weights_see_a_spectrum_as_the_bands_see_its_colour():
    """Against XYZ of the full spectrum: ends beyond 400 and 700 nm straight on."""
    paper = paper_from_reflectance("p", np.linspace(0.7, 0.9, 36), paper_class="coated")
    inner = np.interp(SPECTRUM_NM, [400, 550, 700], [0.2, 0.8, 0.5])
    full = np.interp(WAVELENGTHS_NM, SPECTRUM_NM, inner) * paper.reflectance
    bare = xyz100_to_bands(reflectance_to_xyz100(paper.reflectance))
    expected = xyz100_to_bands(reflectance_to_xyz100(full)) / bare
    np.testing.assert_allclose(
        band_weights(paper) @ inner, expected, rtol=2e-5
    )  # XYZ weights are rounded


def test_weights_add_up_to_one():
    np.testing.assert_allclose(band_weights(WHITE).sum(axis=1), 1)
    assert band_weights(WHITE).shape == (3, 31)


@pytest.mark.parametrize("name", BRIGHT)
def test_a_recovered_spectrum_has_its_colour(name):
    bands = bands_of(BRIGHT[name])
    spectrum = recovered_spectrum(bands, band_weights(WHITE), like=None)
    np.testing.assert_allclose(shown(spectrum), bands, atol=0.003)
    assert spectrum.min() >= 10**-2.64
    assert spectrum.max() <= 1.03


def test_a_process_ink_is_recovered_as_its_kind():
    """Magenta has a hump in the blue that a flat start does not find."""
    bands = bands_of((48, 74, -3))
    flat, as_magenta = (
        recovered_spectrum(bands, band_weights(WHITE), like=like) for like in (None, 2)
    )
    library = MODEL.process_inks.spectra[2]
    np.testing.assert_allclose(shown(as_magenta), bands, atol=0.003)
    assert np.abs(as_magenta - library).max() < 0.12
    assert np.abs(flat - library).max() > 1.5 * np.abs(as_magenta - library).max()


def test_what_no_spectrum_can_show_is_met_as_nearly_as_can_be():
    """A yellow so bright and deep that no ink on this paper reflects it: fluorescent."""
    bands = bands_of((99, -20, 130))
    spectrum = recovered_spectrum(bands, band_weights(WHITE), like=None)
    assert np.abs(shown(spectrum) - bands).max() > 0.02
    assert np.isfinite(spectrum).all()


@settings(max_examples=40)
@given(st.integers(0, 10_000))
def test_smooth_spectra_are_found_again(seed):
    """Bands of a smooth spectrum lead to one that shows the same and is no rougher."""
    rng = np.random.default_rng(seed)
    true = np.interp(SPECTRUM_NM, np.linspace(400, 700, 5), rng.uniform(0.05, 0.95, 5))
    bands = shown(true)
    found = recovered_spectrum(np.ascontiguousarray(bands), band_weights(WHITE), like=None)
    np.testing.assert_allclose(shown(found), bands, atol=0.003)


def test_slopes_are_those_of_the_misses():
    rng = np.random.default_rng(1)
    spectrum, bands, weights = (
        rng.uniform(0.1, 0.9, 31),
        rng.uniform(0.1, 0.9, 3),
        band_weights(WHITE),
    )
    misses, slopes = cube_root_misses(spectrum, bands, weights, weight=300.0)
    for at in (0, 11, 30):
        moved = spectrum.copy()
        moved[at] += 1e-6
        there, _ = cube_root_misses(moved, bands, weights, weight=300.0)
        np.testing.assert_allclose((there - misses) / 1e-6, slopes[:, at], rtol=1e-4, atol=1e-6)


def test_a_measured_spectrum_is_taken_relative_to_its_paper():
    paper = paper_from_reflectance("p", np.linspace(0.7, 0.9, 36), paper_class="coated")
    share = np.linspace(0.1, 0.8, 36)
    ink = ink_from_reflectance("Rowan", share * paper.reflectance, paper=paper)
    np.testing.assert_allclose(measured_spectrum(ink, paper), share[2:33], rtol=1e-12)
    assert measured_spectrum(ink_from_lab("Rowan", (50, 60, 40), paper=paper), paper) is None


def test_two_greens_by_three_bands_make_no_green():
    """Orange passes red and yellow, cyan blue and green; together they pass next to nothing.

    Published (APTEC 2025, seven inks): cyan L* 55.3, a* -33.7, b* -52.5 under orange gives 27.8
    14.2 16.0. Three bands, in which each of the two passes a third of the green, miss it by more
    than 20.
    """
    cyan = ink_from_lab("Cyan", (55.3, -33.7, -52.5), paper=WHITE)
    orange = ink_from_lab("Orange", BRIGHT["Orange"], paper=WHITE)
    black = ink_from_lab("Black", (15.2, 0.5, 0.6), paper=WHITE)
    press = press_condition(WHITE, [black, cyan, orange], process=OFFSET)
    assert delta_e00(press.lab([0, 100, 100]), (27.8, 14.2, 16.0)) < 8
    product = np.prod([bands_of((55.3, -33.7, -52.5)), bands_of(BRIGHT["Orange"])], axis=0)
    in_bands = xyz100_to_lab(narrow_bands(WHITE.xyz100).relative_to_xyz100(product))
    assert delta_e00(in_bands, (27.8, 14.2, 16.0)) > 20


def test_orange_shows_over_black():
    """Black of L* 15.2 under orange is 16.7 20.3 20.1 in the same set: .03 of it scatters."""
    orange = ink_from_lab("Orange", BRIGHT["Orange"], paper=WHITE)
    black = ink_from_lab("Black", (15.2, 0.5, 0.6), paper=WHITE)
    first, last = (
        press_condition(WHITE, inks, process=OFFSET).lab([100, 100])
        for inks in ([orange, black], [black, orange])
    )
    assert last[1] > first[1] + 4
    assert last[2] > first[2] + 4
    assert delta_e00(last, (16.7, 20.3, 20.1)) < 4


@pytest.mark.parametrize("inks", [1, 2])
def test_shipped_inks_are_recovered_as_invented(inks):
    """Smooth spectra of the invented set, from their colours alone, to .06 in the mean."""
    paper = load_paper("night-ferry/uncoated")
    names = [ink.name for ink in list_inks() if ink.name.startswith("night-ferry/")][: 8 * inks]
    off = []
    for name in names:
        ink = load_ink(name, paper=paper)
        true = measured_spectrum(ink, paper)
        bands = narrow_bands(paper.xyz100).relative(ink.xyz100[-1])
        off.append(np.abs(recovered_spectrum(bands, band_weights(paper), like=None) - true).mean())
    assert np.mean(off) < 0.06
