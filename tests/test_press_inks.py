"""Each way in which an ink may be known, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import ink_from_reflectance, paper_from_lab, paper_from_reflectance

from inkmix.base.errors import ModelError
from inkmix.colour.colorimetry import (
    WHITE_XYZ100,
    delta_e00,
    reflectance_to_density,
    reflectance_to_xyz100,
    xyz100_to_lab,
)
from inkmix.press.condition import press_condition
from inkmix.press.constants import MODEL, PAPER_CLASSES
from inkmix.press.inks import (
    Paper,
    ink_from_density,
    ink_from_lab,
    ink_from_ramp,
    ink_from_srgb,
    ink_from_xyz100,
)
from inkmix.press.processes import find_process
from inkmix.press.solids.process_inks import process_solids_xyz100
from inkmix.press.spectra import FILTERS, smoothest_reflectance
from inkmix.press.swatches.by_name import list_inks, load_ink, load_paper

OFFSET = find_process("sheet-fed offset")
COATED = paper_from_lab("coated", (95, 0, -2), paper_class="coated")
SPECTRAL = paper_from_reflectance("spectral", np.full(36, 0.85), paper_class="uncoated")


def lab_of(ink):
    return xyz100_to_lab(ink.solid_xyz100)


def test_solid_from_lab_and_from_xyz_are_one():
    by_lab = ink_from_lab("Fjord", (40, -2, -38), paper=COATED)
    by_xyz = ink_from_xyz100("Fjord", by_lab.solid_xyz100, paper=COATED)
    np.testing.assert_allclose(lab_of(by_xyz), (40, -2, -38), atol=1e-9)
    assert by_lab.known == by_xyz.known == "solid"
    np.testing.assert_array_equal(by_xyz.tone_pct, [0, 100])
    np.testing.assert_allclose(by_xyz.xyz100[0], COATED.xyz100)


def test_ramp_is_sorted_and_starts_at_the_paper():
    colours = [(10, 10, 10), (60, 62, 50), (30, 31, 25)]
    ink = ink_from_ramp("Soot", tone_pct=[100, 20, 60], xyz100=colours, paper=COATED)
    np.testing.assert_array_equal(ink.tone_pct, [0, 20, 60, 100])
    np.testing.assert_allclose(ink.xyz100[:, 1], [COATED.xyz100[1], 62, 31, 10])
    assert ink.known == "ramp"


def test_ramp_with_its_own_paper_reading_keeps_it():
    ink = ink_from_ramp("Soot", tone_pct=[0, 100], xyz100=[(84, 87, 74), (3, 3, 3)], paper=COATED)
    np.testing.assert_allclose(ink.xyz100[0], (84, 87, 74))
    assert ink.known == "solid"


def test_fluorescent_spectra_above_one_are_accepted():
    glow = np.where(np.arange(36) == 23, 1.4, 0.5)
    ink = ink_from_reflectance("Glow", glow, paper=SPECTRAL)
    assert ink.reflectance is not None
    assert ink.reflectance.max() == 1.4
    np.testing.assert_allclose(ink.solid_xyz100, reflectance_to_xyz100(glow))


def test_spectra_count_only_if_the_paper_has_one():
    ink = ink_from_reflectance("Brass", np.full(36, 0.4), paper=COATED)
    assert ink.reflectance is None
    np.testing.assert_allclose(ink.solid_xyz100[1], 40)


def test_values_are_read_only():
    with pytest.raises(ValueError, match="read-only"):
        COATED.xyz100[0] = 0


@pytest.mark.parametrize("paper_class", PAPER_CLASSES)
def test_a_black_screen_colour_is_no_darker_than_a_printed_black(paper_class):
    paper = paper_from_lab("paper", (90, 0, 0), paper_class=paper_class)
    ink = ink_from_srgb("Soot", "#000000", paper=paper)
    density = np.log10(paper.xyz100[1] / ink.solid_xyz100[1])
    assert density == pytest.approx(MODEL.paper[paper_class].black_density, abs=1e-6)
    assert ink.known == "screen colour"


def test_usual_blacks_are_near_the_published_ones():
    """FOGRA39L L* 16, FOGRA29L 31.9, TR 002 36.7, which are among the sets of the means."""
    for paper_class, lightness in (("coated", 16), ("uncoated", 31.9), ("newsprint", 36.69)):
        paper, black = process_solids_xyz100(paper_class)[:2]
        assert xyz100_to_lab(black)[0] == pytest.approx(lightness, abs=0.005)
        reach = np.log10(paper[1] / black[1])
        assert MODEL.paper[paper_class].black_density == pytest.approx(reach, abs=0.06)
    densities = [MODEL.paper[name].black_density for name in PAPER_CLASSES]
    assert densities == sorted(densities, reverse=True)


def test_screen_colours_are_relative_to_the_paper():
    white = ink_from_srgb("None", "#ffffff", paper=COATED)
    np.testing.assert_allclose(white.solid_xyz100, COATED.xyz100, rtol=1e-6)
    red = ink_from_srgb("Rowan", "#d0402c", paper=COATED)
    L, a, b = lab_of(red)
    assert 40 < L < 55
    assert a > 40
    assert b > 30


def read(ink, status):
    """Densities of a solid above its paper, by its spectrum: red, green, blue."""
    densities = reflectance_to_density(ink.reflectance, status=status)
    return {name: float(densities[name][-1] - densities[name][0]) for name in FILTERS}


@pytest.mark.parametrize("status", ["E", "T"])
@pytest.mark.parametrize("paper_name", ["coated", "uncoated", "newsprint"])
def test_density_readings_bring_the_solid_near(paper_name, status):
    """Readings computed from the shipped spectra, which are invented and smooth themselves."""
    paper = load_paper(f"night-ferry/{paper_name}")
    off, held = [], []
    for entry in list_inks():
        if not entry.name.startswith("night-ferry/") or entry.character:
            continue
        true = load_ink(entry.name, paper=paper)
        ink = ink_from_density("ink", **read(true, status), status=status, relative=True,
                               paper=paper)  # fmt: skip
        bound = press_condition(paper, [ink], process=OFFSET).expected_error([100.0]).de00
        off.append(float(delta_e00(lab_of(ink), xyz100_to_lab(true.solid_xyz100))))
        held.append(off[-1] <= bound)
    assert np.mean(off) < 2.0
    assert max(off) < 7.0
    assert np.mean(held) >= 0.9


def test_the_smoothest_spectrum_reads_as_told():
    paper = load_paper("night-ferry/coated").reflectance
    told = np.array([0.2, 1.3, 0.7])
    solid = smoothest_reflectance(told, status="T", paper=paper)
    shown = reflectance_to_density(np.stack([paper, solid]), status="T")
    np.testing.assert_allclose([shown[n][1] - shown[n][0] for n in FILTERS], told, atol=0.005)
    assert (solid <= paper).all()


def test_a_reading_a_little_below_the_paper_is_scatter():
    ink = ink_from_density("ink", red=-0.01, green=0.8, blue=1.2, status="E", relative=True,
                           paper=COATED)  # fmt: skip
    none = ink_from_density("ink", red=0.0, green=0.8, blue=1.2, status="E", relative=True,
                            paper=COATED)  # fmt: skip
    np.testing.assert_array_equal(ink.solid_xyz100, none.solid_xyz100)


def test_absolute_density_counts_the_paper():
    grey = {"red": 1.5, "green": 1.5, "blue": 1.5, "status": "E"}
    relative = ink_from_density("Soot", **grey, relative=True, paper=COATED)
    absolute = ink_from_density("Soot", **grey, relative=False, paper=COATED)
    # A grey of D 1.5 reflects 10 ** -1.5 through every filter.
    np.testing.assert_allclose(absolute.solid_xyz100, WHITE_XYZ100 * 10**-1.5, rtol=0.02)
    ratio = absolute.solid_xyz100[1] / relative.solid_xyz100[1]
    assert ratio == pytest.approx(100 / COATED.xyz100[1], rel=0.02)


def test_status_e_differs_from_t_for_a_yellow_and_not_for_a_grey():
    def solid(status, **readings):
        ink = ink_from_density("ink", **readings, status=status, relative=True, paper=COATED)
        return ink.solid_xyz100

    grey, yellow = {"red": 1.2, "green": 1.2, "blue": 1.2}, {"red": 0.05, "green": 0.1, "blue": 1.3}
    np.testing.assert_allclose(solid("E", **grey), solid("T", **grey), rtol=1e-3)
    assert solid("E", **yellow)[2] > solid("T", **yellow)[2]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: ink_from_xyz100("Soot", (3, -1, 3), paper=COATED), "nothing below 0"),
        (lambda: ink_from_xyz100("Soot", (3, np.nan, 3), paper=COATED), "not a number"),
        (lambda: ink_from_reflectance("Soot", np.full(31, 0.4), paper=SPECTRAL), "shape"),
        (lambda: ink_from_reflectance("Soot", np.full(36, -0.1), paper=SPECTRAL), "below 0"),
        (lambda: ink_from_ramp("Soot", tone_pct=[20, 60], xyz100=[(9, 9, 9), (5, 5, 5)],
                               paper=COATED), "from 0 to 100"),
        (lambda: ink_from_ramp("Soot", tone_pct=[50, 50, 100], xyz100=[(9, 9, 9)] * 3,
                               paper=COATED), "rising"),
        (lambda: ink_from_density("Soot", red=1, green=1, blue=5, status="T", relative=True,
                                  paper=COATED), "-0.05 to 4"),
        (lambda: ink_from_density("Soot", red=1, green=1, blue=1, status="A", relative=True,
                                  paper=COATED), "T or E"),
        (lambda: paper_from_lab("p", (95, 0, 0), paper_class="glossy"), "light-coated"),
        (lambda: Paper(name="p", paper_class="coated", xyz100=np.array([1.0, 1, 1])), "5 or more"),
        (lambda: paper_from_reflectance("p", np.full(36, np.nan), paper_class="coated"), "number"),
    ],
)  # fmt: skip
def test_refused(make, words):
    with pytest.raises(ModelError, match=words):
        make()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"opacity": 1.2}, "whites reach .9"),
        ({"tone_value_increase_pct": 280.0}, "at 50 %"),
        ({"character": frozenset({"glittery"})}, "fluorescent or metallic"),
        ({"known": "hearsay"}, "screen colour"),
        ({"over_black_xyz100": np.array([1.0, 2.0])}, "shape"),
    ],
)
def test_refused_properties(change, words):
    with pytest.raises(ModelError, match=words):
        replace(ink_from_lab("Soot", (20, 0, 0), paper=COATED), **change)


def test_all_faults_come_together():
    ink = ink_from_lab("Soot", (20, 0, 0), paper=COATED)
    with pytest.raises(ModelError) as caught:
        replace(ink, opacity=-1.0, known="hearsay", tone_value_increase_pct=90.0)
    assert len(caught.value.faults) == 3
