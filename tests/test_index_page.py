"""The index page, from books built by hand.

The pages were also looked at, at 1280 and 420 pixels and printed on A4, with two dozen and with
2,000 spreads; what is tested here is what a look cannot promise.
"""

import os
import re
import shutil
import subprocess
import tomllib
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser
from io import BytesIO
from urllib.parse import unquote_to_bytes

import pytest
from index_cases import (
    NASTY,
    all_pass,
    broken,
    compared,
    large,
    pale_night,
    row,
    thumbnail,
    too_much_ink,
    two_dozen,
    under_way,
    without_limit,
    wrong_tone,
)
from PIL import Image

from inkmix.base.errors import Fault
from inkmix.base.plain_text import plain_text
from inkmix.checks.finding import FAIL, NO_LIMIT, PASS, UNSURE
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.jobs.book_answer import BROKEN, MENDED, STATES, UNREADABLE, ShownFinding
from inkmix.pages.index import view
from inkmix.pages.index.page import render_index
from inkmix.pages.index.tables import findings_csv
from inkmix.pages.index.thumbnails import fit_thumbnails
from inkmix.pages.index.waive import waive_block
from inkmix.pages.index.words import headline, significant

VOID = {"meta", "img", "br", "link", "input", "hr"}
BROWSER = shutil.which("chromium") or shutil.which("google-chrome")


class Reader(HTMLParser):
    """Tags, attributes and texts of a page; fails where tags are not closed in order."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags, self.open, self.texts, self.blocks, self.scripts = [], [], [], [], []
        self.names = []
        self.feed(page.decode("utf-8"))
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs), tuple(self.open)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        inside = self.open[-1] if self.open else ""
        if inside == "script":
            self.scripts.append(data)
        elif inside == "pre":
            self.blocks.append(data)
        elif inside != "style":
            self.texts.append(data)
        if self.open[-2:] in (["h4", "a"], ["h4", "span"]) and self.tags[-1][1].get("class") in (
            None,
            "name",
        ):
            self.names.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).replace("\N{NO-BREAK SPACE}", " ").split())

    def attributes(self, tag):
        return [attrs for name, attrs, _ in self.tags if name == tag]


def shown_name(name: str) -> str:
    """A name as the page shows it: what HTML cannot hold is written as an escape."""
    return plain_text(name)


@pytest.fixture(scope="module")
def page():
    return render_index(two_dozen())


@pytest.fixture(scope="module")
def read(page):
    return Reader(page)


def test_the_only_script_is_the_one_that_the_policy_names(page, read):
    digest = b64encode(sha256("".join(read.scripts).encode()).digest()).decode()
    policies = [a["content"] for a in read.attributes("meta") if a.get("http-equiv")]
    assert len(read.attributes("script")) == 1
    assert [f"script-src 'sha256-{digest}'" in policy for policy in policies] == [True]
    assert "default-src 'none'" in policies[0]
    assert not [key for _, attrs, _ in read.tags for key in attrs if key.startswith("on")]


def test_names_cannot_become_markup(read):
    assert sorted(read.names) == sorted(shown_name(one.name) for one in two_dozen().rows)
    assert "<b>17</b>" in read.text
    assert "<small> area" in read.text


def test_a_title_ends_neither_style_nor_string():
    title = '"; } </style><script>alert(1)</script> \\\n'
    read = Reader(render_index(replace(two_dozen(), title=title)))
    assert len(read.attributes("script")) == len(read.attributes("style")) == 1
    assert title.strip() in " ".join(read.texts)


def test_every_link_leads_somewhere(read, tmp_path):
    for one in two_dozen().rows:
        if one.checked:
            folder = os.path.join(os.fsencode(tmp_path), os.fsencode(one.checked.folder))
            os.makedirs(folder)
            with open(os.path.join(folder, b"report.html"), "xb"):
                pass
    for name in ("batch.json", "spreads.csv", "findings.csv", "junit.xml"):
        (tmp_path / name).touch()
    ids = [attrs["id"] for _, attrs, _ in read.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    for link in read.attributes("a"):
        if link["href"].startswith("#"):
            assert link["href"][1:] in ids
        else:
            path = os.path.join(os.fsencode(tmp_path), unquote_to_bytes(link["href"]))
            assert os.path.isfile(path), link["href"]
            assert ":" not in link["href"]


def test_bytes_that_are_no_unicode_are_linked_as_they_are():
    odd = row("caf\udce9", PASS)
    read = Reader(render_index(replace(all_pass(1), rows=(odd,))))
    assert "caf%E9/report.html" in [link["href"] for link in read.attributes("a")]


def test_what_has_to_be_looked_at_comes_first(read):
    rows = two_dozen().rows
    ordered = sorted(rows, key=lambda one: STATES.index(one.state))
    assert read.names == [shown_name(one.name) for one in ordered]
    cards = read.attributes("article")
    numbers = [int(card["data-n"]) for card in cards if "data-n" in card]
    assert [rows[number - 1].name for number in numbers] == [one.name for one in ordered]


def test_every_spread_says_its_state_in_words(page):
    html = page.decode()
    for number, one in enumerate(two_dozen().rows, start=1):
        card = html.split(f'<article id="s{number}"', 1)[1].split("</article>", 1)[0]
        said = {UNREADABLE: "cannot be checked" if one.exit_code == 2 else "cannot be read"}
        verdict = re.search(r'class="verdict[^"]*">([^<]*)<', card)
        assert verdict[1] == said.get(one.state, one.state)
        for fault in one.faults:
            assert fault.do in card
        assert ('class="waive"' in card) == any(
            view.may_be_waived(shown) and shown.finding != wrong_tone() for shown in one.findings
        )


def test_a_remedy_is_split_into_its_paragraphs():
    """Not in tables for programs: there it is one row."""
    said = ["Darken it.", "2 lights turn dark.", "95 % is then dark enough."]
    found = replace(pale_night("1"), do="\n".join(said))
    book = replace(all_pass(1), rows=(row("1", FAIL, ShownFinding(finding=found)),))
    page = render_index(book).decode().replace("\xa0", " ")
    for part in said:
        assert page.count(f'<p class="do">{part}</p>') == 1
    assert " ".join(said) in findings_csv(book).decode("utf-8-sig")


def test_blocks_are_ready_to_copy_and_cover_what_they_should(read):
    waivers = [tomllib.loads(block)["waive"][0] for block in read.blocks]
    spreads = two_dozen().rows
    wanted = {
        (one.name, shown.finding.check, shown.finding.name, shown.finding.rests_on)
        for one in spreads
        for shown in one.findings
        if shown.waiver is None
        and shown.finding.verdict in (FAIL, UNSURE)
        and shown.finding != wrong_tone()
    }
    tone = wrong_tone()
    wanted.add((None, tone.check, tone.name, tone.rests_on))
    got = {(w.get("spread"), w["check"], w["name"], w["rests_on"]) for w in waivers}
    assert got == wanted
    assert len(waivers) == len(got)
    assert {w["reason"] for w in waivers} | {w["by"] for w in waivers} == {""}


@pytest.mark.parametrize("name", [*NASTY, "\x7f", "\U0001f30a"])
def test_a_block_is_toml_whatever_the_name(name):
    finding = replace(too_much_ink(name), name='the "sky"\n\x7f')
    waived = tomllib.loads(waive_block(finding, spread=name))["waive"][0]
    assert waived["name"] == finding.name
    assert waived.get("spread") == (None if "\udce9" in name else name)


def test_what_many_spreads_share_is_said_once(read):
    assert read.text.count(wrong_tone().sentence) == 1
    assert "on 5 spreads" in read.text


def test_what_a_few_share_is_said_on_each():
    found = ShownFinding(finding=too_much_ink("the same everywhere"))
    rows = tuple(row(f"{k}", FAIL, found) for k in range(view.MANY - 1))
    read = Reader(render_index(replace(all_pass(1), rows=rows)))
    assert read.text.count(found.finding.sentence) == len(rows)


@pytest.mark.parametrize(("found", "enough"), [(too_much_ink("x"), view.MANY), (wrong_tone(), 2)])
def test_what_is_waived_somewhere_is_not_called_common(found, enough):
    shown, waived = ShownFinding(finding=found), two_dozen().rows[5].findings[0].waiver
    rows = [row(f"{k}", FAIL, shown) for k in range(enough - 1)]
    rows.append(row("waived", "waived", replace(shown, waiver=waived)))
    assert view.common_findings(rows) == ()
    assert view.common_findings([*rows, row("more", FAIL, shown)])[0].spreads[-1] == "more"


@pytest.mark.parametrize(
    ("result", "sentence"),
    [
        (all_pass(5), "All 5 spreads pass."),
        (all_pass(1), "The only spread passes."),
        (
            two_dozen(),
            "4 of 25 spreads cannot be checked and 9 fail; 1 is unsure, 1 has no limit given and "
            "1 was not checked; 1 is waived and 8 pass.",
        ),
        (
            replace(all_pass(2), rows=(*all_pass(2).rows, row("x", FAIL))),
            "1 of 3 spreads fails; 2 pass.",
        ),
        (replace(all_pass(1), rows=()), "The book has no spreads."),
    ],
)
def test_one_sentence_says_where_the_book_stands(result, sentence):
    assert headline(result) == sentence


def test_a_run_under_way_says_so(read):
    half = Reader(render_index(under_way()))
    assert "12 of 25 spreads are done" in half.text
    assert "Run inkmix batch again to continue" in half.text
    assert "spreads.csv" not in {link["href"] for link in half.attributes("a")}
    assert "under way" not in read.text


def test_a_quick_look_is_shown_while_a_spread_waits():
    waiting = replace(under_way().rows[-1], preview=thumbnail(5))
    result = replace(under_way(), rows=(row("1", PASS, seed=2), waiting), watched=True)
    read = Reader(render_index(result))
    assert [b64encode(thumbnail(k)).decode() in image["src"] for k, image in
            zip((5, 2), read.attributes("img"), strict=True)] == [True, True]  # fmt: skip
    assert read.text.count("A quick look at its plates") == 1
    assert "Written while the book is being watched" in read.text
    assert "Written while" not in Reader(render_index(under_way())).text


def test_a_book_that_cannot_be_used_by_now_is_told(read):
    wrong = tuple(Fault(where=f"<i>book</i>.toml: line {k}", found="is wrong") for k in range(40))
    refused = Reader(render_index(replace(two_dozen(), refused=wrong)))
    assert "This page shows how it stood before." in refused.text
    assert "<i>book</i>.toml: line 0: is wrong" in refused.text
    assert "line 39" not in refused.text
    assert "more faults" in refused.text
    assert "how it stood before" not in read.text


def test_what_can_no_more_be_checked_is_news():
    rows = (replace(broken("1"), turned=BROKEN), row("2", PASS, turned=MENDED), row("3", PASS))
    page = render_index(compared(replace(all_pass(), rows=rows)))
    said = Reader(page).text
    assert "1 spread cannot be checked any more, 1 can be checked again." in said
    assert "Nothing is new" not in said
    assert (page.count(b" data-new"), page.count(b" data-gone")) == (1, 1)


def test_news_are_counted_and_named(read):
    assert "1 finding is new, 3 findings are gone; 1 spread is new, " in read.text
    assert "Since the last run" not in Reader(render_index(all_pass())).text
    calm = Reader(render_index(compared(all_pass())))
    assert "Nothing is new and nothing is gone." in calm.text


def test_a_check_that_was_left_out_has_a_row_that_says_so(read):
    result = two_dozen()
    rows = tuple(
        replace(one, checked=replace(one.checked, verdicts={TOTAL_INK: PASS}))
        for one in result.rows
        if one.checked
    )
    some = Reader(render_index(replace(result, rows=rows, checks=(TOTAL_INK,))))
    assert "night left out of this run named tones left out of this run" in some.text
    assert headline(result) in read.text
    assert "(night and named tones were left out of this run)." in some.text
    assert "left out of this run" not in read.text


def test_what_is_not_compared_is_said_beside_the_news(read):
    result = replace(two_dozen(), checks_before=(TOTAL_INK, NAMED_TONES))
    said = Reader(render_index(result)).text
    assert "Night was left out in the run before: its findings are not compared. 1 finding" in said
    assert "not compared" not in read.text


def test_ink_is_told_for_a_thousand_copies(read):
    for total in two_dozen().inks:
        assert f"{total.ink} {total.spreads} " in read.text
        assert significant(1000 * total.solid_m2) in read.text


def test_waivers_stand_with_reason_name_and_state(read):
    for said in (
        "in force",
        "expired after a change in something that it rests on",
        "not needed: nothing that it covers was found",
    ):
        assert said in read.text
    assert "the printer agreed: <small> area M. Quill" in read.text
    assert "1 waiver expired" in read.text


def test_what_has_no_limit_is_shown_but_not_offered_to_be_waived():
    found = ShownFinding(finding=without_limit("7"))
    read = Reader(render_index(replace(all_pass(1), rows=(row("7", NO_LIMIT, found),))))
    assert found.finding.sentence in read.text
    assert read.blocks == []


def test_the_page_can_be_used_by_keyboard_and_read_aloud(read):
    assert read.attributes("html")[0]["lang"] == "en"
    for tag, _, path in read.tags:
        if tag in ("input", "select"):
            assert "label" in path
    assert all("alt" in attrs for attrs in read.attributes("img"))
    assert all(attrs.get("scope") for attrs in read.attributes("th"))
    told = next(attrs for attrs in read.attributes("p") if attrs.get("id") == "told")
    assert told["aria-live"] == "polite"
    hidden = [a for a in read.attributes("a") if a.get("aria-hidden")]
    assert all(a["tabindex"] == "-1" for a in hidden)


def test_the_same_result_gives_the_same_bytes(page):
    assert render_index(two_dozen()) == page
    assert b"\r" not in page


def test_words_of_2000_spreads_leave_room_for_their_pictures():
    result = large()
    bare = tuple(
        replace(one, checked=one.checked and replace(one.checked, thumbnail=b""))
        for one in result.rows
    )
    assert len(render_index(replace(result, rows=bare))) < 7_500_000


def test_findings_beyond_all_measure_are_counted():
    found = [ShownFinding(finding=too_much_ink("a", k)) for k in range(1, 41)]
    assert view.most_a_card([40] * 300) == 20
    result = replace(all_pass(1), rows=(row("a", FAIL, *found),) * 300)
    cards = view.cards(result, ())
    assert {(len(card.further), card.unlisted) for card in cards} == {(19, 20)}


def test_thumbnails_are_kept_or_made_to_fit():
    pictures = {k: thumbnail(k) for k in range(8)}
    whole = fit_thumbnails(pictures)
    assert b64encode(pictures[3]).decode() in whole[3].uri
    budget = sum(len(one.uri) for one in whole.values()) // 4
    small = fit_thumbnails(pictures, budget_bytes=budget)
    assert list(small) == list(pictures)
    assert budget / 3 < sum(len(one.uri) for one in small.values()) <= budget
    assert len({(one.width, one.height) for one in small.values()}) == 1
    assert fit_thumbnails(pictures, budget_bytes=100) == {}


def test_thumbnails_fit_where_those_that_were_tried_are_smaller_than_the_rest():
    pictures = {k: thumbnail(1) if k % 2 else thumbnail(2, width=60, height=40) for k in range(100)}
    whole = sum(len(one.uri) for one in fit_thumbnails(pictures).values())
    for share in (0.7, 0.2):
        fitted = fit_thumbnails(pictures, budget_bytes=int(share * whole))
        assert 0 < sum(len(one.uri) for one in fitted.values()) <= share * whole


def test_what_is_no_jpeg_is_not_shown():
    buffer = BytesIO()
    Image.new("RGB", (4, 4)).save(buffer, "PNG")
    pictures = {0: thumbnail(1), 1: b"<svg onload=alert(1)>", 2: buffer.getvalue()}
    assert list(fit_thumbnails(pictures)) == [0]


def test_many_new_places_are_counted():
    found = [ShownFinding(finding=too_much_ink("a", k), is_new=True) for k in range(1, 11)]
    found.append(ShownFinding(finding=pale_night("a", 11), is_new=True))
    result = compared(replace(all_pass(1), rows=(row("a", FAIL, *found),)))
    text = Reader(render_index(result)).text
    assert "total ink in 10 places and night: open sea" in text
    assert "11 findings are new, no finding is gone." in text


@pytest.mark.skipif(BROWSER is None, reason="no browser here")
@pytest.mark.parametrize(
    ("fragment", "suits"),
    [
        ("", lambda one: True),
        ("#state=fail.unsure&order=book", lambda one: one.state in (FAIL, UNSURE)),
        ("#news=gone&order=total", lambda one: bool(one.gone)),
        ("#name=M%C3%96WE&order=4", lambda one: one.name.startswith("Möwe")),
    ],
)
def test_a_browser_filters_by_the_fragment(page, tmp_path, fragment, suits):
    path = tmp_path / "index.html"
    path.write_bytes(page)
    done = subprocess.run(
        [BROWSER, "--headless=new", "--no-sandbox", "--disable-gpu",
         f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom", f"{path.as_uri()}{fragment}"],
        capture_output=True, timeout=60, check=True,
    )  # fmt: skip
    read = Reader(done.stdout)
    rows = two_dozen().rows
    cards = [card for card in read.attributes("article") if "data-n" in card]
    shown = [int(card["data-n"]) for card in cards if "hidden" not in card]
    wanted = [k for k, one in enumerate(rows, start=1) if suits(one)]
    assert sorted(shown) == wanted
    if "order=book" in fragment:
        assert shown == wanted
    if "order=total" in fragment:
        assert shown == sorted(
            shown, key=lambda k: -rows[k - 1].checked.figures["max_total_ink_pct"]
        )
    amount = "All 25" if len(wanted) == 25 else f"{len(wanted)} of 25"
    assert f"{amount} spreads are shown." in read.text
