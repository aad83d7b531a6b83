"""What is on an overprint sheet: fields, their figures, what looks alike, what is dark."""

from functools import cache
from itertools import combinations
from math import comb

import numpy as np
import pytest
from press_for_checks import press, press_with_hint

from inkmix.book.meant.condition import Limits
from inkmix.book.values import Told
from inkmix.checks.tones.facts import HARD_TO_TELL_DE00
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab, xyz100_to_srgb1
from inkmix.colour.vision import VIEWS, seen_xyz100
from inkmix.jobs.overprints.deepest import _has, deepest_darks
from inkmix.jobs.overprints.fields import DARKEST, OVERPRINTS, PAIR, RAMP, Block
from inkmix.jobs.overprints.sheet import OverprintSheet, overprint_sheet, short_signs
from inkmix.mixes.values import Mix
from inkmix.pages.overprints.joins import _below, bridges, letters_of
from inkmix.pages.overprints.layout import Frame, PlacedBlock, arranged
from inkmix.pages.overprints.shades import is_dark
from inkmix.pages.overprints.words import block_words, facts
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_paper
from inkmix.sheet.box import Box

NAMES = ("Soot", "Fjord", "Rowan", "Brass", "Fog", "Thrift", "Samphire", "Oilskin")


def ferry(count: int, *, paper: str = "uncoated") -> PressCondition:
    """The first so many inks, on the uncoated paper or another."""
    on = load_paper(f"night-ferry/{paper}")
    inks = [load_ink(f"night-ferry/{name}", paper=on) for name in NAMES[:count]]
    return press_condition(on, inks, process=find_process("sheet-fed offset"))


def limits(pct: float | None = 260.0) -> Limits:
    told = None if pct is None else Told(value=pct, whose="printer")
    return Limits(ink_limit_pct=told, edge_growth_mm=Told(value=0.01, whose="user"))


def sheet_of(condition: PressCondition, **more: object) -> OverprintSheet:
    given = {"limits": limits(), "title": "A test", **more}
    return overprint_sheet(condition, **given)  # type: ignore[arg-type]


@cache
def plain_sheet(count: int) -> OverprintSheet:
    """Made once: the darks of eight inks take seconds."""
    return sheet_of(ferry(count))


# --- fields --------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 5, 8])
def test_all_that_belongs_on_the_sheet_is_there(count: int) -> None:
    sheet = plain_sheet(count)
    (overprints,) = sheet.of_kind(OVERPRINTS)
    assert len({field.tone_pct for field in overprints.fields}) == 2**count
    assert overprints.groups == tuple(comb(count, size) for size in range(count + 1))
    assert [block.inks for block in sheet.of_kind(RAMP)] == [(k,) for k in range(count)]
    pairs = sheet.of_kind(PAIR)
    assert [block.inks for block in pairs] == list(combinations(range(count), 2))
    for block in pairs:
        first, second = block.inks
        side = len(block.groups)
        tints = {(field.tone_pct[first], field.tone_pct[second]) for field in block.fields}
        assert len(tints) == side**2 == len(block.fields)
        assert {0.0, 100.0} <= {tint for pair in tints for tint in pair}
        assert all(sum(field.tone_pct) == sum((field.tone_pct[first], field.tone_pct[second]))
                   for field in block.fields)  # fmt: skip


def test_overprints_go_by_the_number_of_inks_and_then_as_laid_down() -> None:
    (block,) = sheet_of(ferry(3)).of_kind(OVERPRINTS)
    order = [tuple(np.flatnonzero(field.tone_pct).tolist()) for field in block.fields]
    assert order == [(), (0,), (1,), (2,), (0, 1), (0, 2), (1, 2), (0, 1, 2)]


def test_figures_are_those_of_the_model() -> None:
    condition = ferry(4)
    sheet = sheet_of(condition)
    fields = [field for block in sheet.blocks for field in block.fields]
    tones = np.array([field.tone_pct for field in fields])
    np.testing.assert_allclose([f.lab for f in fields], condition.lab(tones), atol=1e-9)
    errors = condition.expected_error(tones)
    np.testing.assert_allclose([f.error_de00 for f in fields], errors.de00, atol=1e-9)
    np.testing.assert_allclose([f.error_L for f in fields], errors.L, atol=1e-9)
    for field, tone in zip(fields, tones, strict=True):
        assert field.total_pct == pytest.approx(tone.sum())
        assert field.is_over == (tone.sum() > 260)


@pytest.mark.parametrize("view", VIEWS)
def test_what_is_shown_is_the_print_in_the_view(view: str) -> None:
    condition = ferry(3)
    for block in sheet_of(condition, view=view).blocks:
        tones = np.array([field.tone_pct for field in block.fields])
        srgb255 = 255 * xyz100_to_srgb1(seen_xyz100(condition.xyz100(tones), view=view))
        shown = np.array([field.srgb8 for field in block.fields])
        inside = np.array([field.in_srgb for field in block.fields])
        assert (np.abs(shown - srgb255)[inside] <= 0.5 + 1e-9).all()
        assert ((srgb255 < -0.5) | (srgb255 > 255.5)).any(axis=1).tolist() == (~inside).tolist()
        # The figures stay those of the print, whatever the view.
        np.testing.assert_allclose([f.lab for f in block.fields], condition.lab(tones), atol=1e-9)


def test_as_much_ink_as_the_limit_is_not_over_it() -> None:
    (block,) = sheet_of(ferry(3), limits=limits(200), darkest=()).of_kind(OVERPRINTS)
    assert [field.is_over for field in block.fields] == [False] * 7 + [True]  # 300 % alone


def test_the_first_ink_of_a_pair_rises_across_and_the_second_down() -> None:
    sheet = sheet_of(ferry(3), darkest=())
    block = sheet.of_kind(PAIR)[1]  # Soot and Rowan
    side = len(block.groups)
    assert [field.tone_pct for field in block.fields[:3]] == [(0, 0, 0), (10, 0, 0), (20, 0, 0)]
    assert block.fields[side].tone_pct == (0, 0, 10)
    assert block_words(sheet, block)[0] == "Soot across, Rowan down"
    assert block_words(sheet, block)[1:3] == ("Soot across, R down", "S across, R down")


def test_without_a_limit_nothing_is_over() -> None:
    sheet = sheet_of(ferry(5), limits=limits(None))
    assert not any(field.is_over for block in sheet.blocks for field in block.fields)
    assert "no ink limit is given" in " ".join(facts(sheet))


# --- alike ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("view", ["plain", "grey", "deutan"])
def test_pairs_alike_are_all_there_and_no_others(view: str) -> None:
    condition = ferry(4)
    for block in sheet_of(condition, view=view).blocks:
        tones = np.array([field.tone_pct for field in block.fields])
        lab = xyz100_to_lab(seen_xyz100(condition.xyz100(tones), view=view))
        told = {(pair.first, pair.second): pair.de00 for pair in block.alike}
        for one, other in combinations(range(len(lab)), 2):
            de00 = float(delta_e00(lab[one], lab[other]))
            assert ((one, other) in told) == (de00 < HARD_TO_TELL_DE00)
            if (one, other) in told:
                assert told[one, other] == pytest.approx(de00)


def test_in_grey_more_looks_alike() -> None:
    def count(view: str) -> int:
        return len(sheet_of(ferry(5), view=view, darkest=()).blocks[0].alike)

    assert count("plain") < count("deutan") < count("grey")


def test_fields_of_one_letter_are_all_alike() -> None:
    block = plain_sheet(8).blocks[0]
    near = {(pair.first, pair.second) for pair in block.alike}
    letters = letters_of(block)
    for one, other in combinations(sorted(letters), 2):
        if letters[one] == letters[other]:
            assert (one, other) in near
    counts = [list(letters.values()).count(letter) for letter in set(letters.values())]
    assert min(counts) > 1
    assert len(set(letters.values())) > 26  # beyond z it goes on
    assert "aa" in letters.values()


def test_bridges_lie_between_neighbours_that_look_alike() -> None:
    sheet = plain_sheet(5)
    frame = frame_in(Box(x=0, y=0, width=150, height=200), Box(x=160, y=0, width=200, height=200))
    for placed in arranged(sheet.blocks, frame):
        near = {(pair.first, pair.second) for pair in placed.block.alike}
        for place, bridge in bridges(placed, gap_mm=frame.gap, line_mm=1):
            met = [k for k, box in enumerate(placed.fields) if box.meets(bridge)]
            assert len(met) == 2
            assert tuple(met) in near
            assert place == met[0]
        if placed.block.kind == PAIR:
            assert len(list(bridges(placed, gap_mm=9, line_mm=1))) == sum(
                are_neighbours(placed, *pair) for pair in near
            )


def are_neighbours(placed: PlacedBlock, first: int, second: int) -> bool:
    side = len(placed.block.groups)
    rows, cols = divmod(second, side)[0] - first // side, second % side - first % side
    return (rows, abs(cols)) in ((0, 1), (1, 0))


@pytest.mark.parametrize(("x", "is_joined"), [(3.9, True), (4.1, False), (8, False)])
def test_fields_are_joined_where_one_lies_mostly_under_the_other(x: float, is_joined: bool) -> None:
    """Six tenths of an edge of ten."""
    above, below = Box(x=0, y=0, width=10, height=10), Box(x=x, y=11, width=10, height=10)
    assert (_below(above, below, gap_mm=1, line_mm=1) is not None) == is_joined


# --- the deepest darks ---------------------------------------------------------------------------


@pytest.mark.parametrize("limit", [120.0, 260.0, None])
def test_darks_keep_the_limit_and_get_darker_with_each_ink(limit: float | None) -> None:
    condition = ferry(4)
    darks = deepest_darks(condition, ink_limit_pct=limit)
    assert all(limit is None or dark.mix.total_pct <= limit for dark in darks)
    plain = [dark for dark in darks if dark.name.endswith(("ink", "inks"))]
    lightness = [dark.mix.lab[0] for dark in plain]
    assert lightness == sorted(lightness, reverse=True)
    # No mix of a grid of tens is darker by more than the step explains (silver).
    grid = np.stack(np.meshgrid(*[np.arange(0, 101, 20.0)] * 4), axis=-1).reshape(-1, 4)
    allowed = grid[grid.sum(axis=1) <= (limit or 400)]
    assert condition.lab(allowed)[:, 0].min() >= min(lightness) - 0.1


def test_of_each_number_of_inks_the_best_are_taken() -> None:
    condition = ferry(4)
    darks = {dark.name: dark.mix for dark in deepest_darks(condition, ink_limit_pct=200)}
    pairs = [
        condition.lab(100.0 * np.isin(range(4), pair))[0] for pair in combinations(range(4), 2)
    ]
    assert darks["two inks"].lab[0] <= min(pairs) + 1e-6


def test_casts_are_what_they_are_called() -> None:
    # Newsprint has all three: on the uncoated paper these inks give no cast that is seen.
    condition = ferry(5, paper="newsprint")
    darks = {dark.name: dark.mix for dark in deepest_darks(condition, ink_limit_pct=260)}
    _, a, b = darks["neutral"].lab
    assert np.hypot(a, b) < 2.5
    _, a, b = darks["warm"].lab
    assert a > 0
    assert b > 0
    _, a, b = darks["cold"].lab
    assert b < -abs(a)
    assert len({tuple(dark.tone_pct.items()) for dark in darks.values()}) == len(darks)


@pytest.mark.parametrize(
    ("hue", "chroma", "cast", "has"),
    [
        (60, 5, 60.0, True), (5, 5, 60.0, True), (-5, 5, 60.0, False), (125, 5, 60.0, False),
        (60, 2.9, 60.0, False), (60, 2.9, "neutral", True), (60, 3.1, "neutral", False),
        (205, 5, 260.0, True), (195, 5, 260.0, False),
    ],
)  # fmt: skip
def test_a_cast_lies_within_60_degrees(
    hue: float, chroma: float, cast: float | str, has: bool
) -> None:
    """Of a chroma of 3 at least; less is neutral."""
    lab = (20.0, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue)))
    assert _has(cast, Mix(tone_pct={}, lab=lab, de00=None, total_pct=0)) == has


def test_a_dark_told_by_its_inks_is_not_told_again_by_its_cast() -> None:
    # On the uncoated paper the darkest of three inks is neutral itself.
    darks = deepest_darks(ferry(5), ink_limit_pct=260)
    assert np.hypot(*darks[-1].mix.lab[1:]) < 2.5
    assert "neutral" not in [dark.name for dark in darks]
    assert len({tuple(dark.mix.tone_pct.items()) for dark in darks}) == len(darks)


def test_casts_that_the_inks_cannot_give_are_left_out() -> None:
    # A blue and an orange give no grey dark and no cold one.
    paper = load_paper("night-ferry/newsprint")
    inks = [load_ink(f"night-ferry/{name}", paper=paper) for name in ("Mussel", "Flare")]
    condition = press_condition(paper, inks, process=find_process("stencil duplicator"))
    for dark in deepest_darks(condition, ink_limit_pct=150):
        chroma = np.hypot(*dark.mix.lab[1:])
        assert (chroma <= 3) == (dark.name == "neutral") or dark.name.endswith(("ink", "inks"))
    assert "neutral" not in [d.name for d in deepest_darks(condition, ink_limit_pct=150)]


def test_darks_hold_no_tint_below_the_smallest_dot() -> None:
    condition = ferry(3)
    for dark in deepest_darks(condition, ink_limit_pct=202):
        assert all(tone == 0 or tone >= 3 for tone in dark.mix.tone_pct.values())
        assert dark.mix.total_pct <= 202


def test_one_ink_shows_no_dark_but_its_solid() -> None:
    assert deepest_darks(ferry(1), ink_limit_pct=260) == ()
    (dark,) = deepest_darks(ferry(1), ink_limit_pct=80)
    assert dark.mix.total_pct == 80


# --- where it lies -------------------------------------------------------------------------------


def frame_in(left: Box, right: Box) -> Frame:
    return Frame(left=left, right=right, gap=1, group_gap=4, head=4, cell_gap=4, tint_gap=0.5)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5, 8])
def test_no_field_lies_on_another_or_outside(count: int) -> None:
    left, right = Box(x=10, y=20, width=150, height=220), Box(x=170, y=20, width=200, height=220)
    placed = arranged(plain_sheet(count).blocks, frame_in(left, right))
    boxes = [box for block in placed for box in block.fields]
    for box in boxes:
        room = left if box.x < 165 else right
        assert room.x - 1e-6 <= box.x < box.right <= room.right + 1e-6
        assert room.y - 1e-6 <= box.y < box.bottom <= room.bottom + 1e-6
    edges = np.array([(box.x, box.y, box.right, box.bottom) for box in boxes])
    x, y, right_, bottom = edges.T
    across = (x[:, None] < right_ - 1e-6) & (x < right_[:, None] - 1e-6)
    down = (y[:, None] < bottom - 1e-6) & (y < bottom[:, None] - 1e-6)
    assert (across & down).sum() == len(boxes)  # each meets itself alone
    assert len(placed[0].groups) == count + 1


def test_pairs_stand_under_their_first_ink_and_beside_their_second() -> None:
    left, right = Box(x=10, y=20, width=150, height=220), Box(x=170, y=20, width=200, height=220)
    placed = arranged(plain_sheet(4).blocks, frame_in(left, right))
    ramps = {one.block.inks[0]: one.box for one in placed if one.block.kind == RAMP}
    for one in placed:
        if one.block.kind == PAIR:
            first, second = (ramps[ink] for ink in one.block.inks)
            assert (one.box.x, one.box.y) == (first.x, second.y)


# --- words ---------------------------------------------------------------------------------------


# Relative luminances of IEC 61966-2-1's primaries: blue .07, red .21, green .72.
@pytest.mark.parametrize(
    ("srgb8", "dark"),
    [((0, 0, 255), True), ((255, 255, 0), False), ((0, 255, 0), False), ((190, 0, 0), True),
     ((255, 0, 0), False), ((255, 0, 255), False)],
)  # fmt: skip
def test_type_is_white_on_dark_fields(srgb8: tuple[int, int, int], dark: bool) -> None:
    assert is_dark(srgb8) == dark


def test_signs_tell_inks_apart() -> None:
    assert short_signs(("Soot", "Rowan")) == ("S", "R")
    assert short_signs(("Soot", "Samphire", "Sol")) == ("Soo", "Sam", "Sol")
    assert short_signs(("Blue 1", "Blue 2")) == ("1", "2")
    assert short_signs(NAMES) == tuple("12345678")


def test_facts_say_how_known_and_what_is_unproven() -> None:
    said = " ".join(facts(sheet_of(press_with_hint())))
    assert "A hint only: Rowan" in said
    assert "the printer allows 260 %" in said
    assert "not a proof" in said
    paper = press().paper
    inks = [ink_from_lab(name, (50, 9 * k, 0), paper=paper) for k, name in enumerate(("A", "B"))]
    screen = press_condition(paper, inks, process=find_process("screen print"))
    assert "Unproven: screen print" in " ".join(facts(sheet_of(screen)))


def test_facts_say_which_inks_are_process_inks_and_where_to_be_cautious() -> None:
    sheet = sheet_of(ferry(3))
    *_, caution, black, spots = facts(sheet)
    assert caution == sheet.condition.cautions[0]
    assert "for Fjord and Rowan on uncoated paper the expected error is widened" in caution
    assert black.startswith("Soot was taken as a process black by its colour")
    assert spots.startswith("Fjord and Rowan are spot inks")


def test_darks_told_by_the_caller_are_taken() -> None:
    condition = ferry(2)
    darks = deepest_darks(condition, ink_limit_pct=150)
    sheet = sheet_of(condition, darkest=darks[:1])
    (block,) = sheet.of_kind(DARKEST)
    assert isinstance(block, Block)
    assert [field.name for field in block.fields] == ["one ink"]
    assert sheet_of(condition, darkest=()).of_kind(DARKEST) == ()
