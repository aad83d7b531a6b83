"""A check that the package does not know is found wherever checks are: one line in the table."""

import csv
import json
import re
import tomllib
from xml.etree import ElementTree

import jsonschema
import numpy as np
import pytest
from bare_paper import BARE_PAPER, BarePaper
from drawn_book import BOOK, NIGHT, PPI, batched, command, draw_book, plate_of, plates, states
from plate_files import write_png, write_tiff

from inkmix.base.errors import UsageError
from inkmix.book import values
from inkmix.checks import table
from inkmix.checks.trials.on_plates import trials_on
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.pages.report.json_report import report_schema

BARE = """
[bare_paper]
at_most_pct = 10
"""
UNCHANGED = "unchanged since they were checked"
FOG = 'fog = { mask = "masks/fog.png" }\n'


@pytest.fixture(autouse=True)
def four_checks(monkeypatch):
    monkeypatch.setattr(table, "CHECKS", table.put_together(*table.CHECKS, BarePaper()))


@pytest.fixture
def book(tmp_path):
    """Its cellar is dark; the lower half of the rest is bare."""
    folder = draw_book(tmp_path / "book", BOOK + NIGHT + BARE)
    bare_quarter(folder, "front")
    return folder


def bare_quarter(folder, spread):
    """Take all ink away in the lower right quarter."""
    for name, numbers in plates().items():
        numbers[numbers.shape[0] // 2 :, numbers.shape[1] // 2 :] = 255
        write_tiff(plate_of(folder, name, spread), numbers, PPI)


def add(folder, text):
    """Lines more at the end of the book: keys of [bare_paper], or another table."""
    path = folder / "book.toml"
    path.write_text(path.read_text("utf-8") + text, "utf-8")


def draw_fog(folder, *, rows):
    """The mask of the fog: so many rows of the bare quarter, from below."""
    numbers = np.zeros(plates()["Soot"].shape, np.uint8)
    numbers[-rows:, numbers.shape[1] // 2 :] = 255
    write_png(folder / "masks" / "fog.png", numbers, PPI)


def waiver_of(document):
    """A waiver of what the check found on the first spread."""
    findings = [one["finding"] for one in document["rows"][0]["findings"]]
    found = next(finding for finding in findings if finding["check"] == BARE_PAPER)
    return f"""
[[waive]]
check = "{BARE_PAPER}"
rests_on = "{found["rests_on"]}"
reason = "the fog is meant to be bare"
by = "A. Printer"
"""


def test_it_stands_in_the_report_and_in_its_data(book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r")
    assert ran.code == 1
    page = (tmp_path / "r" / "report.html").read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    data = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))

    jsonschema.validate(data, report_schema())
    assert data["bare_paper"]["verdict"] == "fail"
    (finding,) = [one for one in data["findings"] if one["check"] == BARE_PAPER]
    assert finding["value"] == pytest.approx(data["bare_paper"]["bare_pct"])
    assert "too much paper is left bare" in data["sentence"]
    assert '<h2 id="bare">Bare paper</h2>' in page
    assert f"{finding['value']:.0f} % of the sheet is bare" in page
    assert "25 % of the sheet is bare" in ran.err


@pytest.mark.parametrize(
    ("options", "left"),
    [
        (("--only", BARE_PAPER), {BARE_PAPER}),
        (("--only", "bare-paper,night"), {BARE_PAPER, "night"}),
        (("--skip", BARE_PAPER), {"total ink", "night", "named tones"}),
        (("--skip", "total-ink,named-tones"), {BARE_PAPER, "night"}),
    ],
)
def test_checks_are_chosen_by_name(options, left, book, tmp_path, capfd):
    command(capfd, "check", book, "--to", tmp_path / "r", *options)
    data = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))
    page = (tmp_path / "r" / "report.html").read_text("utf-8")

    assert {one["check"] for one in data["findings"]} <= left
    for name in table.names():
        is_left_out = any(line == f"{name}: left out of this run" for line in data["not_checked"])
        assert is_left_out == (name not in left)
    assert ("left out of this run" in page.lower()) == (left != set(table.names()))


def test_what_is_left_out_is_no_pass(book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r", "--only", "total ink")
    assert "(night, named tones and bare paper were not checked)" in ran.err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--only", "nights"), 'no check is called "nights"; did you mean night? The checks are'),
        (("--skip", "nights"), 'no check is called "nights"; did you mean night? The checks are'),
        (("--skip", "total-ink,night,named-tones,bare-paper"), "none is left to run"),
    ],
)
def test_a_wrong_choice_is_refused(options, words, book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r", *options)
    assert ran.code == 2
    assert words in ran.err
    assert "total-ink, night, named-tones, bare-paper" in ran.err
    assert not (tmp_path / "r").exists()


def test_a_batch_shows_keeps_and_waives_it(book, tmp_path, capfd):
    ran = batched(book, capfd, "--to", tmp_path / "r")
    assert ran["exit_code"] == 1
    (row,) = ran["rows"]
    assert row["checked"]["bare_paper_pct"] > 10
    assert row["checked"]["verdicts"][BARE_PAPER] == "fail"
    with (tmp_path / "r" / "spreads.csv").open(encoding="utf-8-sig", newline="") as file:
        (line,) = csv.DictReader(file)
    assert float(line["bare_paper_pct"]) == pytest.approx(
        row["checked"]["bare_paper_pct"], abs=1e-4
    )
    index = (tmp_path / "r" / "index.html").read_text("utf-8")
    assert "of the sheet is bare" in index

    assert "Total ink is the most on the spread; bare paper is its share of the sheet;" in index
    assert f"<p>bare paper <b>{row['checked']['bare_paper_pct']:.0f}" in index.replace("\xa0", " ")

    add(book, waiver_of(ran))
    again = batched(book, capfd, "--to", tmp_path / "r")
    assert again["exit_code"] == 0
    assert again["rows"][0]["state"] == "waived"


def test_a_run_with_fewer_checks_is_not_taken_for_one_with_all(book, tmp_path, capfd):
    some = batched(book, capfd, "--to", tmp_path / "r", "--skip", BARE_PAPER)
    whole = batched(book, capfd, "--to", tmp_path / "r")
    assert some["exit_code"] == 0
    assert whole["exit_code"] == 1


def test_what_the_run_before_left_out_is_not_called_new(book, tmp_path, capfd):
    said = "Bare paper was left out in the run before: its findings are not compared."
    index = tmp_path / "r" / "index.html"
    batched(book, capfd, "--to", tmp_path / "r", "--skip", BARE_PAPER)
    whole = batched(book, capfd, "--to", tmp_path / "r")
    (row,) = whole["rows"]
    found = [one["is_new"] for one in row["findings"] if one["finding"]["check"] == BARE_PAPER]
    assert found == [False]
    assert said in whole["err"]
    assert said in index.read_text("utf-8")
    assert (whole["checks"], whole["checks_before"]) == (
        ["total ink", "night", "named tones", BARE_PAPER],
        ["total ink", "night", "named tones"],
    )
    assert said not in batched(book, capfd, "--to", tmp_path / "r")["err"]
    assert said not in index.read_text("utf-8")


def test_what_is_left_out_has_its_place_in_every_table(book, tmp_path, capfd):
    """Nothing fails without it; an empty place would read as if it had passed, too."""
    some = batched(book, capfd, "--to", tmp_path / "r", "--skip", BARE_PAPER)
    assert some["checks"] == ["total ink", "night", "named tones"]
    assert BARE_PAPER not in some["rows"][0]["checked"]["verdicts"]
    cases = ElementTree.parse(tmp_path / "r" / "junit.xml").iter("testcase")
    messages = {one.get("name"): one[0].get("message") if len(one) else "" for one in cases}
    assert messages == {"total ink": "", "night": "", BARE_PAPER: "left out of this run"}
    with (tmp_path / "r" / "spreads.csv").open(encoding="utf-8-sig", newline="") as file:
        (line,) = csv.DictReader(file)
    assert (line["left_out"], line["bare_paper_pct"]) == (BARE_PAPER, "")
    index = (tmp_path / "r" / "index.html").read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    assert re.search(f">{BARE_PAPER}</th>\\s*<td [^>]*>left out of this run</td>", index)


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ({"name": "night"}, 'Night and Other both have the name "night"'),
        ({"facts": {"x": int, "pairs": int}},
         'NamedTones and Other both have the field of report.json "pairs"'),
        ({"figures": {"ink_limit_pct": ""}}, 'TotalInk and Other both have the figure "ink_limit'),
        ({"sections": (values.NIGHT,)}, 'Night and Other both have the table of the book "night"'),
    ],
)  # fmt: skip
def test_two_checks_of_a_table_may_not_share_a_name(own, said):
    others = [check for check in table.CHECKS if check.name != BARE_PAPER]
    with pytest.raises(ValueError, match=re.escape(said)):
        table.put_together(*others, type("Other", (BarePaper,), own)())


def test_a_table_names_all_that_its_checks_share():
    with pytest.raises(ValueError, match=r"the name.*; .*the field.*; .*the figure"):
        table.put_together(BarePaper(), BarePaper())


def test_where_nothing_was_looked_at_nothing_passed(tmp_path, capfd):
    """The book names no tones."""
    book = draw_book(tmp_path / "book", BOOK)
    ran = command(capfd, "check", book, "--to", tmp_path / "r", "--only", "named-tones")
    data = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))
    assert data["verdict"] == "not checked"
    assert "Nothing was checked" in ran.err
    row = batched(book, capfd, "--to", tmp_path / "b", "--only", "named-tones")["rows"][0]
    assert (row["state"], row["checked"]["verdict"]) == ("not checked", "not checked")


@pytest.mark.parametrize("words", [",", " , "])
def test_a_choice_of_nothing_is_refused(words, book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r", "--only", words)
    assert ran.code == 2
    assert "--only: names no check" in ran.err


@pytest.mark.parametrize("checks", [{"nights"}, (), "nights"])
def test_python_may_not_choose_what_there_is_not(checks, book):
    with pytest.raises(UsageError, match=r"no check is called|none is left"):
        check_spread(read_book(book), "front", checks=checks)
    assert check_spread(read_book(book), "front", checks="night").facts["total_ink"] is None


def test_what_a_run_leaves_out_is_neither_gone_nor_needless(book, tmp_path, capfd):
    whole = batched(book, capfd, "--to", tmp_path / "r")
    add(book, waiver_of(whole))
    some = batched(book, capfd, "--to", tmp_path / "r", "--skip", BARE_PAPER)
    assert some["rows"][0]["gone"] == []
    assert [one["state"] for one in some["waivers"]] == ["not looked at"]
    assert f"left out of this run: {BARE_PAPER}" in some["notes"]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("= 10", "= 60", "bare_paper.at_most_pct: is 60, but it lies from 0 to 50 %"),
        ("at_most_pct", "at_most_pc", 'did you mean "at_most_pct"?'),
        ("= 10", '= 10\nfog = { mask = "fog.png" }', "bare_paper.fog.mask: there is no file fog"),
        ("= 10", '= 10\nfog = { mask = "../fog.png" }', "leaves the book's folder"),
    ],
)
def test_its_keys_are_held_against_their_range(old, new, said, book, tmp_path, capfd):
    path = book / "book.toml"
    path.write_text(path.read_text("utf-8").replace(BARE, BARE.replace(old, new)), "utf-8")
    ran = command(capfd, "check", book, "--to", tmp_path / "r")
    assert ran.code == 2
    assert said in ran.err


def test_what_its_keys_say_is_what_is_checked(book, tmp_path, capfd):
    """A quarter of the sheet is bare; fog over nearly all of it leaves less than a tenth."""
    draw_fog(book, rows=60)
    add(book, FOG)
    ran = command(capfd, "check", book, "--to", tmp_path / "r", "--only", BARE_PAPER)
    told = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))["bare_paper"]
    assert (ran.code, told["most_pct"]) == (0, 10.0)
    assert told["bare_pct"] == pytest.approx(
        100 * 19 * 118 / (157 * 236), abs=1e-3
    )  # px, of drawn_book


def test_a_book_that_does_not_ask_for_it_has_no_such_check(book, tmp_path, capfd):
    """Nor has a spread that an override says nothing of; what is not looked at did not pass."""
    path = book / "book.toml"
    path.write_text(path.read_text("utf-8").replace(BARE, ""), "utf-8")
    command(capfd, "check", book, "--to", tmp_path / "r")
    data = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))
    jsonschema.validate(data, report_schema())
    assert data["bare_paper"] is None
    assert f"{BARE_PAPER}: the book allows any" in data["not_checked"]
    assert BARE_PAPER not in {one["check"] for one in data["findings"]}
    assert "the book allows any" in (tmp_path / "r" / "report.html").read_text("utf-8")

    row = batched(book, capfd, "--to", tmp_path / "b")["rows"][0]
    assert row["checked"]["bare_paper_pct"] is None
    assert "<p>bare paper <b>" not in (tmp_path / "b" / "index.html").read_text("utf-8")


def test_an_override_asks_for_it_on_a_single_spread(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("back", "front"))
    bare_quarter(folder, "back")
    bare_quarter(folder, "front")
    add(folder, '[[override]]\nspreads = ["back"]\nbare_paper = { at_most_pct = 10 }\n')
    ran = batched(folder, capfd, "--to", tmp_path / "b", "--only", BARE_PAPER)
    assert states(ran) == {"back": "fail", "front": "not checked"}


def test_the_schema_and_a_first_book_tell_its_keys(tmp_path, capfd):
    for name, numbers in plates().items():
        write_tiff(tmp_path / f"{name}.tif", numbers, PPI)
    assert command(capfd, "start", tmp_path).code == 0
    assert command(capfd, "start", tmp_path, "--schema").code == 0
    told = (tmp_path / "book.toml").read_text("utf-8")
    assert (
        """
# How much paper may stay bare.
# [bare_paper]
# at_most_pct = 10  # largest share left bare, from 0 to 50 %
# fog = { mask = "fog.png" }  # where it is meant
"""
        in told
    )
    schema = json.loads((tmp_path / "book.schema.json").read_text("utf-8"))
    assert schema["$defs"]["Bare"]["properties"]["at_most_pct"]["maximum"] == 50
    validator = jsonschema.Draft202012Validator(schema)
    book = tomllib.loads(told) | tomllib.loads(BARE + FOG)
    assert validator.is_valid(book)
    assert not validator.is_valid(book | {"bare_paper": {"at_most_pct": 60}})


def test_what_its_keys_say_decides_whether_a_report_holds(book, tmp_path, capfd):
    """A limit that is changed, and a mask in a table inside its own that is drawn anew."""
    add(book, FOG)
    draw_fog(book, rows=10)
    first = batched(book, capfd, "--to", tmp_path / "r")
    again = batched(book, capfd, "--to", tmp_path / "r")
    assert (UNCHANGED in first["err"], UNCHANGED in again["err"]) == (False, True)
    draw_fog(book, rows=20)
    anew = batched(book, capfd, "--to", tmp_path / "r")
    assert UNCHANGED not in anew["err"]
    shares = [one["rows"][0]["checked"]["bare_paper_pct"] for one in (first, anew)]
    assert shares[0] - shares[1] == pytest.approx(100 * 10 * 118 / (157 * 236), abs=1e-3)
    path = book / "book.toml"
    path.write_text(path.read_text("utf-8").replace("at_most_pct = 10", "at_most_pct = 50"))
    assert states(batched(book, capfd, "--to", tmp_path / "r"))["front"] != "fail"


@pytest.mark.parametrize("changed", ["mask", "limit"])
def test_a_waiver_expires_with_what_its_finding_rests_on(changed, book, tmp_path, capfd):
    add(book, FOG)
    draw_fog(book, rows=10)
    add(book, waiver_of(batched(book, capfd, "--to", tmp_path / "r")))
    assert states(batched(book, capfd, "--to", tmp_path / "r")) == {"front": "waived"}
    if changed == "mask":
        draw_fog(book, rows=11)
    else:
        path = book / "book.toml"
        path.write_text(path.read_text("utf-8").replace("at_most_pct = 10", "at_most_pct = 11"))
    after = batched(book, capfd, "--to", tmp_path / "r")
    assert states(after) == {"front": "fail"}
    assert [use["state"] for use in after["waivers"]] == ["expired"]


def test_night_that_is_left_out_is_guarded_all_the_same(book, monkeypatch):
    """A remedy for another check may not spoil it."""
    guarded = []

    def spied(ground, lightness, guards):
        guarded.extend(guard.check.name for guard in guards)
        return trials_on(ground, lightness, guards)

    monkeypatch.setattr("inkmix.jobs.check.trials_on", spied)
    result = check_spread(read_book(book), "front", checks={"total ink"})
    assert guarded == [area.name for area in read_book(book).nights]
    assert result.facts["nights"] == ()
    assert not [one for one in result.findings if one.check == "night"]
