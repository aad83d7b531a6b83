"""Shade cards: how a line may be written, what is refused, and what paper the colours are on."""

import random
import re

import numpy as np
import pytest
from fuzz.texts import spoilt

from inkmix.base.errors import MeasurementError
from inkmix.colour.colorimetry import lab_to_xyz100, xyz100_to_lab
from inkmix.colour.measured.shade_card import MAX_SHADES, parse_shade_card
from inkmix.press.condition import press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_paper
from inkmix.press.swatches.files import inks_of_card, read_inks

UNCOATED = load_paper("night-ferry/uncoated")


def card(text):
    return parse_shade_card(text.encode(), where="card.csv")


def colours(text):
    """Name and colour of every shade."""
    return [(shade.name, shade.lab or shade.screen) for shade in card(text).shades]


# --- how a line may be written -------------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        "Rowan, 56, 49, 39",
        "Rowan,56,49,39",
        "Rowan 56 49 39",
        "Rowan; 56; 49; 39",
        "Rowan;56,0;49,0;39,0",  # as a spreadsheet writes them where commas are decimal
        "Rowan\t56\t49\t39",
        "Rowan = 56, 49, 39",
        "Rowan = [56, 49.0, 39]",  # as TOML has it
        '"Rowan" = [56, 49, 39]',
        "Rowan: Lab(56, 49, 39)",
        "  'Rowan' , Lab(56, 49, 39)  ",
        "\ufeffRowan, 56, 49, 39",
    ],
)
def test_an_ink_is_a_name_and_its_lab(line):
    assert colours(line) == [("Rowan", (56.0, 49.0, 39.0))]


@pytest.mark.parametrize(
    "line", ["Rowan, #da5d46", "Rowan #DA5D46", 'Rowan = "#da5d46"', "Rowan; rgb(218, 93, 70)"]
)
def test_an_ink_is_a_name_and_its_screen_colour(line):
    assert colours(line) == [("Rowan", "#da5d46")]


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ('"Blue, deep", 28, 21, -54', "Blue, deep"),
        ("Blue 072 28 21 -54", "Blue 072"),
        ("Blau-grün, 28, 21, -54", "Blau-grün"),
        ("No. 3 / warm, 28, 21, -54", "No. 3 / warm"),
    ],
)
def test_names_may_hold_numbers_and_signs(line, name):
    assert colours(line) == [(name, (28.0, 21.0, -54.0))]


@pytest.mark.parametrize(
    "line",
    [
        "Ember, 58, 60, 45, 12, 13",
        "Ember,58,60,45,12",
        "Ember\t58\t60\t45\t12\t13",
        "Ember;58,5;60,5;45;12",
        "Ember = 58, 60, 45, 12",
        "7, Ember, 58, 60, 45, 0.03",
        "Ember, 58, 60, 45, #e8604c",
        "Rowan,56,0,49,0,39,0",  # decimal commas between commas
    ],
)
@pytest.mark.parametrize("before", ["", "Rowan, 56, 49, 39\n"])
def test_further_numbers_without_headings_are_no_part_of_the_name(before, line):
    with pytest.raises(MeasurementError, match=r"which numbers are the colour.*line of headings"):
        card(before + line)


def test_in_quotes_a_name_holds_any_number():
    assert colours('"Ember, 58, 60", 45, 12, 13') == [("Ember, 58, 60", (45.0, 12.0, 13.0))]


def test_headings_say_which_columns_count():
    text = (
        "No.,Name,opacity,L*,a*,b*,hex\n"
        "7,Rowan,0.03,56,49,39,#000000\n"
        '8,"Blue, deep",,28,21,−54,\n'  # a minus sign, as a typesetter has it
        "9,Flare,,,,,#ff552c\n"
    )
    assert colours(text) == [
        ("Rowan", (56.0, 49.0, 39.0)),
        ("Blue, deep", (28.0, 21.0, -54.0)),
        ("Flare", "#ff552c"),
    ]
    assert card(text).unread == ("no.", "opacity")


def test_tabs_and_semicolons_divide_columns_too():
    assert colours("b\ta\tL\tink\n39,5\t49\t56\tRowan") == [("Rowan", (56.0, 49.0, 39.5))]
    assert colours("shade;colour\nRowan;Lab(56, 49, 39)") == [("Rowan", (56.0, 49.0, 39.0))]
    assert colours("name\tcolour\n\t#fff\nRowan\t#123456".replace("\n\t#fff", "")) == [
        ("Rowan", "#123456")
    ]


def test_empty_lines_and_remarks_count_for_nothing():
    assert colours("# our inks\n\nRowan, #da5d46\n#\n") == [("Rowan", "#da5d46")]


# --- what is refused -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no ink"),
        ("name, colour\n", "holds no ink"),
        ("Our inks\nRowan, #fff", 'line 1: "Our inks", but a name and a colour'),
        ("Rowan, #da5d4", 'line 1: "Rowan, #da5d4", but a name and a colour'),
        ("Rowan, 56, 49", 'line 1: "Rowan, 56, 49"'),
        ("Rowan, 156, 49, 39", 'line 1: "156, 49, 39", but L is 0 to 100'),
        ("name, L, a\nRowan, 1, 2", 'line 1: "name, L, a", but name, and L, a, b or colour'),
        ("L, a, b\n56, 49, 39", 'line 1: "L, a, b", but name, and L, a, b or colour'),
        ("name, L, a, b\nRowan, 56, 49", 'line 2: "Rowan, 56, 49", but a colour under L, a, b'),
        ("name, colour\n, #fff", 'line 2: "", but an ink has a name of 1 to 80'),
        ("name, colour\nRowan, p.png@1,2", 'line 2: "p.png@1"'),
        ("name; colour\nRowan; p.png@1,2", 'line 2: "p.png@1,2", but an ink is written'),
        ("A, #fff\nB, #fff\na, #000", "line 3: a stands in line 1 already; rename one of them"),
        ("Ro\x1b[31mwan, #fff", "holds"),
        ("R" * 81 + ", #fff", "an ink has a name of 1 to 80"),
        ("R" * 2000 + ", #fff", "a line has 1,000 at most"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text, said):
    with pytest.raises(MeasurementError) as refused:
        card(text)
    assert said in str(refused.value)
    assert str(refused.value).startswith("card.csv")


def test_all_wrong_lines_are_said_at_once():
    with pytest.raises(MeasurementError) as refused:
        card("Rowan\nFog, #abb5ba\nFjord, #12\n")
    assert re.findall(r"line (\d)", str(refused.value)) == ["1", "3"]


def test_other_bytes_and_too_many_inks_are_refused():
    with pytest.raises(MeasurementError, match=r"line 2: not UTF-8 text.*save it as UTF-8"):
        parse_shade_card(b"Rowan, #fff\nGr\xfcn, #fff", where="card.csv")
    with pytest.raises(MeasurementError, match=f"more than {MAX_SHADES:,} inks"):
        card("\n".join(f"ink {k}, #fff" for k in range(MAX_SHADES + 1)))


SOUND = (
    "Rowan, 56, 49, 39\nFog, #abb5ba\n",
    "name;L;a;b;colour\nRowan;56,5;49;39;\nFog;;;;#fff",
    '"Blue, deep" = [28, 21, -54]\npaper = [95, 0, -2]',
)


def test_no_text_does_worse_than_to_be_refused():
    """Sound cards with mistakes put in at random: read, with sound values, or refused in words."""
    rng = random.Random(4)
    for _ in range(1500):
        text = rng.choice(SOUND)
        for _ in range(rng.randint(1, 4)):
            text = spoilt(text, rng)
        try:
            shades = parse_shade_card(text.encode(), where="card.csv").shades
        except MeasurementError:
            continue
        assert all(one.name and (one.lab is None) != (one.screen is None) for one in shades)
        assert all(0 <= one.lab[0] <= 100 for one in shades if one.lab)


# --- on which paper ------------------------------------------------------------------------------


def inks(text):
    return inks_of_card(card(text), paper=UNCOATED, file="card.csv")


def error_de00(ink):
    """Of the solid on uncoated paper."""
    condition = press_condition(UNCOATED, [ink], process=find_process("sheet-fed offset"))
    return float(condition.expected_error([100.0]).de00)


def test_a_card_that_tells_its_paper():
    (ink,), notes = inks("Coated paper, 95, 0, -2\nRowan, 56, 49, 39")
    assert notes == ()
    assert (ink.measured_on.paper_class, ink.measured_on.guessed) == ("coated", False)
    np.testing.assert_allclose(xyz100_to_lab(ink.measured_on.xyz100), [95, 0, -2], atol=1e-9)
    np.testing.assert_allclose(ink.solid_xyz100, lab_to_xyz100([56, 49, 39]))
    (same,), _ = inks("paper, 95, 0, -2\nRowan, 56, 49, 39")
    assert same.measured_on.paper_class == "uncoated"  # as that of the book


def test_a_card_on_the_very_paper_costs_no_more():
    """And one that names no paper costs as much as one that is known to be of another."""
    L, a, b = xyz100_to_lab(UNCOATED.xyz100)
    here, nowhere, coated = (
        inks(f"{paper}\nRowan, 56, 49, 39").inks[0]
        for paper in (f"paper, {L}, {a}, {b}", "", "coated paper, 95, 0, -2")
    )
    assert error_de00(here) < 1
    assert error_de00(nowhere) > error_de00(here) + 2
    assert error_de00(nowhere) == pytest.approx(error_de00(coated), rel=0.2)


def test_a_card_on_the_same_paper_in_a_rounded_reading_costs_no_more():
    L, a, b = np.round(xyz100_to_lab(UNCOATED.xyz100))
    here = inks(f"paper, {L}, {a}, {b}\nRowan, 56, 49, 39").inks[0]
    assert (here.measured_on.xyz100 != UNCOATED.xyz100).any()
    assert error_de00(here) < 1


def test_what_a_card_leaves_out_is_said():
    _, notes = inks("name, L, a, b, cost\nRowan, 56, 49, 39, 12")
    assert "card.csv does not say which paper its colours are on" in notes[0]
    assert notes[1] == "Not read in card.csv: the columns cost."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("paper, #fff\nRowan, #da5d46", 'line 1: "#fff", but the paper of a card is told by its'),
        ("paper, 95, 0, 0\ncoated paper, 90, 0, 0\nA, #123", "line 2: a second paper"),
        ("paper, 95, 0, 0\n", "a paper and no ink"),
    ],
)
def test_papers_that_are_none(text, said):
    with pytest.raises(MeasurementError, match=re.escape(said)):
        inks(text)


def test_a_file_is_a_card_or_measurements_by_what_is_in_it(tmp_path):
    from inkmix.base.shipped import swatches_folder

    chart = swatches_folder() / "fogra29l.txt"
    (tmp_path / "same.csv").write_bytes(chart.read_bytes())
    assert {ink.name for ink in read_inks(tmp_path / "same.csv", paper=UNCOATED).inks} == set(
        "CMYK"
    )
    (tmp_path / "card.txt").write_text("Rowan, #da5d46")
    (ink,) = read_inks(tmp_path / "card.txt", paper=UNCOATED).inks
    assert (ink.name, ink.known) == ("Rowan", "screen colour")
    with pytest.raises(MeasurementError, match=r"none\.csv: cannot be read"):
        read_inks(tmp_path / "none.csv", paper=UNCOATED)
