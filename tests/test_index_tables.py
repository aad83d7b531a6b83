"""spreads.csv, findings.csv and junit.xml, read back by the csv and xml modules."""

import csv
import io
import re
from collections import Counter
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from index_cases import (
    all_pass,
    broken,
    pale_night,
    row,
    too_much_ink,
    two_dozen,
    waiver,
    wrong_tone,
)

from inkmix.base.errors import Fault
from inkmix.base.plain_text import plain_text
from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_CHECKED, PASS, UNSURE
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.jobs.book_answer import UNREADABLE, WAIVED, ShownFinding
from inkmix.pages.index.junit import junit_xml
from inkmix.pages.index.tables import (
    FINDING_COLUMNS,
    SPREAD_COLUMNS,
    figure_columns,
    findings_csv,
    spreads_csv,
)

# CSV injection as OWASP describes it (from memory)
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def cells(data: bytes) -> list[list[str]]:
    assert data.startswith(b"\xef\xbb\xbfspread,state,")
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def records(data: bytes) -> list[dict[str, str]]:
    header, *lines = cells(data)
    assert all(len(line) == len(header) for line in lines)
    assert len(set(header)) == len(header)
    return [dict(zip(header, line, strict=True)) for line in lines]


def plain(name: str) -> str:
    """A name as a table holds it."""
    text = plain_text(name, keep="\t\r\n")
    return f"'{text}" if text.startswith(FORMULA) else text


@pytest.fixture(scope="module")
def book():
    return two_dozen()


def test_each_spread_has_one_row(book):
    read = records(spreads_csv(book))
    assert [one["spread"] for one in read] == [plain(one.name) for one in book.rows]
    for said, one in zip(read, book.rows, strict=True):
        assert said["state"] == one.state
        assert int(said["exit_code"]) == one.exit_code
        assert int(said["gone"]) == len(one.gone)
        assert int(said["faults"]) == len(one.faults)
        assert said["new_spread"] == ("yes" if one.is_new else "")


def test_all_columns_are_explained(book):
    header = cells(spreads_csv(book))[0]
    inks = [total.ink for total in book.inks]
    explained = [*SPREAD_COLUMNS, *figure_columns()]
    assert header[: len(explained)] == explained
    assert header[len(explained) :: 3] == [f"mean_tone_pct {ink}" for ink in inks]
    assert cells(findings_csv(book))[0] == list(FINDING_COLUMNS)


def test_ink_in_the_table_adds_up_to_the_book(book):
    read = records(spreads_csv(book))
    for total in book.inks:
        use = sum(float(one[f"solid_m2 {total.ink}"] or 0) for one in read)
        # half the last digit for each of 25 spreads
        assert use == pytest.approx(total.solid_m2, abs=25 * 0.5e-6)


def test_each_finding_has_one_row_and_each_fault(book):
    read = records(findings_csv(book))
    states = Counter(one["state"] for one in read)
    shown = [found for one in book.rows for found in one.findings]
    assert states["fault"] == sum(len(one.faults) for one in book.rows) == 8
    assert states["waived"] == sum(found.waiver is not None for found in shown) == 1
    assert states["waiver expired"] == sum(found.expired is not None for found in shown) == 1
    assert states["open"] == len(shown) - 2
    waived = next(one for one in read if one["state"] == "waived")
    assert (waived["waived_by"], waived["reason"]) == (
        "M. Quill",
        "the printer agreed: <small> area",
    )


def test_numbers_are_numbers_and_places_count_from_one(book):
    found = too_much_ink("01")
    said = records(findings_csv(book))[0]
    assert (float(said["value"]), float(said["limit"])) == (found.value, found.limit)
    assert said["expected_error"] == ""
    assert (int(said["first_row_px"]), int(said["last_row_px"])) == (401, 515)
    assert (int(said["first_column_px"]), int(said["last_column_px"])) == (1, 200)
    below_zero = replace(found, value=-3.5)
    one = replace(all_pass(1), rows=(row("1", FAIL, ShownFinding(finding=below_zero)),))
    assert records(findings_csv(one))[0]["value"] == "-3.5"


def test_rows_end_as_rfc_4180_says(book):
    data = spreads_csv(book)
    assert data.endswith(b"\r\n")
    assert len(cells(data)) == 1 + len(book.rows)
    assert b'"two\nlines"' in data


def hostile(text: str) -> tuple[bytes, bytes]:
    """Both tables of a book that says `text` wherever a word of a user's can stand."""
    found = replace(too_much_ink("1"), name=text, sentence=text, where=text, do=text)
    shown = ShownFinding(
        finding=found, waiver=replace(waiver(found, spread=None), by=text or "-", reason=text)
    )
    fault = Fault(where=text, found=text, expected=text, do=text)
    one = row("x", WAIVED, shown)
    one = replace(one, name=text, checked=replace(one.checked, sentence=text, paper=text))
    rows = (one, replace(broken("y"), faults=(fault,)))
    book = replace(two_dozen(), rows=rows)
    return spreads_csv(book), findings_csv(book)


@given(text=st.text(st.characters(exclude_categories=[]), max_size=12))
@example(text="=\0")
def test_no_cell_is_a_formula_and_none_is_lost(text):
    kept = plain_text(text, keep="\t\r\n")
    for data in hostile(text):
        _, *lines = cells(data)
        for line in lines:
            assert not [cell for cell in line if cell.startswith(FORMULA)]
        assert lines[0][0].replace("'", "") == kept.replace("'", "")


@pytest.mark.parametrize("before", ["a;", "a\t", "a\n", 'a";', "a; ", 'a;"'])
def test_no_formula_hides_inside_of_a_cell(before):
    """Parted at semicolons or tabs, as spreadsheets of many countries do it whatever is quoted."""
    for data in hostile(f"{before}=1+1"):
        for part in re.split("[;\\t\\n]", data.decode("utf-8-sig")):
            assert not part.lstrip(' "').startswith(FORMULA)


@pytest.mark.parametrize("text", ["a; b", "night - cellar", "ink+", "60 %; 70 %", "a-b;c"])
def test_what_is_no_formula_stays(text):
    assert records(hostile(text)[0])[0]["spread"] == text


@pytest.mark.parametrize("start", [*FORMULA, "＝", "＋", "－", "＠"])
def test_what_starts_a_formula_is_defused(start):
    said = records(hostile(f"{start}1+1")[0])[0]
    assert said["spread"] == said["paper"] == f"'{start}1+1"


# junit.xml


def suite(book) -> tuple[ElementTree.Element, list[ElementTree.Element]]:
    root = ElementTree.fromstring(junit_xml(book))
    (found,) = root
    return found, list(found)


def outcomes(book) -> dict[tuple[str, str], tuple[str, str]]:
    """Outcome and message by class name and name."""
    said = {}
    for case in suite(book)[1]:
        child = case[0] if len(case) else None
        key = case.get("classname"), case.get("name")
        assert key not in said
        said[key] = ("", "") if child is None else (child.tag, child.get("message"))
    return said


@pytest.mark.parametrize("strict", [False, True])
def test_sums_of_the_suite_are_those_of_its_cases(book, strict):
    book = replace(book, strict=strict)
    root = ElementTree.fromstring(junit_xml(book))
    found, cases = suite(book)
    tags = Counter(child.tag for case in cases for child in case)
    for element in (root, found):
        assert int(element.get("tests")) == len(cases)
        assert int(element.get("failures")) == tags["failure"]
        assert int(element.get("errors")) == tags["error"]
        assert int(element.get("skipped")) == tags["skipped"]
    assert all(len(case) <= 1 for case in cases)
    assert tags["error"] == sum(one.state == UNREADABLE for one in book.rows)


def test_each_check_of_each_spread_is_a_case(book):
    said = outcomes(book)
    checks = [
        (one.name, check) for one in book.rows if one.checked for check in one.checked.verdicts
    ]
    of_spreads = [check for check in checks if check[1] != NAMED_TONES]
    of_book = [name for whose, name in said if whose == "The Night Ferry"]
    assert len(of_book) == 2  # on some spreads tones pass, on others one fails
    assert all(name.startswith("named tones on ") for name in of_book)
    errors = sum(one.checked is None for one in book.rows)
    assert len(said) == len(of_spreads) + len(of_book) + errors
    assert said["The Night Ferry.02", "plates"][0] == "error"
    assert "export all plates from the same canvas" in said["The Night Ferry.02", "plates"][1]


def test_a_spread_fails_in_junit_where_its_state_is_fail(book):
    said = outcomes(book)
    for one in book.rows:
        if one.checked and one.name.isdigit():
            mine = [
                said[f"The Night Ferry.{one.name}", check][0]
                for check in one.checked.verdicts
                if check != NAMED_TONES
            ]
            left = [shown for shown in one.findings if shown.waiver is None]
            own = [shown for shown in left if shown.finding.check != NAMED_TONES]
            failing = [shown for shown in own if shown.finding.verdict == FAIL]
            assert ("failure" in mine) == bool(failing)
            assert one.state == FAIL or "failure" not in mine


def test_a_tone_is_one_case_of_the_book_and_waivers_of_a_spread_stand_apart():
    tone = ShownFinding(finding=wrong_tone())
    waived = replace(tone, waiver=waiver(wrong_tone(), spread="3"))
    rows = (row("1", FAIL, tone), row("2", FAIL, tone))
    said = outcomes(replace(all_pass(1), rows=rows))
    outcome, message = said["The Night Ferry", NAMED_TONES]
    assert outcome == "failure"
    assert message.startswith(f"fail: {wrong_tone().sentence}")
    assert sum(name == NAMED_TONES for _, name in said) == 1
    apart = outcomes(replace(all_pass(1), rows=(*rows, row("3", "waived", waived))))
    assert apart["The Night Ferry", "named tones on 1 and 2"][0] == "failure"
    assert apart["The Night Ferry", "named tones on 3"][0] == "skipped"


def test_what_is_waived_is_skipped_with_its_reason(book):
    outcome, message = outcomes(book)["The Night Ferry.06", "total ink"]
    assert outcome == "skipped"
    assert "M. Quill: the printer agreed: <small> area" in message


def test_one_waiver_does_not_hide_what_else_fails():
    found = [too_much_ink("1"), too_much_ink("1", 2)]
    shown = [ShownFinding(finding=found[0], waiver=waiver(found[0], spread="1"))]
    both = row("1", FAIL, *shown, ShownFinding(finding=found[1]))
    said = outcomes(replace(all_pass(1), rows=(both,)))["The Night Ferry.1", "total ink"]
    assert said == ("failure", f"fail: {found[1].sentence} Where: {found[1].where}. {found[1].do}")


def test_a_waived_failure_leaves_what_is_unsure():
    found = [pale_night("1"), replace(pale_night("1", verdict=UNSURE), name="sky")]
    shown = [ShownFinding(finding=found[0], waiver=waiver(found[0], spread="1"))]
    one = row("1", UNSURE, *shown, ShownFinding(finding=found[1]))
    book = replace(all_pass(1), rows=(one,))
    assert outcomes(book)["The Night Ferry.1", NIGHT][0] == "skipped"
    assert outcomes(replace(book, strict=True))["The Night Ferry.1", NIGHT][0] == "failure"


def test_a_verdict_without_findings_stands():
    one = row("1", FAIL)
    for verdict, outcome in ((FAIL, "failure"), (NO_LIMIT, "skipped"), (NOT_CHECKED, "skipped")):
        checked = replace(one.checked, verdicts={TOTAL_INK: verdict})
        book = replace(all_pass(1), rows=(replace(one, checked=checked),))
        assert outcomes(book)["The Night Ferry.1", TOTAL_INK] == (outcome, verdict)


def test_what_a_run_left_out_is_skipped_and_named():
    """Night is no case of spread 1, so its place would be empty; spread 2 cannot be read at all."""
    one = row("1", PASS)
    checked = replace(one.checked, verdicts={TOTAL_INK: PASS})
    rows = (replace(one, checked=checked), broken("2"))
    book = replace(all_pass(1), rows=rows, checks=(TOTAL_INK,))
    said = outcomes(book)
    assert said["The Night Ferry.1", TOTAL_INK] == ("", "")
    assert said["The Night Ferry.1", NIGHT] == ("skipped", "left out of this run")
    assert said["The Night Ferry", NAMED_TONES] == ("skipped", "left out of this run")
    assert [name for spread, name in said if spread.endswith(".2")] == ["plates"]
    assert suite(book)[0].get("skipped") == "2"
    assert [one["left_out"] for one in records(spreads_csv(book))] == ["night, named tones"] * 2


def test_where_nothing_is_left_out_nothing_is_said(book):
    assert {one["left_out"] for one in records(spreads_csv(book))} == {""}
    assert b"left out" not in junit_xml(book)


@given(text=st.text(st.characters(exclude_categories=[]), max_size=12))
def test_any_name_gives_xml_that_can_be_read(text):
    found = replace(pale_night("x"), sentence=text)
    one = replace(row("x", FAIL, ShownFinding(finding=found)), name=text)
    _, cases = suite(replace(all_pass(1), title="book", rows=(one, broken(text + "b"))))
    name = cases[1].get("classname")  # after the one of the book
    legal = all(c.isprintable() for c in text)
    assert name == f"book.{text}" if legal else name.startswith("book.")


def test_tables_and_junit_are_the_same_each_time(book):
    for write in (spreads_csv, findings_csv, junit_xml):
        assert write(book) == write(two_dozen())
    assert b"time" not in junit_xml(all_pass())
