"""The report page and the two files, from results built by code.

The pages were also looked at, at 1280 and 420 pixels and printed on A4; what is tested here is
what a look cannot promise: order, escaping, size, contrast, sameness, and how files are written.
"""

import errno
import json
import os
import re
import time
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from PIL import Image
from report_cases import (
    CASES,
    condition,
    failing,
    findings,
    hostile,
    long_names,
    nothing_asked,
    place,
    png,
    sheet,
    spot,
    spread_result,
    strip_result,
)

from inkmix.base import output_files
from inkmix.base.atomic_files import Part, part_of
from inkmix.base.errors import OutputError
from inkmix.checks.finding import (
    FAIL,
    NO_LIMIT,
    NOT_CHECKED,
    PASS,
    UNSURE,
    Change,
    Shape,
)
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.checks.wording import UNSURE_MEANS
from inkmix.export.srgb_profile import srgb_profile
from inkmix.jobs.answer import OpenValue
from inkmix.pages.report import view
from inkmix.pages.report.json_report import report_schema
from inkmix.pages.report.page import render_page
from inkmix.pages.report.phrases import (
    by_how_much,
    how_known,
    kinds_of_inks,
    opacity,
)
from inkmix.pages.report.pictures import PAGE_LIMIT_BYTES, fit_pictures, picture_size
from inkmix.pages.report.plan import plan, plan_rows
from inkmix.pages.report.text import result_lines
from inkmix.pages.report.write import report_files, write_files, write_report
from inkmix.press.values import ProcessInk
from inkmix.sheet.geometry import Sheet, panels_in_a_row
from inkmix.sheet.places import place_name, ruler

VOID = {"meta", "img", "br", "link", "input", "hr"}
SECTIONS = [
    "On screen, in print", "To do", "Plan of the sheet", "Night", "Total ink", "Named tones",
    "Plates", "Lay-down order", "Ask your printer", "Method, and what was not checked", "Words",
]  # fmt: skip


class Reader(HTMLParser):
    """Tags, attributes and texts of a page; fails where tags are not closed in order."""

    def __init__(self, page: bytes) -> None:
        super().__init__()
        self.tags, self.open, self.headings = [], [], []
        self.texts: list[str] = []
        self.feed(page.decode("utf-8"))
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] == "style":
            return
        self.texts.append(data)
        if self.open and self.open[-1] in ("h1", "h2"):
            self.headings.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).replace("\N{NO-BREAK SPACE}", " ").split())

    def attributes(self, tag):
        return [attrs for name, attrs in self.tags if name == tag]


@pytest.fixture(scope="module")
def pages():
    return {name: render_page(case()) for name, case in CASES.items()}


@pytest.fixture(scope="module")
def failing_page(pages):
    return Reader(pages["failing"])


@pytest.mark.parametrize("name", CASES)
def test_sections_stand_in_their_order(pages, name):
    read = Reader(pages[name])
    assert read.headings[1:] == SECTIONS
    assert read.headings[0].replace("\N{NO-BREAK SPACE}", " ") == CASES[name]().sentence


@pytest.mark.parametrize("name", CASES)
def test_a_page_needs_nothing_beside_it_and_no_script(pages, name):
    read = Reader(pages[name])
    assert "script" not in {tag for tag, _ in read.tags}
    for _, attributes in read.tags:
        assert not [key for key in attributes if key.startswith("on")]
        for key in ("src", "href"):
            value = attributes.get(key) or "#"
            assert value.startswith(("#", "data:image/png;base64,", "data:image/jpeg;base64,"))
    assert not re.search(rb"url\((?!#)|@import|https?:", pages[name].split(b"data:", 1)[0])
    assert len(pages[name]) <= PAGE_LIMIT_BYTES


@pytest.mark.parametrize("name", CASES)
def test_a_page_can_be_read_aloud(pages, name):
    read = Reader(pages[name])
    assert read.attributes("html")[0]["lang"] == "en"
    assert all(attributes["alt"] for attributes in read.attributes("img"))
    assert all(attributes.get("scope") for attributes in read.attributes("th"))
    drawn = read.attributes("svg")
    assert drawn
    assert all(attributes.get("aria-hidden") for attributes in drawn if "x" not in attributes)
    assert all(a["aria-label"] for _, a in read.tags if a.get("role") == "img")


def test_names_cannot_become_markup(pages):
    page = pages["hostile"].decode("utf-8")
    assert "<script" not in page.lower()
    assert page.count("&lt;script&gt;") > 20
    assert "<script>alert('ink')</script>" in Reader(pages["hostile"]).text


def test_long_names_are_whole_on_the_page(pages):
    text = Reader(pages["long names"]).text
    assert long_names().facts["tones"][0].name in text
    assert long_names().inks[0].name in text


def test_the_head_says_how_well_the_condition_is_known(pages):
    text = Reader(pages["unproven"]).text
    assert "Unproven: the process stencil duplicator; Rowan is fluorescent." in text
    assert "Known only by a screen colour: Rowan." in text
    assert "dE00 9.4 and L* 5.2 of the print" in text
    assert "Fjord, Rowan, Brass and Fog are spot inks: in overlaps they are less certain" in text


def test_each_check_has_one_verdict_beside_it(failing_page):
    text = failing_page.text
    head = text[text.index("What was checked") : text.index("On screen, in print")]
    assert head.startswith("What was checked check verdict total ink")
    assert "total ink reaches 341 % on the sheet fail night: sea 95 % of it at L* 36.4" in head
    assert "or darker unsure named tones 1 of 3 tones fail" in head


def test_what_to_do_names_place_plate_and_amount(failing_page):
    text = failing_page.text
    todo = text[text.index("To do no.") : text.index("Plan of the sheet")]
    assert "Change before sending 1 panel 3 74 × 51 mm, 12 mm from the left, 88 mm" in todo
    assert "up to 22 points more Soot and 20 more Fjord" in todo
    assert "Take up to 45 points of Fog off" in todo
    assert "wherever it is used" in todo
    assert "Set it as Rowan 48 + Fjord 92" in todo
    assert todo.index("Ask or decide") > todo.index("named tone: harbour dusk")
    assert "looks inverted" in todo


def test_what_a_remedy_costs_stands_before_what_it_gains_each_by_itself():
    """In the report and on the terminal: what to do, what is lost, what is gained, what else."""
    remedy = findings()[0].remedies[0]
    said = [remedy.do, remedy.loses, remedy.gains, remedy.advice]
    result = failing()
    page = re.sub(r"[\s\N{NO-BREAK SPACE}]+", " ", render_page(result).decode())
    assert "".join(f"<p>{words}</p>" for words in said) in page
    lines = list(result_lines(result, Path("report.html")))
    first = lines.index(f"     {remedy.do}")
    assert lines[first : first + 4] == [f"     {words}" for words in said]


def test_each_remedy_is_said_once(failing_page):
    for finding in findings():
        for remedy in finding.remedies:
            said = " ".join(remedy.sentence.split())
            assert failing_page.text.count(said) == 1, said


class Nothing:
    """A correction that changes no plate."""

    def applied(self, planes, *, rows, cols):
        return planes


def test_a_correction_of_several_places_is_said_for_the_first_and_named_for_the_others():
    hull, post = findings()[1:3]
    shared = replace(hull.remedies[0], correction=Nothing())
    change = Change(mean_de00=0.2, p95_de00=0.3, most_de00=0.4)
    again = replace(shared, do="Not said.", reaches_total_pct=298.0, change=change)
    found = (replace(hull, remedies=(shared,)), replace(post, remedies=(again,)))
    text = Reader(render_page(replace(failing(), findings=found))).text
    assert text.count(" ".join(shared.sentence.split())) == 1
    assert "Not said." not in text
    assert (
        "Do the same as for 1: total ink then reaches 298 % and the colour changes by dE00 0.4 at "
        "most." in text
    )
    other = (found[0], replace(post, remedies=(replace(again, correction=Nothing()),)))
    assert view.same_as(view.numbered(other)) == {}


def test_what_was_not_asked_is_said(pages):
    text = Reader(pages["nothing asked"]).text
    assert "No limit was given; ask your printer" in text
    assert "The book names no dark area for this spread, so none was checked" in text
    assert "No tones are named in the book" in text
    assert "Nothing was found that must be changed, but not everything could be judged" in text


def test_a_prediction_is_said_to_be_no_proof(pages):
    for page in pages.values():
        assert Reader(page).text.count("A prediction on a screen is not a proof") == 2


def test_open_values_are_asked_of_the_printer(failing_page):
    text = failing_page.text
    ask = text[text.index("Ask your printer Nobody") : text.index("Method, and what")]
    assert "ink limit 300 % the default of the process, not confirmed" in ask


def test_questions_that_share_a_reason_are_one():
    """Two increases by default and one of the printer's own word: the first two are one."""
    usual = {"whose": "process default", "why": "every tint"}
    asked = (
        OpenValue(what="tone value increase of Fog", value="17 %", **usual),
        OpenValue(what="ink limit", value="300 %", whose="guessed", why="dries badly"),
        OpenValue(what="tone value increase of Soot", value="22 %", **usual),
        OpenValue(what="tone value increase of Moss", value="20 %", whose="user", why="every tint"),
    )
    first, limit, last = view.questions(asked)
    assert first.what == "tone value increase of Fog and tone value increase of Soot"
    assert first.values == (
        "tone value increase of Fog: 17 %", "tone value increase of Soot: 22 %",
    )  # fmt: skip
    assert (limit.what, limit.values) == ("ink limit", ("300 %",))
    assert (last.what, last.values, last.whose) == (
        "tone value increase of Moss",
        ("20 %",),
        "user",
    )


def order_section(page):
    text = Reader(page).text
    return text[text.index("Lay-down order This report") : text.rindex("Ask your printer ")]


def test_tones_that_another_order_would_change_stand_side_by_side(pages):
    page = order_section(pages["failing"])
    assert "This report predicts the order of the book: Fog, Brass, Rowan, Fjord, Soot." in page
    assert "harbour dusk ask your printer" in page
    assert "Rowan printed first instead of third: harbour dusk clearly redder, dE00 4.2" in page
    assert "night sea lighter, L* 37.6 where the book's order reaches 36.4." in page
    assert page.count("ask your printer") == 1  # of wet quay it is not worth a question
    for colour in (b"#4e3655", b"#5c3250"):
        assert pages["failing"].count(b'fill="' + colour) == 2


def test_where_the_order_hardly_matters_that_is_said(pages):
    hardly = "with any one ink moved to first or last, no"
    assert f"{hardly} named tone changes by dE00 1 or more" in order_section(pages["all pass"])
    asked = order_section(pages["nothing asked"])
    assert f"{hardly} solid of two inks over each other changes" in asked
    hiding = replace(spread_result().inks[0], opacity=0.12)
    page = render_page(replace(spread_result(), inks=(hiding, *spread_result().inks[1:])))
    assert "The order counts most for Fog, which hides some of what is under it" in (
        order_section(page)
    )
    alone = render_page(replace(spread_result(), inks=spread_result().inks[:1]))
    assert "Lay-down order" not in Reader(alone).headings


def test_an_absent_plate_has_its_place(pages):
    assert "no file: taken as empty" in Reader(pages["absent plate"]).text


def test_same_result_same_bytes(pages):
    assert render_page(failing()) == pages["failing"]


@pytest.mark.parametrize(
    ("name", "kind"), [("failing", "pair stacked strip"), ("all pass", "pair stacked strip"),
                       ("unproven", "pair beside")]
)  # fmt: skip
def test_the_pair_stands_as_its_shape_has_it(pages, name, kind):
    """A strip of 1300 × 228 px one above the other, a spread of 760 × 548 px side by side."""
    assert f'<div class="{kind}"'.encode() in pages[name]


def test_a_missing_picture_is_named():
    wrong = replace(spread_result(), pictures={"print": png(np.zeros((4, 6, 3)))})
    with pytest.raises(OutputError) as caught:
        render_page(wrong)
    assert "no picture named 'screen'" in str(caught.value)
    assert len(caught.value.faults) == 6  # screen, five plates


# --- contrast ---------------------------------------------------------------------------------


def _luminance(colour: str) -> float:
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("pen", ["--ink", "--soft", "--second"])
def test_lettering_has_contrast(pages, pen):
    # WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1; relative luminance as defined there.
    colours = dict(re.findall(r"(--\w+): (#[0-9a-f]{6})", pages["failing"].decode()))
    paper, ink = _luminance(colours["--paper"]), _luminance(colours[pen])
    assert (paper + 0.05) / (ink + 0.05) >= 4.5


def test_verdicts_have_no_colour(pages):
    css = re.search(r"<style>(.*?)</style>", pages["failing"].decode(), re.S).group(1)
    used = set(re.findall(r"#[0-9a-f]{3,6}\b", css))
    assert used == {"#fbf9f4", "#1d1b18", "#5c564c", "#bdb5a4", "#27475c", "#fff"}


# --- numbering and plan -----------------------------------------------------------------------


def test_findings_are_numbered_worst_first_and_passes_not_at_all():
    given = [replace(findings()[0], verdict=v) for v in (PASS, UNSURE, FAIL, NO_LIMIT, FAIL)]
    items = view.numbered(given)
    assert [item.number for item in items] == [1, 2, 3, 4]
    assert [item.finding.verdict for item in items] == [FAIL, FAIL, UNSURE, NO_LIMIT]


def test_a_strip_is_drawn_in_rows_that_cover_it():
    facts = strip_result().sheet
    rows = plan_rows(facts)
    assert len(rows) == 2
    assert rows[0].x_mm == -3.0
    assert rows[0].x_mm + rows[0].width_mm == pytest.approx(rows[1].x_mm)
    assert rows[1].x_mm + rows[1].width_mm == pytest.approx(883.0)


def test_a_sheet_without_panels_is_drawn_whole():
    assert len(plan_rows(sheet((), (900.0, 100.0)))) == 1


def _outlines(drawn: str) -> list[list[tuple[float, float]]]:
    """Corners of hatched shapes, in thousandths of a row's width."""
    return [
        [tuple(map(float, place.split())) for place in loop.removesuffix("Z").split("L")]
        for path in re.findall(r'<path d="M([^"]+)"[^>]*fill="url', drawn)
        for loop in path.split("M")
    ]


def _plan(facts, *found) -> str:
    return str(plan(facts, view.marks(view.numbered(found))))


def test_an_outline_lies_where_its_finding_lies():
    facts = sheet((), (294.0, 194.0))  # 300 x 200 mm with bleed
    one = replace(findings()[0], spots=(), place=place(None, 27.0, 37.0, 60.0, 50.0))
    corners = [(100.0, 133.33), (300.0, 133.33), (300.0, 300.0), (100.0, 300.0)]  # 1000 / 300 mm
    assert _outlines(_plan(facts, one)) == [corners]


def test_pixels_are_outlined_and_not_the_box_around_them():
    """An L of three squares of 40 mm: six corners, a square of the box stays outside."""
    cells = np.ones((20, 20), np.bool_)
    cells[:10, 10:] = False
    box = place(None, 27.0, 37.0, 80.0, 80.0)
    shape = Shape(cells=cells, x_mm=27.0, y_mm=37.0, cell_mm=4.0)
    one = replace(findings()[0], spots=(), place=box, shape=shape)
    (loop,) = _outlines(_plan(sheet((), (294.0, 194.0)), one))
    in_mm = {(round(0.3 * x - 3), round(0.3 * y - 3)) for x, y in loop}
    assert in_mm == {(27, 37), (67, 37), (67, 77), (107, 77), (107, 117), (27, 117)}


def test_a_finding_over_the_cut_shows_in_both_rows():
    one = replace(findings()[0], spots=(), place=place(4, 90.0, 10.0, 60.0, 50.0))
    assert len(_outlines(_plan(strip_result().sheet, one))) == 2


def test_every_place_of_a_finding_is_outlined_and_near_ones_share_a_number():
    one = findings()[0]
    near = spot(place(3, 14.0, 70.0, 9.0, 8.0), value=34.0)
    drawn = _plan(strip_result().sheet, _with(one, near))
    assert len(_outlines(drawn)) == 3
    assert drawn.count(">1</text>") == 2


def _with(finding, further):
    return replace(finding, spots=(*finding.spots, further))


def test_a_speck_is_large_enough_to_see():
    one = replace(findings()[2], place=place(None, 100.0, 100.0, 0.1, 0.1))
    (corners,) = _outlines(_plan(spread_result().sheet, one))
    assert max(x for x, _ in corners) - min(x for x, _ in corners) >= 9.0


def test_numbers_stand_in_the_margin_and_keep_clear_of_one_another():
    """24 px of 384, the width of a phone's page, are 6.3 %; lines of numbers are 26 px high."""
    many = [
        replace(findings()[1], place=place(None, 100.0 + k, 80.0 + k, 40.0, 30.0))
        for k in range(20)
    ]
    drawn = _plan(spread_result().sheet, *many)
    before, picture = drawn.split('class="plan-row"')
    inside, *after = picture.split('class="plan-margin"')
    assert 'class="number"' not in inside
    counts = []
    for margin in (before, *after):
        spots = re.findall(r'<svg x="([\d.]+)%" y="([\d.]+)" class="number"', margin)
        places = [(float(x), float(y)) for x, y in spots]
        counts.append(len(set(places)))
        for at, (x, y) in enumerate(places):
            assert 3 <= x <= 97
            others = places[:at] + places[at + 1 :]
            assert all(abs(x - u) >= 6.3 or abs(y - v) >= 26 for u, v in others)
    assert counts == [
        13,
        7,
    ]  # the middle of the sheet is 107.5 mm from the top, those are at 95 + k


def test_a_line_leads_from_each_number_to_its_place():
    """The post's middle lies 185.2 of 300 mm from the left, in the lower half of the sheet."""
    where = place(None, 180.0, 150.0, 4.4, 20.0)
    drawn = _plan(sheet((), (294.0, 194.0)), replace(findings()[2], place=where))
    x, foot = 100 * (180.0 + 2.2 + 3) / 300, 100 * (170.0 + 3) / 200
    inside = re.findall(r'<line x1="([\d.]+)%" x2="([\d.]+)%" y1="100%" y2="([\d.]+)%"', drawn)
    for one in inside:
        assert [float(value) for value in one] == pytest.approx([x, x, foot], abs=0.01)
    assert len(inside) == 2  # dark on white
    outer = re.search(r'class="plan-margin".*?<line x1="([\d.]+)%" y1="22" x2="([\d.]+)%" y2="0"',
                      drawn)  # fmt: skip
    assert [float(one) for one in outer.groups()] == pytest.approx([x, x], abs=0.01)


def test_hundreds_of_findings_stay_readable():
    many = tuple(replace(findings()[2], name=f"area {k}") for k in range(300))
    read = Reader(render_page(replace(failing(), findings=many)))
    assert "Only the first 40 of 300 findings are listed here" in read.text
    assert len(read.text) < 30_000


# --- words ------------------------------------------------------------------------------------


K_USED = ProcessInk(name="Soot", colour="black", in_common=True)
C_UNUSED = ProcessInk(name="Tide", colour="cyan", in_common=False)


@pytest.mark.parametrize(
    ("process_inks", "spots", "level", "said"),
    [
        ((), (), "ramps", ()),
        ((), ("Fog",), "ramps", ()),  # a single ink lies over no other
        (
            (K_USED,), ("Rowan",), "ramps",
            ("Soot was taken as a process black by its colour; for it, what presses have in common "
             "was used.", "Rowan is a spot ink: in overlaps it is less certain."),
        ),
        (
            (K_USED, C_UNUSED), (), "overprints",
            ("Soot and Tide were taken as process black and cyan by their colours; for Soot, what "
             "presses have in common was used.",),
        ),
        (
            (C_UNUSED,), ("Fog", "Rowan"), "overprints",
            ("Tide was taken as a process cyan by its colour.",
             "Fog and Rowan are spot inks: between measured overlaps they are less certain."),
        ),
    ],
)  # fmt: skip
def test_process_inks_and_spot_inks_are_told(process_inks, spots, level, said):
    facts = condition(level=level, process_inks=process_inks, spots=spots)
    assert kinds_of_inks(process_inks, spots, level=level) == list(said)
    assert how_known(facts).endswith(" ".join(said))


@pytest.mark.parametrize(
    ("value", "whose", "said"),
    [
        (0.3, "told in the book", "opacity 0.3, as the book says"),
        (0.0, "told", "transparent, as its swatch or measurement file says"),
        (0.004, "usual", "transparent, as is usual for such inks; not given"),
        (0.436, "measured over black", "opacity 0.44, measured over black"),
        (0.03, "guessed by its hue", "opacity 0.03, a guess by its hue; ask the ink maker"),
    ],
)
def test_opacity_is_told_with_whose_word_it_is(value, whose, said):
    ink = replace(spread_result().inks[0], opacity=value, opacity_from=whose)
    assert opacity(ink) == said


@pytest.mark.parametrize("name", ["failing", "unsure", "all pass"])
def test_the_command_line_numbers_findings_as_the_report_does(name, pages):
    result = CASES[name]()
    lines = list(result_lines(result, Path("report.html")))
    read = Reader(pages[name]).text
    numbers = [line.split(".")[0].strip() for line in lines if re.match(r"  \d+\. ", line)]
    assert len(numbers) == sum(found.verdict != PASS for found in result.findings)
    for item in view.numbered(result.findings):
        assert f"  {item.number}. {item.finding.verdict}: {item.finding.sentence}" in lines
        assert f"{item.number} {item.finding.verdict}" in read
    assert (UNSURE_MEANS in lines) == view.has_unsure(view.numbered(result.findings))


def test_unsure_is_explained_where_it_is_said(pages):
    assert UNSURE_MEANS in Reader(pages["unsure"]).text
    assert UNSURE_MEANS not in Reader(pages["all pass"]).text


def test_places_are_said_from_the_first_panel_that_they_cover():
    where = Sheet(
        width_px=800, height_px=300, ppi=50.8, bleed_mm=3.0,
        panels=panels_in_a_row(4, width_mm=98.5, height_mm=144),
    )  # fmt: skip

    def said(left_mm: float, width_mm: float) -> tuple[str, str, str | None]:
        cols = slice(round(2 * left_mm) + 6, round(2 * (left_mm + width_mm)) + 6)
        found = where.place_of(slice(26, 66), cols)
        return place_name(found), ruler(found), found.panel

    assert said(100, 50) == ("panel 2", "50 × 20 mm, 1.5 mm from the left, 10 mm from the top",
                             "panel 2")  # fmt: skip
    assert said(98, 50) == ("panel 2", "50 × 20 mm, at the left edge, 10 mm from the top",
                            "panel 2")  # fmt: skip
    assert said(80, 60) == (
        "panels 1 and 2", "60 × 20 mm, 80 mm from the left of panel 1, 10 mm from the top",
        "panel 2",
    )  # fmt: skip
    assert said(80, 250)[0] == "panels 1 to 4"
    assert said(-3, 20)[1].startswith("20 × 20 mm, 3 mm outside the left, 10 mm")


def test_how_much_is_said_by_unit():
    said = [by_how_much(finding) for finding in findings()]
    assert said[0] == "L* 6.4 too light: L* 36.4, at most L* 30 allowed"
    assert said[1] == "41 points too much: 341 %, at most 300 % allowed"
    assert said[3] == "dE00 2.3 too far: dE00 6.3, at most dE00 4 allowed"
    assert said[4] == "L* 31 against L* 30"


# --- pictures ---------------------------------------------------------------------------------


def _noise(width: int, height: int) -> bytes:
    return png(np.random.default_rng(7).integers(0, 256, (height, width, 3)))


def test_pictures_that_fit_are_untouched():
    given = {"print": _noise(40, 30)}
    assert fit_pictures(given) == given


def test_pictures_are_made_to_fit_and_a_pair_stays_a_pair():
    given = {"screen": _noise(900, 400), "print": _noise(900, 400), "small": _noise(30, 30)}
    fitted = fit_pictures(given, budget_bytes=400_000)
    assert sum(map(len, fitted.values())) <= 400_000
    assert picture_size(fitted["screen"]) == picture_size(fitted["print"])
    assert fitted["small"] == given["small"]
    width, height = picture_size(fitted["print"])
    assert width < 900
    assert width / height == pytest.approx(900 / 400, abs=0.02)
    with Image.open(BytesIO(fitted["print"])) as picture:
        assert picture.format == "JPEG"


def test_pictures_that_are_made_smaller_keep_their_profile():
    with Image.open(BytesIO(_noise(400, 300))) as picture:
        given = BytesIO()
        picture.save(given, "PNG", icc_profile=srgb_profile())
    fitted = fit_pictures({"print": given.getvalue()}, budget_bytes=60_000)
    with Image.open(BytesIO(fitted["print"])) as picture:
        assert (picture.format, picture.info["icc_profile"]) == ("JPEG", srgb_profile())


def test_what_cannot_fit_is_refused():
    given = {str(k): _noise(60, 60) for k in range(40)}
    with pytest.raises(OutputError, match="40 pictures"):
        fit_pictures(given, budget_bytes=10_000)


def test_a_page_of_large_pictures_stays_under_five_megabytes():
    base = spread_result()
    large = dict(base.pictures) | dict.fromkeys(("screen", "print"), _noise(1500, 1000))
    del large["plan"]  # the print stands under the plan then, and counts twice
    assert len(render_page(replace(base, pictures=large))) < PAGE_LIMIT_BYTES


# --- files ------------------------------------------------------------------------------------


def test_both_files_are_written_and_belong_together(tmp_path):
    page, document = write_report(failing(), tmp_path / "new" / "report")
    said = json.loads(document.read_bytes())
    jsonschema.Draft202012Validator(report_schema()).validate(said)
    assert said["page"] == {
        "file": page.name,
        "sha256": sha256(page.read_bytes()).hexdigest(),
    }
    assert said["digests"] == dict(failing().digests)
    assert sorted(p.name for p in page.parent.iterdir()) == ["report.html", "report.json"]


def test_nothing_of_this_machine_is_in_the_files(tmp_path):
    first = [p.read_bytes() for p in write_report(hostile(), tmp_path / "a")]
    second = [p.read_bytes() for p in write_report(hostile(), tmp_path / "b")]
    assert first == second
    for data in first:
        for trace in (str(tmp_path), os.getcwd(), time.strftime("%Y-%m-%d")):
            assert trace.encode() not in data


def test_a_report_replaces_an_older_one_and_clears_stale_parts(tmp_path):
    write_report(failing(), tmp_path)
    (tmp_path / ".report.html.inkmix-part").write_bytes(b"half a pa")
    page, _ = write_report(nothing_asked(), tmp_path)
    assert nothing_asked().sentence.encode() in page.read_bytes()
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize("name", ["report.html", "report.json"])
def test_a_file_of_somebody_else_is_left_alone(tmp_path, name):
    (tmp_path / name).write_text("my own report of the week")
    with pytest.raises(OutputError, match="not written by inkmix"):
        write_report(spread_result(), tmp_path)
    assert (tmp_path / name).read_text() == "my own report of the week"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_folder_of_that_name_is_left_alone(tmp_path):
    (tmp_path / "report.json").mkdir()
    with pytest.raises(OutputError, match="is a folder"):
        write_report(spread_result(), tmp_path)


def test_a_file_in_the_folder_s_place_is_an_error(tmp_path):
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputError, match="is a file, but a folder is needed"):
        write_report(spread_result(), tmp_path / "out")


@pytest.mark.parametrize("name", ["report.html", "report.json"])
def test_two_runs_do_not_write_at_once(tmp_path, name, monkeypatch):
    monkeypatch.setattr(output_files, "PATIENCE_S", 0.05)
    with part_of(tmp_path / name), pytest.raises(OutputError, match="another run is writing here"):
        write_report(spread_result(), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_an_older_document_never_stands_beside_a_new_page(tmp_path, monkeypatch):
    """As where the program is killed between the two names."""
    write_report(failing(), tmp_path)
    real = Part.take_place

    def ends_after_the_page(part):
        if part.path.name == "report.json":
            raise OSError(errno.EIO, "Input/output error")
        real(part)

    monkeypatch.setattr(Part, "take_place", ends_after_the_page)
    with pytest.raises(OutputError, match="Input/output error"):
        write_report(nothing_asked(), tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["report.html"]


def test_a_folder_without_rights_is_an_error(tmp_path):
    """In a child without root's rights: root may write anywhere."""
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o555)
    tmp_path.chmod(0o755)
    files = report_files(spread_result())  # what it reads of the program may be shut there
    child = os.fork()
    if child == 0:
        os._exit(_refused_without_rights(files, folder))
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert list(folder.iterdir()) == []


def _refused_without_rights(files, folder) -> int:
    if os.getuid() == 0:
        os.setgroups([])
        os.setgid(65534)
        os.setuid(65534)
    try:
        write_files(files, folder)
    except OutputError as error:
        return 0 if "Permission denied" in str(error) else 2
    except BaseException:
        return 3
    return 1


def test_a_full_disk_leaves_the_older_report(tmp_path, monkeypatch):
    page, document = write_report(failing(), tmp_path)
    before = page.read_bytes(), document.read_bytes()
    with open("/dev/full", "wb") as full:  # a real device that has no room
        monkeypatch.setattr(os, "fsync", lambda handle: os.write(full.fileno(), b"x"))
        with pytest.raises(OutputError, match="No space left"):
            write_report(nothing_asked(), tmp_path)
    assert (page.read_bytes(), document.read_bytes()) == before
    assert len(list(tmp_path.iterdir())) == 2


def test_checks_of_the_head_name_their_figures():
    rows = view.check_lines(failing())
    assert [row.name for row in rows] == [TOTAL_INK, "night: sea", "night: sky", "named tones"]
    assert [row.verdict for row in rows] == [FAIL, FAIL, UNSURE, FAIL]


def test_checks_that_the_book_does_not_ask_for_are_said_not_to_be_checked():
    rows = view.check_lines(nothing_asked())
    assert [(row.name, row.verdict) for row in rows[1:]] == [
        ("night", NOT_CHECKED),
        ("named tones", NOT_CHECKED),
    ]
