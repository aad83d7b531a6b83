"""Opacity: told in a word or a number, measured over a black, learnt from overprints, or guessed.

What a black shows through an ink is made here by the model's own layers (silver), so that the
opacity put in is known; the words and their numbers are the house's own.
"""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import ink_from_reflectance, paper_from_lab

from inkmix.base.errors import MeasurementError, ModelError
from inkmix.colour.measured.table import MeasurementTable
from inkmix.press.channels import narrow_bands
from inkmix.press.condition import press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import ink_from_lab
from inkmix.press.patches import Patches
from inkmix.press.processes import find_process
from inkmix.press.solids.opacity import OPACITY_WORDS
from inkmix.press.solids.overprint import Layer, solid_overprints
from inkmix.press.solids.primaries import bed_of, solids_of
from inkmix.press.swatches.by_name import load_ink, load_paper
from inkmix.press.swatches.charts import ink_from_table, opacities_of, paper_from_table

OFFSET = find_process("sheet-fed offset")
COATED = paper_from_lab("coated", (95, 0, -2), paper_class="coated")
UNCOATED = paper_from_lab("uncoated", (94, 0, 2), paper_class="uncoated")
BLACK = ink_from_lab("Soot", (17, 1, 1), paper=COATED)
ORANGE = ink_from_lab("Ember", (65, 60, 75), paper=COATED)
GREEN = ink_from_lab("Fern", (65, -65, 25), paper=COATED)
WHITE = ink_from_lab("Opaque White", (93, 0, 0), paper=COATED)


def press(*inks, paper=COATED, **more):
    return press_condition(paper, inks, process=OFFSET, **more)


def opacity(*inks, **more):
    """Of the last ink."""
    return press(*inks, **more).model.solids[-1].opacity


def over_black_xyz100(ink, value, *, paper=COATED):
    """XYZ (3,) of a solid of known opacity on the black."""
    black, solid = solids_of((BLACK, ink), paper)
    bed = bed_of(paper, black_density=black.y_density)
    layers = [Layer(solid=black.spectrum), Layer(solid=solid.spectrum, opacity=value)]
    laid = solid_overprints(layers, bed.greatest, trapping_loss=bed.loss)[3]
    return narrow_bands(paper.xyz100).relative_to_xyz100(laid @ bed.weights.T)


def seen_over_black(ink, value):
    over = over_black_xyz100(ink, value)
    return replace(ink, over_black_xyz100=over, black_xyz100=BLACK.solid_xyz100)


# --- told and guessed ----------------------------------------------------------------------------


def test_words_rise_on_one_scale() -> None:
    assert list(OPACITY_WORDS) == ["transparent", "slightly opaque", "opaque"]
    values = list(OPACITY_WORDS.values())
    assert values[0] == 0
    assert values == sorted(values)
    assert values[1] <= MODEL.opacity.opaque_above < values[2] == MODEL.opacity.untold_white


@pytest.mark.parametrize("value", [0.0, 0.03, 0.6, 1.0])
def test_a_told_number_is_used_as_it_is(value: float) -> None:
    told = opacity(BLACK, replace(ORANGE, opacity=value))
    assert (told.value, told.why, told.word) == (value, "told", "told")
    assert told.sd == pytest.approx(max(0.01, 0.15 * value))
    assert told.is_opaque == (value > 0.05)


def test_an_orange_is_guessed_by_its_hue() -> None:
    found = opacity(BLACK, ORANGE)
    assert (found.why, found.by, found.word) == ("guessed", "its hue", "guessed by its hue")
    assert found.value == MODEL.opacity.untold_orange  # measured on two seven-ink sets
    assert not found.is_opaque


@pytest.mark.parametrize("name", ["Opaque White", "white", "Opaque-White 2"])
def test_a_white_is_guessed_by_its_name(name: str) -> None:
    found = opacity(BLACK, replace(WHITE, name=name))
    assert (found.why, found.word) == ("guessed", "guessed by its name")
    assert found.value == MODEL.opacity.untold_white
    condition = press(BLACK, replace(WHITE, name=name))
    assert condition.unproven == (
        f"{name} is taken as opaque by its name and its overprints are not measured",
    )


@pytest.mark.parametrize(
    ("name", "lab"), [("Whitehall", (93, 0, 0)), ("White", (60, 0, 0)), ("White", (90, 0, 40))]
)
def test_no_other_ink_is_taken_for_a_white(name: str, lab: tuple[float, float, float]) -> None:
    assert opacity(BLACK, ink_from_lab(name, lab, paper=COATED)).why == "usual"


def test_other_inks_are_taken_as_transparent() -> None:
    spot, black = opacity(GREEN), opacity(BLACK)
    assert (spot.value, spot.why, spot.sd) == (0.0, "usual", MODEL.opacity.untold_sd)
    assert (black.value, black.why) == (0.0, "usual")


@pytest.mark.parametrize("value", [-0.01, 1.01, float("nan")])
def test_a_number_outside_the_scale_is_refused(value: float) -> None:
    with pytest.raises(ModelError, match="to 1; whites reach"):
        replace(ORANGE, opacity=value)


# --- measured over a black, learnt from overprints -----------------------------------------------


@pytest.mark.parametrize("value", [0.0, 0.03, 0.2, 0.5, 0.9])
@pytest.mark.parametrize("ink", [ORANGE, GREEN, WHITE], ids=lambda ink: ink.name)
def test_an_ink_seen_over_a_black_gives_its_opacity_back(ink, value: float) -> None:
    found = opacity(BLACK, seen_over_black(ink, value))
    assert (found.why, found.word) == ("measured", "measured over black")
    # At 0 there is half a bell, whose mean lies 1.32 of its standard deviations off.
    assert abs(found.value - value) < (found.sd if value else 1.33 * found.sd)
    assert found.sd < 0.25 * value + 0.03
    assert found.is_opaque == (value > 0.1)


def test_what_is_told_counts_more_than_a_reading_over_a_black() -> None:
    found = opacity(BLACK, replace(seen_over_black(WHITE, 0.5), opacity=0.8))
    assert (found.value, found.why) == (0.8, "told")


def test_a_measured_overprint_tells_the_opacity() -> None:
    """Of an ink taken as transparent that in truth is .1."""
    seen = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=over_black_xyz100(GREEN, 0.1)[None])
    found = opacity(BLACK, GREEN, patches=seen)
    assert (found.why, found.by, found.word) == ("learnt", "", "learnt from measured overprints")
    assert 0.04 < found.value < 0.12
    guessed = opacity(BLACK, ORANGE, patches=Patches(
        tone_pct=np.array([[100.0, 100]]), xyz100=over_black_xyz100(ORANGE, 0.1)[None]
    ))  # fmt: skip
    assert (guessed.why, guessed.by) == ("learnt", "")


def test_only_inks_of_measured_pairs_are_learnt() -> None:
    seen = Patches(tone_pct=np.array([[100.0, 100, 0]]), xyz100=over_black_xyz100(GREEN, 0.1)[None])
    kinds = [solid.opacity.why for solid in press(BLACK, GREEN, ORANGE, patches=seen).model.solids]
    assert kinds == ["usual", "learnt", "guessed"]


# --- what is said of it --------------------------------------------------------------------------


def whose(*inks, what="opacity", **more):
    return [
        (origin.what, origin.value, origin.whose)
        for origin in press(*inks, **more).origins
        if origin.what.endswith(what)
    ]


def test_origins_say_whose_word_an_opacity_is() -> None:
    told = replace(GREEN, opacity=0.2)
    assert whose(BLACK, told, ORANGE, seen_over_black(WHITE, 0.5)) == [
        ("Fern, opacity", 0.2, "user"),
        ("Ember, opacity", 0.03, "guessed"),
        ("Opaque White, opacity", "solid over black", "measured"),
    ]
    seen = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=over_black_xyz100(GREEN, 0.1)[None])
    assert whose(BLACK, GREEN, patches=seen) == [
        ("Fern, opacity", "measured overprints", "measured")
    ]


def test_an_ink_measured_over_black_is_opaque_only_if_it_is() -> None:
    assert press(BLACK, seen_over_black(GREEN, 0.0)).unproven == ()
    (reason,) = press(BLACK, seen_over_black(GREEN, 0.5)).unproven
    assert reason == "Fern is opaque and its overprints are not measured"


def test_a_glowing_ink_is_not_called_opaque_besides() -> None:
    glow = replace(ORANGE, character=frozenset({"fluorescent"}), opacity=0.4)
    assert press(BLACK, glow).unproven == ("Ember is fluorescent",)


@pytest.mark.parametrize("paper", ["coated", "uncoated", "newsprint"])
def test_a_colour_that_no_plain_ink_shows_is_unproven(paper: str) -> None:
    """The invented fluorescent ink, known by its Lab alone; no other of its set is taken so."""
    stock = load_paper(f"night-ferry/{paper}")
    flare, *others = (
        replace(load_ink(f"night-ferry/{name}", paper=stock), reflectance=None, opacity=0.0,
                character=frozenset())
        for name in ("Flare", "Rowan", "Lantern", "Buoy", "Oilskin", "Tide", "Fog", "Thrift")
    )  # fmt: skip
    said = "Flare has a colour that no plain ink shows: it may be fluorescent"
    assert press(flare, paper=stock).unproven == (said,)
    assert press(*others, paper=stock).unproven == ()


def test_an_ink_brighter_than_the_paper_is_unproven() -> None:
    bright = ink_from_lab("Varnish", (96, 0, -2), paper=COATED)
    said = "Varnish is brighter than the paper, as only a fluorescent or an opaque ink is"
    assert press(bright).unproven == (said,)
    assert press(BLACK, replace(bright, opacity=0.9)).unproven == (
        "Varnish is opaque and its overprints are not measured",
    )
    same = ink_from_lab("Varnish", (95, 0, -2), paper=COATED)
    assert press(same).unproven == ()


def test_a_measured_spectrum_is_believed() -> None:
    paper = load_paper("night-ferry/coated")
    flare = load_ink("night-ferry/Flare", paper=paper)
    known = ink_from_reflectance("Flare", flare.reflectance[-1], paper=paper)
    assert press(known, paper=paper).unproven == ()
    assert press(replace(known, reflectance=None), paper=paper).unproven != ()


# --- process inks, spot inks, cautions -----------------------------------------------------------


def test_process_inks_are_told_by_colour_and_what_was_used_of_them() -> None:
    cyan = ink_from_lab("Sea", (55, -37, -50), paper=COATED)
    both = press(BLACK, cyan, ORANGE)
    told = [(ink.name, ink.colour, ink.in_common) for ink in both.process_inks]
    assert told == [("Soot", "black", True), ("Sea", "cyan", True)]
    assert both.spots == ("Ember",)
    twice = press(BLACK, replace(BLACK, name="Soot 2"))
    assert [ink.name for ink in twice.process_inks] == ["Soot"]
    assert twice.spots == ("Soot 2",)


def test_what_presses_have_in_common_is_said_only_where_it_was_used() -> None:
    """Two in the usual order, or a curve that nobody told."""
    black = replace(BLACK, tone_value_increase_pct=15.0)
    cyan = ink_from_lab("Sea", (55, -37, -50), paper=COATED)
    told = replace(cyan, tone_value_increase_pct=15.0)
    used = {
        "alone": press(black, ORANGE),
        "in order": press(black, told),
        "out of order": press(told, black),
        "own curve": press(told, replace(black, tone_value_increase_pct=None)),
    }
    assert {how: [ink.in_common for ink in made.process_inks] for how, made in used.items()} == {
        "alone": [False], "in order": [True, True], "out of order": [False, False],
        "own curve": [False, True],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("paper_class", "words"),
    [
        ("uncoated", "on uncoated paper the expected error is widened, by a guess"),
        ("newsprint", "on newsprint the expected error is widened, by a guess"),
        ("supercalendered", "on supercalendered paper"),
    ],
)
def test_bright_inks_on_paper_they_were_not_tried_on_are_a_caution(paper_class, words) -> None:
    paper = replace(UNCOATED, paper_class=paper_class)
    labs = {"Fern": (60, -45, 20), "Dusk": (40, 30, -35)}
    green, violet = (ink_from_lab(name, lab, paper=paper) for name, lab in labs.items())
    made = press(green, violet, paper=paper)
    (said,) = made.cautions
    assert f"Fern and Dusk {words}" in said
    assert made.unproven == ()


def test_no_caution_where_the_inks_were_tried() -> None:
    assert press(BLACK, ORANGE, GREEN).cautions == ()
    light = replace(COATED, paper_class="light-coated")
    here = [replace(ink, measured_on=light) for ink in (BLACK, ORANGE)]
    assert press(*here, paper=light).cautions == ()
    black = ink_from_lab("Soot", (32, 1, 1), paper=UNCOATED)
    assert press(black, paper=UNCOATED).cautions == ()


# --- charts --------------------------------------------------------------------------------------


def chart(**keywords: str) -> MeasurementTable:
    """Paper, two solids, and the second over the first."""
    xyz100 = [
        COATED.xyz100, BLACK.solid_xyz100, GREEN.solid_xyz100, over_black_xyz100(GREEN, 0.4)
    ]  # fmt: skip
    return MeasurementTable(
        sample_names=("paper", "Soot", "Fern", "Fern over Soot"),
        plates=("Soot", "Fern"),
        tone_pct=np.array([[0.0, 0], [100, 0], [0, 100], [100, 100]]),
        xyz100=np.array(xyz100),
        source="chart.txt",
        keywords={"PAPER_CLASS": "coated", **keywords},
    )


def fern(**keywords: str):
    table = chart(**keywords)
    return ink_from_table(table, "Fern", paper=paper_from_table(table, name="p"))


def test_a_chart_with_the_ink_over_its_black_measures_it() -> None:
    ink = fern(OPACITY="Fern 0.3", BLACK="Soot")
    assert ink.opacity is None
    assert opacity(BLACK, ink).why == "measured"
    assert opacity(BLACK, ink).value == pytest.approx(0.4, abs=0.05)


@pytest.mark.parametrize(
    "keywords",
    [
        {"OPACITY": "Fern 0.3"},
        {"OPACITY": "Soot 0; Fern 0.3", "BLACK": "Fern"},
        {"OPACITY": "Fern 0.3", "BLACK": "Soot", "LAY_DOWN_ORDER": "Fern; Soot"},
    ],
    ids=["no black", "the ink is the black", "printed before the black"],
)
def test_a_chart_without_the_ink_over_a_black_tells_a_number(keywords) -> None:
    ink = fern(**keywords)
    assert (ink.opacity, ink.over_black_xyz100) == (0.3, None)


def test_a_chart_that_calls_an_ink_transparent_is_believed() -> None:
    ink = fern(OPACITY="Fern 0", BLACK="Soot")
    assert (ink.opacity, ink.over_black_xyz100) == (0.0, None)


def test_a_chart_that_says_nothing_leaves_it_open() -> None:
    ink = fern(BLACK="Soot")
    assert (ink.opacity, ink.over_black_xyz100) == (None, None)


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ("Fern", 'chart.txt: OPACITY: "Fern", but an ink and a number from 0 (transparent) to 1'),
        ("Fern opaque", '"Fern opaque"'),
        ("0.3", '"0.3"'),
        ("Fern 30", '"Fern 30"'),
        ("Fern -0.1", '"Fern -0.1"'),
        ("Fern nan", '"Fern nan"'),
        ("Fern 0.3; Fern 0.4", "Fern is named twice"),
        ("Ferm 0.3", "no ink Ferm, but it holds Soot, Fern; did you mean Fern?"),
    ],
)
def test_a_chart_that_tells_it_wrongly_is_refused(told: str, words: str) -> None:
    with pytest.raises(MeasurementError) as caught:
        fern(OPACITY=told)
    assert words in str(caught.value)


def test_all_that_is_wrong_is_told_at_once() -> None:
    with pytest.raises(MeasurementError) as caught:
        opacities_of(chart(OPACITY="Fern; Soot 2; Soot 0", BLACK="Sot"))
    where = [fault.where for fault in caught.value.faults]
    assert where == ["chart.txt: OPACITY", "chart.txt: OPACITY", "chart.txt: BLACK"]
    assert "did you mean Soot?" in str(caught.value)


# --- the shipped inks ----------------------------------------------------------------------------


@pytest.mark.parametrize("paper", ["coated", "uncoated", "newsprint"])
def test_nothing_is_guessed_of_shipped_inks(paper: str) -> None:
    stock = load_paper(f"night-ferry/{paper}")
    names = ("Soot", "Lantern", "Gull", "Flare")
    inks = [load_ink(f"night-ferry/{name}", paper=stock) for name in names]
    solids = press(*inks, paper=stock).model.solids
    assert [solid.opacity.why for solid in solids] == ["told", "told", "measured", "told"]
    assert [solid.opacity.is_opaque for solid in solids] == [False, False, True, True]


def test_an_ink_brighter_than_its_paper_is_guessed_to_cover() -> None:
    """On kraft a pale ink that nobody called white must bring its own white; never surer for it."""
    kraft = paper_from_lab("kraft", (62, 9, 24), paper_class="coated")
    blue = ink_from_lab("Dusk", (35, 10, -40), paper=kraft)
    pale = ink_from_lab("Cream", (85, 0, 20), paper=kraft)
    found = press_condition(kraft, [blue, pale], process=OFFSET)
    opacity = found.model.solids[1].opacity
    assert (opacity.value, opacity.by) == (MODEL.opacity.untold_white, "its brightness")
    assert found.lab([100, 100])[0] < 85
    told = press_condition(kraft, [blue, replace(pale, opacity=0.6)], process=OFFSET)
    assert found.expected_error([100, 100]).de00 > told.expected_error([100, 100]).de00


def test_measurements_overrule_a_told_opacity_and_that_is_said() -> None:
    clear = press_condition(COATED, [BLACK, replace(ORANGE, opacity=0.0)], process=OFFSET)
    pair = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=clear.xyz100([[100, 100]]))
    inks = [BLACK, replace(ORANGE, opacity=0.5)]
    overruled = press_condition(COATED, inks, process=OFFSET, patches=pair)
    (said,) = overruled.cautions
    assert "opacity 0.5 was given, but measured overprints show 0.0" in said
    agreed = press_condition(
        COATED, [BLACK, replace(ORANGE, opacity=0.0)], process=OFFSET, patches=pair
    )
    assert agreed.cautions == ()
