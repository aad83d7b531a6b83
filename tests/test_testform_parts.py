"""What a test form is made of: ramps, solids, mixtures, layout, type; each by itself."""

from dataclasses import replace

import numpy as np
import pytest
from known_inks import paper_from_lab
from press_for_checks import press

from inkmix.export.forms.drawing import GREYS, Area, FormDrawing, FormPixels, Words
from inkmix.export.forms.lettering import fitted, width_mm, word_mask, wrapped
from inkmix.press.condition import press_condition
from inkmix.press.forms.choose import expected_de00, full_form, small_form
from inkmix.press.forms.mixes import APART_PCT, as_if_measured, darks, tints
from inkmix.press.forms.ramps import ramp_steps
from inkmix.press.forms.solids import complement_of, darkest_ink, solid_overprints
from inkmix.press.forms.values import (
    DARK,
    OVER_BLACK,
    OVER_COMPLEMENT,
    TINT,
    FormInks,
    held8,
)
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.sheet.box import Box
from inkmix.sheet.forms.layout import (
    Run,
    Wanted,
    laid_out,
    largest_patch_mm,
    least_height_mm,
    row_name,
)
from inkmix.sheet.forms.marks import (
    PAPER,
    corner_mark,
    paper_mark,
    register_mark,
    snapped,
    snapped_edges,
    widths_at,
)

COATED = paper_from_lab("p", (95, 0, -2), paper_class="coated")
PROCESS_LAB = {"K": (16, 0, 0), "C": (55, -37, -50), "M": (48, 74, -3), "Y": (89, -5, 93)}


def process_inks(*names: str, order: str = "sheet-fed offset", limit: float | None = 300.0):
    inks = [ink_from_lab(name, PROCESS_LAB[name], paper=COATED) for name in names]
    condition = press_condition(COATED, inks, process=find_process(order))
    return FormInks(condition=condition, owners=tuple(range(len(inks))), ink_limit_pct=limit)


def spots(*names: str, limit: float | None = 260.0) -> FormInks:
    condition = press(*names)
    owners = tuple(range(len(condition.inks)))
    return FormInks(condition=condition, owners=owners, ink_limit_pct=limit)


# --- ramps ----------------------------------------------------------------------------------------


def test_a_ramp_goes_from_the_smallest_dot_to_the_solid():
    condition = press("Soot")
    steps = ramp_steps(condition, 0)
    assert steps[0] == condition.process.min_tone_pct
    assert condition.process.max_tone_pct in steps
    assert steps[-1] == 100
    assert list(steps) == sorted(set(steps))


def test_a_process_with_large_dots_has_fewer_steps():
    offset, screen = (
        ramp_steps(process_inks("C", order=name).condition, 0)
        for name in ("sheet-fed offset", "screen print")
    )
    assert len(screen) <= 0.75 * len(offset)
    assert screen[0] == 6  # the smallest dot of screen printing in constants.toml


def with_increase(pct: float):
    ink = ink_from_lab("K", PROCESS_LAB["K"], paper=COATED)
    told = replace(ink, tone_value_increase_pct=pct)
    return press_condition(COATED, [told], process=find_process("sheet-fed offset"))


def test_steps_are_closer_where_dots_gain_much():
    some, much = (ramp_steps(with_increase(pct), 0) for pct in (5, 30))
    assert len(much) > len(some)
    widths = np.diff(much)[:-2]  # the last but one is the greatest tone that stays open
    assert widths.min() < widths[0]  # in the middle, where the increase is greatest


# --- solids ---------------------------------------------------------------------------------------


def test_the_black_is_told_by_its_colour_and_else_the_darkest_stands_for_it():
    assert darkest_ink(process_inks("C", "K", "Y")) == 1
    assert darkest_ink(spots("Rowan", "Fjord", "Brass")) == 1  # L* 40 of 55, 40, 82


def test_opposite_hues():
    inks = spots()
    names = [ink.name for ink in inks.condition.inks]
    assert complement_of(inks, names.index("Fjord")) == names.index("Brass")  # blue and yellow
    assert complement_of(inks, names.index("Soot")) is None  # too grey
    cmy = process_inks("C", "M", "Y")
    assert complement_of(cmy, 1) is None  # cyan and yellow are some 120 and 95 degrees away


def test_all_solids_within_the_limit_and_no_others():
    inks = process_inks("K", "C", "M", "Y")
    patches, over = solid_overprints(inks)
    held = {tuple(np.flatnonzero(patch.tone_pct)) for patch in patches}
    assert len(held) == 6 + 4  # pairs, and sets of three: 300 %
    assert over == [(0, 1, 2, 3)]
    kinds = [patch.kind for patch in patches]
    assert kinds[:3] == [OVER_BLACK] * 3
    assert patches[0].why == "C on K"  # printed in this order, so C lies on top


def test_what_lies_on_top_follows_the_lay_down_order():
    patches, _ = solid_overprints(process_inks("C", "K"))
    assert [patch.why for patch in patches] == ["K on C"]


# --- mixtures -------------------------------------------------------------------------------------


def test_darks_are_near_the_limit_and_differ():
    inks = spots()
    rows = np.array([patch.tone_pct for patch in darks(inks, count=12)])
    assert len(rows) == 12
    assert (rows.sum(axis=1) <= 260).all()
    most = np.minimum(260, 100 * (rows > 0).sum(axis=1))
    assert (rows.sum(axis=1) >= 0.85 * most).all()
    apart = np.abs(rows[:, None] - rows).max(axis=2)
    assert apart[np.triu_indices(12, 1)].min() >= APART_PCT
    assert (rows[6:, 0] <= 60).all()  # half of them with little black
    L = inks.condition.lab(rows)[:, 0]
    assert (np.diff(L[:6]) >= 0).all()


def test_tints_are_those_that_lower_the_doubt():
    inks = spots()
    chosen = tints(inks, told=[(0.0,) * 5], count=10)
    told = np.array([patch.tone_pct for patch in chosen])
    mixtures = [tuple(row) for row in np.random.default_rng(5).uniform(20, 60, (60, 5))]
    ramps = full_form(inks).of_kind("paper", "ramp")
    before = expected_de00(inks, ramps, mixtures)
    after = expected_de00(inks, (*ramps, *chosen), mixtures)
    assert after < before
    assert ((told > 0).sum(axis=1) >= 2).all()
    assert not np.all((told == 0) | (told == 100), axis=1).any()


def test_what_is_printed_anyway_is_not_chosen_again():
    inks = spots("Soot", "Rowan")
    first = tints(inks, told=[], count=3)
    more = tints(inks, told=[patch.tone_pct for patch in first], count=20)
    assert not {patch.tone_pct for patch in first} & {patch.tone_pct for patch in more}
    assert len(first) + len(more) == 8  # nine pairs of 40, 70 and 100 % but for the solid


def test_to_measure_as_predicted_leaves_colours_as_they_are():
    inks = spots("Soot", "Fjord", "Rowan")
    told = np.array([patch.tone_pct for patch in full_form(inks).patches])
    known = as_if_measured(inks.condition, told)
    assert known.lab(told) == pytest.approx(inks.condition.lab(told), abs=0.25)  # L*, a*, b*
    assert known.level == "ramps"
    before, after = (one.expected_error(told).de00 for one in (inks.condition, known))
    assert (after < before)[1:].all()  # but for the paper


def test_a_form_has_each_mix_once():
    form = full_form(spots())
    rows = [patch.tone_pct for patch in form.patches]
    assert len(set(rows)) == len(rows)
    assert {DARK, TINT, OVER_COMPLEMENT} <= {patch.kind for patch in form.patches}


def test_one_ink_has_a_ramp_and_nothing_to_mix():
    inks = spots("Soot")
    assert {patch.kind for patch in full_form(inks).patches} == {"paper", "ramp"}
    assert small_form(inks, count=10).patches == full_form(inks).patches


def test_tone_values_are_those_of_eight_bits():
    tones = held8(np.array([10.0, 40.0, 100.0]))
    assert np.rint(tones * 2.55) == pytest.approx(tones * 2.55, abs=1e-9)
    assert tones[1:].tolist() == [40.0, 100.0]  # 102 and 255 of 255


# --- layout ---------------------------------------------------------------------------------------

RUNS = [Run(heading=f"run {k}", count=count, heading_mm=8.0) for k, count in enumerate((2, 11, 30))]
WANTED = Wanted(targets=3, fields=6, registers=2)


def layout(**changed):
    size = {"width_mm": 210.0, "height_mm": 148.0, "margin_mm": 4.0, "patch_mm": 8.0} | changed
    return laid_out(RUNS, WANTED, **size)


def test_patches_keep_off_each_other_and_off_the_marks():
    made = layout()
    boxes = [cell.box for cell in made.cells]
    boxes += [*made.corners, *made.targets, *made.words]
    boxes += [box for boxes in (*made.fields, *made.registers) for box in boxes]
    for at, box in enumerate(boxes):
        assert not any(box.meets(other) for other in boxes[:at])
        assert box.x >= 4
        assert box.right <= 206 + 1e-9
        assert box.bottom <= 144 + 1e-9


def test_a_run_stays_in_one_row_where_it_can():
    made = layout(patch_mm=6.0)
    rows = [cell.row for cell in made.cells]
    assert len(set(rows[2:13])) == 1
    assert [heading.words for heading in made.headings] == ["run 0", "run 1", "run 2"]


def test_the_largest_patches_that_fit_are_taken():
    size = {"width_mm": 210.0, "margin_mm": 4.0}
    height = least_height_mm(RUNS, WANTED, **size, patch_mm=9.0)
    found = largest_patch_mm(RUNS, WANTED, **size, height_mm=height, least_mm=5.0)
    assert found == 9.0
    assert largest_patch_mm(RUNS, WANTED, **size, height_mm=40.0, least_mm=5.0) is None


def test_rows_after_z():
    assert [row_name(row) for row in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


# --- marks ----------------------------------------------------------------------------------------

BOX = Box(x=10, y=20, width=6, height=6)


def test_only_the_odd_corner_has_a_core():
    plain, odd = (list(corner_mark(BOX, 2, is_odd=is_odd)) for is_odd in (False, True))
    assert [one.layer for one in plain] == [2, PAPER]
    assert [one.layer for one in odd] == [2, PAPER, 2]
    assert {one.box.middle for one in odd} == {BOX.middle}


def test_arms_of_a_register_mark_meet_nowhere():
    arms = list(register_mark(BOX, 0, 1, line_mm=0.2))
    assert sorted(arm.layer for arm in arms) == [0, 0, 1, 1]
    for at, arm in enumerate(arms):
        assert not any(arm.box.meets(other.box) for other in arms[:at])


def test_angles_lie_around_a_patch_and_not_in_it():
    angles = list(paper_mark(BOX, 0, line_mm=0.15))
    assert len(angles) == 8
    assert not any(one.box.meets(BOX) for one in angles)


def test_widths_are_whole_pixels():
    assert widths_at((0.05, 0.1, 0.5), ppi=508) == (0.05, 0.1, 0.5)
    assert widths_at((0.05, 0.1, 0.2), ppi=100) == (0.254,)  # one pixel stands for all three


def test_boxes_on_pixels():
    box = Box(x=1.03, y=1.0, width=0.99, height=2.0)
    assert snapped(box, ppi=254) == Box(x=1.0, y=1.0, width=1.0, height=2.0)
    beside = Box(x=box.right, y=1.0, width=0.99, height=2.0)
    one, other = (snapped_edges(each, ppi=254) for each in (box, beside))
    assert one.right == pytest.approx(other.x)


# --- pixels ---------------------------------------------------------------------------------------


def drawing(**changed) -> FormDrawing:
    mixes = np.concatenate([np.linspace(0, 100, GREYS)[:, None], [[40.0]]])
    parts = {"areas": (), "words": ()} | changed
    return FormDrawing(width_mm=20.0, height_mm=10.0, mixes=mixes, **parts)


def test_rows_are_the_same_however_they_are_asked_for():
    made = drawing(
        areas=(Area(box=Box(x=2, y=1, width=5, height=6), mix=GREYS),),
        words=(Words(text="Fjord 12", x=9, y=6, size_pt=8),),
    )
    pixels = FormPixels(made, ppi=254)
    whole = pixels.rows(0, pixels.height_px)
    parts = [pixels.rows(row, min(row + 7, 100)) for row in range(0, 100, 7)]
    assert np.array_equal(np.concatenate(parts), whole)
    assert (whole[10:70, 20:70] == GREYS).all()
    assert (whole == GREYS).sum() == 60 * 50
    assert ((whole > 0) & (whole < GREYS)).any()  # type, with tints at its edges


def test_words_begin_and_end_where_they_are_told_to():
    for align, expected in (("left", 100), ("middle", None), ("right", 100)):
        made = drawing(words=(Words(text="IIII", x=10, y=6, size_pt=9, align=align),))
        pixels = FormPixels(made, ppi=254)
        cols = np.flatnonzero(pixels.rows(0, 100).any(axis=0))
        if align == "middle":
            assert abs((cols[0] + cols[-1]) / 2 - 100) <= 2
        else:
            assert abs((cols[0] if align == "left" else cols[-1]) - expected) <= 4


def test_words_at_an_edge_are_cut_and_nothing_else():
    for x, y in ((-3, 5), (19, 5), (5, 0.5), (5, 11)):
        made = drawing(words=(Words(text="Rowan", x=x, y=y, size_pt=9),))
        assert FormPixels(made, ppi=150).rows(0, 59).shape == (59, 118)


def test_type_fits_its_room():
    assert fitted("Soot", size_pt=6, room_mm=20) == "Soot"
    cut = fitted("Ultramarine violet", size_pt=6, room_mm=10)
    assert cut.endswith("…")
    assert width_mm(cut, size_pt=6) <= 10
    lines = list(wrapped("a line that is longer than its room", size_pt=6, room_mm=15))
    assert len(lines) > 1
    assert all(width_mm(line, size_pt=6) <= 15 for line in lines)
    assert " ".join(lines) == "a line that is longer than its room"


def test_letters_that_are_none_do_not_break_a_line():
    mask, _, _ = word_mask("two\nlines\x00", size_pt=6, ppi=300)
    assert mask.max() == 255
