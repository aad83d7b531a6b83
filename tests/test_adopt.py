"""`inks --adopt`: what an earlier book knows of the inks comes over, with its origin; guesses do
not, and another paper costs expected error."""

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
from drawn_book import BOOK, CGATS, MEASURED, NIGHT, changed, command, digests, draw_book, untouched
from hypothesis import given
from hypothesis import strategies as st
from rights import drop_rights
from test_cli_every_option import CHART

from inkmix.base.errors import BookError, OutputError, UsageError
from inkmix.book.as_toml import as_toml
from inkmix.book.edited import Change, Edits, edited
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.values import Book
from inkmix.jobs.adopting.adopt import adopt_inks
from inkmix.jobs.adopting.values import BookAdopted
from inkmix.jobs.books import read_book
from inkmix.pages.inks.adopted import adopted_lines
from inkmix.press.calibration.press_file import (
    InkRecord,
    MixRecords,
    Origin,
    PaperRecord,
    PressFile,
    press_file_text,
)

GUESS = changed("lab = [26, 1, 1]", 'srgb = "#222222"  # guessed: a dark grey\nguessed = "#222222"')
TONE = '\n[[tones]]\nname = "dusk"\nmix = { Soot = 40, Rowan = 60 }\nintended = "#5a3a40"\n'
EARLIER = BOOK.replace("Two panels", "Day Ferry")
COATED = EARLIER.replace("[94, 0, 3]", "[95, 0, -2]").replace('"uncoated"', '"coated"')
READ = """
[[measured]]
mix = { Soot = 80, Fjord = 60 }
lab = [24, 2, -9]
"""
DUSK = (40, 0, 60)


def book(folder: Path, text: str, **files: str) -> Book:
    """A book file without plates, and measurement files beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, held in files.items():
        (folder / f"{name}.txt").write_text(held, "utf-8")
    (folder / "book.toml").write_text(text, "utf-8")
    return read_book(folder)


def adopt(tmp_path: Path, own: str, other: str, **told: str) -> tuple[BookAdopted, Book]:
    """What came over of one text to the other, and the new book; no file that was there changed."""
    files = {"rowan": CGATS, "chart": CHART}
    mine, theirs = book(tmp_path / "own", own, **files), book(tmp_path / "other", other, **files)
    before = digests(tmp_path)
    adopted = adopt_inks(mine, theirs, mine.folder / "known.toml", inks=told)
    assert before.items() <= digests(tmp_path).items()
    return adopted, read_book(adopted.path)


def whys(adopted: BookAdopted) -> dict[str, str]:
    return {one.what: one.why for one in adopted.not_taken}


# --- inks -----------------------------------------------------------------------------------------


def test_a_guess_is_told_by_the_earlier_book_and_its_origin_is_said(tmp_path):
    adopted, new = adopt(tmp_path, GUESS, EARLIER)
    (ink,) = adopted.inks
    assert (ink.name, ink.how, ink.known, ink.is_same_paper) == ("Soot", "lab", "solid", True)
    assert adopted.as_there == ("Fjord", "Rowan")
    soot = new.inks[0]
    assert (soot.lab, soot.srgb, soot.is_guess) == ((26, 1, 1), None, False)
    assert soot.read_from == "Day Ferry"
    assert "# Taken over from Day Ferry.\nlab = [26, 1, 1]" in adopted.path.read_text("utf-8")
    assert "read from Day Ferry" in resolve_condition(new).origins[0].value


def test_on_the_same_paper_it_is_known_as_if_it_had_been_read_for_this_book(tmp_path):
    _, new = adopt(tmp_path, GUESS, EARLIER)
    known = resolve_condition(book(tmp_path / "plain", BOOK))
    here = resolve_condition(new)
    assert here.cautions == known.cautions
    assert here.expected_error(DUSK).de00 == pytest.approx(known.expected_error(DUSK).de00)
    np.testing.assert_allclose(here.lab(DUSK), known.lab(DUSK))


def test_two_readings_of_one_stock_are_one_paper(tmp_path):
    near, far = EARLIER.replace("[94, 0, 3]", "[94, 0, 3.5]"), EARLIER.replace("0, 3]", "0, 5]")
    assert adopt(tmp_path / "a", GUESS, near)[0].is_same_paper
    assert not adopt(tmp_path / "b", GUESS, far)[0].is_same_paper


def test_another_paper_costs_expected_error_and_is_said(tmp_path):
    adopted, new = adopt(tmp_path, GUESS + TONE, COATED)
    assert not adopted.inks[0].is_same_paper
    soot = new.inks[0]
    assert (soot.measured_on.lab, soot.measured_on.paper_class) == ((95, 0, -2), "coated")
    known = resolve_condition(book(tmp_path / "plain", BOOK))
    here = resolve_condition(new)
    assert here.expected_error(DUSK).de00 > known.expected_error(DUSK).de00 + 1
    assert here.expected_error(DUSK).L > known.expected_error(DUSK).L
    (said,) = [one for one in here.cautions if "measured on" in one]
    assert said.startswith("Soot was measured on coated paper, not on this one")
    dusk = adopted.errors[0]
    assert dusk.name == "dusk"
    assert dusk.after_de00 == pytest.approx(float(here.expected_error(DUSK).de00))
    assert dusk.before_de00 > dusk.after_de00
    assert 0 < dusk.paper_costs_de00 < dusk.after_de00
    assert adopted.next_readings[0].ink == "Soot"
    assert adopted.next_readings[0].saves_de00 > 1


def test_where_nobody_says_on_which_paper_it_was_read_the_error_is_larger_too(tmp_path):
    guessed = changed("[paper]\n", "[paper]\nguessed = true\n", EARLIER)
    _, new = adopt(tmp_path, GUESS, guessed)
    assert new.inks[0].measured_on.is_guess
    (said,) = [one for one in resolve_condition(new).cautions if "measured" in one]
    assert "nobody says on which paper" in said


def test_a_measured_ramp_comes_with_its_file(tmp_path):
    adopted, new = adopt(tmp_path, changed("lab = [52, 58, 40]", 'srgb = "#cc4433"'), MEASURED)
    assert adopted.files == ("adopted/rowan.txt",)
    assert new.inks[2].measurements == "adopted/rowan.txt"
    assert (new.folder / "adopted" / "rowan.txt").read_text("utf-8") == CGATS
    assert resolve_condition(new).inks[2].known == "ramp"


def test_files_of_one_name_stay_apart(tmp_path):
    """A name is taken where a file of the disk has it, in any letter case, or one that comes."""
    other = MEASURED.replace(
        "lab = [33, 6, -34]", 'measurements = "more/rowan.txt"\ncolumn = "Rowan"'
    )
    (tmp_path / "other" / "more").mkdir(parents=True)
    (tmp_path / "other" / "more" / "rowan.txt").write_text(CGATS, "utf-8")
    (tmp_path / "own" / "adopted").mkdir(parents=True)
    (tmp_path / "own" / "adopted" / "ROWAN.TXT").write_text("mine", "utf-8")
    adopted, new = adopt(tmp_path, BOOK, other)
    assert adopted.files == ("adopted/rowan 2.txt", "adopted/rowan 3.txt")
    assert {ink.measurements for ink in new.inks[1:]} == set(adopted.files)
    assert (tmp_path / "own" / "adopted" / "ROWAN.TXT").read_text("utf-8") == "mine"


def test_a_guess_there_stays_what_it_is_here(tmp_path):
    with pytest.raises(UsageError, match="Soot: not taken over: it is a guess in Two panels, too"):
        adopt(tmp_path, GUESS, GUESS)
    with pytest.raises(UsageError, match=r"Soot: not taken over: it is a guess in Two panels$"):
        adopt(tmp_path / "told", BOOK, GUESS, Soot="Soot")


def test_a_hint_that_somebody_told_stays_a_hint(tmp_path):
    hint = changed("lab = [26, 1, 1]", 'srgb = "#202124"', EARLIER)
    _, new = adopt(tmp_path, GUESS, hint)
    assert (new.inks[0].srgb, new.inks[0].measured_on) == ("#202124", None)
    assert resolve_condition(new).hints == ("Soot",)


def test_of_two_readings_that_clash_the_book_s_own_stays_unless_the_ink_is_named(tmp_path):
    clash = changed("[33, 6, -34]", "[40, 2, -30]", EARLIER)
    adopted, new = adopt(tmp_path / "a", GUESS, clash)
    assert "knows it as well or better; name it, Fjord=Fjord" in whys(adopted)["Fjord"]
    assert new.inks[1].lab == (33, 6, -34)
    _, named = adopt(tmp_path / "b", GUESS, clash, fjord="FJORD")
    assert named.inks[1].lab == (40, 2, -30)


def test_a_ramp_of_another_paper_is_no_better_than_a_solid_of_this_one(tmp_path):
    ramp = MEASURED.replace("[94, 0, 3]", "[95, 0, -2]").replace('"uncoated"', '"coated"')
    adopted, _ = adopt(tmp_path, GUESS, ramp)
    assert "Rowan" in whys(adopted)
    assert adopt(tmp_path / "same", BOOK, MEASURED)[0].inks[0].name == "Rowan"


def test_an_invented_hue_gives_way_to_a_reading(tmp_path):
    hue = changed("lab = [26, 1, 1]", 'swatch = "night-ferry/Soot"')
    _, new = adopt(tmp_path, hue, COATED)
    assert (new.inks[0].swatch, new.inks[0].lab) == (None, (26, 1, 1))
    with pytest.raises(UsageError, match="knows it as well"):
        adopt(tmp_path / "back", BOOK, hue)


def test_an_ink_that_is_called_otherwise_there(tmp_path):
    other = changed('name = "Soot"', 'name = "Flare"', EARLIER)
    adopted, new = adopt(tmp_path, GUESS, other, Soot="flare")
    assert (adopted.inks[0].name, adopted.inks[0].theirs) == ("Soot", "Flare")
    assert new.inks[0].lab == (26, 1, 1)
    with pytest.raises(UsageError, match="Soot: not taken over: Day Ferry has no ink of this name"):
        adopt(tmp_path / "untold", GUESS, other)


def test_of_a_renamed_ink_the_column_is_said(tmp_path):
    other = MEASURED.replace('name = "Rowan"', 'name = "Flare"')
    _, new = adopt(tmp_path, BOOK, other, Rowan="Flare")
    assert new.inks[2].column == "Rowan"
    assert resolve_condition(new).inks[2].known == "ramp"


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"Sot": "Soot"}, "ink Sot: the book has no such ink; did you mean .Soot"),
        ({"Soot": "Sooty"}, "ink Soot=Sooty: Day Ferry has no ink Sooty; did you mean .Soot"),
        ({"Soot": "Fjord", "Rowan": "fjord"}, "ink Fjord: is named for two inks"),
    ],
)
def test_names_of_inks_that_cannot_be(tmp_path, told, words):
    with pytest.raises(UsageError, match=words):
        adopt(tmp_path, GUESS, EARLIER, **told)


def test_what_the_book_says_of_an_ink_beyond_its_colour_stays(tmp_path):
    own = GUESS.replace('guessed = "#222222"', 'guessed = "#222222"\nopacity = 0.2\nangle_deg = 45')
    told = "lab = [26, 1, 1]\nopacity = 0.1\ntone_value_increase_pct = 19\nangle_deg = 75"
    other = changed("lab = [26, 1, 1]", told, EARLIER)
    _, new = adopt(tmp_path, own, other)
    soot = new.inks[0]
    assert (soot.opacity, soot.angle_deg, soot.tone_value_increase_pct) == (0.2, 45, 19)


def test_a_tone_value_increase_holds_for_its_class_of_paper(tmp_path):
    other = changed("lab = [26, 1, 1]", "lab = [26, 1, 1]\ntone_value_increase_pct = 14", COATED)
    adopted, new = adopt(tmp_path, GUESS, other)
    assert new.inks[0].tone_value_increase_pct is None
    assert "found on coated paper" in whys(adopted)["Soot, tone value increase"]


HITS = '\n[[inks]]\nname = "Soot again"\nplate = "Soot"\n{}\n'
HIT_HERE = GUESS.replace("\n[press]", HITS.format('srgb = "#222222"\nguessed = true') + "\n[press]")


def test_an_ink_that_prints_twice_is_one_ink(tmp_path):
    adopted, new = adopt(tmp_path, HIT_HERE, EARLIER + READ)
    assert len(adopted.inks) == 1
    assert [ink.lab for ink in new.inks if "Soot" in ink.name] == [(26, 1, 1)] * 2
    assert new.inks[3].plate == "Soot"
    assert "another number of times" in whys(adopted)["the measured mix Soot 80 + Fjord 60"]


def test_guesses_that_are_alike_are_inks_of_their_own(tmp_path):
    """`start` tells every ink that it does not know by the same grey."""
    grey = 'srgb = "#808080"\nguessed = "#808080"'
    own = changed("lab = [26, 1, 1]", grey).replace("lab = [33, 6, -34]", grey)
    adopted, new = adopt(tmp_path, own.replace("lab = [52, 58, 40]", grey), EARLIER + READ)
    assert [ink.lab for ink in new.inks] == [(26, 1, 1), (33, 6, -34), (52, 58, 40)]
    assert [(one.name, one.hits) for one in adopted.inks] == [
        ("Soot", ()), ("Fjord", ()), ("Rowan", ()),
    ]  # fmt: skip
    assert adopted.measured == 1


def test_every_hit_that_is_told_anew_is_named(tmp_path):
    own, other = book(tmp_path / "own", HIT_HERE), book(tmp_path / "other", EARLIER)
    adopted = adopt_inks(own, other, own.folder / "known.toml")
    assert adopted.inks[0].hits == ("Soot again",)
    assert any(line.startswith("  Soot and Soot again: ") for line in adopted_lines(adopted))


def test_a_ramp_of_an_ink_that_prints_twice(tmp_path):
    ramp = 'measurements = "chart.txt"'
    _, new = adopt(tmp_path, HIT_HERE, changed("lab = [26, 1, 1]", ramp, EARLIER))
    assert [ink.column for ink in new.inks if "Soot" in ink.name] == ["Soot", "Soot"]
    assert new.inks[3].hit_of == "Soot"


def test_origins_are_handed_on(tmp_path):
    """What a book took over keeps the paper it was read on, and says both books."""
    _, second = adopt(tmp_path / "one", GUESS.replace("Two panels", "Second"), COATED)
    third = book(tmp_path / "third", GUESS)
    adopted = adopt_inks(third, second, third.folder / "known.toml")
    soot = read_book(adopted.path).inks[0]
    assert soot.measured_on.paper_class == "coated"
    assert soot.read_from == "Day Ferry, Second"
    assert adopted.is_same_paper
    assert not adopted.inks[0].is_same_paper


def test_names_of_any_letters(tmp_path):
    """Composed in one book, decomposed in the other, with blanks and quotes in the title."""
    own = GUESS.replace("Soot", "Br\u00fbl\u00e9 noir")
    other = EARLIER.replace("Soot", "Bru\u0302le\u0301 noir").replace("Day Ferry", "“Fähre” № 1")
    _, new = adopt(tmp_path, own, other + READ.replace("Soot", '"Bru\u0302le\u0301 noir"'))
    assert new.inks[0].read_from == "“Fähre” № 1"
    assert new.measured[0].mix_pct == {"Br\u00fbl\u00e9 noir": 80, "Fjord": 60}


# --- mixes ----------------------------------------------------------------------------------------


def test_mixes_of_the_same_paper_come_over_with_their_origin(tmp_path):
    more = READ.replace("80", "70") + 'read_from = "proof"\nwet = true\n'
    adopted, new = adopt(tmp_path, BOOK, EARLIER + READ + more)
    assert adopted.measured == 2
    assert [one.read_from for one in new.measured] == ["Day Ferry", "proof, Day Ferry"]
    assert [one.wet for one in new.measured] == [False, True]
    assert new.measured[0].lab == (24, 2, -9)


def test_a_mix_that_was_read_makes_night_surer(tmp_path):
    """The reading lies within dE00 1 of what is predicted (31.3, 0.4, -2.8: silver)."""
    adopted, _ = adopt(tmp_path, BOOK, EARLIER + READ.replace("[24, 2, -9]", "[31, 0.5, -3]"))
    dark = next(one for one in adopted.errors if one.name.startswith("the darkest mix"))
    assert dark.after_L < dark.before_L - 0.3


@pytest.mark.parametrize(
    ("own", "other", "why"),
    [
        (GUESS, COATED, "that was printed on another paper"),
        (GUESS, changed("[paper]\n", "[paper]\nguessed = true\n", EARLIER), "nobody says on which"),
        (GUESS + READ, EARLIER, "this book has a reading of its own"),
        (GUESS, changed("lab = [33, 6, -34]", 'srgb = "#335"'.replace("335", "333355"), EARLIER),
         "Fjord did not come over"),
    ],
)  # fmt: skip
def test_mixes_that_do_not_hold_here_are_left_out(tmp_path, own, other, why):
    adopted, new = adopt(tmp_path, own, other + READ)
    assert why in whys(adopted)["the measured mix Soot 80 + Fjord 60"]
    assert len(new.measured) == own.count("[[measured]]")


def test_mixes_printed_in_another_order_are_left_out(tmp_path):
    soot, fjord = '"Soot"\nlab = [26, 1, 1]', '"Fjord"\nlab = [33, 6, -34]'
    turned = EARLIER.replace(soot, "X").replace(fjord, soot).replace("X", fjord)
    adopted, new = adopt(tmp_path, GUESS, turned + READ)
    assert "another order" in whys(adopted)["the measured mix Soot 80 + Fjord 60"]
    assert new.measured == ()


CHARTED = changed("ink_limit_pct = 260", 'ink_limit_pct = 260\noverprints = "chart.txt"', EARLIER)


def test_measured_overprints_come_over_as_a_file(tmp_path):
    adopted, new = adopt(tmp_path, BOOK, CHARTED)
    assert adopted.overprints == new.press.overprints == "adopted/chart.txt"
    assert len(resolve_condition(new).patches.tone_pct) == 6
    assert adopted.errors[0].after_de00 < adopted.errors[0].before_de00


@pytest.mark.parametrize(
    ("own", "other", "why"),
    [
        (CHARTED.replace("lab = [26, 1, 1]", 'srgb = "#222222"'), CHARTED, "a file of its own"),
        (GUESS, CHARTED.replace("[94, 0, 3]", "[95, 0, 9]"), "printed on another paper"),
        (GUESS, CHARTED.replace("lab = [52, 58, 40]", 'srgb = "#cc4433"'),
         "nobody says that its column Rowan is the Rowan of this book"),
    ],
)  # fmt: skip
def test_overprints_that_do_not_hold_here_are_left_out(tmp_path, own, other, why):
    adopted, new = adopt(tmp_path, own, other)
    assert why in whys(adopted)["the measured overprints (chart.txt)"]
    assert new.press.overprints != "adopted/chart.txt"
    assert adopted.files == ()


# --- the press file -------------------------------------------------------------------------------

PRESS = PressFile(
    origin=Origin(measurements="form.txt", sha256="0" * 64),
    paper=PaperRecord(paper_class="uncoated", xyz=(81.0, 84.0, 66.0)),
    inks=(
        InkRecord(name="Soot", tone_pct=(50.0, 100.0), xyz=((38.0, 39.5, 32.0), (5.0, 5.2, 4.5))),
        InkRecord(
            name="Rowan", tone_pct=(50.0, 100.0), xyz=((56.0, 49.0, 28.0), (34.0, 21.0, 7.0))
        ),
    ),
    mixes=MixRecords(
        rows=((50.0, 50.0, 26.0, 23.0, 14.0, 1.0), (100.0, 100.0, 3.0, 2.6, 1.6, 1.0))
    ),
)
"""Colours of CHART, which are drawn for tests."""

PRESSED = changed("ink_limit_pct = 260", 'ink_limit_pct = 260\ncondition = "press.toml"', EARLIER)
ON_PRESS_PAPER = GUESS.replace("lab = [94, 0, 3]", "xyz = [81, 84, 66]")


def adopt_press(tmp_path: Path, own: str, other: str, **told: str) -> tuple[BookAdopted, Book]:
    """As `adopt`, with a press file beside the earlier book."""
    (tmp_path / "other").mkdir(parents=True)
    (tmp_path / "other" / "press.toml").write_text(press_file_text(PRESS), "utf-8")
    return adopt(tmp_path, own, other, **told)


def test_on_the_same_paper_the_press_file_comes_over_as_a_whole(tmp_path):
    adopted, new = adopt_press(tmp_path, ON_PRESS_PAPER, PRESSED)
    assert adopted.condition == new.press.condition == "adopted/press.toml"
    assert [(ink.name, ink.how) for ink in adopted.inks] == [
        ("Soot", "press file"),
        ("Rowan", "press file"),
    ]
    here = resolve_condition(new)
    assert [ink.known for ink in here.inks] == ["ramp", "solid", "ramp"]
    assert len(here.patches.tone_pct) == 2
    assert not here.guesses


def test_on_another_paper_the_inks_of_a_press_file_come_over_alone(tmp_path):
    own = GUESS.replace("[94, 0, 3]", "[95, 0, -2]").replace('"uncoated"', '"coated"')
    adopted, new = adopt_press(tmp_path, own, PRESSED)
    assert "another paper" in whys(adopted)["the press file (press.toml)"]
    assert adopted.files == ("adopted/inks of the press.txt",)
    soot = resolve_condition(new).inks[0]
    assert (soot.known, soot.measured_on.paper_class) == ("ramp", "uncoated")
    np.testing.assert_allclose(soot.xyz100, [(81, 84, 66), (38, 39.5, 32), (5, 5.2, 4.5)])
    assert any("Soot was measured on" in one for one in resolve_condition(new).cautions)
    assert resolve_condition(new).patches is None


@pytest.mark.parametrize(
    ("own", "told", "why"),
    [
        (changed("ink_limit_pct = 260", "ink_limit_pct = 260\noverprints = \"chart.txt\"",
                 ON_PRESS_PAPER), {}, "this book names measured overprints"),
        (ON_PRESS_PAPER, {"Fjord": "Soot"}, "Soot is called otherwise here"),
    ],
)  # fmt: skip
def test_a_press_file_that_cannot_be_that_of_the_book(tmp_path, own, told, why):
    adopted, new = adopt_press(tmp_path, own, PRESSED, **told)
    assert why in whys(adopted)["the press file (press.toml)"]
    assert new.press.condition is None
    assert resolve_condition(new)


def test_the_press_file_of_the_book_counts_more_than_what_others_know(tmp_path):
    own = changed("ink_limit_pct = 260", 'ink_limit_pct = 260\ncondition = "mine.toml"', GUESS)
    (tmp_path / "own").mkdir()
    (tmp_path / "own" / "mine.toml").write_text(press_file_text(PRESS), "utf-8")
    with pytest.raises(UsageError, match="what the press file of this book holds counts more"):
        adopt(tmp_path, own, EARLIER, Soot="Soot")


# --- books that cannot be, places that cannot be --------------------------------------------------


def test_another_process_says_nothing_of_this_one(tmp_path):
    screen = EARLIER.replace("sheet-fed offset", "screen print")
    with pytest.raises(UsageError, match=r"printed by screen print, this book is by sheet-fed"):
        adopt(tmp_path, GUESS, screen)
    assert not (tmp_path / "own" / "known.toml").exists()


def test_a_book_knows_no_more_than_itself(tmp_path):
    own = book(tmp_path, GUESS)
    with pytest.raises(UsageError, match="is the book itself"):
        adopt_inks(own, own, tmp_path / "known.toml")
    with pytest.raises(UsageError, match="Soot, Fjord, Rowan: told alike in Day Ferry"):
        adopt(tmp_path / "alike", BOOK, EARLIER)


def test_spreads_with_inks_of_their_own_keep_them(tmp_path):
    cover = (
        '\n[[override]]\nspreads = ["cover"]\n[[override.inks]]\nname = "Soot"\nlab = [30, 0, 0]\n'
    )
    adopted, new = adopt(tmp_path, GUESS + cover, EARLIER)
    assert whys(adopted)["cover"] == "the book gives it inks of its own"
    assert new.for_spread("cover").inks[0].lab == (30, 0, 0)


def test_spreads_on_another_paper_know_where_the_inks_were_read(tmp_path):
    cover = '\n[[override]]\nspreads = ["cover"]\npaper = { lab = [96, 0, 1], class = "coated" }\n'
    _, new = adopt(tmp_path, GUESS + cover, EARLIER)
    on_cover = resolve_condition(new.for_spread("cover"))
    assert any(one.startswith("Soot was measured on uncoated") for one in on_cover.cautions)


def test_what_is_wrong_with_the_other_book_is_said_of_it(tmp_path, capfd):
    book(tmp_path / "own", GUESS)
    other = tmp_path / "other"
    other.mkdir()
    words = ["inks", tmp_path / "own", "--adopt", other, "--to", tmp_path / "own" / "known.toml"]
    assert f"{other}" in command(capfd, *words).err
    (other / "book.toml").write_text(changed("[26, 1, 1]", "[26, 1]"), "utf-8")
    ran = command(capfd, *words)
    assert ran.code == 2
    assert ran.messages[0].startswith(f"inkmix: {other}: book.toml, line 10: inks[1].lab")
    (other / "book.toml").write_text(MEASURED, "utf-8")
    assert f"{other}: book.toml, line 18: inks[3].measurements: there is no file" in (
        command(capfd, *words).err
    )
    (other / "rowan.txt").write_text("CGATS.17\nBEGIN", "utf-8")
    ran = command(capfd, *words)
    assert ran.code == 3
    assert str(other) in ran.err
    assert not (tmp_path / "own" / "known.toml").exists()


def test_places_where_no_book_is_written(tmp_path):
    own, other = book(tmp_path / "own", GUESS), book(tmp_path / "other", EARLIER)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine", "utf-8")
    with untouched(tmp_path):
        for to, words in (
            ("elsewhere.toml", "paths of a book begin in its folder"),
            ("own/new", "lies in the folder of the book"),
            ("own", "lies in the folder of the book"),
            ("full", "holds files already"),
        ):
            with pytest.raises(UsageError, match=words):
                adopt_inks(own, other, tmp_path / to)
        with pytest.raises(OutputError, match="already exists"):
            adopt_inks(own, other, tmp_path / "own" / "book.toml")


def test_a_folder_that_may_not_be_written(tmp_path):
    own, other = book(tmp_path / "own", GUESS), book(tmp_path / "other", EARLIER)
    own.folder.chmod(0o555)
    words = ["inks", own.folder, "--adopt", other.folder, "--to", own.folder / "known.toml"]
    ran = subprocess.run(
        [sys.executable, "-m", "inkmix", *map(str, words)],
        capture_output=True, text=True, check=False, preexec_fn=drop_rights,
    )  # fmt: skip
    own.folder.chmod(0o755)
    assert ran.returncode == 2
    assert "cannot be written (Permission denied)" in ran.stderr
    assert sorted(path.name for path in own.folder.iterdir()) == ["book.toml"]


def test_a_folder_gets_the_whole_book(tmp_path):
    own = draw_book(tmp_path / "own", GUESS + NIGHT)
    other = book(tmp_path / "other", MEASURED, rowan=CGATS)
    adopted = adopt_inks(read_book(own), other, tmp_path / "new")
    assert adopted.path == tmp_path / "new" / "book.toml"
    old, new = digests(own), digests(tmp_path / "new")
    copied = {name for name in old if name.startswith(("plates/", "masks/"))}
    assert {name: new[name] for name in copied} == {name: old[name] for name in copied}
    assert "adopted/rowan.txt" in new


def test_a_book_without_plates_has_a_copy_too(tmp_path):
    own = draw_book(tmp_path / "own", GUESS + NIGHT)
    for plate in (own / "plates" / "front").iterdir():
        plate.unlink()
    adopted = adopt_inks(read_book(own), book(tmp_path / "other", EARLIER), tmp_path / "new")
    assert read_book(adopted.path).nights[0].name == "cellar"


# --- the key, the text, the command ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (
            'srgb = "#222222"\nmeasured_on = { swatch = "night-ferry/coated" }',
            "belongs to lab, xyz",
        ),
        ("lab = [26, 1, 1]\nmeasured_on = { lab = [95, 0, -2] }", "has no class"),
        ('lab = [26, 1, 1]\nmeasured_on = { class = "coated" }', "measurement has no colour"),
        (
            'lab = [26, 1, 1]\nmeasured_on = { lab = [20, 0, 0], class = "coated" }',
            "paper is lighter",
        ),
        ('lab = [26, 1, 1]\nmeasured_on = { lab = [95, 0, 0], class = "shiny" }', "shiny"),
    ],
)
def test_what_cannot_be_a_paper_of_a_reading(tmp_path, told, words):
    with pytest.raises(BookError, match=words):
        book(tmp_path, changed("lab = [26, 1, 1]", told))


def test_a_paper_of_a_reading_that_is_no_more_than_a_screen_colour(tmp_path):
    told = 'lab = [26, 1, 1]\nmeasured_on = { srgb = "#ffffff", class = "coated" }'
    assert resolve_condition(book(tmp_path, changed("lab = [26, 1, 1]", told))).hints == ("Soot",)


def test_a_chart_of_another_class_of_paper(tmp_path):
    """The chart tells its paper's colour; the book, what class that is."""
    told = 'measurements = "rowan.txt"\nmeasured_on = { lab = [95, 0, -2], class = "coated" }'
    made = resolve_condition(book(tmp_path, changed("lab = [52, 58, 40]", told), rowan=CGATS))
    on = made.inks[2].measured_on
    assert (on.paper_class, on.xyz100.tolist()) == ("coated", [81, 84, 66])


VALUES = st.recursive(
    st.text(st.characters(exclude_categories=("Cs",)))
    | st.booleans()
    | st.integers(-(2**53), 2**53)
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(
        st.characters(exclude_categories=("Cs",))), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@given(VALUES)
def test_values_are_read_as_they_were_written(value):
    assert tomllib.loads(f"x = {as_toml(value)}")["x"] == value


def test_comments_and_all_else_stay_as_they_were(tmp_path):
    adopted, _ = adopt(tmp_path, "# Mine.\n" + GUESS + "# End", EARLIER + READ)
    old = ("# Mine.\n" + GUESS + "# End").splitlines()
    new = adopted.path.read_text("utf-8").splitlines()
    gone = [line for line in old if line not in new]
    assert gone == ['srgb = "#222222"  # guessed: a dark grey', 'guessed = "#222222"']
    assert [line for line in new if line in old] == [line for line in old if line not in gone]


def test_text_of_other_systems(tmp_path):
    """Lines that end in CR LF, a byte-order mark, a reading in a table of its own."""
    density = '[inks.density]\nred = 1.2\ngreen = 1.2\nblue = 1.2\nstatus = "E"\nrelative = true'
    text = changed("lab = [26, 1, 1]", f"opacity = [\n]\n{density}".replace("opacity = [\n]\n", ""))
    data = b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()
    edits = Edits(inks={0: Change(gone=("density",), lines=("lab = [1, 2, 3]",))}, press=Change())
    made = edited(data, edits, name="book.toml")
    assert made.count(b"\n") == made.count(b"\r\n")
    soot = tomllib.loads(made.decode())["inks"][0]
    assert soot == {"name": "Soot", "lab": [1, 2, 3]}


def test_values_of_several_lines_go_as_a_whole():
    text = changed("lab = [26, 1, 1]", 'lab = [\n 26, # L*\n 1, 1]\nread_from = "a"')
    edits = Edits(inks={0: Change(gone=("lab",))}, press=Change(lines=("x = 1",)))
    said = tomllib.loads(edited(text.encode(), edits, name="b").decode())
    assert said["inks"][0] == {"name": "Soot", "read_from": "a"}
    assert said["press"]["x"] == 1


def test_a_book_in_which_keys_do_not_stand_in_lines_is_refused(tmp_path):
    inks = 'inks = [{ name = "Soot", srgb = "#222222" }]\n'
    start, _, rest = BOOK.partition("[[inks]]")
    inline = start.replace("[paper]", f"{inks}[paper]") + "[press]" + rest.partition("[press]")[2]
    with pytest.raises(BookError, match="in one line, or in parts"):
        adopt(tmp_path, inline, EARLIER)
    assert not (tmp_path / "own" / "known.toml").exists()


def test_what_the_command_says(tmp_path, capfd):
    own = book(tmp_path / "own", GUESS + TONE)
    other = book(tmp_path / "other", COATED + READ)
    words = ("inks", own.folder, "--adopt", other.folder)
    ran = command(capfd, *words, "--to", own.folder / "known.toml")
    assert (ran.code, ran.out) == (0, "")
    for said in (
        "Taken over from Day Ferry, which was printed on another paper: 1 ink.",
        "Soot: its solid (lab), measured on coated paper, not on this one",
        "not taken over: the measured mix Soot 80 + Fjord 60: that was printed on another paper",
        "dusk (Soot 40 + Rowan 60): dE00 ",
        "of that is what the other paper costs",
        "  Soot: ",
        f"written: {own.folder / 'known.toml'}",
    ):
        assert said in ran.err
    document = json.loads(command(capfd, *words, "--json", "--to", own.folder / "two.toml").out)
    assert (document["format"], document["title"]) == (1, "Day Ferry")
    assert document["inks"][0]["name"] == "Soot"


def test_what_the_command_needs(tmp_path, capfd):
    own, other = book(tmp_path / "own", GUESS), book(tmp_path / "other", EARLIER)
    ran = command(capfd, "inks", own.folder, "--adopt", other.folder)
    assert "--adopt: without --to, but the new book needs a place" in ran.err
    new = own.folder / "known.toml"
    assert "names no book" in command(capfd, "inks", "--adopt", other.folder, "--to", new).err
    ran = command(capfd, "inks", own.folder, "Soot", "--adopt", other.folder, "--to", new)
    assert (ran.code, new.exists()) == (2, False)
    ran = command(
        capfd, "inks", own.folder, "--adopt", other.folder, "--to", new, "--adopt-ink", "Soot"
    )
    assert "--adopt-ink: " in ran.err
    assert "OURS=THEIRS is needed" in ran.err


def test_the_report_says_that_an_ink_was_measured_elsewhere(tmp_path, capfd):
    own = draw_book(tmp_path / "own", GUESS)
    adopted = adopt_inks(read_book(own), book(tmp_path / "other", COATED), own / "known.toml")
    ran = command(capfd, "check", adopted.path, "--to", tmp_path / "report")
    assert "caution: Soot was measured on coated paper, not on this one" in ran.err
