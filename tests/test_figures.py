"""Densities, tone values and trapping against worked and published values and a second library."""

import warnings
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from published_sets import SETS, patch, table
from simulated_press import night_ferry

from inkmix.base.errors import UsageError
from inkmix.colour.colorimetry import WHITE_XYZ100, lab_to_xyz100, reflectance_to_xyz100
from inkmix.colour.measured.table import colours_xyz100
from inkmix.press.figures.densities import densities
from inkmix.press.figures.density_curve import density_curve
from inkmix.press.figures.tone_values import (
    colorimetric_tone_value_pct,
    spot_colour_tone_value_pct,
    tone_value_pct,
)
from inkmix.press.figures.trapping import trapping_of_pair, trapping_pct
from inkmix.press.swatches.by_name import load_ink

PAPER, MAGENTA, TINT = (lab_to_xyz100(lab) for lab in ([95, 0, -2], [48, 74, -3], [74, 32, -4]))
TONES = np.arange(10, 100, 10)


@pytest.fixture(scope="module")
def colour():
    """colour-science, which warns at import of what it misses."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        return colour


def printed(name, *kcmy):
    """XYZ (3,) of a patch of a published set."""
    return colours_xyz100(table(name))[patch(name, *kcmy)]


def ramp(name, ink, tones):
    """XYZ (S, 3) of tints of K, C, M or Y of a published set."""
    plate = 100 * np.eye(4)["KCMY".index(ink)]
    return np.array([printed(name, *(plate * tone / 100)) for tone in tones])


# --- tone values from densities ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tint", "solid", "value"),
    [
        # By the formula as printed, (1 - 10^-Dt) / (1 - 10^-Ds) (cmykhistory.com, the origin of
        # the equation; Wikipedia, Murray-Davies-Formel), worked by hand: powers of ten.
        (0.0, 1.0, 0.0),
        (0.30103, 1.0, 100 * 0.5 / 0.9),
        (0.30103, 2.0, 100 * 0.5 / 0.99),
        (1.0, 1.0, 100.0),
        (1.1, 1.0, 100 * (1 - 0.0794328) / 0.9),  # fuller than the solid is not cut off
    ],
)
@pytest.mark.parametrize("paper", [0.0, 0.08])
def test_tone_value_of_densities(tint, solid, value, paper):
    seen = tone_value_pct(tint + paper, paper=paper, solid=solid + paper)
    assert seen == pytest.approx(value, abs=1e-4)


@given(area=st.floats(0, 1), paper=st.floats(0, 0.3), above=st.floats(0.05, 2.5))
def test_tone_value_gives_back_an_area_of_plain_dots(area, paper, above):
    light = area * 10 ** -(paper + above) + (1 - area) * 10**-paper
    seen = tone_value_pct(-np.log10(light), paper=paper, solid=paper + above)
    assert seen == pytest.approx(100 * area, abs=1e-7)


# --- colorimetric tone values --------------------------------------------------------------------


@pytest.mark.parametrize(("ink", "read"), [("K", 1), ("C", 0), ("M", 1), ("Y", 2)])
@pytest.mark.parametrize("name", SETS)
def test_process_inks_are_read_as_the_standard_says(name, ink, read):
    """Formula and choice of X, Y or Z as the term base of iss.rs quotes ISO 12647-1."""
    paper, solid = printed(name, 0, 0, 0, 0), ramp(name, ink, [100])[0]
    tints = ramp(name, ink, [20, 50, 80])
    expected = 100 * (paper - tints)[:, read] / (paper - solid)[read]
    seen = colorimetric_tone_value_pct(tints, paper=paper, solid=solid)
    np.testing.assert_allclose(seen, expected)


@pytest.mark.parametrize(
    ("name", "ink", "increase"),
    [
        # Murray-Davies in Y, worked out from the published files by another program (last digit .1)
        ("fogra39l", "K", [5.8, 10.2, 13.9, 16.0, 17.2, 16.6, 15.0, 11.5, 6.6]),
        ("fogra39l", "M", [3.9, 7.2, 10.2, 12.3, 13.7, 13.8, 12.7, 10.2, 5.9]),
        ("fogra29l", "K", [8.8, 15.5, 19.8, 22.0, 22.3, 20.8, 17.7, 13.1, 7.1]),
        ("fogra29l", "M", [6.5, 12.1, 16.0, 18.1, 18.9, 17.7, 15.3, 11.7, 6.3]),
    ],
)
def test_tone_value_increase_of_published_ramps(name, ink, increase):
    paper, solid = printed(name, 0, 0, 0, 0), ramp(name, ink, [100])[0]
    seen = colorimetric_tone_value_pct(ramp(name, ink, TONES), paper=paper, solid=solid) - TONES
    np.testing.assert_allclose(seen, increase, atol=0.1)


def test_a_cyan_reads_lower_by_colour_than_by_density():
    """The note of the standard: the two differ most in cyan (here Tide, an invented one)."""
    apart = {}
    for name in ("Tide", "Anemone", "Oilskin", "Soot"):
        ink = load_ink(f"night-ferry/{name}", paper="night-ferry/coated")
        by_density = density_curve(ink.tone_pct, ink.xyz100, ink.reflectance, status="E")
        by_colour = colorimetric_tone_value_pct(
            ink.xyz100, paper=ink.xyz100[0], solid=ink.xyz100[-1]
        )
        apart[name] = float((by_density.increase_pct + ink.tone_pct - by_colour)[5])
    assert max(apart, key=apart.get) == "Tide"
    assert 1 < apart["Tide"] < 3
    assert abs(apart["Soot"]) < 0.3


# --- spot colour tone values ---------------------------------------------------------------------


def test_spot_colour_tone_value_of_a_magenta():
    # worked by another program by the same formula: 44.039
    seen = spot_colour_tone_value_pct(TINT, paper=PAPER, solid=MAGENTA)
    assert seen == pytest.approx(44.039, abs=5e-4)


def test_spot_colour_tone_value_from_lab_by_a_second_library(colour):
    """Lab by colour-science, then as another program has it: L* + 116 a*/500 and so on."""
    white = colour.XYZ_to_xy(WHITE_XYZ100 / 100)

    def ends(xyz100):
        L, a, b = colour.XYZ_to_Lab(np.asarray(xyz100) / 100, white)
        return np.array([L + 116 * a / 500, L, L - 116 * b / 200])

    for name in SETS:
        for ink in "KCMY":
            paper, *tints, solid = ramp(name, ink, [0, *TONES, 100])
            whole = np.linalg.norm(ends(solid) - ends(paper))
            theirs = [100 * np.linalg.norm(ends(t) - ends(paper)) / whole for t in tints]
            ours = spot_colour_tone_value_pct(tints, paper=paper, solid=solid)
            np.testing.assert_allclose(ours, theirs, rtol=1e-6)


@pytest.mark.parametrize(
    ("solid", "values"),
    [
        # Paper and solid mixed in XYZ by a quarter, half, three quarters; worked by another program
        ([48, 74, -3], [17.695, 38.454, 64.168]),
        ([16, 0, 0], [12.495, 28.072, 49.871]),
    ],
)
def test_spot_colour_tone_value_of_plain_dots(solid, values):
    full, area = lab_to_xyz100(solid), np.array([[0.25], [0.5], [0.75]])
    seen = spot_colour_tone_value_pct(area * full + (1 - area) * PAPER, paper=PAPER, solid=full)
    np.testing.assert_allclose(seen, values, atol=5e-4)


@given(lightness=st.floats(0, 100), dark=st.floats(0, 90))
def test_spot_colour_tone_value_of_greys_is_even_in_lightness(lightness, dark):
    """X, Y and Z of a grey have one lightness, so the value is a share of L*."""
    paper, tint, solid = (lab_to_xyz100([L, 0, 0]) for L in (95, lightness, dark))
    seen = spot_colour_tone_value_pct(tint, paper=paper, solid=solid)
    assert seen == pytest.approx(100 * abs(95 - lightness) / (95 - dark), abs=1e-6)


def test_tone_values_begin_at_the_paper_and_end_at_the_solid():
    for tone_value in (colorimetric_tone_value_pct, spot_colour_tone_value_pct):
        ends = tone_value([PAPER, MAGENTA], paper=PAPER, solid=MAGENTA)
        np.testing.assert_allclose(ends, [0, 100], atol=1e-9)


def test_a_press_that_gains_has_more_tone_than_the_file_by_density_only():
    """Of five inks on uncoated paper: some 10 to 35 % at 50 by density, within 15 of it by SCTV."""
    press = night_ferry()
    for ink in range(5):
        spectra = press.truth(np.outer([0, 50, 100], np.eye(5)[ink]))
        paper, tint, solid = reflectance_to_xyz100(spectra)
        curve = density_curve([0, 50, 100], np.array([paper, tint, solid]), spectra, status="E")
        assert 10 < curve.increase_50_pct < 35
        assert abs(spot_colour_tone_value_pct(tint, paper=paper, solid=solid) - 50) < 15


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (lambda: tone_value_pct(0.5, paper=1.4, solid=0.1), "density -1.300 above paper"),
        (lambda: tone_value_pct([0.5], paper=0.1, solid=[np.nan]), "density nan above paper"),
        (lambda: colorimetric_tone_value_pct(TINT, paper=PAPER, solid=PAPER), "is darker"),
        (lambda: spot_colour_tone_value_pct(TINT, paper=PAPER, solid=PAPER), "a colour of its own"),
    ],
)
def test_a_ramp_without_a_solid_is_refused(asked, words):
    with pytest.raises(UsageError, match="paper and solid were swapped") as caught:
        asked()
    assert words in str(caught.value)


# --- trapping ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("overprint", "first", "second", "value"),
    [
        # worked examples of novacalculator.com, ink trapping ratio estimator
        (1.75, 1.45, 1.05, 28.6),
        (2.40, 0.95, 1.70, 85.3),
        # by hand: densities that add up, and nothing that took
        (1.80, 0.35, 1.45, 100.0),
        (0.35, 0.35, 1.45, 0.0),
        (0.30, 0.35, 1.45, -3.4),  # a lighter, hiding ink
    ],
)
def test_trapping_of_worked_examples(overprint, first, second, value):
    assert trapping_pct(overprint, first=first, second=second) == pytest.approx(value, abs=0.05)


@pytest.mark.parametrize(
    ("name", "values"),
    [
        # Magenta on cyan, yellow on cyan, yellow on magenta, by Y and Z of the published files in
        # place of filters: worked out by another program, whole percent.
        ("fogra39l", (104, 87, 79)),
        ("fogra29l", (71, 85, 56)),
    ],
)
def test_trapping_of_the_published_sets(name, values):
    first = {"C": (0, 100, 0, 0), "M": (0, 0, 100, 0)}
    second = {"M": (0, 0, 100, 0), "Y": (0, 0, 0, 100)}
    for (under, top), value in zip((("C", "M"), ("C", "Y"), ("M", "Y")), values, strict=True):
        both = np.maximum(first[under], second[top])
        read = [printed(name, *t) for t in ((0, 0, 0, 0), first[under], second[top], both)]
        trapping = trapping_of_pair(np.array(read), status="E")
        assert trapping.approximate
        assert trapping.channel == {"M": "green", "Y": "blue"}[top]
        assert trapping.trapping_pct == pytest.approx(value, abs=0.6)


def test_trapping_falls_as_a_press_traps_worse():
    """Clear inks of the simulated press, by spectra, through the filter of the second."""
    press = night_ferry(paper="coated")
    clear = tuple(replace(ink, scatter=np.zeros(36)) for ink in press.inks)
    tones = np.zeros((4, 5))
    tones[1, 1] = tones[3, 1] = tones[2, 3] = tones[3, 3] = 100  # Brass on Fjord
    seen = []
    for loss in (0.0, 0.15, 0.3):
        spectra = replace(press, inks=clear, trapping_loss=loss).truth(tones)
        seen.append(trapping_of_pair(reflectance_to_xyz100(spectra), spectra, status="E"))
    assert [pair.channel for pair in seen] == ["blue"] * 3
    assert not seen[0].approximate
    assert seen[0].trapping_pct > seen[1].trapping_pct > seen[2].trapping_pct
    assert seen[0].trapping_pct - seen[2].trapping_pct > 10


def test_a_second_ink_too_pale_to_tell_has_no_trapping():
    spectra = np.array([[0.8] * 36, [0.1] * 36, [0.79] * 36, [0.1] * 36])
    pair = trapping_of_pair(reflectance_to_xyz100(spectra), spectra, status="T")
    assert pair.trapping_pct is None
    assert (pair.channel, pair.status) == ("visual", "T")
    assert pair.first == pytest.approx(np.log10(8), abs=1e-9)
    with pytest.raises(UsageError, match="the filter in which it is densest"):
        trapping_pct(1.0, first=0.9, second=0.01)


# --- densities -----------------------------------------------------------------------------------


def test_densities_of_a_grey_are_the_same_through_all_filters():
    read = densities([20.0, 20.0, 20.0], np.full((2, 36), 0.1), status="T")
    assert set(read) == {"red", "green", "blue", "visual"}
    for density in read.values():
        np.testing.assert_allclose(density, [1.0, 1.0])


def test_densities_by_xyz_have_the_shape_of_what_was_read():
    grey = np.broadcast_to(WHITE_XYZ100 / 10, (2, 5, 3))
    for density in densities(grey, status="E").values():
        np.testing.assert_allclose(density, np.ones((2, 5)))


def test_a_status_that_is_no_filter_set_is_refused():
    with pytest.raises(UsageError, match="density status"):
        densities([20.0, 20.0, 20.0], np.full(36, 0.1), status="A")
