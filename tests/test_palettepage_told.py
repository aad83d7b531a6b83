"""Where candidates and intended tones of a choice come from: the book, lists, pictures, charts."""

from dataclasses import replace

import numpy as np
import pytest
from palette_book import book, draw
from PIL import Image

from inkmix.base.errors import InkmixError, UsageError
from inkmix.base.shipped import swatches_folder
from inkmix.book.meant.tones import screen_colour_over
from inkmix.book.values import TONES
from inkmix.colour.colorimetry import delta_e00
from inkmix.colour.named import colour_name
from inkmix.colour.written import told_arguments
from inkmix.jobs.books import read_book
from inkmix.jobs.palettes.at_hand import plates_at_hand
from inkmix.jobs.palettes.main_colours import LEAST_SHARE, main_colours
from inkmix.jobs.palettes.told import (
    LEAST_SHARE as LEAST_WEIGHT,
)
from inkmix.jobs.palettes.told import (
    tones_of_book,
    tones_of_colours,
    tones_of_picture,
)
from inkmix.jobs.palettes.wishes import candidates_of, ground_of
from inkmix.mixes.assigned.plates import SampledPlates
from inkmix.plates.reference.picture import open_reference


def without_tones(book):
    """The book, naming no tones."""
    return replace(book, sections={**book.sections, TONES.table: ()})


@pytest.fixture(scope="module")
def ground():
    return ground_of(book())


def test_tones_of_a_book_weigh_as_much_as_they_fill(ground):
    """A quarter of the picture in one tone's mix, the rest bare."""
    inks = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
    tones = np.zeros((2, 2, 5))
    tones[0, 0] = [90, 68, 10, 0, 0]  # deep night
    found = tones_of_book(ground, SampledPlates(names=inks, tone_pct=tones, step=1))
    weights = {tone.name: tone.weight for tone in found.tones}
    assert weights.pop("deep night") == 0.25
    assert set(weights.values()) == {LEAST_WEIGHT}
    assert "25 % of the picture" in found.words


def test_tones_of_a_book_count_alike_without_plates(ground):
    found = tones_of_book(ground, None)
    assert {tone.weight for tone in found.tones} == {1.0}
    assert found.words == "the book’s 7 named tones"
    assert found.screen["dawn"] == "#fab89c"


def test_a_book_without_tones_says_so(ground):
    bare = replace(ground, book=without_tones(ground.book))
    found = tones_of_book(bare, None)
    assert (found.tones, found.words) == ((), "none are given")


def test_colours_are_told_in_five_ways(ground):
    told = told_arguments(["#804020", "804020", "rgb(128, 64, 32)", "#842", "Lab(40, 20, 20)"])
    found = tones_of_colours(told, ground, file="colours.txt")
    labs = [tone.lab for tone in found.tones]
    assert labs[0] == labs[1] == labs[2] != labs[3]
    assert labs[4] == (40, 20, 20)
    assert len({tone.name for tone in found.tones}) == 5
    assert found.words == "the 5 colours of colours.txt"


def painted(path, *, shares):
    """A picture of flat stripes, 100 px wide."""
    rows = [np.full((count, 100, 3), colour, np.uint8) for colour, count in shares]
    Image.fromarray(np.concatenate(rows)).save(path)
    return path


def test_main_colours_are_those_that_were_painted(ground, tmp_path):
    stripes = [((40, 40, 80), 60), ((250, 160, 60), 30), ((240, 240, 235), 10)]
    picture = open_reference(painted(tmp_path / "p.png", shares=stripes), None)
    found = main_colours(picture, ground.paper)
    assert [one.share for one in found] == pytest.approx([0.6, 0.3, 0.1])
    from inkmix.colour.colorimetry import xyz100_to_lab

    for one, (colour, _) in zip(found, stripes, strict=True):
        told = "#{:02x}{:02x}{:02x}".format(*colour)
        wanted = xyz100_to_lab(screen_colour_over(ground.paper.xyz100, told))
        assert delta_e00(one.lab, wanted) < 0.1  # they are told to a tenth


def test_main_colours_of_grain_are_few_and_clearly_different(ground, tmp_path):
    """Noise of 12 steps about two colours is two colours; specks below the least share are none."""
    random = np.random.default_rng(7)
    grain = random.normal(0, 12, (480, 640, 3)) + 90
    grain[:, 320:] += (110, 60, -40)
    grain[:12, :16] = (255, 0, 255)
    Image.fromarray(grain.clip(0, 255).astype(np.uint8)).save(tmp_path / "g.png")
    found = main_colours(open_reference(tmp_path / "g.png", None), ground.paper)
    assert [one.share for one in found] == pytest.approx([0.5, 0.5], abs=0.01)
    assert all(one.share >= LEAST_SHARE for one in found)


def test_a_picture_of_one_colour_is_said_to_be_one(ground, tmp_path):
    path = painted(tmp_path / "one.png", shares=[((30, 60, 120), 50)])
    found = tones_of_picture(path, ground)
    assert len(found.tones) == 1
    assert found.words.startswith("the one colour of one.png")
    assert "judged by how near they come to it" in found.words


def test_colours_of_a_picture_have_names_that_differ(ground, tmp_path):
    stripes = [((20, 30, 90), 10), ((60, 80, 200), 10), ((90, 20, 20), 10), ((230, 200, 40), 10)]
    found = tones_of_picture(painted(tmp_path / "p.png", shares=stripes), ground)
    names = [tone.name for tone in found.tones]
    assert len(set(names)) == len(names) == 4


@pytest.mark.parametrize(
    ("lab", "name"),
    [
        ((10, 0, 0), "black"),
        ((60, 1, 1), "grey"),
        ((54, 81, 70), "red"),  # #ff0000
        ((72, 35, 72), "orange"),  # #ff9922
        ((80, 25, 5), "pink"),
        ((30, 20, -60), "dark blue"),
        ((85, -5, 60), "light yellow"),
    ],
)
def test_colours_have_plain_names(lab, name):
    """By hue angle and lightness (common practice)."""
    assert colour_name(lab) == name


def test_candidates_are_the_hues_that_come_with_inkmix_for_this_paper(ground):
    """The set of the demo: 24 inks, of which the book has five."""
    found = candidates_of(ground)
    names = [ink.name for ink in found.inks]
    assert len(names) == len(set(names)) == 19
    assert not set(names) & {"Soot", "Fjord", "Rowan", "Brass", "Fog"}
    assert found.swatch["Flare"] == "night-ferry/Flare"
    assert set(found.hues) == set(names)
    assert found.words == "hues that come with inkmix, known on night-ferry/uncoated"


def test_an_ink_that_the_book_calls_otherwise_is_no_candidate_twice(ground):
    inks = (replace(ground.book.inks[0], name="Night"), *ground.book.inks[1:])
    found = candidates_of(ground_of(replace(without_tones(ground.book), inks=inks)))
    names = [ink.name for ink in found.inks]
    assert "Soot" not in names
    assert len(names) == 19


def test_second_hits_are_no_candidates(ground):
    twice = replace(ground.book.inks[0], name="Soot 2", plate="Soot", hit_of="Soot")
    again = ground_of(replace(ground.book, inks=(*ground.book.inks, twice)))
    assert [ink.name for ink in again.own] == ["Soot", "Fjord", "Rowan", "Brass", "Fog"]


def test_candidates_of_a_chart(ground):
    """FOGRA29L: four inks on an uncoated paper of its own."""
    chart = swatches_folder() / "fogra29l.txt"
    found = candidates_of(ground, (str(chart),))
    assert {ink.name for ink in found.inks} == {"C", "M", "Y", "K"}
    assert found.words == "the 4 inks of fogra29l.txt"
    assert (dict(found.swatch), dict(found.hues)) == ({}, {})


@pytest.mark.parametrize("names", [("day-ferry",), ("fogra39l",)])
def test_sets_that_were_not_printed_on_the_paper_are_refused(ground, names):
    with pytest.raises(UsageError, match=r"no ink set .* on this paper; sets on night-ferry/unco"):
        candidates_of(ground, names)


def test_a_chart_that_is_none_is_refused(ground, tmp_path):
    (tmp_path / "inks.txt").write_text("nothing here")
    with pytest.raises(InkmixError, match=r"inks\.txt"):
        candidates_of(ground, (str(tmp_path / "inks.txt"),))


def test_plates_that_are_not_there_are_left_aside(tmp_path):
    folder = draw(tmp_path / "book")
    told = read_book(folder / "book.toml")
    (folder / "plates" / "night-ferry" / "Soot.tif").write_bytes(b"II*\0 no more")
    found, note = plates_at_hand(told, None)
    assert found is None
    assert note.startswith("the plates are not used: ")
    with pytest.raises(InkmixError, match=r"Soot\.tif"):
        plates_at_hand(told, "night-ferry")
    for path in (folder / "plates" / "night-ferry").iterdir():
        path.unlink()
    found, note = plates_at_hand(told, None)
    assert (found, note.partition(":")[0]) == (None, "there are no plates")


def test_the_first_of_several_spreads_is_shown(tmp_path):
    folder = draw(tmp_path / "book")
    (folder / "plates" / "night-ferry").rename(folder / "plates" / "b")
    import shutil

    shutil.copytree(folder / "plates" / "b", folder / "plates" / "a")
    found, note = plates_at_hand(read_book(folder / "book.toml"), None)
    assert (found.spread.name, note) == ("a", "")
    assert found.notes == ("Shown is a, the first of 2 spreads; --spread shows another.",)


def test_a_guessed_paper_stays_guessed(ground):
    guessed = replace(ground.book, paper=replace(ground.book.paper, guessed=True))
    assert ground_of(guessed).paper.guessed


def test_an_ink_limit_that_is_asked_for_replaces_the_book_s(ground):
    limit = ground_of(ground.book, limit_pct=180).limit
    assert (limit.value, limit.whose) == (180, "asked")
    assert (ground.limit.value, ground.limit.whose) == (260, "printer")
