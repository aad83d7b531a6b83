"""Solids of a press and their overprints: where each rule of the model begins and ends."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import paper_from_lab

from inkmix.colour.colorimetry import delta_e00
from inkmix.press.condition import Patches, press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import ink_from_lab, ink_from_srgb
from inkmix.press.processes import find_process
from inkmix.press.solids.opacity import is_orange, opacity_of
from inkmix.press.solids.primaries import (
    all_overprints,
    bare_overprints,
    bed_of,
    shared_causes,
    solids_of,
    stack_of,
)
from inkmix.press.solids.process_inks import SPOT, process_solids_xyz100

OFFSET = find_process("sheet-fed offset")
PAPER = paper_from_lab("p", (95, 0, -2), paper_class="coated")
UNCOATED = paper_from_lab("u", (95, 0, 0), paper_class="uncoated")
NEWS = paper_from_lab("n", (82, 0, 4), paper_class="newsprint")
LABS = {"K": (16, 0, 0), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93)}
BLUE = (28, 20, -45)


def inks(*names, paper=PAPER):
    return tuple(ink_from_lab(name, LABS[name], paper=paper) for name in names)


def spot(lab, *, paper=PAPER, **more):
    return replace(ink_from_lab("Ink", lab, paper=paper), **more)


def test_a_single_solid_keeps_its_colour_however_dark():
    """Darker than newsprint is thought to reach, and no black: as told all the same."""
    deep = spot((24, 20, -50), paper=NEWS)
    press = press_condition(NEWS, [deep], process=OFFSET)
    assert delta_e00(press.lab([100]), (24, 20, -50)) < 1e-6


def test_a_solid_counts_as_no_denser_than_the_press_can_build_on():
    """A spot solid cut at the greatest density over 1.1 before another is laid on it, by hand."""
    bed = bed_of(PAPER, black_density=1.0)
    solids = solids_of([spot((60, 60, 70)), spot((40, 50, 30))], PAPER)
    stack = replace(stack_of(solids), spectra=np.full((2, 31), 10.0**-2.3), opacity=np.zeros(2))
    q = bed.greatest
    cut = q / 1.1
    added = cut / np.sqrt(1 - (cut / q) ** 2) * (1 + (1 - bed.loss))
    expected = 10 ** -(added / np.sqrt(1 + (added / q) ** 2))
    assert cut < 2.3 < added
    shown = bare_overprints(stack, bed)[3]
    np.testing.assert_allclose(shown, np.maximum(expected, 1e-3), rtol=1e-6)


@pytest.mark.parametrize("paper", [PAPER, UNCOATED, NEWS])
def test_predictions_are_continuous_in_opacity(paper):
    """From transparent to nearly so, first or last: next to nothing changes."""
    for lab in (BLUE, (60, 60, 70), (50, -50, 20)):
        first = spot(lab, paper=paper)
        second = replace(spot((45, 55, 30), paper=paper), name="Other")
        moved = [
            press_condition(paper, [replace(first, opacity=a), replace(second, opacity=b)],
                            process=OFFSET).lab([100, 100])
            for a, b in ((0.0, 0.0), (1e-6, 0.0), (0.0, 1e-6))
        ]  # fmt: skip
        assert delta_e00(moved[0], moved[1]) < 0.01
        assert delta_e00(moved[0], moved[2]) < 0.01


def test_what_presses_share_is_for_the_usual_order_alone():
    """Magenta before black and cyan: K + C of that press gains nothing."""
    for names, row in (("KCM", 3), ("MKC", 6)):
        solids = solids_of(inks(*names), PAPER)
        stack, bed = stack_of(solids), bed_of(PAPER, black_density=1.6)
        gain = np.log10(all_overprints(stack, bed, paper=PAPER) / bare_overprints(stack, bed))[row]
        expected = MODEL.process_inks.common["smooth"].overprint["KC"] if names == "KCM" else 0
        np.testing.assert_allclose(gain, expected, atol=1e-12)


def test_causes_that_overprints_share():
    """Of process inks alone the greatest density; with spot inks trapping and each opacity."""
    bed = bed_of(PAPER, black_density=1.6)
    four = solids_of(inks("K", "C", "M", "Y"), PAPER)
    assert len(shared_causes(four, bed, paper=PAPER)) == 1
    more = solids_of((*inks("K", "C"), spot(BLUE), spot((50, -50, 20))), PAPER)
    assert len(shared_causes(more, bed, paper=PAPER)) == 4
    covering = solids_of((*inks("K"), spot((90, 0, 0), opacity=1.0)), PAPER)
    assert np.isfinite(shared_causes(covering, bed, paper=PAPER)).all()


def test_the_doubt_of_trapping_is_told_in_shares_of_a_layer():
    """The second cause: with so much more of each layer not taken as the table has it."""
    bed = bed_of(PAPER, black_density=1.6)
    solids = solids_of((*inks("K"), spot(BLUE), spot((50, -50, 20))), PAPER)
    less_trapped = shared_causes(solids, bed, paper=PAPER)[1]
    more_lost = replace(bed, loss=bed.loss + MODEL.kriging.shared_trapping)
    expected = all_overprints(stack_of(solids), more_lost, paper=PAPER)
    np.testing.assert_allclose(less_trapped, expected, rtol=1e-12)
    assert less_trapped[7, 1] > all_overprints(stack_of(solids), bed, paper=PAPER)[7, 1]


def test_an_opacity_seen_over_a_deep_black_is_never_certain():
    """A yellow that lightens a deep black by nothing: certain, but told to a step of trials."""
    black = ink_from_lab("K", (2, 0, 0), paper=PAPER).solid_xyz100
    seen = spot((90, 0, 5), over_black_xyz100=0.5 * black, black_xyz100=black)
    (solid,) = solids_of([seen], PAPER)
    assert solid.opacity.value < 0.001
    assert solid.opacity.sd == pytest.approx(1 / 201)


def test_bands_never_fall_below_the_least():
    """Three inks whose spectra leave less than nothing in a band: no root of a negative number."""
    labs = [(33, -56, -8), (59, -43, -72), (37, -48, -65)]
    found = [replace(spot(lab), name=str(at)) for at, lab in enumerate(labs)]
    press = press_condition(PAPER, found, process=OFFSET)
    assert (press.model.primaries**press.model.n >= MODEL.least_reflectance * 0.999).all()
    assert np.isfinite(press.lab([[100, 100, 100], [50, 50, 50]])).all()


def test_opacity_over_a_black_that_nobody_measured():
    """The usual black of the class stands in, as it looks on this paper; worked for a grey paper.

    An ink of opacity .3 laid on that black is learnt to within twice what it says of itself, and
    less doubtful than before anybody looked.
    """
    grey = paper_from_lab("g", (80, 0, 0), paper_class="coated")
    published = process_solids_xyz100("coated")
    black = published[1] / published[0] * grey.xyz100
    pale = spot((70, -10, 20), paper=grey, opacity=0.3)
    under = replace(ink_from_lab("K", (0, 0, 0), paper=grey), xyz100=np.array([grey.xyz100, black]))
    over = press_condition(grey, [under, pale], process=OFFSET).xyz100([100, 100])
    seen = replace(pale, opacity=None, over_black_xyz100=over)
    (solid,) = solids_of([seen], grey)
    assert solid.opacity.value == pytest.approx(0.3, abs=0.02)
    assert 0.004 < solid.opacity.sd < 0.05
    assert solid.opacity.sd < MODEL.opacity.over_black_sd


def test_a_process_ink_seen_over_black_stays_one_where_it_is_transparent():
    cyan, black = inks("C")[0], inks("K")[0]
    over = press_condition(PAPER, [black, cyan], process=OFFSET).xyz100([100, 100])
    told = replace(cyan, over_black_xyz100=over, black_xyz100=black.solid_xyz100)
    (solid,) = solids_of([told], PAPER)
    assert solid.kind == 1
    milky = replace(told, over_black_xyz100=black.solid_xyz100 + 0.2 * cyan.solid_xyz100)
    (solid,) = solids_of([milky], PAPER)
    assert solid.kind == SPOT


@pytest.mark.parametrize(("hue", "is_one"), [(35, False), (42, True), (76, True), (85, False)])
def test_which_hues_are_orange(hue, is_one):
    a, b = 70 * np.cos(np.radians(hue)), 70 * np.sin(np.radians(hue))
    ink = spot((65, a, b))
    assert is_orange(ink) == is_one
    assert opacity_of(ink, SPOT).value == (0.03 if is_one else 0.0)


def test_the_weakest_ink_of_a_colour_decides_its_factor():
    """A hint beside an ink known by its solid: a mix of both is as uncertain as a hint is."""
    hint = ink_from_srgb("Hint", "#d0402c", paper=PAPER)
    press = press_condition(PAPER, [spot(BLUE), hint], process=OFFSET)
    factors = press.errors._factors(np.array([[50.0, 0], [50, 50], [0, 50]]))
    table = MODEL.error.factor_de00["smooth"]
    np.testing.assert_allclose(
        factors[0], [table["solids"], table["screen colour"], table["screen colour"]]
    )


def test_the_doubt_of_a_told_solids_tint_by_hand():
    """Variance of y at 50 % of one ink: the tone curve's .065 * 4 e (1 - e) (1 - ys), and noise."""
    press = press_condition(PAPER, inks("C"), process=OFFSET)
    coverage = press.model.coverage(np.array([[50.0]]))
    found = press.errors._variance(coverage)[0]
    e, solid = coverage[0, 0], press.model.primaries[1]
    tone = 0.065 * 4 * e * (1 - e) * (1 - solid)
    halftone = np.minimum(1, 2 * (1 - (e**2 + (1 - e) ** 2)))
    noise = np.hypot(0.0025, 0.0017 * halftone)
    np.testing.assert_allclose(found, tone**2 + noise**2, rtol=1e-9)


def test_spreading_is_doubted_more_where_spot_inks_were_not_tried():
    labs = [BLUE, (50, -50, 20)]
    doubts = []
    for paper in (PAPER, UNCOATED):
        made = [replace(spot(lab, paper=paper), name=str(at)) for at, lab in enumerate(labs)]
        doubts.append(press_condition(paper, made, process=OFFSET).model.spot_doubt)
    assert doubts[1] == pytest.approx(MODEL.kriging.spot_untried_times * doubts[0])


def test_tints_of_this_press_take_the_place_of_a_guess():
    """From so many on, of mixes that hold a bright ink and were surely read, each counted once."""
    labs = [BLUE, (50, -50, 20)]
    made = [replace(spot(lab, paper=UNCOATED), name=str(at)) for at, lab in enumerate(labs)]
    process = {"K": (32, 1, 1), "M": (56, 60, -2)}
    made += [ink_from_lab(name, lab, paper=UNCOATED) for name, lab in process.items()]
    enough = MODEL.kriging.tried_by_tints
    steps = np.linspace(10, 90, enough)
    held, none = np.full(enough, 40.0), np.zeros(enough)
    tints = np.column_stack([steps, held, none, none])
    plain = press_condition(UNCOATED, made, process=OFFSET)

    def told(tones, noise="single sheet"):
        patches = Patches(tone_pct=tones, xyz100=plain.xyz100(tones), noise=noise)
        return press_condition(UNCOATED, made, process=OFFSET, patches=patches)

    without_bright = np.column_stack([none, none, steps, held])
    solids = np.array([[100.0, 100, 0, 0], [100, 0, 100, 0], [0, 100, 100, 0]])
    short = tints[1:]
    for rows, noise in (
        (short, "single sheet"),
        (np.vstack([short, short]), "single sheet"),
        (np.vstack([short, solids]), "single sheet"),
        (np.vstack([short, without_bright]), "single sheet"),
        (tints, "by eye"),
        (tints, "photograph"),
    ):
        made_of = told(rows, noise)
        assert made_of.model.spot_doubt == plain.model.spot_doubt
        assert made_of.cautions == plain.cautions != ()
    tried = told(tints)
    assert plain.model.spot_doubt / tried.model.spot_doubt == pytest.approx(
        MODEL.kriging.spot_untried_times
    )
    assert tried.cautions == ()


def test_a_mixture_read_often_counts_for_more():
    plain = press_condition(PAPER, inks("C", "M"), process=OFFSET)
    tones = np.array([[60.0, 60]])
    read = plain.xyz100(tones) * 0.8
    moved = []
    for times in (1, 9):
        again, colours = (np.repeat(one, times, axis=0) for one in (tones, read))
        told = Patches(tone_pct=again, xyz100=colours, noise="single sheet")
        press = press_condition(PAPER, inks("C", "M"), process=OFFSET, patches=told)
        moved.append(delta_e00(press.lab([60, 60]), plain.lab([60, 60])))
    assert moved[1] > 1.01 * moved[0]


@pytest.mark.parametrize(("paper", "deep"), [(UNCOATED, (10, 3, -12)), (NEWS, (9, 17, 8))])
def test_no_ink_lightens_a_solid_darker_than_the_press_reaches(paper, deep):
    """A near-black spot ink, darker than such paper is thought to print: nothing on it pales."""
    red = replace(spot((50, 60, 35), paper=paper), name="Red")
    press = press_condition(paper, [spot(deep, paper=paper), red], process=OFFSET)
    alone, both = press.lab([[100, 0], [100, 100]])[:, 0]
    assert both <= alone + 0.01
    opaque = press_condition(
        paper, [spot(deep, paper=paper), replace(red, opacity=0.5)], process=OFFSET
    )
    assert opaque.lab([100, 100])[0] > alone + 10
