"""Colorimetry against published values and two independent libraries."""

import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage.color import deltaE_ciede2000

from inkmix.base.errors import UsageError
from inkmix.colour import colorimetry
from inkmix.colour.colorimetry import WHITE_XYZ100
from inkmix.colour.observer import WAVELENGTHS_NM

# Sharma, Wu & Dalal 2005, Color Res. Appl. 30(1) 21-30, table 1: L1 a1 b1 L2 a2 b2 dE00.
SHARMA = np.array(
    [
        (50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425),
        (50, 3.1571, -77.2803, 50, 0, -82.7485, 2.8615),
        (50, 2.8361, -74.0200, 50, 0, -82.7485, 3.4412),
        (50, -1.3802, -84.2814, 50, 0, -82.7485, 1.0000),
        (50, -1.1848, -84.8006, 50, 0, -82.7485, 1.0000),
        (50, -0.9009, -85.5211, 50, 0, -82.7485, 1.0000),
        (50, 0, 0, 50, -1, 2, 2.3669),
        (50, -1, 2, 50, 0, 0, 2.3669),
        (50, 2.49, -0.001, 50, -2.49, 0.0009, 7.1792),
        (50, 2.49, -0.001, 50, -2.49, 0.0010, 7.1792),
        (50, 2.49, -0.001, 50, -2.49, 0.0011, 7.2195),
        (50, 2.49, -0.001, 50, -2.49, 0.0012, 7.2195),
        (50, -0.001, 2.49, 50, 0.0009, -2.49, 4.8045),
        (50, -0.001, 2.49, 50, 0.0010, -2.49, 4.8045),
        (50, -0.001, 2.49, 50, 0.0011, -2.49, 4.7461),
        (50, 2.5, 0, 50, 0, -2.5, 4.3065),
        (50, 2.5, 0, 73, 25, -18, 27.1492),
        (50, 2.5, 0, 61, -5, 29, 22.8977),
        (50, 2.5, 0, 56, -27, -3, 31.9030),
        (50, 2.5, 0, 58, 24, 15, 19.4535),
        (50, 2.5, 0, 50, 3.1736, 0.5854, 1.0000),
        (50, 2.5, 0, 50, 3.2972, 0, 1.0000),
        (50, 2.5, 0, 50, 1.8634, 0.5757, 1.0000),
        (50, 2.5, 0, 50, 3.2592, 0.3350, 1.0000),
        (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
        (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
        (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
        (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
        (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
        (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
        (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
        (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
        (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
        (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
    ]
)
# Half the last printed digit.
FOUR_DECIMALS = 5e-5


@pytest.fixture(scope="module")
def colour():
    """colour-science, which warns at import of what it misses."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        return colour


def random_lab(count, seed=5):
    return np.random.default_rng(seed).uniform((0, -90, -90), (100, 90, 90), (count, 3))


def random_spectra(count, seed=6):
    """Smooth reflectances between 0 and 1.2, as of prints and of fluorescent paper."""
    rng = np.random.default_rng(seed)
    knots = rng.uniform(0.0, 1.2, (count, 7))
    at = np.linspace(380, 730, 7)
    return np.array([np.interp(WAVELENGTHS_NM, at, row) for row in knots])


@pytest.mark.parametrize("row", SHARMA, ids=range(1, 35))
def test_colour_difference_of_the_34_published_pairs(row):
    first, second, expected = row[:3], row[3:6], row[6]
    assert colorimetry.delta_e00(first, second) == pytest.approx(expected, abs=FOUR_DECIMALS)
    assert colorimetry.delta_e00(second, first) == pytest.approx(expected, abs=FOUR_DECIMALS)


@pytest.mark.parametrize("row", SHARMA)
def test_the_vector_of_the_34_published_pairs_is_as_long_as_their_difference(row):
    vector = colorimetry.vector_e00(row[:3], row[3:6])
    assert np.linalg.norm(vector) == pytest.approx(row[6], abs=FOUR_DECIMALS)


def test_colour_difference_agrees_with_a_second_library():
    first, second = random_lab(5000), random_lab(5000, seed=7)
    ours, theirs = colorimetry.delta_e00(first, second), deltaE_ciede2000(first, second)
    np.testing.assert_allclose(ours, theirs, atol=1e-9)


def test_colour_difference_broadcasts():
    assert colorimetry.delta_e00(random_lab(4)[:, None], random_lab(3)).shape == (4, 3)


def test_white_is_l_100():
    np.testing.assert_allclose(colorimetry.xyz100_to_lab(WHITE_XYZ100), [100, 0, 0], atol=1e-12)


def test_lab_agrees_with_colour_science(colour):
    xyz100 = np.random.default_rng(8).uniform(0.01, 100, (2000, 3))
    x, y, z = WHITE_XYZ100
    white = [x / (x + y + z), y / (x + y + z)]
    theirs = colour.XYZ_to_Lab(xyz100 / 100, white)
    np.testing.assert_allclose(colorimetry.xyz100_to_lab(xyz100), theirs, atol=1e-9)
    back = colorimetry.lab_to_xyz100(theirs)
    np.testing.assert_allclose(back, xyz100, atol=1e-9)


def test_spectra_to_xyz_agree_with_colour_science(colour):
    """ASTM E308 there; ours spreads 360-370 and 740-780 nm onto the ends, as E308 asks."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    lamp = colour.SDS_ILLUMINANTS["D50"]
    for spectrum in random_spectra(6):
        distribution = colour.SpectralDistribution(spectrum, WAVELENGTHS_NM)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = colour.sd_to_XYZ(distribution, observer, lamp, method="ASTM E308")
        np.testing.assert_allclose(colorimetry.reflectance_to_xyz100(spectrum), theirs, atol=0.02)


def test_observer_weights_come_from_the_cie_tables(colour):
    from inkmix.colour.observer import OBSERVER_WEIGHTS

    one_nm = colour.SpectralShape(360, 780, 1)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(one_nm)
    lamp = colour.SDS_ILLUMINANTS["D50"].copy().align(one_nm)
    full = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(
        observer, lamp, colour.SpectralShape(360, 780, 10)
    )
    ends = full[2:38].copy()
    ends[0] += full[:2].sum(axis=0)
    ends[-1] += full[38:].sum(axis=0)
    np.testing.assert_allclose(OBSERVER_WEIGHTS, ends, atol=6e-6)  # five decimals are kept


def test_perfect_diffuser_is_white():
    xyz100 = colorimetry.reflectance_to_xyz100(np.ones(36))
    np.testing.assert_allclose(xyz100, WHITE_XYZ100, rtol=1e-12)


# IEC 61966-2-1: sRGB white, and the D50 colorant of its red as in published sRGB profiles
# (0.4361, 0.2225, 0.0139, s15Fixed16 rounded; those profiles round the D65 matrix first).
def test_srgb_primaries_under_d50():
    np.testing.assert_allclose(colorimetry.srgb1_to_xyz100([1, 1, 1]), WHITE_XYZ100, atol=1e-9)
    red = colorimetry.srgb1_to_xyz100([1, 0, 0])
    np.testing.assert_allclose(red, [43.61, 22.25, 1.39], atol=0.02)


def test_srgb_agrees_with_colour_science(colour):
    srgb1 = np.random.default_rng(9).uniform(0, 1, (500, 3))
    xy_d50 = WHITE_XYZ100[:2] / WHITE_XYZ100.sum()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = colour.RGB_to_XYZ(
            srgb1,
            "sRGB",
            xy_d50,
            chromatic_adaptation_transform="Bradford",
            apply_cctf_decoding=True,
        )
    # They use the standard's matrix of four decimals.
    np.testing.assert_allclose(colorimetry.srgb1_to_xyz100(srgb1), 100 * theirs, atol=0.03)


@given(st.floats(-2, 3))
def test_srgb_encoding_is_odd_and_inverted_by_decoding(value):
    # The standard's two pieces meet within 1e-7 only; there a value may change the piece.
    linear = colorimetry.decode_srgb1(value)
    assert colorimetry.encode_srgb1(linear) == pytest.approx(value, abs=2e-6)
    assert colorimetry.decode_srgb1(-value) == -linear


# Lindbloom, Chromatic Adaptation: Bradford, D65 to D50, for these whites of ASTM E308; from memory.
def test_adaptation_is_the_published_one():
    found = colorimetry._adaptation(
        np.array([95.047, 100, 108.883]), np.array([96.422, 100, 82.521])
    )
    published = [
        [1.0478112, 0.0228866, -0.0501270],
        [0.0295424, 0.9904844, -0.0170491],
        [-0.0092345, 0.0150436, 0.7521316],
    ]
    np.testing.assert_allclose(found, published, atol=5e-8)  # half the last printed digit


# IEC 61966-2-1: the curve begins above 0.04045; drafts of it had 0.03928.
def test_srgb_is_straight_up_to_its_knee():
    assert colorimetry.decode_srgb1(0.0404) == pytest.approx(0.0404 / 12.92, rel=1e-12)
    assert colorimetry.decode_srgb1(0.0405) == pytest.approx((0.0955 / 1.055) ** 2.4, rel=1e-12)


# Cyan of ISO 12647-2 lies outside sRGB by its red alone; a yellow by its blue, a grey not at all.
def test_a_colour_is_outside_srgb_if_one_channel_is():
    lab = [[55, -37, -50], [89, -5, 93], [50, 0, 0]]
    srgb8, outside = colorimetry.xyz100_to_srgb8(colorimetry.lab_to_xyz100(lab))
    assert outside.tolist() == [True, True, False]
    assert (srgb8[0, 0], srgb8[1, 2]) == (0, 0)


def test_srgb_outside_the_screen_is_not_clipped():
    cyan = colorimetry.lab_to_xyz100([55, -37, -50])
    assert colorimetry.xyz100_to_srgb1(cyan)[0] < 0


def test_hex_colours():
    np.testing.assert_allclose(colorimetry.srgb_hex_to_srgb1("#ff8000") * 255, [255, 128, 0])
    for wrong in ("#ff80", "red", "#gg0000", "# 12345"):
        with pytest.raises(UsageError, match="six hex digits"):
            colorimetry.srgb_hex_to_srgb1(wrong)


# Lightness to absolute visual density (D50), computed from CIE 15 and ISO 5-4, two decimals.
LIGHTNESS_TO_DENSITY = {
    8: 2.05, 10: 1.95, 12: 1.85, 16: 1.68, 20: 1.52, 23: 1.42, 25: 1.36, 28: 1.26, 30: 1.21,
    33: 1.12, 36: 1.05, 40: 0.95,
}  # fmt: skip


@pytest.mark.parametrize(("lightness", "density"), LIGHTNESS_TO_DENSITY.items())
def test_density_of_a_lightness(lightness, density):
    y100 = colorimetry.lightness_to_y100(lightness)
    assert colorimetry.visual_density(y100) == pytest.approx(density, abs=0.005)
    lightness_again = colorimetry.xyz100_to_lab(y100 / 100 * np.array(colorimetry.WHITE_XYZ100))[0]
    assert lightness_again == pytest.approx(lightness)


@pytest.mark.parametrize("status", ["visual", "T", "E"])
def test_a_grey_has_its_density_through_every_filter(status):
    densities = colorimetry.reflectance_to_density(np.full(36, 0.05), status=status)
    for value in densities.values():
        assert value == pytest.approx(-np.log10(0.05))


def test_density_filters_see_where_they_should():
    """ISO 5-3 peaks: visual 570, red 600, green 530, blue 460 (T) and 440 (E) nm."""
    peaks = {("visual", "visual"): 570, ("T", "red"): 600, ("T", "green"): 530, ("T", "blue"): 460,
             ("E", "blue"): 440, ("E", "red"): 600}  # fmt: skip
    for (status, name), peak in peaks.items():
        hole = [
            colorimetry.reflectance_to_density(1 - 0.9 * (wl == WAVELENGTHS_NM), status=status)[
                name
            ]
            for wl in WAVELENGTHS_NM
        ]
        assert WAVELENGTHS_NM[int(np.argmax(hole))] == peak


def test_status_e_reads_a_yellow_higher_than_status_t():
    """From memory: about 1.4 against 1.0 for a typical yellow; the sign is what is tested."""
    yellow = np.interp(WAVELENGTHS_NM, [380, 450, 480, 520, 730], [0.03, 0.03, 0.1, 0.8, 0.85])
    t = colorimetry.reflectance_to_density(yellow, status="T")["blue"]
    e = colorimetry.reflectance_to_density(yellow, status="E")["blue"]
    assert e > t + 0.1


def test_visual_density_of_a_spectrum_is_near_that_of_its_y():
    """The visual filter and Y differ by the lamp only."""
    dark = 0.02 + 0.002 * random_spectra(20)
    for spectra, tolerance in ((dark, 0.005), (random_spectra(20) + 0.02, 0.1)):
        y100 = colorimetry.reflectance_to_xyz100(spectra)[:, 1]
        seen = colorimetry.reflectance_to_density(spectra, status="visual")["visual"]
        np.testing.assert_allclose(seen, colorimetry.visual_density(y100), atol=tolerance)


def test_unknown_density_status():
    with pytest.raises(UsageError, match="visual, T, E"):
        colorimetry.reflectance_to_density(np.ones(36), status="A")


def test_murray_davies_inverts_an_area_mixture():
    """Murray 1936: R = a Rs + (1 - a) Rp; worked with Rp = .80, Rs = .05."""
    for area, seen in ((25, 0.6125), (50, 0.425), (75, 0.2375)):
        assert colorimetry.murray_davies_pct(seen, paper=0.80, solid=0.05) == pytest.approx(area)


def test_murray_davies_of_a_scattering_paper():
    """A true 50 % dot looks like 62.2 % at n = 1.7 and 65.0 % at n = 2 (Yule & Nielsen 1951)."""
    for n, looks in ((1.5, 59.7), (1.7, 62.2), (2.0, 65.0)):
        seen = ((0.80 ** (1 / n) + 0.05 ** (1 / n)) / 2) ** n
        area = colorimetry.murray_davies_pct(seen, paper=0.80, solid=0.05)
        assert area == pytest.approx(looks, abs=0.05)
