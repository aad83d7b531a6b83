"""How numbers, units, mixes, sizes, lists and places are said; forms as the modules state them."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_cases import place

from inkmix.base.words import (
    area,
    count,
    difference,
    either,
    first_of,
    fixed,
    in_words,
    lightness,
    listing,
    measure,
    millimetres,
    mix,
    number,
    percent,
    points,
    size_of,
)
from inkmix.checks.wording import allowed_ink
from inkmix.sheet.places import on_panels, place_name, ruler

ANY = st.floats(-1e6, 1e6)


def test_minus_is_a_minus_and_never_before_zero():
    assert [number(v) for v in (-3.24, -0.04, 3.0)] == ["−3.2", "0", "3"]
    assert [fixed(v) for v in (-3.24, -0.04, 3.0)] == ["−3.2", "0.0", "3.0"]


@given(ANY)
def test_a_number_is_the_rounded_one_without_idle_zeros(value):
    said = number(value, 2)
    assert float(said.replace("−", "-")) == pytest.approx(value, abs=0.00501)
    assert not ("." in said and said.endswith(("0", ".")))


@given(limit=st.integers(0, 400), off=st.floats(1e-6, 50), over=st.booleans())
def test_a_number_never_reads_like_the_limit_that_it_misses(limit, off, over):
    value = limit + (off if over else -off)
    said = number(value, beside=limit)
    assert said != number(limit)
    assert said.startswith("just over" if over else "just under") == (off < 5e-5 + 1e-12)


def test_what_is_on_its_limit_reads_like_it():
    assert number(280.0 + 1e-12, beside=280.0) == "280"
    assert number(94.97, beside=95.0) == "94.97"
    assert [number(1.5, beside=None), number(None, beside=1.0)] == ["1.5", "–"]


@pytest.mark.parametrize(
    ("value", "said"),
    [(None, "–"), (0.0, "0 %"), (0.003, "less than 0.1 %"), (0.05, "0.1 %"), (0.4, "0.4 %"),
     (61.5, "61.5 %"), (99.94, "99.9 %"), (99.96, "more than 99.9 %"), (100.0, "100 %"),
     (312.4, "312.4 %")],
)  # fmt: skip
def test_a_share_is_said_to_be_all_or_nothing_only_where_it_is(value, said):
    assert percent(value) == said


@pytest.mark.parametrize(
    ("mm2", "said"),
    [(None, "–"), (0.0, "0 mm²"), (0.004, "less than 0.01 mm²"), (0.04, "0.04 mm²"),
     (0.3, "0.3 mm²"), (1.26, "1.3 mm²"), (12.6, "13 mm²"), (999.0, "999 mm²"),
     (1000.0, "10 cm²"), (18240.0, "182 cm²")],
)  # fmt: skip
def test_areas_have_as_many_digits_as_they_deserve(mm2, said):
    assert area(mm2) == said


def test_scales_stand_before_their_numbers_and_units_after():
    assert (lightness(29.0), difference(1.25)) == ("L* 29", "dE00 1.2")
    assert lightness(29.04, beside=29.0) == "L* 29.04"
    said = [measure(30.0, unit) for unit in ("%", "L*", "dE00")]
    assert said == ["30 %", "L* 30", "dE00 30"]
    assert [measure(None, unit) for unit in ("%", "L*", "dE00")] == ["–", "–", "–"]
    assert [points(v) for v in (41.0, 1.0, 0.01)] == ["41 points", "1 point",
                                                      "less than 0.1 points"]  # fmt: skip


def test_lengths_are_as_a_ruler_shows_them_and_sizes_as_told():
    assert [millimetres(v) for v in (4.46, 9.0, 12.6)] == ["4.5", "9", "13"]
    assert size_of(20, 7.62, "mm") == "20 × 7.62 mm"
    assert size_of(6000, 4000, "px") == "6000 × 4000 px"


def test_a_mix_is_its_inks_and_tone_values_as_in_the_book():
    assert mix({"Rowan": 60.0, "Fog": 0.0, "Fjord": 12.5}) == "Rowan 60 + Fjord 12.5"
    assert mix({"Fog": 0.0}) == "bare paper"


def test_amounts_and_lists():
    assert [count(n, "speck") for n in (0, 1, 1204)] == ["0 specks", "1 speck", "1,204 specks"]
    assert [in_words(n, "ink") for n in (1, 4, 13)] == ["one ink", "four inks", "13 inks"]
    assert [listing(("a", "b", "c")[:n]) for n in range(4)] == ["", "a", "a and b", "a, b and c"]
    assert either(["coated", "uncoated"]) == "coated or uncoated"
    assert first_of(["a", "b", "c"], most=3) == "a, b and c"
    assert first_of(["a", "b", "c"], most=1) == "a and 2 more"
    assert first_of("abcdefg", most=3) == "a, b, c and 4 more"


@pytest.mark.parametrize(
    ("whose", "said"),
    [("printer", "the printer allows 280 %"), ("user", "the book allows 280 %"),
     ("process default", "up to 280 % is usual for this process and paper (ask your printer)"),
     ("asked", "at most 280 %, as asked")],
)  # fmt: skip
def test_a_limit_is_told_with_whose_word_it_is(whose, said):
    assert allowed_ink(280.0, whose) == said
    assert allowed_ink(None, whose) == "no ink limit is given"


def test_neighbouring_panels_are_joined_by_and_and_several_by_to():
    where = place(2, 0.0, 0.0, 5.0, 5.0)
    names = [("panel 2", "panel 3"), ("panel 2", "panel 3", "panel 4"), ("left", "right"), ()]
    said = [place_name(replace(where, panels=panels)) for panels in names]
    assert said == ["panels 2 and 3", "panels 2 to 4", "left and right", "sheet"]


def test_panels_of_several_places_are_named_once_in_their_order_or_counted():
    def on(*panels):
        return on_panels([place(k, 1.0, 1.0, 5.0, 5.0) for k in panels])

    assert [on(3), on(10, 9, 10), on(1, 2, 4), on(1, 2, 4, 7)] == [
        " on panel 3", " on panels 9 and 10", " on panels 1, 2 and 4", " on 4 panels",
    ]  # fmt: skip
    assert on_panels([None]) == ""


def test_a_place_in_the_bleed_is_said_to_be_outside():
    said = ruler(place(2, -3.0, 5.5, 20.0, 4.0))
    assert said == "20 × 4 mm, 3 mm outside the left, 5.5 mm from the top"
