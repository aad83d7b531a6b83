"""Views of colours: matrices against another library, values worked by hand, laws."""

import warnings

import numpy as np
import pytest

from inkmix.base.errors import UsageError
from inkmix.colour.colorimetry import WHITE_XYZ100, srgb1_to_xyz100, xyz100_to_lab, xyz100_to_srgb1
from inkmix.colour.vision import DEFICIENCIES, PLAIN, VIEW_WORDS, VIEWS, seen_srgb1, seen_xyz100

NAMES = {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_matrices_are_those_of_another_library(deficiency: str) -> None:
    # colour-science holds the authors' tables; six printed decimals.
    from colour.blindness import matrix_cvd_Machado2009

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # says that the tritan model is an approximation
        told = matrix_cvd_Machado2009(NAMES[deficiency], 1.0)
    np.testing.assert_allclose(DEFICIENCIES[deficiency], told, atol=5e-7)


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
def test_greys_stay_greys(deficiency: str) -> None:
    # The authors normalise the rows to 1, so that white stays white; six decimals are printed.
    np.testing.assert_allclose(DEFICIENCIES[deficiency].sum(axis=1), 1, atol=1.5e-6)
    grey = np.full((5, 3), np.linspace(0, 1, 5)[:, None])
    np.testing.assert_allclose(seen_srgb1(grey, deficiency=deficiency), grey, atol=1e-5)


def test_red_of_a_display_worked_by_hand() -> None:
    # First column of the printed protan matrix, encoded by IEC 61966-2-1 with logarithms:
    # ln 0.152286 = -1.88200, / 2.4 = -0.78417, e^ = 0.45650, * 1.055 - 0.055 = 0.42661;
    # likewise 0.114503 -> 0.37265, and 0.003882 -> 0.04940, which is mirrored about 0.
    seen = seen_srgb1([1.0, 0.0, 0.0], deficiency="protan")
    assert seen == pytest.approx([0.42661, 0.37265, -0.04940], abs=1e-5)


def test_what_a_deficiency_confuses_comes_closer() -> None:
    # Red and green of equal weight are told apart by all but red-green deficiencies, blue and
    # yellow-green by all but tritan ones (textbook).
    def apart(first: list[float], second: list[float], view: str) -> float:
        xyz100 = srgb1_to_xyz100([first, second])
        a, b = xyz100_to_lab(seen_xyz100(xyz100, view=view))
        return float(np.linalg.norm(a - b))

    red, green = [0.78, 0.32, 0.2], [0.45, 0.5, 0.1]
    assert apart(red, green, "deutan") < 0.4 * apart(red, green, PLAIN)
    assert apart(red, green, "protan") < 0.6 * apart(red, green, PLAIN)
    assert apart(red, green, "tritan") > 0.7 * apart(red, green, PLAIN)


def test_grey_keeps_lightness_and_nothing_else() -> None:
    xyz100 = np.random.default_rng(3).uniform(0, 90, (50, 3))
    seen = xyz100_to_lab(seen_xyz100(xyz100, view="grey"))
    np.testing.assert_allclose(seen[:, 0], xyz100_to_lab(xyz100)[:, 0], atol=1e-9)
    np.testing.assert_allclose(seen[:, 1:], 0, atol=1e-9)
    shown = xyz100_to_srgb1(seen_xyz100(xyz100, view="grey"))
    np.testing.assert_allclose(shown, shown[:, :1].repeat(3, axis=1), atol=1e-6)


def test_plain_view_changes_nothing_and_shape_is_kept() -> None:
    xyz100 = np.random.default_rng(4).uniform(0, 90, (4, 2, 3))
    np.testing.assert_array_equal(seen_xyz100(xyz100, view=PLAIN), xyz100)
    for view in VIEWS:
        assert seen_xyz100(xyz100, view=view).shape == (4, 2, 3)
        np.testing.assert_allclose(seen_xyz100(WHITE_XYZ100, view=view), WHITE_XYZ100, atol=0.02)
    assert set(VIEW_WORDS) == set(VIEWS)


def test_another_view_is_refused() -> None:
    with pytest.raises(UsageError, match="must be one of protan, deutan, tritan"):
        seen_xyz100(WHITE_XYZ100, view="sepia")
