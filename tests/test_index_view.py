"""What the index chooses, counts and says, from small books; worked by hand."""

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from index_cases import (
    all_pass,
    broken,
    checked,
    pale_night,
    row,
    too_much_ink,
    totals,
    waiver,
    wrong_tone,
)

from inkmix.checks.finding import FAIL, NO_LIMIT, NOT_READY, PASS, UNSURE
from inkmix.jobs.book_answer import (
    UNREADABLE,
    WAITING,
    WAIVED,
    BatchResult,
    ShownFinding,
    SpreadRow,
)
from inkmix.pages.index import over_all, view, words
from inkmix.pages.index.junit import junit_xml
from inkmix.pages.index.tables import spreads_csv
from inkmix.pages.index.text import result_lines
from inkmix.pages.index.waive import may_be_waived


def shown(finding, **more) -> ShownFinding:
    return ShownFinding(finding=finding, **more)


def book(*rows: SpreadRow, **more) -> BatchResult:
    return replace(all_pass(1), rows=rows, inks=totals(rows), **more)


def tones(amount: int, name: str = "dusk", verdict: str = FAIL) -> list[SpreadRow]:
    """Spreads that share a tone."""
    found = replace(wrong_tone(name), verdict=verdict)
    return [row(f"{name} {k}", verdict, shown(found)) for k in range(amount)]


# --- what many share ------------------------------------------------------------------------------


@pytest.mark.parametrize(("amount", "said"), [(3, 0), (4, 1), (5, 1)])
def test_from_four_spreads_on_a_finding_is_said_once_for_all(amount, said):
    found = too_much_ink("the same everywhere")
    common = view.common_findings(row(f"{k}", FAIL, shown(found)) for k in range(amount))
    assert [len(one.spreads) for one in common] == [amount] * said


@pytest.mark.parametrize(("amount", "said"), [(1, 0), (2, 1), (5, 1)])
@pytest.mark.parametrize("verdict", [FAIL, UNSURE, NOT_READY, NO_LIMIT])
def test_what_the_book_alone_decides_is_said_once_from_two_spreads_on(amount, said, verdict):
    common = view.common_findings(tones(amount, verdict=verdict))
    assert [len(one.spreads) for one in common] == [amount] * said
    assert all(bool(one.block) == (verdict in (FAIL, UNSURE)) for one in common)


def test_on_the_console_a_tone_is_said_once_and_each_spread_says_what_is_its_own():
    tone = shown(wrong_tone())
    rows = (
        row("1", FAIL, tone),
        row("2", FAIL, tone, shown(too_much_ink("2"))),
        row("3", FAIL, tone, shown(replace(pale_night("3"), verdict=PASS))),
    )
    lines = list(result_lines(book(*rows), Path("to"), reused=0))
    assert lines[1] == f"  all 3 spreads: fail: {wrong_tone().sentence}"
    assert lines[2] == f"  2: fail: {too_much_ink('2').sentence}"
    assert lines[3].startswith("index: ")
    some = list(result_lines(book(*rows, row("4", PASS)), Path("to"), reused=0))
    assert some[1] == f"  1, 2 and 3: fail: {wrong_tone().sentence}"


def test_on_the_console_a_finding_has_its_own_verdict_not_the_worst_of_its_spread():
    """A tone fails on all spreads, a night of one is unsure: as `check` says it."""
    tone, night = shown(wrong_tone()), shown(pale_night("2", verdict=UNSURE))
    bright = shown(replace(pale_night("3"), verdict=NO_LIMIT))
    rows = (row("1", FAIL, tone), row("2", FAIL, tone, night), row("3", FAIL, tone, bright, night))
    lines = list(result_lines(book(*rows), Path("to"), reused=0))
    assert lines[2:4] == [f"  {name}: unsure: {night.finding.sentence}" for name in "23"]


@pytest.mark.parametrize(
    ("amount", "folded"), [(5, None), (6, "  and 1 more"), (50, "  and 45 more")]
)
def test_on_the_console_five_tones_are_said_and_the_others_counted(amount, folded):
    wrong = [shown(wrong_tone(f"tone {k:02}", k)) for k in range(1, amount + 1)]
    result = book(row("1", FAIL, *wrong), row("2", FAIL, *wrong))
    lines = list(result_lines(result, Path("to"), reused=0))
    said = [f"  all 2 spreads: fail: {one.finding.sentence}" for one in wrong[:5]]
    assert lines[1:-1] == said + ([folded] if folded else [])


def test_what_many_share_is_ordered_by_verdict_then_by_how_many():
    rows = [*tones(4, "a"), *tones(6, "b"), *tones(9, "c", UNSURE), *tones(5, "d")]
    common = view.common_findings(rows)
    assert [one.finding.name for one in common] == ["b", "d", "a", "c"]
    assert [one.mark for one in common] == ["A", "B", "C", "D"]


def test_findings_that_rest_on_different_plates_are_not_one():
    rows = [row(str(k), FAIL, shown(pale_night(str(k)))) for k in range(6)]
    assert view.common_findings(rows) == ()


def test_a_block_for_many_names_no_spread_and_holds_what_the_finding_rests_on():
    (common,) = view.common_findings(tones(4))
    assert "spread" not in common.block
    assert f'rests_on = "{wrong_tone("dusk").rests_on}"' in common.block


# --- cards ----------------------------------------------------------------------------------------


def test_what_has_to_be_looked_at_first_comes_first_else_in_natural_order():
    states = [PASS, WAIVED, FAIL, NO_LIMIT, PASS, UNSURE, WAITING]
    rows = [row(str(k), state) for k, state in enumerate(states)]
    cards = view.cards(book(*rows, broken("7")), ())
    assert [card.row.state for card in cards] == [
        UNREADABLE, FAIL, UNSURE, NO_LIMIT, WAITING, WAIVED, PASS, PASS,
    ]  # fmt: skip
    assert [card.number for card in cards] == [8, 3, 6, 4, 7, 2, 1, 5]


def test_findings_that_a_card_leaves_out_are_counted(monkeypatch):
    monkeypatch.setattr(view, "most_a_card", lambda amounts: 3)
    many = [shown(too_much_ink("1", k)) for k in range(1, 9)]
    (card,) = view.cards(book(row("1", FAIL, *many)), ())
    assert (len([card.first, *card.further]), card.unlisted) == (3, 5)


def test_spreads_on_another_sheet_than_most_say_so():
    rows = [row(str(k), PASS) for k in range(3)]
    cover = replace(rows[0], name="cover", checked=checked("cover", paper="night-ferry/coated"))
    cards = view.cards(book(*rows, cover), ())
    assert [card.differs for card in cards] == ["", "", "", "300 × 215 mm on night-ferry/coated"]
    assert over_all.usual_sheet(one.row.checked for one in cards).endswith("uncoated")


@pytest.mark.parametrize(
    ("verdict", "is_open"), [(FAIL, True), (UNSURE, True), (NO_LIMIT, False), (PASS, False)]
)
def test_what_was_judged_may_be_waived_once(verdict, is_open):
    found = too_much_ink("1", verdict=verdict)
    assert may_be_waived(shown(found)) == is_open
    assert not may_be_waived(shown(found, waiver=waiver(found, spread="1")))


# --- words ----------------------------------------------------------------------------------------


def test_the_headline_counts_each_state():
    rows = [*tones(2), row("u", UNSURE), *(row(str(k), PASS) for k in range(3))]
    assert words.headline(book(*rows)) == "2 of 6 spreads fail; 1 is unsure; 3 pass."
    assert words.headline(book(*tones(3))) == "All 3 spreads fail."


def test_how_far_a_run_is_counts_what_is_done():
    waiting = [SpreadRow(name=str(k), state=WAITING) for k in range(5)]
    result = book(*tones(2), *waiting, complete=False)
    assert "2 of 7 spreads are done" in words.progress(result)


@pytest.mark.parametrize(
    ("codes", "said"),
    [((3,), "cannot be read"), ((2,), "cannot be checked"), ((2, 3), "cannot be checked")],
)
def test_a_wrong_book_is_not_said_to_be_a_file_that_cannot_be_read(codes, said):
    assert words.unreadable([broken(str(code), exit_code=code) for code in codes]) == said


# --- for scripts ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "strict", "outcome"),
    [
        (FAIL, False, "failure"), (UNSURE, False, "skipped"), (UNSURE, True, "failure"),
        (NO_LIMIT, True, "skipped"), (PASS, True, None),
    ],
)  # fmt: skip
def test_strict_fails_what_is_unsure_and_nothing_else(state, strict, outcome):
    found = [] if state == PASS else [shown(too_much_ink("1", verdict=state))]
    document = ElementTree.fromstring(junit_xml(book(row("1", state, *found), strict=strict)))
    case = next(one for one in document.iter("testcase") if one.get("name") == "total ink")
    assert [child.tag for child in case] == ([] if outcome is None else [outcome])


def test_a_case_names_what_fails_and_not_what_is_waived():
    one, other = too_much_ink("1", 1), too_much_ink("1", 2)
    found = [shown(one, waiver=waiver(one, spread="1")), shown(other)]
    document = ElementTree.fromstring(junit_xml(book(row("1", FAIL, *found))))
    (failure,) = document.iter("failure")
    assert other.sentence in failure.text
    assert one.sentence not in failure.text


def test_counts_of_the_table_stand_in_their_columns():
    found = [too_much_ink("1", 1), too_much_ink("1", 2), pale_night("1", 3, verdict=UNSURE)]
    accepted, lapsed = pale_night("1", 4), pale_night("1", 5)
    shown_ones = [
        *(shown(one, is_new=True) for one in found),
        shown(accepted, waiver=waiver(accepted, spread="1")),
        shown(lapsed, expired=waiver(lapsed, spread="1")),
    ]
    rows = spreads_csv(book(row("1", FAIL, *shown_ones, gone=(wrong_tone(),)))).decode("utf-8-sig")
    header, line = (text.split(",") for text in rows.splitlines())
    said = dict(zip(header, line, strict=False))
    names = ("failing", "unsure", "waived", "expired", "new", "gone")
    assert [int(said[name]) for name in names] == [3, 1, 1, 1, 3, 1]


# --- what could not be compared -------------------------------------------------------------------

INK, NIGHT, TONES = "total ink", "night", "named tones"
BEFORE, NOW = "left out in the run before", "left out of this run"


@pytest.mark.parametrize(
    ("now", "before", "said"),
    [
        ((INK, NIGHT), (INK, NIGHT), ""),
        ((INK, NIGHT), (INK,), f"Night was {BEFORE}: its findings are not compared."),
        ((INK,), (INK, NIGHT), f"Night was {NOW}: its findings are not compared."),
        ((INK, TONES), (INK,), f"Named tones were {BEFORE}: their findings are not compared."),
        ((INK, NIGHT, TONES), (INK,),
         f"Night and named tones were {BEFORE}: their findings are not compared."),
        ((INK,), (NIGHT,), f"Total ink was {BEFORE}: its findings are not compared. "
         f"Night was {NOW}: its findings are not compared."),
    ],
)  # fmt: skip
def test_what_could_not_be_compared_is_said_in_words(now, before, said):
    result = book(checks=now, checks_before=before, compared=True)
    assert words.not_compared(result) == said
    assert words.not_compared(replace(result, compared=False)) == ""
    lines = list(result_lines(result, Path("reports"), reused=0))
    assert lines == [words.headline(result), *([said] if said else []), "index: reports/index.html"]
