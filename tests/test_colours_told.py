"""Colours as people write them: five ways and more, and what is said of what is none."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkmix.base.errors import SAID_FAULTS, InkmixError, UsageError
from inkmix.colour.written import (
    MAX_COLOURS,
    Pixel,
    told_arguments,
    told_colour,
    told_colours,
)

BYTES = st.integers(0, 255)


@pytest.mark.parametrize(
    "text",
    ["#1a2B3c", "1A2b3C", " #1a2b3c ", "rgb(26, 43, 60)", "RGB(26 43 60)", "rgb( 26;43 ;60 )"],
)
def test_ways_to_write_a_screen_colour(text):
    assert told_colour(text, where="here").screen == "#1a2b3c"


def test_three_digits_are_each_taken_twice():
    # CSS Color Module Level 4, section 5.2: each digit is doubled.
    assert told_colour("#fA0", where="here").screen == "#ffaa00"


@pytest.mark.parametrize(
    "text",
    ["Lab(52.5, -10, .5)", "lab(52.5 -10 0.5)", "L*a*b*(52.5;-10;.5)", "52.5 -10 .5",
     "52.5,-10,0.5", "52.5\t-10\t0.5", "CIELab( 52.5 , -10 , +.5 )"],
)  # fmt: skip
def test_ways_to_write_lab(text):
    assert told_colour(text, where="here").lab == (52.5, -10.0, 0.5)


def test_a_pixel_of_a_picture():
    told = told_colour("my pictures/night@2.png @ 12, 7", where="here")
    assert told.pixel == Pixel(path="my pictures/night@2.png", x_px=12, y_px=7)


@given(BYTES, BYTES, BYTES)
def test_what_is_written_in_two_ways_is_one_colour(red, green, blue):
    digits = f"{red:02x}{green:02x}{blue:02x}"
    ways = {f"#{digits}", digits.upper(), f"rgb({red},{green},{blue})"}
    assert {told_colour(way, where="here").screen for way in ways} == {f"#{digits}"}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "nothing"),
        ("#12345", "three or six digits"),
        ("#ggg", "three or six digits"),
        ("rgb(1, 2)", "whole numbers from 0 to 255"),
        ("rgb(1, 2, 256)", "whole numbers from 0 to 255"),
        ("rgb(10%, 2, 5)", "whole numbers from 0 to 255"),
        ("Lab(52,5; 10; -3)", "decimal points"),
        ("Lab(nan, 0, 0)", "decimal points"),
        ("Lab(101, 0, 0)", "L is 0 to 100"),
        ("50 0 900", "a and b are -160 to 160"),
        ("night.png@12", "picture.png@x,y"),
        ("night.png@-1,5", "picture.png@x,y"),
        ("navy", "a colour is written #rrggbb"),
        ("12345", "a colour is written #rrggbb"),
        ("50 0", "a colour is written #rrggbb"),
    ],
)
def test_what_is_no_colour_is_said_with_what_is_expected(text, expected):
    with pytest.raises(UsageError) as caught:
        told_colour(text, where="colours.txt, line 3")
    (fault,) = caught.value.faults
    assert fault.where == "colours.txt, line 3"
    assert expected in str(fault)
    assert text[:20] in str(fault)


def colours_or_faults(call):
    """What a call gives, or the faults that it raises; anything else gets through."""
    try:
        return call(), ()
    except InkmixError as error:
        return (), error.faults


@given(st.text(max_size=40))
def test_any_text_is_a_colour_or_a_fault(text):
    told, faults = colours_or_faults(lambda: told_colour(text, where="here"))
    if faults:
        assert faults[0].where == "here"
    else:
        assert sum(x is not None for x in (told.lab, told.screen, told.pixel)) == 1


@given(st.binary(max_size=200))
def test_any_file_is_colours_or_faults(data):
    told, faults = colours_or_faults(lambda: told_colours(data, where="file"))
    assert bool(told) != bool(faults)
    assert all(fault.where.startswith("file") for fault in faults)


def test_a_file_of_colours():
    text = "\ufeff# the sky\n\nnight blue = #203040\r\n#\nLab(50, 0, 0)\n  rgb(1,2,3)  \n"
    first, second, third = told_colours(text.encode(), where="sky.txt")
    assert (first.name, first.screen, first.where) == ("night blue", "#203040", "sky.txt, line 3")
    assert (second.name, second.lab, second.where) == ("", (50, 0, 0), "sky.txt, line 5")
    assert third.screen == "#010203"


def test_every_wrong_line_of_a_file_is_told():
    with pytest.raises(UsageError) as caught:
        told_colours(b"#123456\nnavy\n#12\n50 0 0\nrgb(1,2,x)\n", where="sky.txt")
    assert [fault.where for fault in caught.value.faults] == [
        "sky.txt, line 2", "sky.txt, line 3", "sky.txt, line 5",
    ]  # fmt: skip


def test_many_wrong_lines_are_counted():
    with pytest.raises(UsageError) as caught:
        told_colours(b"navy\n" * 500, where="sky.txt")
    assert len(caught.value.faults) == SAID_FAULTS + 1
    assert "480 more" in str(caught.value.faults[-1])


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "holds no colour"),
        (b"# nothing\n\n", "holds no colour"),
        (b"#000000\n\xff\xfe\n", "line 2: not UTF-8 text"),
        (b"#000000\n" * (MAX_COLOURS + 1), "more than 100,000 colours"),
        (b" " * 2**24 + b" ", "at most 16 MB"),
    ],
)
def test_files_that_are_no_lists_of_colours(data, found):
    with pytest.raises(UsageError, match=re.escape(found)):
        told_colours(data, where="sky.txt")


def test_three_numbers_of_a_command_line_are_one_colour():
    told = told_arguments(["52", "-10", "3", "#123456", "102030", "40", "0", "0"])
    assert [(one.lab, one.screen) for one in told] == [
        ((52, -10, 3), None), (None, "#123456"), (None, "#102030"), ((40, 0, 0), None),
    ]  # fmt: skip


def test_all_wrong_arguments_are_told():
    with pytest.raises(UsageError) as caught:
        told_arguments(["navy", "#123", "teal"])
    assert [fault.where for fault in caught.value.faults] == ["colour 1", "colour 3"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (f"rgb({'9' * 5000}, 1, 1)", "5,011 characters, but a colour has 5,000 at most"),
        (f"rgb({'9' * 4500}, 1, 1)", "three whole numbers from 0 to 255"),
        (f"a.png@{'9' * 4500},1", "no picture is that large"),
        ("so\x1bot = #123456", "holds a control character (U+001B)"),
        ("so\u202eot.png@1,1", "changes the direction of writing"),
    ],
)
def test_hostile_texts_are_refused_in_one_line(text: str, words: str) -> None:
    with pytest.raises(UsageError) as caught:
        told_colour(text, where="here")
    assert words in str(caught.value)
    assert len(str(caught.value)) < 250


def test_zeros_in_front_count_for_nothing() -> None:
    assert told_colour(f"rgb({'0' * 4400}7, 00, 255)", where="here").screen == "#0700ff"
    pixel = told_colour(f"a.png@{'0' * 4400}7,0", where="here").pixel
    assert pixel is not None
    assert (pixel.x_px, pixel.y_px) == (7, 0)
