"""The page on a calibration: what it says comes from the readings, and nothing is loaded."""

import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import colour
import numpy as np
import pytest
from pages_policy import PageTags, keeps_to, policy_of
from printed_form import INKS, form_tones, readings_file, write_book
from simulated_press import lab_of

from inkmix.jobs.books import read_book
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.pages.calibration import next_steps, words
from inkmix.pages.calibration.drawing import screen_colour
from inkmix.pages.calibration.page import render_page
from inkmix.pages.calibration.text import calibration_lines
from inkmix.pages.calibration.write import write_calibration
from inkmix.press.calibration.drift import Moved
from inkmix.press.forms.mixes import next_tints
from inkmix.press.forms.values import FormInks

D50 = np.array([0.3457, 0.3585])  # x and y of ICC's D50, 0.9642 1 0.8249


class _Page(HTMLParser):
    """The words of a page, and all that it names."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags, self.named, self.parts, self._hidden = [], [], [], 0
        self.feed(page.decode())
        self.words = re.sub(r"\s+", " ", " ".join(self.parts))

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self._hidden += tag in ("style", "title")
        self.named += [value or "" for name, value in attrs if name in ("src", "href")]

    def handle_endtag(self, tag):
        self._hidden -= tag in ("style", "title")

    def handle_data(self, data):
        if not self._hidden:
            self.parts.append(data)


def screen_hex(lab):
    return "#{:02x}{:02x}{:02x}".format(*screen_colour(lab))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("ferry")


@pytest.fixture(scope="module")
def tones(folder):
    return form_tones(folder)


@pytest.fixture(scope="module")
def found(folder, tones):
    """Two patches of the form are swapped."""

    def swap(spectra):
        rows = np.flatnonzero((tones > 0).sum(axis=1) >= 2)
        lab = lab_of(spectra)
        one = rows[3]
        other = max(rows[4:-12], key=lambda row: np.linalg.norm(lab[row] - lab[one]))
        spectra[[one, other]] = spectra[[other, one]]
        return spectra

    return calibrate_book(write_book(folder), readings_file(folder / "a.txt", tones, change=swap))


@pytest.fixture(scope="module")
def page(found, folder):
    return _Page(render_page(found, folder / "press" / "a.toml"))


def test_nothing_is_loaded_and_no_script_runs(page):
    assert "script" not in page.tags
    assert all(name.startswith("#") for name in page.named)


def test_it_says_first_how_well_the_press_is_known_and_what_to_do(page, found):
    now, was = found.after.mean_de00, found.before.mean_de00
    patches = " and ".join(one.patch for one in found.suspects)
    head = f"foretold to dE00 {now:.1f} on average, by the book alone to dE00 {was:.1f}; next, read"
    assert head in page.words
    assert f"read {patches} again" in page.words
    assert 'condition = "press/a.toml"' in page.words


def test_readings_that_are_left_out_are_named_with_each_other(page, found):
    assert len(found.suspects) == 2
    for one in found.suspects:
        assert f"it looks swapped with {one.swapped_with}" in page.words


def test_what_the_book_asks_for_is_told_before_and_after(page, found):
    names = [tone.name for tone in found.book.tones]
    assert [one.name for one in found.mixes] == [*names, "the darkest mix"]
    for one in found.mixes:
        assert one.name in page.words
        assert f"it was dE00 {one.was_de00:.1f}".removesuffix(".0") in page.words
        assert f"moved dE00 {one.moved_de00:.1f}".removesuffix(".0") in page.words


def test_tone_value_increase_is_that_of_densities(page, found):
    """Of a visual density, from Y by Murray and Davies, for the black; a filter is near enough."""
    soot = found.inks[0]
    Y = np.array([tint.lab[0] for tint in soot.tints])
    Y = ((Y + 16) / 116) ** 3
    at = int(np.abs(soot.curve.tone_pct - 50).argmin())
    value = 100 * (Y[0] - Y[at]) / (Y[0] - Y[-1])
    tone = soot.curve.tone_pct[at]
    assert soot.curve.increase_at(tone) == pytest.approx(value - tone, abs=0.5)
    assert f"{soot.curve.increase_at(50.0):.1f}" in page.words


def test_trapping_is_that_of_the_readings(found, page):
    """Preucil by hand, in the pair that tells: Y of the second ink, read as a visual density."""
    telling = [pair for pair in found.pairs if pair.is_telling and not pair.hides]
    assert telling
    for pair in telling:
        apart = pair.trapping.overprint - pair.trapping.first
        by_hand = 100 * apart / pair.trapping.second
        assert pair.trapping.trapping_pct == pytest.approx(by_hand)
        assert f"{pair.second} on {pair.first}: {by_hand:.0f} %" in page.words


def test_mixes_are_shown_the_worst_first(found, page):
    apart = [one.de00 for one in found.residuals]
    assert apart == sorted(apart, reverse=True)
    worst = found.residuals[0]
    by_hand = colour.delta_E(worst.read_lab, worst.foretold_lab, method="CIE 2000")
    assert worst.de00 == pytest.approx(by_hand, abs=1e-3)
    assert f"patch {worst.patch}" in page.words
    assert f"{len(found.residuals) - 12} more" in page.words


def test_the_next_mixes_are_none_that_were_read_and_make_things_surer(found):
    more = found.to_print
    assert len(more.mixes) == 10
    assert more.all_then_de00 < more.all_de00
    chart = found.readings.chart.tone_pct
    for one in more.mixes:
        row = np.array([one.mix_pct.get(name, 0.0) for name in INKS])
        assert row.sum() <= 260
        assert np.abs(chart - row).max(axis=1).min() >= 1
        assert one.de00 == pytest.approx(float(found.condition.expected_error(row).de00))


def test_words_of_others_cannot_become_markup(found, folder):
    said = "<script>alert(1)</script> & “x”"
    origin = replace(found.press.origin, says=said)
    text = render_page(replace(found, press=replace(found.press, origin=origin)), folder / "a.toml")
    assert b"<script" not in text
    assert said in _Page(text).words


def test_a_book_that_names_the_file_is_not_told_to_and_drift_is_shown(tmp_path, tones):
    book = write_book(tmp_path)
    first = calibrate_book(book, readings_file(tmp_path / "may.txt", tones))
    write_calibration(first, tmp_path / "press")
    text = book.path.read_text().replace("[press]", '[press]\ncondition = "press/may.toml"')
    book.path.write_text(text)
    named = read_book(tmp_path)
    again = calibrate_book(named, tmp_path / "may.txt")
    said = "\n".join(calibration_lines(again, write_calibration(again, tmp_path / "press")))
    assert "name press/may.toml" not in said
    later = calibrate_book(named, readings_file(tmp_path / "june.txt", tones, seed=9))
    shown = _Page(render_page(later, tmp_path / "press" / "june.toml")).words
    assert "Since last time" in shown
    largest = later.drift.basics[0]
    assert f"dE00 {largest.de00:.1f}".removesuffix(".0") in shown
    assert largest.what in shown


def test_solids_alone_make_a_short_page(tmp_path, tones):
    """No ramp, no mix, nothing read twice: each part says so."""
    rows = np.vstack([np.zeros(5), np.eye(5) * 100])
    found = calibrate_book(write_book(tmp_path), readings_file(tmp_path / "few.txt", rows))
    assert found.after is None
    shown = _Page(render_page(found, tmp_path / "press" / "few.toml")).words
    assert "known ink by ink, but hardly in its mixes" in shown
    assert "No two solids were read on each other." in shown
    assert "Only the solid was read" in shown
    lines = list(calibration_lines(found, [tmp_path / "press" / "few.toml"]))
    assert any("6 readings" in line for line in lines)


def test_it_keeps_to_the_policy_of_pages_and_explains_its_words_before_the_foot(found, folder):
    text = render_page(found, folder / "press" / "a.toml").decode()
    page = PageTags(text)
    keeps_to(policy_of(page, "a.html"), page, "a.html")
    body, foot = text.split('id="words"')
    for term, meaning in (
        ("SCTV", "how far towards the solid a tint looks to be"),
        ("density", "How dark ink is in a densitometer"),
        ("trapping", "How well an ink took on another"),
        ("opacity", "How much of its own colour an ink shows"),
    ):
        assert body.count(f'<a href="#words">{term}</a>') == 1
        assert body.count(meaning) == foot.count(meaning) == 1, term


def test_sctv_is_as_two_public_programs_have_it(found, page):
    """By Lab: V of X is L* + 116 a*/500, V of Z is L* - 116 b*/200 (ISO 20654)."""
    for ink in found.inks:
        L, a, b = np.array([tint.lab for tint in ink.tints]).T
        seen = np.stack([L + 116 * a / 500, L, L - 116 * b / 200])
        apart = np.linalg.norm(seen - seen[:, :1], axis=0)
        by_hand = np.interp([25, 50, 75], ink.curve.tone_pct, 100 * apart / apart[-1])
        told = [ink.sctv_at_pct(tone) for tone in (25.0, 50.0, 75.0)]
        assert told == pytest.approx(by_hand, abs=0.01)
        figures = " ".join(f"{value:.1f}" for value in told)
        assert f"SCTV {figures}" in page.words


def test_pairs_hold_the_solids_that_were_read(found):
    chart = found.readings.chart
    pairs = {(one.first, one.second) for one in found.pairs}
    solid = (chart.tone_pct == 100).sum(axis=1) == 2
    rows = chart.tone_pct[solid & (chart.inks_held == 2)]
    assert pairs == {tuple(np.array(INKS)[row > 0]) for row in rows}
    assert len(pairs) >= 8  # of ten; two may be the swapped ones
    for pair in found.pairs:
        row = np.array([100.0 * (name in (pair.first, pair.second)) for name in INKS])
        both = (chart.tone_pct == row).all(axis=1)
        mean = colour.XYZ_to_Lab(chart.xyz100[both].mean(axis=0) / 100, D50)
        assert pair.field.lab == pytest.approx(mean, abs=0.02)


def test_a_reading_that_is_left_out_stands_beside_what_was_expected(found, folder):
    text = render_page(found, folder / "press" / "a.toml").decode()
    assert len(found.suspects) == 2
    for one in found.suspects:
        at = text.index(f"<b>{one.patch}</b>")
        read, expected = re.findall(r'fill="(#\w{6})"', text[text.rindex("<svg", 0, at) : at])[-2:]
        assert (read, expected) == (screen_hex(one.read_lab), screen_hex(one.foretold_lab))
        apart = colour.delta_E(one.read_lab, one.foretold_lab, method="CIE 2000")
        assert one.de00 == pytest.approx(apart, abs=1e-3)


def test_a_mix_beyond_its_expected_error_is_marked_in_list_and_drawing(found, folder):
    worst, *others = found.residuals
    doubted = replace(worst, expected_de00=worst.de00 / 2)
    expected = found.after.expected_de00.copy()
    at = int(found.after.de00.argmax())
    expected[:], expected[at] = found.after.de00 + 1, worst.de00 / 2
    others = [replace(one, expected_de00=one.de00 + 1) for one in others]
    changed = replace(
        found,
        residuals=(doubted, *others),
        after=replace(found.after, expected_de00=expected),
    )
    text = render_page(changed, folder / "press" / "a.toml").decode()
    assert text.count('<span class="outside">') == 1
    assert text.count('class="step outside"') == 1


def test_whose_colour_counts_is_said_of_every_solid(found, page):
    assert page.words.count("The measured one is used.") == len(found.solids)
    for one in found.solids:
        if one.de00 >= 1:
            assert f"is dE00 {one.de00:.1f}".removesuffix(".0") + " away" in page.words


def test_what_moved_matters_where_it_is_more_than_was_expected(found):
    tone = found.mixes[0]
    of_run = math.hypot(2, tone.de00, tone.was_de00)  # of two sheets, each as well as it is known
    little, much, unseen = (
        Moved(what=tone.name, de00=de00, lighter_L=-0.5)
        for de00 in (of_run - 0.1, of_run + 0.1, 0.4)
    )
    assert (
        words.matters(little, found.mixes)
        == "no more than it was known to, and sheets of one run differ"
    )
    assert words.matters(much, found.mixes).endswith("look at it again")
    assert words.matters(unseen, found.mixes) == "hardly to be seen"
    assert words.moved_words(unseen) == "dE00 0.4, L* 0.5 darker"


def test_the_head_claims_no_gain_that_is_none(found, folder):
    named = next_steps.naming(found, folder / "press" / "a.toml")
    worse = replace(found, before=found.after, after=found.before)
    assert "no better than by the book alone" in next_steps.headline(worse, named)
    alike = replace(found, before=found.after)
    assert "as by the book alone" in next_steps.headline(alike, named)


def test_a_pair_that_hides_or_is_too_pale_has_no_figure(found, folder):
    pair = next(one for one in found.pairs if one.is_telling)
    pale = replace(pair, trapping=replace(pair.trapping, trapping_pct=None))
    for changed, said in (
        (replace(pair, hides=True), f"{pair.second} hides what lies under it"),
        (pale, f"{pair.second} is too pale to tell"),
    ):
        text = render_page(replace(found, pairs=(changed,)), folder / "press" / "a.toml")
        shown = _Page(text).words
        assert f"{pair.second} on {pair.first}: –" in shown
        assert said in shown


def test_trapping_follows_the_order_of_the_book(found):
    for pair in found.pairs:
        names = [pair.first, pair.second]
        assert names == sorted(names, key=INKS.index)
        assert pair.first_field.lab == pytest.approx(_solid_lab(found, pair.first), abs=0.02)
        assert pair.second_field.lab == pytest.approx(_solid_lab(found, pair.second), abs=0.02)


def _solid_lab(found, name):
    """Of its readings, by colour-science."""
    chart = found.readings.chart
    xyz100 = chart.xyz100[chart.solids_of(INKS.index(name))].mean(axis=0)
    return colour.XYZ_to_Lab(xyz100 / 100, D50)


def test_gains_are_told_of_mixes_that_nobody_read(found):
    """Of the candidates those that the press file holds are gone, and only those."""
    inks = FormInks(condition=found.condition, owners=tuple(range(5)), ink_limit_pct=260.0)
    read = np.array(found.press.mixes.rows)[:, :5]
    candidate = read[(np.abs(read / 10 - (read / 10).round()) < 0.03).all(axis=1)][0].round()
    unread = np.array([11.0, 0.0, 13.0, 0.0, 17.0])
    _, others = next_tints(inks, wanted=np.stack([candidate, unread]), count=1)
    assert (others == unread).all(axis=1).any()
    assert not (others == candidate).all(axis=1).any()
    assert min(np.abs(read - row).max(axis=1).min() for row in others) >= 1
