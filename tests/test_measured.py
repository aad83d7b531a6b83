"""Colours that a book tells of a print, one line each: what they move, and what they never do."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import press_data
import pytest
from drawn_book import BOOK, NIGHT, command, draw_book
from press_data import with_press_data
from press_for_checks import inks, paper
from published_sets import SETS, chart

from inkmix.base.errors import BookError
from inkmix.book.meant.condition import resolve_condition, resolve_paper
from inkmix.book.meant.measured import is_sure, measured_mixes
from inkmix.book.read import parse_book, read_book
from inkmix.book.values import Book, MeasuredMix
from inkmix.checks import table
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.jobs.checking.measured_doubts import measured_doubts
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.constants import MODEL
from inkmix.press.inks import ink_from_srgb
from inkmix.press.patches import (
    AVERAGED,
    BY_EYE,
    ONE_READING,
    SINGLE_SHEET,
    WET,
    Patches,
    inks_with_all_overprints,
    merge_repeats,
)
from inkmix.press.processes import find_process
from inkmix.press.scoring.known_part import tell

DARK = (80.0, 60.0, 0.0, 0.0, 0.0)


def press(*told: tuple[tuple[float, ...], np.ndarray, str]) -> PressCondition:
    """Five inks on uncoated paper, and what was read of mixes of them."""
    patches = None
    if told:
        tones, colours, noise = zip(*told, strict=True)
        patches = Patches(tone_pct=np.array(tones), xyz100=np.stack(colours), noise=noise)
    offset = find_process("sheet-fed offset")
    return press_condition(paper(), inks(), process=offset, patches=patches)


@cache
def plain() -> PressCondition:
    return press()


def lighter(tones, times: float) -> np.ndarray:
    return plain().xyz100(tones) * times


@pytest.mark.parametrize("noise", [AVERAGED, SINGLE_SHEET, ONE_READING, WET, BY_EYE])
def test_every_reading_moves_the_prediction_towards_it(noise):
    told = press((DARK, lighter(DARK, 1.3), noise))
    before, after = plain().lab(DARK)[0], told.lab(DARK)[0]
    read = xyz100_to_lab(lighter(DARK, 1.3))[0]
    assert before < after <= read + 0.05


def test_the_surer_a_reading_the_further_it_moves():
    moved = [
        press((DARK, lighter(DARK, 1.3), noise)).lab(DARK)[0]
        for noise in (BY_EYE, WET, ONE_READING, AVERAGED)
    ]
    assert moved == sorted(moved)
    assert len(set(moved)) == 4


@pytest.mark.parametrize("noise", [WET, BY_EYE])
@pytest.mark.parametrize("times", [0.7, 1.0, 1.4])
def test_what_is_read_wet_or_by_eye_narrows_no_error(noise, times):
    """What would pass with it passes without it: the bound grows by as much as it moved."""
    told = press((DARK, lighter(DARK, times), noise))
    rng = np.random.default_rng(3)
    tones = rng.uniform(0, 100, (200, 5)) * (rng.random((200, 5)) < 0.6)
    was, now = plain().expected_error(tones), told.expected_error(tones)
    assert (now.L >= was.L - 1e-9).all()
    assert (now.de00 >= was.de00 - 1e-9).all()
    darkest_that_may_be = plain().lab(tones)[:, 0] + was.L
    assert (told.lab(tones)[:, 0] + now.L >= darkest_that_may_be - 1e-9).all()


def test_an_instrument_makes_likeness_surer():
    told = press((DARK, lighter(DARK, 1.1), ONE_READING))
    for like in (DARK, (70.0, 70.0, 0.0, 0.0, 0.0)):
        assert told.expected_error(like).L < 0.9 * plain().expected_error(like).L


def test_beside_a_match_by_eye_an_instrument_still_makes_surer():
    sure = (DARK, lighter(DARK, 1.1), ONE_READING)
    seen = ((60.0, 80.0, 0.0, 0.0, 0.0), lighter((60.0, 80.0, 0.0, 0.0, 0.0), 1.2), BY_EYE)
    alone, both = press(sure), press(sure, seen)
    assert both.expected_error(DARK).L < plain().expected_error(DARK).L
    assert both.expected_error(DARK).L >= alone.expected_error(DARK).L


def test_one_reading_of_a_solid_is_no_chart():
    """A chart's solids count exactly; one reading of an overprint is one reading."""
    solid = (100.0, 100.0, 0.0, 0.0, 0.0)
    read = lighter(solid, 1.3)
    aim = xyz100_to_lab(read)
    exact, one = (press((solid, read, noise)) for noise in (SINGLE_SHEET, ONE_READING))
    assert delta_e00(exact.lab(solid), aim) < 0.05 < delta_e00(one.lab(solid), aim)
    told = Patches(tone_pct=np.array([[100.0, 100.0]]), xyz100=read[None], noise=(ONE_READING,))
    assert not inks_with_all_overprints(told, 2).any()
    assert inks_with_all_overprints(replace(told, noise=(SINGLE_SHEET,)), 2).all()


def test_repeats_are_merged_by_how_they_were_read():
    tones = np.array([[60.0, 60.0]] * 3 + [[70.0, 0.0]])
    xyz100 = np.array([[10.0, 10, 10], [12, 12, 12], [30, 30, 30], [5, 5, 5]])
    merged, counts = merge_repeats(
        Patches(tone_pct=tones, xyz100=xyz100, noise=(ONE_READING, ONE_READING, BY_EYE, WET))
    )
    told = dict(zip(merged.noises, zip(merged.xyz100[:, 0], counts, strict=True), strict=True))
    assert told == {ONE_READING: (11.0, 2.0), BY_EYE: (30.0, 1.0)}


def dark_errors(printed, known: str, paper_class: str, *, seeds=(11, 12)) -> np.ndarray:
    """Mean error of L* before and after, and the share inside its bound after, for each seed.

    Ten mixes of the darkest fifth are drawn by lot and told; what is left of it is judged.
    """
    condition, told = tell(printed, known=known, paper_class=paper_class)
    left = np.flatnonzero(printed.mixed & ~told)
    dark = left[np.argsort(printed.lab[left, 0])][: len(left) // 5]
    rows = []
    for seed in seeds:
        lot = np.random.default_rng(seed).choice(dark, 10, replace=False)
        read = Patches(
            tone_pct=printed.tone_pct[lot], xyz100=printed.xyz100[lot], noise=ONE_READING
        )
        told_besides = condition.patches.with_more(read) if condition.patches else read
        knows = press_condition(
            condition.paper, condition.inks, process=condition.process, patches=told_besides
        )
        rest = np.setdiff1d(dark, lot)
        tones, true_L = printed.tone_pct[rest], printed.lab[rest, 0]
        before, after = (np.abs(one.lab(tones)[:, 0] - true_L) for one in (condition, knows))
        inside = after <= knows.expected_error(tones).L
        rows.append((before.mean(), after.mean(), inside.mean()))
    return np.array(rows)


@pytest.mark.parametrize(("known", "most"), [("solids", 0.85), ("ramps", 0.65)])
def test_ten_lines_lessen_the_error_in_the_dark(known, most):
    """Published sets: FOGRA39L, FOGRA29L, TR 002, which are predicted well without."""
    figures = np.concatenate(
        [dark_errors(chart(name), known, paper_class) for name, paper_class in SETS.items()]
    )
    before, after, inside = figures.mean(axis=0)
    assert after < most * before
    assert inside > 0.93


@with_press_data
@pytest.mark.parametrize("known", ["solids", "ramps"])
def test_ten_lines_halve_the_error_in_the_dark(known):
    """Published sets that may not be handed on; with the three above and ten more the mean falls
    from 1.23 to 0.55 (solids) and from 1.09 to 0.42 (ramps)."""
    sets = {
        "fogra42l": "newsprint",
        "fogra48l": "newsprint",
        "crpc6": "coated",
        "fogra52": "uncoated",
    }
    figures = np.concatenate(
        [dark_errors(press_data.chart(name), known, kind) for name, kind in sets.items()]
    )
    before, after, inside = figures.mean(axis=0)
    assert after < 0.5 * before
    assert inside > 0.93


def test_noise_of_each_way_of_reading():
    """The order is common practice; the two largest are guesses."""
    sd = MODEL.kriging.noise_sd
    ways = (AVERAGED, SINGLE_SHEET, WET, BY_EYE)
    assert [sd[one] for one in ways] == sorted(sd[one] for one in ways)
    assert sd[ONE_READING] == sd[SINGLE_SHEET]


MEASURED = """
[[measured]]
mix = { Soot = 80, Fjord = 60 }
lab = [26, 2, -9]
read_from = "proof"
"""


def read(text: str) -> Book:
    return parse_book(text.encode(), path=Path("/nowhere/book.toml"), form=table.book_form())


def faults(text: str) -> str:
    with pytest.raises(BookError) as caught:
        read(text)
    return "\n".join(str(fault) for fault in caught.value.faults)


def test_a_book_tells_colours_one_by_one():
    (one,) = read(BOOK + MEASURED).measured
    assert one == MeasuredMix(mix_pct={"Soot": 80, "Fjord": 60}, lab=(26, 2, -9), read_from="proof")


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("mix = { Soot = 80 }\nlab = [26, 2, -9]", "holds Soot alone"),
        ("mix = { Soot = 0 }\nlab = [26, 2, -9]", "holds no ink"),
        ("mix = { Sout = 80, Fjord = 2 }\nlab = [26, 2, -9]", "Sout"),
        ("mix = { Soot = 80, Fjord = 60 }", "has no colour"),
        ("mix = { Soot = 80, Fjord = 60 }\nwet = true", 'looks_like = "#rrggbb"'),
        (
            'mix = { Soot = 80, Fjord = 60 }\nlab = [26, 2, -9]\nlooks_like = "#2b2e3a"',
            "is given by lab and looks_like",
        ),
        ("mix = { Soot = 80, Fjord = 160 }\nlab = [26, 2, -9]", "100"),
        ("mix = { Soot = 80, Fjord = 60 }\nlab = [0.26, 0.02, -0.09]", "not to 1"),
        ("mix = { Soot = 80, Fjord = 60 }\nxyz = [0.04, 0.04, 0.05]", "0 to 100"),
        ('mix = { Soot = 80, Fjord = 60 }\nlooks_like = "navy"', "looks_like"),
    ],
)
def test_what_cannot_be_a_measured_colour_is_refused(line, words):
    assert words in faults(f"{BOOK}\n[[measured]]\n{line}\n")


def test_spreads_on_other_paper_leave_measured_colours_aside():
    paper = 'paper = { lab = [95, 0, -2], class = "coated" }\n'
    book = read(BOOK + MEASURED + '\n[[override]]\nspreads = ["cover"]\n' + paper)
    assert len(book.measured) == 1
    assert book.overrides[0].book.measured == ()
    assert any(
        "measured colours are of other paper" in note for note in book.overrides[0].book.notes
    )


def test_a_book_that_knows_more_says_what_that_changed(tmp_path, capfd):
    book = draw_book(tmp_path, BOOK + NIGHT)
    before = command(capfd, "check", book, "--to", tmp_path / "before")
    assert "measured" not in before.err
    (book / "book.toml").write_text(BOOK + NIGHT + MEASURED, encoding="utf-8")
    ran = command(capfd, "check", book, "--to", tmp_path / "after")
    assert "1 measured colour is used: Soot 80 + Fjord 60 printed dE00" in ran.err
    assert "with the measured colours" in ran.err


def doubts(tmp_path, *lines):
    """Of a book that tells these colours (mix, colour), by its file."""
    told = "".join(f"\n[[measured]]\nmix = {{ {mix} }}\n{colour}\n" for mix, colour in lines)
    (tmp_path / "book.toml").write_text(BOOK + told, encoding="utf-8")
    book = read_book(tmp_path, form=table.book_form())
    return measured_doubts(book, resolve_condition(replace(book, measured=())))


def lab_line(*tones, lighter_L=0.0):
    """What the book without readings predicts of a mix, as its reading."""
    L, a, b = resolve_condition(read(BOOK)).lab(np.array(tones))
    return f"lab = [{L + lighter_L:.2f}, {a:.2f}, {b:.2f}]"


def test_a_line_that_does_not_agree_with_the_rest_is_named(tmp_path):
    """A slip of 40 in L*; sound lines beside it are not doubted."""
    sound = [
        (f"Soot = {s}, Fjord = {f}", lab_line(s, f, 0, lighter_L=1.0))
        for s, f in ((80, 60), (50, 70), (30, 90))
    ]
    assert doubts(tmp_path, *sound) == ()
    wrong = ("Soot = 70, Fjord = 70", lab_line(70, 70, 0, lighter_L=40))
    (said,) = doubts(tmp_path, *sound[:2], wrong, sound[2])
    assert "Soot 70 + Fjord 70" in said
    lines = (tmp_path / "book.toml").read_text().splitlines()
    line = lines.index("mix = { Soot = 70, Fjord = 70 }")  # of [[measured]], from 1
    assert f"(book.toml, line {line}: measured[3])" in said
    assert "check its mix and its colour" in said


def test_a_match_by_eye_that_is_far_off_is_a_caution(tmp_path):
    mix = "Soot = 80, Fjord = 60"
    assert doubts(tmp_path, (mix, 'looks_like = "#3c404c"')) == ()
    (said,) = doubts(tmp_path, (mix, 'looks_like = "#8a9a70"'))
    assert "read it dry, with an instrument" in said


def test_how_a_book_s_colours_were_read():
    lines = MEASURED + MEASURED.replace('read_from = "proof"', "wet = true")
    lines += MEASURED.replace("lab = [26, 2, -9]", 'looks_like = "#2b2e3a"')
    book = read(BOOK + lines)
    patches = measured_mixes(book, resolve_paper(book))
    assert patches.noises == (ONE_READING, WET, BY_EYE)
    assert [is_sure(one) for one in book.measured] == [True, False, False]
    assert xyz100_to_lab(patches.xyz100[0]) == pytest.approx((26, 2, -9), abs=1e-6)


def test_a_match_by_eye_is_relative_to_the_paper():
    book = read(BOOK + MEASURED.replace("lab = [26, 2, -9]", 'looks_like = "#ffffff"'))
    white = resolve_paper(book).xyz100
    assert measured_mixes(book, resolve_paper(book)).xyz100[0] == pytest.approx(white)


def test_densities_are_read_as_those_of_inks_are():
    """Grey of density 1.2 over the paper: a tenth of its light and less."""
    reading = 'density = { red = 1.2, green = 1.2, blue = 1.2, status = "E", relative = true }'
    book = read(BOOK + MEASURED.replace("lab = [26, 2, -9]", reading))
    paper = resolve_paper(book)
    share = measured_mixes(book, paper).xyz100[0] / paper.xyz100
    assert share == pytest.approx(10**-1.2, rel=0.03)


def test_a_double_hit_holds_what_its_plate_does():
    twice = '\n[[inks]]\nname = "Soot again"\nplate = "Soot"\nlab = [26, 1, 1]\n'
    book = read(BOOK.replace("\n[press]", f"{twice}\n[press]", 1) + MEASURED)
    patches = measured_mixes(book, resolve_paper(book))
    at = [ink.name for ink in book.inks].index("Soot again")
    assert patches.tone_pct[0, at] == 80


def test_a_reading_makes_inks_that_are_hardly_known_no_less_sure():
    """By screen colours alone a print may be far off: that says nothing against the press."""
    white = paper()
    made = [
        ink_from_srgb(name, rgb, paper=white) for name, rgb in (("A", "#1c2a55"), ("B", "#ff7f50"))
    ]
    offset = find_process("sheet-fed offset")
    bare = press_condition(white, made, process=offset)
    row = np.array([80.0, 40.0])
    patches = Patches(tone_pct=row[None], xyz100=bare.xyz100(row)[None] * 0.6, noise=ONE_READING)
    told = press_condition(white, made, process=offset, patches=patches)
    assert told.expected_error(row).de00 < bare.expected_error(row).de00
    assert told.expected_error(row).L < bare.expected_error(row).L
