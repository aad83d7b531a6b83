"""The page on palettes: what it says, that it says it safely, that it needs nothing beside it."""

import json
import re
from dataclasses import replace
from itertools import combinations
from types import MappingProxyType

import numpy as np
import pytest
from palette_book import KEPT, facts

from inkmix.colour.colorimetry import delta_e00
from inkmix.mixes.darkest import darkest_mixes
from inkmix.mixes.nearest import found_for_all
from inkmix.mixes.values import Aims
from inkmix.pages.palettes.document import palette_document
from inkmix.pages.palettes.page import PAGE_MARK, render_page
from inkmix.pages.palettes.reasons import NEAR_DE00, darkest_pair, sparest
from inkmix.pages.palettes.text import as_text
from inkmix.pages.palettes.view import NOW, shown, tone_rows
from inkmix.pages.palettes.words import headline, near_ties, searched


@pytest.fixture(scope="module")
def page():
    return render_page(facts()).decode("utf-8")


def body(page):
    """What a person reads."""
    text = re.sub(r"<style>.*?</style>|<title>[^<]*</title>", "", page, flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", text).replace("\xa0", " ").split())


def test_same_choice_same_bytes():
    assert render_page(facts()) == render_page(facts())


def test_page_needs_nothing_beside_it(page):
    assert PAGE_MARK in page.encode()[:1024]
    assert "default-src 'none'; img-src data:; style-src 'unsafe-inline'" in page
    assert "<script" not in page
    sources = re.findall(r'(?:src|href)="([^"]*)"', page)
    assert sources
    assert all(source.startswith("data:image/") for source in sources if source != "#words")
    assert not re.search(r"url\((?!#)", page)
    assert len(page) < 6_000_000


def test_every_palette_of_the_front_is_there_with_sheet_figures_and_plates(page):
    cards = re.findall(r'<article class="palette[^"]*">(.*?)</article>', page, re.S)
    assert len(cards) == len(shown(facts())) == len(facts().choice.front)
    for card, one in zip(cards, shown(facts()), strict=True):
        assert ", ".join(one.named) in card
        assert card.count("<svg") == 1
        assert f"L*\N{NO-BREAK SPACE}{one.measured.figures['darkest_L']:.1f}" in card
    assert page.count("<figure>") == len(cards)  # the present inks once, as `now`


def with_front(count):
    """The same choice with so many palettes in front; the last come again under other names."""
    front, conditions, mixes = list(facts().choice.front), {**facts().conditions}, {**facts().mixes}
    last = front[-1]
    for number in range(count - len(front)):
        inks = (*last.inks[:-1], f"{last.inks[-1]} {number}")
        front.append(replace(last, inks=inks))
        conditions[inks], mixes[inks] = conditions[last.inks], mixes[last.inks]
    return replace(
        facts(),
        choice=replace(facts().choice, front=tuple(front)),
        conditions=MappingProxyType(conditions),
        mixes=MappingProxyType(mixes),
    )


def test_six_compromises_are_open_and_the_rest_is_folded():
    """Cards, plates and columns of tones; all of them stay on the page."""
    many = with_front(9)
    page = render_page(many).decode()
    body_of = re.sub(r"<details.*?</details>", "", page, flags=re.S)
    assert page.count('<article class="palette') == 9
    assert body_of.count('<article class="palette') == 6
    assert "Nine palettes are shown, three of them folded" in body(page)
    rows = len(facts().wish.tones)
    assert page.count('class="fields"') == 6 * rows
    assert "<summary>3\N{NO-BREAK SPACE}more compromises" in page.replace("3 more", "3\xa0more")
    assert "<details class" not in render_page(with_front(6)).decode()


def test_plates_come_first(page):
    places = [page.index(f'id="{name}"') for name in ("plates", "compromises", "hues", "tones")]
    assert places == sorted(places)


def test_hues_are_to_be_asked_for_and_own_inks_are_not(page):
    """Of the three that may be new: word, Lab and screen colour; the book's five by name alone."""
    text = body(page)
    assert text.count("is a hue to ask for, not an ink to buy") == 1
    for name, word in (("Flare", "red"), ("Tide", "sky blue"), ("Samphire", "light lime")):
        hue = facts().hues[name]
        assert hue.word == word
        assert f"{word} ({name})" in text
        assert f"on a screen {hue.field.hex}" in text
    assert not set(facts().hues) & {*KEPT, "Rowan"}
    assert [one["name"] for one in palette_document(facts())["hues_to_ask_for"]] == [*facts().hues]
    alone = replace(facts(), hues=MappingProxyType({}))
    assert "hue to ask for" not in body(render_page(alone).decode())


def test_ids_of_a_page_are_all_different(page):
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_what_a_book_says_is_escaped():
    title = '<script>alert("x")</script> & Söhne'
    page = render_page(replace(facts(), title=title, plates=None)).decode()
    assert "<script" not in page
    assert "&lt;script&gt;" in page


def test_present_inks_are_marked_or_put_first():
    own = [one for one in shown(facts()) if one.is_present]
    assert [one.inks for one in own] == [facts().present.inks]
    rest = [one for one in facts().choice.front if one.inks != facts().present.inks]
    without = replace(facts(), choice=replace(facts().choice, front=tuple(rest)))
    first, *others = shown(without)
    assert (first.mark, first.is_present) == (NOW, True)
    assert [one.mark for one in others] == [str(k) for k in range(1, len(rest) + 1)]
    assert "the book’s inks now, not among the best" in body(render_page(without).decode())


def test_tones_given_are_given():
    """The dE00 said beside inks, against the exact mix of these inks alone."""
    for one in shown(facts()):
        condition = facts().conditions[one.inks]
        said = [r for r in one.reasons if " within dE00 " in r]
        assert said
        for sentence in said:
            inks, names, most = re.fullmatch(
                r"(.+) gives? (.+) within dE00 ([\d.]+)\.", sentence
            ).groups()
            for tone in facts().wish.tones:
                if re.search(rf"\bthe {tone.name}\b", names):
                    aims = Aims(ink_limit_pct=260, least_pct=3, inks=tuple(inks.split(" + ")))
                    found = next(found_for_all(condition, [tone.lab], aims))
                    assert found.left_de00 <= float(most) + 0.05


def test_the_sparest_mix_is_near_enough_and_holds_fewest_inks():
    for mixes in facts().mixes.values():
        for found in mixes:
            one = sparest(found)
            near = [mix for mix in found.mixes if mix.de00 <= NEAR_DE00]
            assert (one is None) == (not near)
            if one is not None:
                assert len(one.inks) == min(len(mix.inks) for mix in near)


def test_no_pair_goes_below_what_is_said():
    """Against the darkest mix of every pair, searched."""
    condition = facts().conditions[facts().present.inks]
    for limit in (130.0, 260.0):
        aims = [
            Aims(ink_limit_pct=limit, inks=pair, step_pct=1)
            for pair in combinations(facts().present.inks, 2)
        ]
        least = min(darkest_mixes(condition, one, most=1)[0].lab[0] for one in aims)
        assert darkest_pair(condition, ink_limit_pct=limit) == pytest.approx(least, abs=0.05)


def test_one_ink_has_no_pair():
    condition = facts().conditions[facts().present.inks]
    from inkmix.press.condition import press_condition

    one = press_condition(condition.paper, condition.inks[:1], process=condition.process)
    assert darkest_pair(one, ink_limit_pct=None) is None


def test_tones_stand_beside_what_was_wanted(page):
    rows = tone_rows(facts(), shown(facts()))
    assert [row.name for row in rows] == [tone.name for tone in facts().wish.tones]
    assert sum(row.share_pct for row in rows) == pytest.approx(100)
    for row, tone in zip(rows, facts().wish.tones, strict=True):
        for (mix, _), one in zip(row.given, shown(facts()), strict=True):
            tones = np.array(list(mix.tone_pct.values()))
            lab = facts().conditions[one.inks].lab(tones)
            assert delta_e00(lab, tone.lab) == pytest.approx(mix.de00, abs=1e-6)
            assert tones.sum() <= 260 + 1e-6
    assert page.count('class="fields"') == len(rows) * len(shown(facts()))


def test_figures_agree_with_the_mixes_shown():
    """Fewest inks may cost 0.3; whole percents and the search's own steps as much again."""
    for one in shown(facts()):
        weights = np.array([tone.weight for tone in facts().wish.tones])
        de00 = [found.mixes[0].de00 for found in facts().mixes[one.inks]]
        mean = float(weights @ de00 / weights.sum())
        assert mean == pytest.approx(one.measured.figures["tones_de00"], abs=0.6)


def test_page_says_what_was_searched_and_how_sure_it_is(page):
    text = body(page)
    for words in (
        "All 4 palettes were tried, and every figure was computed for each.",
        "the darkest solid is printed first",
        "95 times in 100",
        "A screen is not a proof.",
        "the ink maker’s safety data and local rules hold",
        "These inks are invented",
        "Measured overprints are left out",
        "nearest to the print in its present inks",
    ):
        assert words in text


def test_the_best_hundreds_are_said():
    many = replace(facts().choice, searched=487_635)
    words = searched(replace(facts(), choice=many))
    assert words.startswith("All 487,635 palettes were tried for tones")
    assert "only for the best 4." in words
    some = replace(many, exact=False)
    assert "not all that there are" in searched(replace(facts(), choice=some))


def test_near_ties_are_said():
    ranked = facts().choice.ranked
    two = tuple(one.inks for one in ranked[:2])
    tied = replace(facts(), choice=replace(facts().choice, near_ties=two))
    assert headline(tied).endswith("the best compromise, and one more is as good")
    assert [one.is_tie for one in shown(tied)][:2] == [True, True]
    assert near_ties(tied, shown(tied)) == ""
    strange = ("Soot", "Dusk", "Shell")
    more = replace(tied, choice=replace(tied.choice, near_ties=(*two, strange)))
    assert "Soot, blue (Dusk) and pink (Shell)" in near_ties(more, shown(more))
    assert "Soot, blue (Dusk) and pink (Shell)" in body(render_page(more).decode())


def test_page_without_tones_and_plates():
    bare = replace(
        facts(),
        wish=replace(facts().wish, tones=()),
        mixes=MappingProxyType({}),
        plates=None,
    )
    page = render_page(bare).decode()
    assert 'id="plates"' not in page
    assert 'id="tones"' not in page


def test_commands_name_inks_that_a_book_can_swap():
    from palette_book import book

    from inkmix.book.meant.swap import with_swapped
    from inkmix.cli.arguments import SWAPS, ink_pairs

    commands = [one.plates.command for one in shown(facts()) if one.plates and not one.is_present]
    assert commands
    for command in commands:
        words = command.split()
        assert words[:5] == ["inkmix", "predict", "night-ferry", "--spread", "night-ferry"]
        swaps = ink_pairs(words[6::2], words=SWAPS)
        swapped = with_swapped(book(), swaps)
        new = {ink.name: ink.swatch for ink in swapped.inks}
        assert all(new[old] == f"night-ferry/{ink}" for old, ink in swaps.items())


def test_document_holds_what_the_page_says():
    document = palette_document(facts())
    assert json.loads(json.dumps(document)) == document
    assert [one["inks"] for one in document["front"]] == [
        list(one.inks) for one in facts().choice.front
    ]
    assert document["fixed"] == list(KEPT)
    assert document["searched"] == 4
    first = document["front"][0]
    assert first["points_behind_first"] == 0
    assert {tone["name"] for tone in first["tones"]} == {t.name for t in facts().wish.tones}
    assert set(first["plates"]["ink_of"]) == {*KEPT, "Rowan"}


def test_text_has_a_line_a_palette():
    text = as_text(facts())
    for one in shown(facts()):
        assert re.search(rf"^ +{one.mark} {re.escape(', '.join(one.named))} .*\d$", text, re.M)
    assert all(len(line) < 140 for line in text.splitlines())


def test_whose_the_ink_limit_is():
    assert "the printer allows 260 %" in body(render_page(facts()).decode())
    asked = replace(facts(), limit=replace(facts().limit, value=180.0, whose="asked"))
    assert "at most 180 %, as asked" in body(render_page(asked).decode())
    assert "no ink limit is given" in body(render_page(replace(facts(), limit=None)).decode())


def test_what_is_unproven_or_a_hint_is_said():
    """One condition of the page is enough."""
    first, *rest = facts().conditions.items()
    doubtful = replace(
        first[1], level="screen colour", hints=("Soot",), unproven=("the paper is guessed",)
    )
    conditions = MappingProxyType({first[0]: doubtful, **dict(rest)})
    text = body(render_page(replace(facts(), conditions=conditions)).decode())
    assert "At least one ink is known only by a screen colour" in text
    assert "A hint only, known by a screen colour: Soot." in text
    assert re.search(r"Unproven: [^.]*the paper is guessed", text)
