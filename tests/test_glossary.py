"""Words of the trade: explained once where they appear first, and all at the foot of every page."""

import re

import pytest
from drawn_book import BOOK, NIGHT, command, draw_book
from report_cases import failing, nothing_asked

from inkmix.pages.glossary import WORDS, FirstSaid, Solid, glossary, words_of_book
from inkmix.pages.report.page import render_page

SOOT = Solid(name="Soot", lab=(30.2, 0.0, 0.0), mean_tone_pct=12.0)
FJORD = Solid(name="Fjord", lab=(33.0, 6.0, -34.0), mean_tone_pct=55.2)
DUSK = Solid(name="Dusk", lab=(33.0, 6.0, -30.0), mean_tone_pct=None)


def plain(page) -> str:
    text = page.decode("utf-8") if isinstance(page, bytes) else str(page)
    return " ".join(re.sub("<[^>]+>", " ", text).replace("\N{NO-BREAK SPACE}", " ").split())


def said(words, term):
    return next(word.sentences for word in words if word.term == term)


def test_examples_are_the_book_s_own_figures():
    words = words_of_book([SOOT, FJORD, DUSK], paper_L=94.6, mixes=[{"Soot": 60.0},
                          {"Soot": 60.0, "Fjord": 48.0}])  # fmt: skip
    assert "L* 30: your Soot alone on this paper, as a solid; L* 95: the bare paper." in said(
        words, "L*"
    )
    # Fjord and Dusk: 2.1165 by colour-science, delta_E(method="CIE 2000")
    assert "dE00 2.1: your Fjord and Dusk, side by side" in said(words, "dE00")
    assert "Here Soot is printed first and Dusk last." in said(words, "lay-down order")
    assert "Your plate of Fjord holds 55.2 % on average." in said(words, "tone value")
    assert "Soot 60 + Fjord 48 is 108 %." in said(words, "total ink")


def test_a_book_of_one_ink_has_no_example_of_two():
    words = words_of_book([SOOT], paper_L=94.6)
    assert [word.term for word in words] == [word.term for word in WORDS]
    for term in ("dE00", "lay-down order", "total ink"):
        assert said(words, term) == said(WORDS, term)


def test_a_word_is_explained_the_first_time_only():
    explained = FirstSaid(WORDS)
    first = plain(explained("L*", "dE00"))
    assert first.count("Lightness, from 0") == first.count("How far apart") == 1
    again = plain(explained("L*", "dot"))
    assert "Lightness" not in again
    assert "A tint is printed as dots" in again
    assert explained("L*", "dE00", "dot") == ""


def test_words_are_sorted_and_each_is_there_once():
    terms = [word.term.casefold() for word in WORDS]
    assert terms == sorted(set(terms))
    listed = plain(glossary())
    assert all(" ".join(word.sentences.split()) in listed for word in WORDS)


@pytest.mark.parametrize("case", [failing, nothing_asked])
def test_a_report_explains_a_word_before_it_goes_on(case):
    text = plain(render_page(case()))
    body, foot = text.rsplit("Words dE00", 1)
    for term, meaning in (
        ("dE00", "How far apart two colours look."),
        ("L*", "Lightness, from 0 for black to 100 for white."),
        ("lay-down order", "The order in which the press prints the inks."),
        ("total ink", "The tone values of all plates at one place, added up."),
    ):
        assert body.count(meaning) == 1, term
        assert (foot if term != "dE00" else f"dE00 {foot}").count(meaning) == 1, term


def test_every_page_of_a_book_has_the_words_at_its_foot(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    command(capfd, "batch", folder, "--engine", "threads")
    command(capfd, "palette", folder, "--choose", "1")
    command(capfd, "inks", "Fog", "--page", folder / "inks.html")
    pages = {path.name: path.read_text("utf-8") for path in folder.rglob("*.html")}
    assert set(pages) == {"index.html", "report.html", "palette.html", "inks.html"}
    for name, page in pages.items():
        assert page.count('id="words"') == 1, name
        assert '<a href="#words">' in page, name
        assert "To accept a finding and say why, in the book." in plain(page), name


def test_the_index_explains_waiving_where_it_is_offered(tmp_path, capfd):
    """The cellar holds 182 % of ink, more than the limit, so a waiver is offered."""
    folder = draw_book(tmp_path / "book", BOOK.replace("= 260", "= 170"))
    command(capfd, "batch", folder, "--engine", "threads")
    page = plain((folder / "reports" / "index.html").read_bytes())
    assert page.index("waive : To accept a finding") < page.index("For the book file, with your")
