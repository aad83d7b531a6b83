"""The page on a calibration: what it says comes from the readings, and nothing is loaded."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import colour
import numpy as np
import pytest
from printed_form import INKS, form_tones, readings_file, write_book
from simulated_press import lab_of

from inkmix.jobs.books import read_book
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.pages.calibration.page import render_page
from inkmix.pages.calibration.text import calibration_lines
from inkmix.pages.calibration.write import write_calibration


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
    words = _Page(render_page(later, tmp_path / "press" / "june.toml")).words
    assert "Since last time" in words
    largest = later.drift.basics[0]
    assert f"dE00 {largest.de00:.1f}".removesuffix(".0") in words
    assert largest.what in words


def test_solids_alone_make_a_short_page(tmp_path, tones):
    """No ramp, no mix, nothing read twice: each part says so."""
    rows = np.vstack([np.zeros(5), np.eye(5) * 100])
    found = calibrate_book(write_book(tmp_path), readings_file(tmp_path / "few.txt", rows))
    assert found.after is None
    words = _Page(render_page(found, tmp_path / "press" / "few.toml")).words
    assert "known ink by ink, but hardly in its mixes" in words
    assert "No two solids were read on each other." in words
    assert "Only the solid was read" in words
    lines = list(calibration_lines(found, [tmp_path / "press" / "few.toml"]))
    assert any("6 readings" in line for line in lines)
