"""A press condition: what it predicts, how well it is known, and what may be changed of it."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import ink_from_reflectance, paper_from_lab, paper_from_reflectance
from published_sets import SETS, chart

from inkmix.base.errors import ModelError
from inkmix.checks.tones.facts import SAME_DE00
from inkmix.colour.colorimetry import delta_e00, lab_to_xyz100, xyz100_to_lab
from inkmix.press.condition import Patches, PressCondition, press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import Paper, ink_from_density, ink_from_lab, ink_from_ramp, ink_from_srgb
from inkmix.press.paper_change import is_same_paper, put_on_paper
from inkmix.press.processes import PROCESSES, find_process
from inkmix.press.scoring.known_part import tell
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper
from inkmix.press.values import MAX_INKS

OFFSET = find_process("sheet-fed offset")
PAPER = paper_from_lab("test coated", (95, 0, -2), paper_class="coated")
LABS = {"K": (16, 0, 0), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93)}
INKS = {name: ink_from_lab(name, lab, paper=PAPER) for name, lab in LABS.items()}


def press(*inks, **more):
    return press_condition(PAPER, inks or INKS.values(), process=OFFSET, **more)


def test_shapes():
    one = press()
    assert one.lab([0, 40, 40, 0]).shape == (3,)
    assert one.xyz100(np.zeros((2, 5, 4))).shape == (2, 5, 3)
    assert one.coverage(np.zeros((2, 5, 4))).shape == (2, 5, 4)
    error = one.expected_error(np.zeros((2, 5, 4)))
    assert error.de00.shape == error.L.shape == (2, 5)
    assert one.lab(np.zeros((0, 4))).shape == (0, 3)
    assert one.expected_error(np.zeros((0, 4))).de00.shape == (0,)


@pytest.mark.parametrize(
    ("tones", "words"), [([0, 0, 0], "4 tone values"), ([0, 0, 0, 101], "0 to 100"), (5, "4 tone"),
                         ([0, 0, 0, -1], "0 to 100"), ([0, 0, 0, np.nan], "0 to 100")],
)  # fmt: skip
def test_tone_values_out_of_range(tones, words):
    with pytest.raises(ModelError, match=words):
        press().lab(tones)


def test_inks_that_do_not_fit():
    with pytest.raises(ModelError, match="1 to 8"):
        press_condition(PAPER, [], process=OFFSET)
    many = [replace(INKS["K"], name=f"K {i}") for i in range(MAX_INKS + 1)]
    with pytest.raises(ModelError, match="1 to 8"):
        press(*many)
    with pytest.raises(ModelError, match="K twice; name the second plate K 2"):
        press(INKS["K"], INKS["K"])
    patches = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=np.array([[9.0, 9, 9]]))
    with pytest.raises(ModelError, match="2 tone values a patch"):
        press(patches=patches)


def test_eight_plates():
    names = "KCMY"
    inks = [replace(INKS[n], name=f"{n} {i}") for i in (1, 2) for n in names]
    assert press(*inks).lab(np.full((3, 8), 40.0)).shape == (3, 3)


def test_level_is_the_weakest():
    ramp = ink_from_ramp("M", tone_pct=[50, 100], xyz100=[(50, 40, 40), INKS["M"].solid_xyz100],
                         paper=PAPER)  # fmt: skip
    density = ink_from_density("C", red=1.2, green=0.5, blue=0.1, status="E", relative=True,
                               paper=PAPER)  # fmt: skip
    hint = ink_from_srgb("Rowan", "#d0402c", paper=PAPER)
    assert press(ramp).level == "ramps"
    assert press(ramp, replace(ramp, name="M 2")).level == "ramps"
    assert press(ramp, INKS["K"]).level == "solids"
    assert press(ramp, INKS["K"], density).level == "density"
    assert press(ramp, INKS["K"], density, hint).level == "screen colour"
    assert press(ramp, hint).hints == ("Rowan",)


def test_less_known_means_a_larger_expected_error():
    lab = (48, 60, 30)
    solid = ink_from_lab("ink", lab, paper=PAPER)
    density = replace(solid, known="density")
    hint = replace(solid, known="screen colour")
    errors = [press(ink).expected_error([100.0]) for ink in (solid, density, hint)]
    assert errors[0].de00 < errors[1].de00 < errors[2].de00
    assert errors[0].L < errors[1].L < errors[2].L
    assert errors[2].de00 > 6


def test_a_weak_ink_does_not_blur_colours_without_it():
    hint = ink_from_srgb("Rowan", "#d0402c", paper=PAPER)
    both = press(INKS["K"], hint).expected_error([[100, 0], [100, 20]])
    assert both.de00[0] < 1.5
    assert both.de00[1] > 2 * both.de00[0]


def test_spot_inks_are_less_certain_than_process_inks():
    brown = ink_from_lab("Umber", (40, 20, 30), paper=PAPER)
    usual, unusual = press(*INKS.values()), press(INKS["K"], INKS["C"], INKS["M"], brown)
    assert usual.spots == ()
    assert unusual.spots == ("Umber",)
    assert press(INKS["K"], replace(INKS["K"], name="K 2")).spots == ("K 2",)
    tints = [0, 0, 60, 60]
    assert unusual.expected_error(tints).de00 > 1.1 * usual.expected_error(tints).de00


def test_bright_inks_off_coated_paper_are_less_certain_still():
    """There are no measured prints of them on uncoated paper: a fifth more doubt, a guess."""
    labs, found = {"Moss": (50, -50, 30), "Rowan": (50, 60, 40)}, []
    for paper_class in ("coated", "uncoated"):
        paper = paper_from_lab("paper", (95, 0, -2), paper_class=paper_class)
        inks = [ink_from_lab(name, lab, paper=paper) for name, lab in labs.items()]
        one = press_condition(paper, inks, process=OFFSET)
        found.append(one.expected_error([60, 60]))
        assert one.unproven == ()
        assert bool(one.cautions) == (paper_class == "uncoated")
    assert found[1].L > 1.1 * found[0].L


def test_reasons_for_unproven():
    glow = replace(INKS["M"], character=frozenset({"fluorescent"}))
    silver = replace(INKS["C"], character=frozenset({"metallic"}))
    cover = replace(INKS["Y"], opacity=0.6)
    assert press().unproven == ()
    reasons = press(INKS["K"], silver, glow, cover).unproven
    assert "C is metallic" in reasons
    assert "M is fluorescent" in reasons
    assert any("Y is opaque" in reason for reason in reasons)
    for name, process in PROCESSES.items():
        found = press_condition(PAPER, INKS.values(), process=process).unproven
        assert bool(found) == (name in ("stencil duplicator", "screen print"))


def test_an_opaque_ink_with_measured_overprints_is_proven():
    cover = replace(INKS["Y"], opacity=0.6)
    told = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=np.array([[30.0, 32, 10]]))
    assert press(INKS["K"], cover, patches=told).unproven == ()
    np.testing.assert_allclose(press(INKS["K"], cover, patches=told).xyz100([100, 100]),
                               [30, 32, 10], rtol=1e-4)  # fmt: skip


@pytest.mark.parametrize("opacity", [0.05, 0.4, 0.9])
def test_opacity_from_a_solid_over_black(opacity):
    """The colour over black that an opacity predicts, read as a measurement, tells it again.

    Not exactly: that overprint may be off by itself, as any other.
    """
    white = ink_from_lab("White", (92, 0, 1), paper=PAPER)
    over = press(INKS["K"], replace(white, opacity=opacity)).xyz100([100, 100])
    measured = replace(white, over_black_xyz100=over, black_xyz100=INKS["K"].solid_xyz100)
    learnt = press(INKS["K"], measured).model.solids[1].opacity
    assert learnt.why == "measured"
    assert abs(learnt.value - opacity) < max(0.01, 2 * learnt.sd)
    lab = press(INKS["K"], measured).lab([100, 100])
    assert delta_e00(lab, xyz100_to_lab(over)) < 4
    usual_black = replace(white, over_black_xyz100=over)
    assert press(INKS["K"], usual_black).model.solids[1].opacity.value == pytest.approx(
        learnt.value, abs=0.01
    )


def test_double_hit():
    twice = press().double_hit("K")
    assert [ink.name for ink in twice.inks][-1] == "K 2"
    once, both = twice.lab([[100, 0, 0, 0, 0], [100, 0, 0, 0, 100]])
    assert both[0] < once[0] - 3
    with pytest.raises(ModelError, match="no Soot"):
        press().double_hit("Soot")


def test_measured_overprints_stay_when_inks_are_added():
    told = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=np.array([[3.0, 4, 5]]))
    more = press(INKS["C"], INKS["M"], patches=told).with_inks_added([INKS["Y"]])
    np.testing.assert_allclose(more.xyz100([100, 100, 0]), [3, 4, 5], rtol=1e-4)


def test_a_plate_of_dots_has_coverage_equal_to_its_tone():
    dotted = press().with_screened(["K", "M"])
    tones = np.array([[30.0, 30, 30, 30]])
    np.testing.assert_allclose(dotted.coverage(tones)[0, [0, 2]], 0.3)
    assert dotted.with_screened(["C"]).inks[0].is_screened
    with pytest.raises(ModelError, match="no Soot"):
        press().with_screened(["Soot"])


def on_paper(condition: PressCondition, paper: Paper) -> PressCondition:
    """The same inks on another paper; measured overprints do not go with them."""
    return press_condition(paper, condition.inks, process=condition.process)


def test_another_paper():
    uncoated = paper_from_lab("test uncoated", (95.7, 0.6, -2.3), paper_class="uncoated")
    moved = on_paper(press(), uncoated)
    np.testing.assert_allclose(moved.lab(np.zeros(4)), (95.7, 0.6, -2.3), atol=1e-9)
    said = [origin for origin in moved.origins if origin.what == "K, paper"]
    assert "carried over" in str(said[0].value)
    assert moved.expected_error([100, 0, 0, 0]).L > press().expected_error([100, 0, 0, 0]).L
    assert moved.lab([100, 0, 0, 0])[0] > 25
    back = on_paper(moved, PAPER)
    np.testing.assert_allclose(back.lab([100, 40, 0, 0]), press().lab([100, 40, 0, 0]))


@pytest.mark.parametrize(
    ("old", "new", "limit"),
    [("fogra39l", "fogra29l", 3.5), ("fogra29l", "fogra39l", 4.5), ("fogra39l", "tr002", 7.5)],
)
def test_solids_carried_to_another_class_come_near(old, new, limit):
    """Published inks against the same on another paper; unchanged they miss by half more."""
    first, second = (
        tell(chart(name), known="solids", paper_class=SETS[name])[0] for name in (old, new)
    )
    carried = [put_on_paper(ink, second.paper).solid_xyz100 for ink in first.inks]
    plain = [ink.solid_xyz100 / first.paper.xyz100 * second.paper.xyz100 for ink in first.inks]
    measured = xyz100_to_lab([ink.solid_xyz100 for ink in second.inks])
    off = delta_e00(xyz100_to_lab(carried), measured).mean()
    assert off < limit
    assert off < 0.65 * delta_e00(xyz100_to_lab(plain), measured).mean()


def test_origins_say_whose_each_value_is():
    hint = ink_from_srgb("Rowan", "#d0402c", paper=PAPER)
    told = replace(INKS["C"], tone_value_increase_pct=18.0)
    whose = {origin.what: origin.whose for origin in press(hint, told, INKS["M"]).origins}
    assert whose == {
        "Rowan, solid": "screen hint", "Rowan, tone curve": "process default",
        "C, solid": "measured", "C, tone value increase at 50 %": "user",
        "M, solid": "measured", "M, tone curve": "process default",
    }  # fmt: skip


def test_tints_mix_in_three_bands_whatever_is_known():
    """A measured spectrum serves overprints of spot inks; alone, an ink prints the same without."""
    paper = paper_from_reflectance("p", np.full(36, 0.87), paper_class="coated")
    red = np.interp(np.arange(36), [0, 20, 23, 35], [0.06, 0.05, 0.7, 0.75])
    known = ink_from_reflectance("Rowan", red, paper=paper)
    colour = replace(known, reflectance=None)
    green = ink_from_lab("Moss", (50, -50, 30), paper=paper)
    one, other = (press_condition(paper, [green, ink], process=OFFSET) for ink in (known, colour))
    tints = [[0, 20], [0, 60], [0, 100], [70, 0]]
    np.testing.assert_array_equal(one.xyz100(tints), other.xyz100(tints))
    assert one.model.primaries.shape == (4, 3)
    assert delta_e00(*(each.lab([100, 100]) for each in (one, other))) > 0.3
    assert one.model.solids[1].is_measured
    assert not other.model.solids[1].is_measured


def test_a_fluorescent_ink_stays_brighter_than_paper():
    paper = paper_from_reflectance("p", np.full(36, 0.87), paper_class="coated")
    glow = np.where((np.arange(36) > 20) & (np.arange(36) < 26), 1.6, 0.6)
    ink = replace(ink_from_reflectance("Glow", glow, paper=paper), character={"fluorescent"})
    one = press_condition(paper, [ink], process=OFFSET)
    relative = one.model.relative(np.array([[100.0], [50.0]]))
    assert relative[0].max() > 1.05
    assert 1 < relative[1].max() < relative[0].max()


def test_unknown_process():
    with pytest.raises(ModelError, match="stencil duplicator"):
        find_process("potato print")


def test_processes_without_a_known_ink_limit():
    assert find_process("stencil duplicator").ink_limit_pct is None
    assert find_process("screen print").ink_limit_pct is None
    for name in ("sheet-fed offset", "web offset", "newsprint"):
        assert min(find_process(name).ink_limit_pct.values()) >= 220


# Common practice, as trade averages and published separation aims have it (see processes.py).
@pytest.mark.parametrize(
    ("name", "limits"),
    [
        ("sheet-fed offset", (330, 300, 300, 300, 240)),  # FOGRA39 and 52; ISO 12647-3
        ("web offset", (300, 300, 270, 260, 240)),
        ("newsprint", (240, 240, 240, 240, 240)),  # ISO 12647-3
    ],
)
def test_usual_ink_limits_by_paper(name, limits):
    assert tuple(find_process(name).ink_limit_pct[paper] for paper in MODEL.paper) == limits


# ISO 12647-2:2004 for offset; common practice for the others.
@pytest.mark.parametrize(
    ("name", "tones_pct"),
    [
        ("sheet-fed offset", (3, 97)), ("web offset", (3, 97)), ("newsprint", (3, 97)),
        ("stencil duplicator", (5, 85)), ("screen print", (6, 90)),
    ],
)  # fmt: skip
def test_tones_that_hold(name, tones_pct):
    process = find_process(name)
    assert (process.min_tone_pct, process.max_tone_pct) == tones_pct


@pytest.mark.parametrize(("off_b", "is_same"), [(0.9, True), (-0.9, True), (1.6, False)])
def test_papers_that_differ_by_more_than_readings_do_are_two(off_b, is_same):
    """Of a white, b* 1 is some dE00 0.95; what is the same elsewhere is the same here."""
    assert MODEL.paper_change.same_paper_de00 == SAME_DE00
    lab = xyz100_to_lab(PAPER.xyz100) + np.array([0, 0, off_b])
    other = replace(PAPER, xyz100=lab_to_xyz100(lab))
    assert is_same_paper(PAPER, other) == is_same
    carried = put_on_paper(INKS["M"], other)
    assert np.allclose(carried.xyz100[0], other.xyz100)
    known = (press_condition(other, [ink], process=OFFSET) for ink in (INKS["M"], carried))
    errors = [float(one.expected_error([50.0]).de00) for one in known]
    assert (errors[0] > errors[1]) == (not is_same)


def test_measured_mixtures_stay_true_where_a_plate_is_made_of_dots():
    """The same colour by coverage as by tone value, whichever way a plate says it."""
    paper = load_paper("night-ferry/uncoated")
    names = [f"night-ferry/{name}" for name in ("Soot", "Fjord", "Rowan", "Brass", "Fog")]
    told = press_condition(
        paper,
        [load_ink(name, paper=paper) for name in names],
        process=OFFSET,
        patches=load_overprints(paper, names),
    )
    tones = np.random.default_rng(5).uniform(0, 100, (50, 5))
    dots = tones.copy()
    dots[:, 0] = 100 * told.coverage(tones)[:, 0]
    off = delta_e00(told.with_screened(["Soot"]).lab(dots), told.lab(tones))
    assert off.max() < 0.2
