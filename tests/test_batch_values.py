"""Parts of a batch that need no plates: folders, waivers, news, states, ink, records."""

import json
import re
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import jsonschema
import pytest
from report_cases import failing, revised

from inkmix.base.errors import Fault
from inkmix.batch.compare import LastRun, is_same, with_news
from inkmix.batch.document import batch_schema, document_bytes, read_before
from inkmix.batch.rows import Fared, batch_result, ink_totals
from inkmix.batch.spread_record import is_whole, kept_bytes, read_kept
from inkmix.batch.summary import summary
from inkmix.book.values import Book, PaperSpec, PlatesSpec, PressSpec, Waiver
from inkmix.checks import table
from inkmix.jobs.book_answer import (
    BROKEN,
    EXPIRED,
    IN_FORCE,
    MENDED,
    NOT_NEEDED,
    UNREADABLE,
    WAITING,
    WAIVED,
    BatchResult,
    Checked,
    InkUse,
    KeptFinding,
)
from inkmix.jobs.waivers import with_waivers
from inkmix.pages.folders import JSON_NAME, OURS, PAGE_NAME, report_folder
from inkmix.pages.report.view import numbered

HERE = "0123456789ab"
CHANGED = "ba9876543210"


def finding(check: str = "total ink", name: str = "area 1", **others) -> KeptFinding:
    values = {
        "number": 1,
        "verdict": "fail",
        "sentence": "312 % of ink where 260 % is the limit",
        "unit": "%",
        "rests_on": HERE,
        "rows_px": (10, 20),
        "cols_px": (30, 50),
    }
    return KeptFinding(check=check, name=name, **(values | others))


NIGHT = finding("night", "cellar", sentence="too light", unit="L*")
TONE = finding("named tones", "brick", rows_px=None, cols_px=None, unit="dE00")


def checked(name: str = "1", *findings: KeptFinding, **others) -> Checked:
    verdicts = {"total ink": "pass", "night": "pass", "named tones": "pass"}
    verdicts |= {one.check: one.verdict for one in findings}
    values = {
        "folder": name,
        "key": "a" * 64,
        "verdict": "fail" if findings else "pass",
        "sentence": "Nothing was found against sending these plates.",
        "verdicts": verdicts,
        "paper": "uncoated paper",
        "inks": (ink("Soot", 0.006), ink("Rowan", 0.003)),
        "width_mm": 210.0,
        "height_mm": 148.0,
        "sheet_m2": 0.03,
        "figures": {"max_total_ink_pct": 212.5, "ink_limit_pct": 260.0},
        "notes": ("one note",),
        "thumbnail": b"\xff\xd8jpeg",
        "report_sha256": sha256(b"page").hexdigest(),
        "data_sha256": sha256(b"data").hexdigest(),
    }
    return Checked(name=name, findings=findings, **(values | others))


def ink(name: str, solid_m2: float, **others) -> InkUse:
    values = {"mean_tone_pct": 15.0, "mean_coverage_pct": solid_m2 / 0.03 * 100}
    return InkUse(ink=name, solid_srgb8=(40, 41, 42), solid_m2=solid_m2, **(values | others))


def waiver(**others) -> Waiver:
    values = {"check": "total ink", "rests_on": HERE, "reason": "agreed", "by": "M. Quill"}
    return Waiver(**(values | others))


def book(*waivers: Waiver) -> Book:
    return Book(
        path=Path("book.toml"),
        folder=Path(),
        title="The Night Ferry",
        paper=PaperSpec(lab=(94, 0, 3), paper_class="uncoated"),
        inks=(),
        press=PressSpec(process="sheet-fed offset"),
        plates=PlatesSpec(pattern="{spread}/{ink}.tif"),
        waivers=waivers,
    )


def result_of(fared: dict[str, Fared], *waivers: Waiver, last=None, **others) -> BatchResult:
    options = {"notes": (), "complete": True}
    return batch_result(book(*waivers), fared, last=last, **(options | others))


def last_run(findings: dict[str, tuple[KeptFinding, ...] | None], **others) -> LastRun:
    return LastRun(findings=findings, **({"checks": table.names()} | others))


def state_of(one: Checked, *waivers: Waiver, **others) -> tuple[str, int]:
    (row,) = result_of({one.name: Fared(checked=one)}, *waivers, **others).rows
    return row.state, row.exit_code


# --- folders -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["03", "Überfahrt", "two words", "it's", "a.b", "夜", "-", "~x"])
def test_a_report_lies_in_a_folder_of_the_spread_s_own_name(name):
    assert report_folder(name) == name


@pytest.mark.parametrize(
    "name",
    [*OURS, "INDEX.html", "con", "Aux.x", "two\nlines", 'a"b', "a<b>", "end.", "end ", ".x",
     "x" * 201, "\udcff", "ü" * 101],
)  # fmt: skip
def test_names_that_some_system_refuses_are_written_otherwise(name):
    folder = report_folder(name)
    assert folder != name
    assert folder == report_folder(folder), "what is written is sound"
    assert len(folder.encode()) <= 200
    assert folder not in OURS


def test_no_two_spreads_share_a_folder():
    names = ["a<", "a>", "a_", "a?", "a:", "x" * 201, "x" * 202, "end.", "end..", "end"]
    assert len({report_folder(name) for name in names}) == len(names)


# --- waivers -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "covers"),
    [
        ({}, True),
        ({"spread": "1"}, True),
        ({"spread": "2"}, False),
        ({"name": "area 1"}, True),
        ({"name": "area 2"}, True),  # the same place, which had another number
        ({"name": "area 2", "rests_on": CHANGED}, False),
        ({"check": "night"}, False),
    ],
)
def test_a_waiver_covers_what_it_speaks_of(given, covers):
    (shown,) = with_waivers([finding()], [waiver(**given)], spread="1")
    assert (shown.waiver is not None) == covers
    assert shown.expired is None


def test_a_waiver_expires_when_what_it_rests_on_changes():
    (shown,) = with_waivers([finding(rests_on=CHANGED)], [waiver()], spread="1")
    assert shown.waiver is None
    assert shown.expired == waiver()


def test_a_waiver_given_anew_holds_beside_the_expired_one():
    both = [waiver(), waiver(rests_on=CHANGED, reason="again")]
    (shown,) = with_waivers([finding(rests_on=CHANGED)], both, spread="1")
    assert (shown.waiver, shown.expired) == (both[1], None)


def test_what_was_not_checked_cannot_be_waived():
    (shown,) = with_waivers([finding(verdict="not checked")], [waiver()], spread="1")
    assert shown.waiver is None


def test_waivers_are_counted_with_what_they_do():
    fared = {"1": Fared(checked=checked("1", finding(), replace(finding(name="area 2"), number=2)))}
    waivers = waiver(), waiver(check="night"), waiver(rests_on=CHANGED, name="area 2")
    uses = result_of(fared, *waivers).waivers
    assert [(use.state, use.findings) for use in uses] == [
        (IN_FORCE, 2), (NOT_NEEDED, 0), (NOT_NEEDED, 0)
    ]  # fmt: skip
    uses = result_of(fared, waiver(rests_on=CHANGED)).waivers
    assert [(use.state, use.findings) for use in uses] == [(EXPIRED, 2)]


# --- states and exit codes -----------------------------------------------------------------------


def test_a_waiver_that_holds_elsewhere_has_not_expired_where_it_never_held():
    fared = {
        "1": Fared(checked=checked("1", finding())),
        "cover": Fared(checked=checked("cover", finding(rests_on=CHANGED))),
    }
    result = result_of(fared, waiver())
    assert [row.findings[0].waiver is None for row in result.rows] == [False, True]
    assert result.rows[1].findings[0].expired is None
    assert [(use.state, use.findings) for use in result.waivers] == [("in force", 1)]
    del fared["1"]
    assert result_of(fared, waiver()).rows[0].findings[0].expired


def test_states_of_checked_spreads():
    unsure, without = finding(verdict="unsure"), finding(verdict="no limit given")
    assert state_of(checked()) == ("pass", 0)
    assert state_of(checked("1", finding())) == ("fail", 1)
    assert state_of(checked("1", unsure)) == ("unsure", 0)
    assert state_of(checked("1", unsure), strict=True) == ("unsure", 1)
    assert state_of(checked("1", without)) == ("no limit given", 0)
    assert state_of(checked("1", finding()), waiver()) == (WAIVED, 0)
    assert state_of(checked("1", finding(rests_on=CHANGED)), waiver()) == ("fail", 1)


def test_a_waiver_leaves_the_other_findings_as_they_are():
    assert state_of(checked("1", finding(), NIGHT), waiver()) == ("fail", 1)
    two = checked("1", finding(), finding(name="area 2", verdict="unsure"))
    two = replace(two, verdicts={"total ink": "fail", "night": "pass"})
    assert state_of(two, waiver(name="area 1")) == ("unsure", 0)
    assert state_of(two, waiver()) == (WAIVED, 0)


def test_a_verdict_that_no_finding_speaks_of_cannot_be_waived():
    one = replace(checked("1", finding(verdict="unsure")), verdicts={"total ink": "fail"})
    assert state_of(one, waiver()) == ("fail", 1)


def test_a_check_that_was_not_asked_for_hides_no_verdict():
    one = checked(verdicts={"total ink": "pass", "night": "not checked"})
    assert state_of(one) == ("pass", 0)
    assert state_of(replace(one, verdicts={"total ink": "not checked"})) == ("not checked", 0)


@pytest.mark.parametrize(
    ("codes", "worst"), [((0, 1, 3, 2), 2), ((1, 3), 3), ((0, 1), 1), ((0, 0), 0), ((), 0)]
)
def test_the_worst_exit_code_wins(codes, worst):
    fault = Fault(where="x", found="y")
    fared = {
        str(k): Fared(checked=checked(str(k), *([finding()] if code else [])))
        if code in (0, 1)
        else Fared(faults=(fault,), exit_code=code)
        for k, code in enumerate(codes)
    }
    assert result_of(fared).exit_code == worst


@pytest.mark.parametrize(("verdict", "strict", "code"), [
    ("fail", False, 1), ("unsure", False, 0), ("unsure", True, 1), ("no limit given", True, 0),
])  # fmt: skip
def test_only_what_is_unsure_counts_as_failing_where_it_is_strict(verdict, strict, code):
    fared = {"1": Fared(checked=checked("1", finding(verdict=verdict)))}
    assert result_of(fared, strict=strict).exit_code == code
    assert result_of({"1": Fared(checked=checked("1"))}, strict=strict).exit_code == 0


def test_a_book_that_cannot_be_used_ends_with_2_however_its_spreads_stood():
    sound = result_of({"1": Fared(checked=checked("1"))})
    refused = replace(sound, refused=(Fault(where="book.toml", found="is empty"),))
    assert (sound.exit_code, refused.exit_code) == (0, 2)


def test_a_spread_that_waits_is_no_failure():
    (row,) = result_of({"1": Fared()}, complete=False).rows
    assert (row.state, row.exit_code) == (WAITING, 0)


def test_what_is_kept_of_an_answer_is_what_it_says():
    answer = failing()
    answer = revised(
        answer, nights=answer.facts["nights"][::-1]
    )  # the one that fails is not the first
    answer = replace(answer, warnings=("a plate is empty",))
    kept = summary(
        answer, folder="1", key="a" * 64, rests_on=lambda _: HERE,
        files={PAGE_NAME: b"page", JSON_NAME: b"data"},
    )  # fmt: skip
    assert kept.verdicts == {"total ink": "fail", "night": "fail", "named tones": "fail"}
    assert kept.figures == {"max_total_ink_pct": 341.0, "ink_limit_pct": 300.0}
    assert (kept.width_mm, kept.height_mm) == (880.0, 150.0)
    # With 3 mm of bleed the plates are 886 x 156 mm, but for parts of a pixel.
    assert kept.sheet_m2 == pytest.approx(0.886 * 0.156, rel=1e-3)
    assert kept.inks[0].solid_m2 == pytest.approx(kept.sheet_m2 * 0.384)
    assert [one.number for one in kept.findings] == [1, 2, 3, 4, 5]
    assert kept.notes == ("a plate is empty",)
    told = [(one.finding.value, one.finding.error) for one in numbered(answer.findings)]
    assert [(one.value, one.error) for one in kept.findings] == told
    assert any(error for _, error in told)
    assert kept.findings[0].do.startswith("Darken the pale parts of sea by smooth tone curves")
    assert kept.report_sha256 == sha256(b"page").hexdigest()


# --- since the last run --------------------------------------------------------------------------


def test_a_place_is_the_same_where_it_overlaps():
    moved = finding(name="area 3", rows_px=(19, 40), cols_px=(49, 60))
    apart = finding(rows_px=(20, 40), cols_px=(49, 60))
    assert is_same(moved, finding())
    assert not is_same(apart, finding())
    assert not is_same(finding(verdict="unsure"), finding())


def test_new_and_gone():
    shown = with_waivers([finding(), TONE], [], spread="1")
    marked, gone = with_news(shown, [TONE, NIGHT], checks=table.names())
    assert [one.is_new for one in marked] == [True, False]
    assert gone == (NIGHT,)


def test_two_places_over_one_of_before_are_one_old_and_one_new():
    two = finding(), finding(name="area 2", rows_px=(12, 14))
    shown = with_waivers(two, [], spread="1")
    marked, gone = with_news(shown, [finding(rows_px=(0, 100))], checks=table.names())
    assert [one.is_new for one in marked] == [False, True]
    assert gone == ()


def test_one_place_over_two_of_before_is_old_and_nothing_is_gone():
    before = [finding(rows_px=(10, 20)), finding(name="area 2", rows_px=(30, 40))]
    shown = with_waivers([finding(rows_px=(10, 40))], [], spread="1")
    marked, gone = with_news(shown, before, checks=table.names())
    assert [one.is_new for one in marked] == [False]
    assert gone == ()


def test_the_first_run_has_no_news():
    result = result_of({"1": Fared(checked=checked("1", finding()))})
    assert not result.compared
    assert not result.rows[0].findings[0].is_new
    assert not result.rows[0].is_new


def test_only_what_both_runs_looked_at_is_compared():
    """Night was left out before, tones are left out now; both found too much ink elsewhere."""
    elsewhere = finding(rows_px=(700, 800))
    fared = {"1": Fared(checked=checked("1", finding(), NIGHT))}
    last = last_run({"1": (elsewhere, TONE)}, checks=("named tones", "total ink"))
    result = result_of(fared, last=last, checks={"night", "total ink"})
    (row,) = result.rows
    assert [(one.finding.check, one.is_new) for one in row.findings] == [
        ("total ink", True), ("night", False)
    ]  # fmt: skip
    assert row.gone == (elsewhere,)
    assert result.checks == ("total ink", "night")
    assert result.checks_before == ("total ink", "named tones")
    assert result.left_out == ("named tones",)


def test_checks_of_an_older_program_are_not_told():
    last = last_run({"1": (finding("gloss", "sheet"),)}, checks=("gloss", "night"))
    result = result_of({"1": Fared(checked=checked())}, last=last)
    assert result.checks_before == ("night",)
    assert result.rows[0].gone == ()


def test_news_of_spreads():
    last = last_run({"1": (NIGHT,), "2": (), "gone": (finding(),), "4": None})
    fared = {name: Fared(checked=checked(name, finding())) for name in ("1", "2", "3", "4")}
    result = result_of(fared, last=last)
    assert [row.is_new for row in result.rows] == [False, False, True, False]
    assert [row.gone for row in result.rows] == [(NIGHT,), (), (), ()]
    assert all(row.findings[0].is_new for row in result.rows)
    assert result.lost == ("gone",)


def test_news_of_what_can_be_checked():
    last = last_run({"1": (NIGHT,), "2": None, "3": None, "4": ()})
    broken = Fared(faults=(Fault(where="x", found="y"),), exit_code=3)
    fared = {"1": broken, "2": Fared(checked=checked("2")), "3": broken, "4": Fared(), "5": broken}
    rows = result_of(fared, last=last, complete=False).rows
    assert [row.turned for row in rows] == [BROKEN, MENDED, "", "", ""]
    assert [row.is_new for row in rows] == [False] * 4 + [True]
    assert not any(row.turned for row in result_of(fared).rows)


# --- ink -----------------------------------------------------------------------------------------


def test_ink_of_the_book_is_the_sum_of_its_spreads():
    cover = checked("2", inks=(ink("Soot", 0.01, mean_tone_pct=0.0), ink("Ember", 0.02)))
    totals = {total.ink: total for total in ink_totals([checked(), replace(cover, sheet_m2=0.05)])}
    assert list(totals) == ["Soot", "Rowan", "Ember"]
    assert totals["Soot"].solid_m2 == pytest.approx(0.016)
    assert totals["Soot"].mean_coverage_pct == pytest.approx(100 * 0.016 / 0.08)
    assert [total.spreads for total in totals.values()] == [1, 1, 1]


# --- records and documents -----------------------------------------------------------------------


def test_a_record_is_read_as_it_was_written(tmp_path):
    one = checked("1", finding(), TONE)
    (tmp_path / "kept.json").write_bytes(kept_bytes(one))
    assert read_kept(tmp_path).checked == one


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text[:-30],
        lambda text: text.replace('"format": 1', '"format": 2'),
        lambda text: text.replace('"sheet_m2"', '"sheet"'),
        lambda text: text.replace('"rows_px": [', '"rows_px": [1, '),
        lambda text: "[]",
        lambda text: "",
        lambda text: "[" * 100_000,
    ],
)
def test_what_is_no_record_is_none(change, tmp_path):
    text = kept_bytes(checked("1", finding())).decode()
    assert change(text) != text
    (tmp_path / "kept.json").write_text(change(text))
    assert read_kept(tmp_path) is None


def test_no_record(tmp_path):
    assert read_kept(tmp_path) is None


def test_a_report_is_whole_as_it_was_written(tmp_path):
    assert not is_whole(checked(), tmp_path)
    (tmp_path / "report.html").write_bytes(b"page")
    (tmp_path / "report.json").write_bytes(b"data")
    assert is_whole(checked(), tmp_path)
    (tmp_path / "report.html").write_bytes(b"pagf")
    assert not is_whole(checked(), tmp_path)


def mixed(last: LastRun | None, *, complete: bool) -> BatchResult:
    fared = {
        "1": Fared(checked=checked("1", finding(), TONE)),
        "2": Fared(checked=checked("2")),
        "bad \udcff": Fared(faults=(Fault(where="x", found="y"),), exit_code=3),
        "wait": Fared(),
    }
    return result_of(fared, waiver(name="area 1"), last=last, complete=complete)


def test_a_wrong_document_does_not_hold_to_its_schema():
    """A field left out, one too many, and one of the wrong kind, wherever in it they are."""
    validator = jsonschema.Draft202012Validator(batch_schema())
    validator.check_schema(batch_schema())
    result = mixed(last_run({"1": (NIGHT,), "0": None}), complete=True)
    text = document_bytes(result, last=None).decode()
    free = {"total ink", "night", "named tones"}  # keyed by the names of checks
    paths = [path for path in objects(json.loads(text)) if not free & {*at(json.loads(text), path)}]
    assert len(paths) > 15
    for path in paths:
        for key in at(json.loads(text), path):
            for spoil in (lambda one, key: one.pop(key), lambda one, key: one.update({key: [{}]})):
                wrong = json.loads(text)
                spoil(at(wrong, path), key)
                assert not validator.is_valid(wrong), (*path, key)
        wrong = json.loads(text)
        at(wrong, path)["colour"] = "of nothing"
        assert not validator.is_valid(wrong), path


def objects(value, path=()):
    """Paths of all objects inside a document."""
    if isinstance(value, dict):
        yield path
    for key, item in value.items() if isinstance(value, dict) else enumerate(value):
        if isinstance(item, dict | list):
            yield from objects(item, (*path, key))


def at(document, path):
    for key in path:
        document = document[key]
    return document


@pytest.mark.parametrize("complete", [True, False])
def test_the_document_holds_to_its_schema(complete):
    data = document_bytes(mixed(last_run({"1": (NIGHT,), "0": None}), complete=complete),
                          last=last_run({"1": (NIGHT,)}))  # fmt: skip
    document = json.loads(data)
    jsonschema.validate(document, batch_schema())
    assert document["exit_code"] == 3
    assert [row["state"] for row in document["rows"]] == ["fail", "pass", UNREADABLE, WAITING]


def test_the_next_run_remembers_what_this_one_found(tmp_path):
    (tmp_path / "batch.json").write_bytes(document_bytes(mixed(None, complete=True), last=None))
    last = read_before(tmp_path).last
    assert last is not None
    assert last.checks == table.names()
    assert last.findings["1"] == (finding(), TONE)
    assert last.findings["2"] == ()
    assert last.findings["bad \udcff"] is None


def test_a_run_that_was_broken_off_is_not_the_last_that_ended(tmp_path):
    """What it was compared with stays, the checks of then too."""
    before = last_run({"1": (NIGHT,)}, checks=("night",))
    for last in (before, None):
        data = document_bytes(mixed(last, complete=False), last=last)
        (tmp_path / "batch.json").write_bytes(data)
        assert read_before(tmp_path).last == last


def test_the_next_run_remembers_which_checks_ran(tmp_path):
    result = result_of({"1": Fared(checked=checked())}, checks={"night", "named tones"})
    (tmp_path / "batch.json").write_bytes(document_bytes(result, last=None))
    assert read_before(tmp_path).last.checks == ("night", "named tones")


@pytest.mark.parametrize("complete", [True, False])
def test_before_checks_could_be_chosen_all_of_them_ran(complete, tmp_path):
    last = last_run({"1": (NIGHT,)}, checks=("night",))
    data = document_bytes(mixed(last, complete=complete), last=last)
    older = re.sub(rb' "(checks|checks_before)": \[[^]]*\],\n', b"", data)
    assert len(json.loads(older)) == len(json.loads(data)) - 2
    body = older[: older.rindex(b',\n "sha256"')] + b"\n}\n"
    seal = f',\n "sha256": "{sha256(body).hexdigest()}"\n}}\n'.encode()
    (tmp_path / "batch.json").write_bytes(body.removesuffix(b"\n}\n") + seal)
    before = read_before(tmp_path)
    assert before.notes == ()
    assert before.last.checks == table.names()


@pytest.mark.parametrize("data", [b"", b"{}", b"[]", b'{"format": 2}', b'{"format": 1, "rows": 3}'])
def test_what_is_no_document_is_no_last_run(data, tmp_path):
    assert read_before(tmp_path).last is None
    (tmp_path / "batch.json").write_bytes(data)
    assert read_before(tmp_path).last is None
