"""A check that the package does not know is found wherever checks are: one line in the table."""

import csv
import json
import re
from xml.etree import ElementTree

import pytest
from bare_paper import BARE_PAPER, BarePaper
from drawn_book import BOOK, NIGHT, PPI, batched, command, draw_book, plate_of, plates
from plate_files import write_tiff

from inkmix.base.errors import UsageError
from inkmix.book import values
from inkmix.checks import table
from inkmix.checks.trials.on_plates import trials_on
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread


@pytest.fixture(autouse=True)
def four_checks(monkeypatch):
    monkeypatch.setattr(table, "CHECKS", table.put_together(*table.CHECKS, BarePaper()))


@pytest.fixture
def book(tmp_path):
    """Its cellar is dark; the lower half of the rest is bare."""
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    for name, numbers in plates().items():
        numbers[numbers.shape[0] // 2 :, numbers.shape[1] // 2 :] = 255
        write_tiff(plate_of(folder, name), numbers, PPI)
    return folder


def test_it_stands_in_the_report_and_in_its_data(book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r")
    assert ran.code == 1
    page = (tmp_path / "r" / "report.html").read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    data = json.loads((tmp_path / "r" / "report.json").read_text("utf-8"))

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
    assert ("left out of this run" in page) == (left != set(table.names()))


def test_what_is_left_out_is_no_pass(book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r", "--only", "total ink")
    assert "(night, named tones and bare paper were not checked)" in ran.err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--only", "nights"), 'there is none called "nights"'),
        (("--skip", "nights"), 'there is none called "nights"'),
        (("--skip", "total-ink,night,named-tones,bare-paper"), "none is left to run"),
    ],
)
def test_a_wrong_choice_is_refused(options, words, book, tmp_path, capfd):
    ran = command(capfd, "check", book, "--to", tmp_path / "r", *options)
    assert ran.code == 2
    assert words in ran.err
    assert "total ink, night, named tones, bare paper" in ran.err
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

    found = next(s["finding"] for s in row["findings"] if s["finding"]["check"] == BARE_PAPER)
    waiver = f"""
[[waive]]
check = "{BARE_PAPER}"
rests_on = "{found["rests_on"]}"
reason = "the fog is meant to be bare"
by = "A. Printer"
"""
    (book / "book.toml").write_text((book / "book.toml").read_text("utf-8") + waiver, "utf-8")
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
    with pytest.raises(UsageError, match=r"the checks are|none is left"):
        check_spread(read_book(book), "front", checks=checks)
    assert check_spread(read_book(book), "front", checks="night").facts["total_ink"] is None


def test_what_a_run_leaves_out_is_neither_gone_nor_needless(book, tmp_path, capfd):
    whole = batched(book, capfd, "--to", tmp_path / "r")
    found = next(
        one["finding"]
        for one in whole["rows"][0]["findings"]
        if one["finding"]["check"] == BARE_PAPER
    )
    waiver = f"""
[[waive]]
check = "{BARE_PAPER}"
rests_on = "{found["rests_on"]}"
reason = "the fog is meant to be bare"
by = "A. Printer"
"""
    (book / "book.toml").write_text((book / "book.toml").read_text("utf-8") + waiver, "utf-8")
    some = batched(book, capfd, "--to", tmp_path / "r", "--skip", BARE_PAPER)
    assert some["rows"][0]["gone"] == []
    assert some["waivers"] == []
    assert f"left out of this run: {BARE_PAPER}" in some["notes"]


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
