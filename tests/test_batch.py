"""`inkmix batch` on sound books: what it writes, what it checks again, news, waivers, overrides."""

import csv
import json
import os
import shutil
import subprocess
import sys
import xml.etree.ElementTree as ET
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest
from drawn_book import (
    BOOK,
    CGATS,
    INKS,
    MEASURED,
    NIGHT,
    PPI,
    batched,
    cellar,
    changed,
    command,
    digests,
    draw_book,
    plate_of,
    plates,
    states,
)
from plate_files import write_png, write_tiff

from inkmix.cli.main import run

SPREADS = ("1", "2", "10")
MASKED = NIGHT.replace("cellar.png", "{spread}.png")
REFERENCE = '\n[reference]\npicture = "looks/{spread}.png"\n'
FILES = {"index.html", "batch.json", "spreads.csv", "findings.csv", "junit.xml"}


def row_of(document: dict, name: str) -> dict:
    return next(row for row in document["rows"] if row["name"] == name)


def written(folder: Path, name: str = "1") -> tuple[int, ...]:
    """When the files of a report were written; changes only when they are written again."""
    files = ("report.html", "report.json", "kept.json")
    return tuple((folder / "reports" / name / file).stat().st_mtime_ns for file in files)


def masked_book(folder: Path, text: str, spreads=SPREADS) -> Path:
    """A book with a mask and a reference picture a spread, and a measured ink."""
    draw_book(folder, text, spreads=spreads)
    (folder / "looks").mkdir()
    rng = np.random.default_rng(0)
    for name in spreads:
        write_png(folder / "masks" / f"{name}.png", cellar(), PPI)
        picture = rng.integers(60, 200, (*cellar().shape, 3)).astype(np.uint8)
        write_png(folder / "looks" / f"{name}.png", picture, PPI)
    return folder


@pytest.fixture(scope="module")
def run_once(tmp_path_factory) -> Path:
    """A book of which every spread passes, after a run; to be copied."""
    text = MEASURED + MASKED + REFERENCE
    folder = masked_book(tmp_path_factory.mktemp("once") / "book", text)
    assert run(["batch", str(folder), "--engine", "threads"]) == 0
    return folder


@pytest.fixture(scope="module")
def failed_once(tmp_path_factory) -> Path:
    """A book of one spread that fails every check, after a run; to be copied."""
    folder = masked_book(tmp_path_factory.mktemp("failed") / "book", FAILING, spreads=("1",))
    assert run(["batch", str(folder), "--engine", "threads"]) == 1
    return folder


def darker(folder: Path, spread: str, ink: str = "Rowan", by: int = 30) -> None:
    """A plate with more ink everywhere."""
    numbers = np.clip(plates()[ink].astype(int) - by, 0, 255).astype(np.uint8)
    write_tiff(plate_of(folder, ink, spread), numbers, PPI)


# --- what it writes ------------------------------------------------------------------------------


def test_every_spread_in_natural_order(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    document = batched(folder, capfd)
    assert states(document) == {"1": "pass", "2": "pass", "10": "pass"}
    assert list(states(document)) == ["1", "2", "10"]
    reports = folder / "reports"
    assert {path.name for path in reports.iterdir()} == FILES | set(SPREADS)
    for row in document["rows"]:
        report = json.loads((reports / row["name"] / "report.json").read_text(encoding="utf-8"))
        assert report["verdict"] == row["checked"]["verdict"]
    assert "All 3 spreads pass" in document["err"]
    assert f"index: {reports / 'index.html'}" in document["err"]


def test_a_report_is_the_one_that_check_writes(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    batched(folder, capfd)
    assert command(capfd, "check", folder, "--spread", "2", "--to", tmp_path / "one").code == 0
    for name in ("report.html", "report.json"):
        assert (tmp_path / "one" / name).read_bytes() == (
            folder / "reports" / "2" / name
        ).read_bytes()


def test_inputs_stay_as_they_are(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    before = digests(folder)
    batched(folder, capfd, "--to", tmp_path / "out")
    assert digests(folder) == before
    assert {path.name for path in (tmp_path / "out").iterdir()} >= FILES


def test_one_fails(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    darker(folder, "2", by=250)
    document = batched(folder, capfd)
    assert states(document) == {"1": "pass", "2": "fail", "10": "pass"}
    assert document["exit_code"] == 1
    (shown, *_) = row_of(document, "2")["findings"]
    assert shown["finding"]["check"] == "total ink"
    assert f"  2: fail: {shown['finding']['sentence']}" in document["err"]
    with (folder / "reports" / "findings.csv").open(encoding="utf-8-sig", newline="") as file:
        assert {row["spread"] for row in csv.DictReader(file)} == {"2"}
    junit = ET.parse(folder / "reports" / "junit.xml").getroot()
    failing = [
        case.get("classname") for case in junit.iter("testcase") if case.find("failure") is not None
    ]
    assert failing == ["Two panels.2"]


def test_what_is_damaged_is_told_and_the_others_are_done(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    os.truncate(plate_of(folder, "Fjord", "2"), 300)
    darker(folder, "10", by=250)
    document = batched(folder, capfd)
    assert states(document) == {"1": "pass", "2": "unreadable", "10": "fail"}
    assert document["exit_code"] == 3
    assert "Fjord.tif" in row_of(document, "2")["faults"][0]["where"]
    assert not (folder / "reports" / "2").exists()


def test_ink_use_is_the_mean_coverage_times_the_sheet(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1", "2"))
    document = batched(folder, capfd)
    report = json.loads((folder / "reports" / "1" / "report.json").read_text(encoding="utf-8"))
    sheet_m2 = cellar().size * (0.0254 / PPI) ** 2
    for use, ink, total in zip(
        row_of(document, "1")["checked"]["inks"], report["inks"], document["inks"], strict=True
    ):
        assert use["solid_m2"] == pytest.approx(sheet_m2 * ink["mean_coverage_pct"] / 100, abs=1e-6)
        tone_pct = 100 * (1 - plates()[use["ink"]] / 255).mean()
        assert use["mean_tone_pct"] == pytest.approx(tone_pct, abs=1e-6)
        assert total["solid_m2"] == pytest.approx(2 * use["solid_m2"], abs=2e-6)
        assert total["spreads"] == 2


# --- what is computed again ----------------------------------------------------------------------


def test_a_second_run_computes_nothing_and_writes_the_same(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    batched(folder, capfd)
    times = {name: written(folder, name) for name in SPREADS}
    second = batched(folder, capfd)
    assert {name: written(folder, name) for name in SPREADS} == times
    before = digests(folder)
    batched(folder, capfd)
    assert digests(folder) == before
    assert second["compared"]
    batched(folder, capfd, "--again")
    assert digests(folder) == before
    assert all(written(folder, name) != times[name] for name in SPREADS)


def change_plate(folder: Path) -> None:
    darker(folder, "1", by=1)


def change_mask(folder: Path) -> None:
    mask = cellar()
    mask[20] = 0
    write_png(folder / "masks" / "1.png", mask, PPI)


def change_reference(folder: Path) -> None:
    write_png(folder / "looks" / "1.png", np.full((*cellar().shape, 3), 90, np.uint8), PPI)


def change_measurement(folder: Path) -> None:
    (folder / "rowan.txt").write_text(CGATS.replace("34.0 21.0 7.0", "34.0 21.0 7.2"))


def change_book(folder: Path) -> None:
    text = (folder / "book.toml").read_text(encoding="utf-8")
    (folder / "book.toml").write_text(text.replace("ink_limit_pct = 260", "ink_limit_pct = 261"))


def add_plate(folder: Path) -> None:
    write_tiff(plate_of(folder, "Moss", "1"), plates()["Rowan"], PPI)


def spoil_report(folder: Path) -> None:
    page = folder / "reports" / "1" / "report.html"
    page.write_bytes(page.read_bytes()[:-1])


def lose_report(folder: Path) -> None:
    (folder / "reports" / "1" / "report.json").unlink()


ALL, ONE = set(SPREADS), {"1"}


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (change_plate, ONE),
        (change_mask, ONE),
        (change_reference, ONE),
        (add_plate, ONE),
        (spoil_report, ONE),
        (lose_report, ONE),
        (change_measurement, ALL),
        (change_book, ALL),
    ],
)
def test_what_changed_is_checked_again_and_nothing_else(
    change, expected, run_once, tmp_path, capfd
):
    folder = shutil.copytree(run_once, tmp_path / "book")
    times = {name: written(folder, name) for name in SPREADS}
    change(folder)
    batched(folder, capfd)
    again = {name for name in SPREADS if written(folder, name) != times[name]}
    assert again == expected


@pytest.mark.parametrize(
    "more",
    [
        "\n# a word\n",
        '\n[[waive]]\ncheck = "night"\nrests_on = "0123456789ab"\nreason = "so"\nby = "M. Quill"\n',
        '\n[[override]]\nspreads = ["10"]\n[override.press]\nink_limit_pct = 300\n',
    ],
    ids=["comment", "waiver", "override of another"],
)
def test_what_says_nothing_about_a_spread_leaves_it_as_it_is(more, tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=SPREADS)
    batched(folder, capfd)
    times = written(folder)
    (folder / "book.toml").write_text(BOOK + NIGHT + more)
    batched(folder, capfd)
    assert written(folder) == times


def test_another_program_checks_everything_again(tmp_path, capfd, monkeypatch):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1",))
    batched(folder, capfd)
    times = written(folder)
    for place in ("key", "task", "work"):
        monkeypatch.setattr(f"inkmix.batch.{place}.program_digest", lambda: "another")
    batched(folder, capfd)
    assert written(folder) != times


def test_a_report_of_check_is_taken_over_once_checked(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1",))
    batched(folder, capfd)
    times = written(folder)
    command(capfd, "check", folder)
    batched(folder, capfd)
    assert written(folder)[2] == times[2], "check wrote the same report: it still is the one kept"


# --- since the last run --------------------------------------------------------------------------


def test_new_and_gone_since_the_last_run(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT, spreads=("1", "2", "3"))
    darker(folder, "1", by=250)
    assert not batched(folder, capfd)["compared"]
    write_tiff(plate_of(folder, "Rowan", "1"), plates()["Rowan"], PPI)
    darker(folder, "2", by=250)
    (folder / "plates" / "3").rename(folder / "plates" / "4")
    document = batched(folder, capfd)
    assert states(document) == {"1": "pass", "2": "fail", "4": "pass"}
    assert document["lost"] == ["3"]
    assert [row["is_new"] for row in document["rows"]] == [False, False, True]
    assert [len(row["gone"]) > 0 for row in document["rows"]] == [True, False, False]
    assert all(one["is_new"] for one in row_of(document, "2")["findings"])
    third = batched(folder, capfd)
    assert third["lost"] == []
    assert not any(one["is_new"] for row in third["rows"] for one in row["findings"])


# --- waivers and overrides -----------------------------------------------------------------------


def waive(finding: dict, spread: str) -> str:
    return (
        f'\n[[waive]]\nspread = "{spread}"\ncheck = "{finding["check"]}"\n'
        f'name = "{finding["name"]}"\nrests_on = "{finding["rests_on"]}"\n'
        'reason = "the printer agreed"\nby = "M. Quill"\n'
    )


def test_a_waiver_holds_until_the_plate_changes(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1", "2"))
    darker(folder, "1", by=250)
    darker(folder, "2", by=250)
    document = batched(folder, capfd)
    assert document["exit_code"] == 1
    findings = [one["finding"] for one in row_of(document, "1")["findings"]]
    text = BOOK + "".join(waive(finding, "1") for finding in findings)
    (folder / "book.toml").write_text(text)
    document = batched(folder, capfd)
    assert states(document) == {"1": "waived", "2": "fail"}
    assert {use["state"] for use in document["waivers"]} == {"in force"}
    darker(folder, "1", by=203)
    document = batched(folder, capfd)
    assert states(document) == {"1": "fail", "2": "fail"}
    assert {use["state"] for use in document["waivers"]} == {"expired"}
    assert all(one["expired"] for one in row_of(document, "1")["findings"])


def pooled(folder: Path, *, right: int = 255, sky: int = 0) -> None:
    """Plates of full ink in two places, one a panel; more ink at the edge between them."""
    for index, ink in enumerate(INKS):
        numbers = np.full_like(plates()[ink], 255)
        numbers[0, index] = 254  # no two plates are the same file
        numbers[30:60, 20:80] = 3
        numbers[30:60, 150:210] = 255 - right
        numbers[100:130, 200:210] = 255 - sky
        write_tiff(plate_of(folder, ink, "1"), numbers, PPI)


POOL_NIGHT = """
[[night]]
name = "pool"
rect_mm = [0, 0, 27, 34]
lightest_L = 20
"""


def test_a_change_in_another_panel_leaves_a_waiver_in_force(tmp_path, capfd):
    """Of two places over the limit the right one is worse, then mended, then worse again.

    The left one is area 2, then area 1, then area 2: its waiver holds all the time; so does that of
    the night in its panel.
    """
    folder = draw_book(tmp_path / "book", BOOK + POOL_NIGHT, spreads=("1",))
    pooled(folder)
    found = [one["finding"] for one in row_of(batched(folder, capfd), "1")["findings"]]
    waived = [one for one in found if one["check"] == "night" or one["name"] == "area 2"]
    assert [one["cols_px"][1] <= 118 for one in waived] == [True, True]
    text = BOOK + POOL_NIGHT + "".join(waive(one, "1") for one in waived)
    (folder / "book.toml").write_text(text)
    for right, sky, state in ((200, 0, "waived"), (254, 0, "fail"), (200, 60, "waived")):
        pooled(folder, right=right, sky=sky)
        document = batched(folder, capfd)
        assert states(document) == {"1": state}
        assert {use["state"] for use in document["waivers"]} == {"in force"}
        assert "expired" not in document["err"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda folder: darker(folder, "1", by=203), "the plates there"),
        (lambda folder: replace_in(folder, "ink_limit_pct = 260", "ink_limit_pct = 150"),
         "the ink limit"),
        (lambda folder: replace_in(folder, "bleed_mm = 3", "bleed_mm = 2.9"), "the sheet"),
    ],
)  # fmt: skip
def test_the_console_and_the_index_say_what_made_a_waiver_expire(change, words, tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("1",))
    darker(folder, "1", by=250)
    (one,) = row_of(batched(folder, capfd), "1")["findings"]
    (folder / "book.toml").write_text(BOOK + waive(one["finding"], "1"))
    change(folder)
    document = batched(folder, capfd)
    (use,) = document["waivers"]
    assert (use["state"], use["changed"]) == ("expired", [words])
    said = f"expired after a change in {words}"
    assert f"waiver of spread 1, total ink: area 1: {said}\n" in document["err"]
    assert (folder / "reports" / "index.html").read_text("utf-8").count(said) == 2


def test_a_mask_that_was_drawn_anew_is_said_to_end_the_waiver_of_its_night(tmp_path, capfd):
    text = BOOK + MASKED.replace("= 40", "= 12")
    folder = masked_book(tmp_path / "book", text, spreads=("1",))
    (one,) = row_of(batched(folder, capfd), "1")["findings"]
    (folder / "book.toml").write_text(text + waive(one["finding"], "1"))
    change_mask(folder)
    document = batched(folder, capfd)
    assert document["waivers"][0]["changed"] == ["the area or its mask"]
    assert "night: cellar: expired after a change in the area or its mask\n" in document["err"]


def test_a_waiver_of_a_misspelt_spread_is_said(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK, spreads=("harbour",))
    darker(folder, "harbour", by=250)
    (one,) = row_of(batched(folder, capfd), "harbour")["findings"]
    (folder / "book.toml").write_text(BOOK + waive(one["finding"], "habour"))
    document = batched(folder, capfd)
    assert states(document) == {"harbour": "fail"}
    (use,) = document["waivers"]
    assert (use["state"], use["nearest"]) == ("no such spread", "harbour")
    assert (
        "waiver of spread habour, total ink: area 1: does nothing: the book has no spread of that "
        "name; did you mean harbour?\n" in document["err"]
    )


def replace_in(folder: Path, old: str, new: str) -> None:
    """One place of the book changed."""
    path = folder / "book.toml"
    path.write_text(changed(old, new, path.read_text("utf-8")))


def rests(folder: Path, capfd) -> dict[str, str]:
    """What each finding of spread 1 rests on."""
    batched(folder, capfd)
    return rested(folder)


def rested(folder: Path) -> dict[str, str]:
    """The same as the last run found it."""
    found = row_of(json.loads((folder / "reports" / "batch.json").read_bytes()), "1")["findings"]
    return {f["finding"]["check"]: f["finding"]["rests_on"] for f in found}


TONE = """
[[tones]]
name = "brick"
mix = { Rowan = 80, Soot = 20 }
lab = [20, 40, -40]
tolerance_de00 = 2
"""
FAILING = MEASURED.replace("260", "120") + MASKED.replace("= 40", "= 12") + TONE
CHECKS = {"total ink", "night", "named tones"}


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (change_plate, {"total ink", "night"}),
        (change_mask, {"night"}),
        (change_measurement, {"night", "named tones"}),
    ],
)
def test_what_a_finding_rests_on(change, expected, failed_once, tmp_path, capfd):
    folder = shutil.copytree(failed_once, tmp_path / "book")
    before = rested(folder)
    assert set(before) == CHECKS
    change(folder)
    after = rests(folder, capfd)
    assert {check for check in CHECKS if after[check] != before[check]} == expected


def test_a_mask_counts_however_its_path_is_written(tmp_path, capfd):
    text = BOOK + MASKED.replace("masks/", "./masks//").replace("= 40", "= 12")
    folder = masked_book(tmp_path / "book", text, spreads=("1",))
    before = rests(folder, capfd)
    change_mask(folder)
    assert set(before) == {"night"}
    assert rests(folder, capfd) != before


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("ink_limit_pct = 120", "ink_limit_pct = 121", {"total ink"}),
        ("lightest_L = 12", "lightest_L = 13", {"night"}),
        ("tolerance_de00 = 2", "tolerance_de00 = 2.5", {"named tones"}),
        ("bleed_mm = 3", "bleed_mm = 3.01", {"total ink", "night"}),
        ('name = "Rowan"', 'name = "Rowan"\npolarity = "dark is ink"', {"night", "named tones"}),
        ("[strip]", "page = 1\n[strip]", set()),
        ('title = "Two panels"', 'title = "Three"', set()),
    ],
)
def test_what_a_finding_rests_on_in_the_book(old, new, expected, failed_once, tmp_path, capfd):
    folder = shutil.copytree(failed_once, tmp_path / "book")
    before = rested(folder)
    (folder / "book.toml").write_text(changed(old, new, FAILING))
    after = rests(folder, capfd)
    assert {check for check in CHECKS if after[check] != before[check]} == expected


COVER = """
[[override]]
spreads = ["cover"]
paper = { lab = [96, 0, 1], class = "coated" }

[override.press]
ink_limit_pct = 300

[[override.inks]]
name = "Soot"
lab = [18, 1, 1]

[[override.inks]]
name = "Ember"
lab = [50, 60, 45]
"""


def test_a_cover_on_another_stock_in_other_inks(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + COVER, spreads=("1", "cover"))
    for ink in INKS[1:]:
        plate_of(folder, ink, "cover").unlink()
    write_tiff(plate_of(folder, "Ember", "cover"), plates()["Rowan"], PPI)
    document = batched(folder, capfd)
    assert states(document) == {"1": "pass", "cover": "pass"}
    inner, cover = (row_of(document, name)["checked"] for name in ("1", "cover"))
    assert [use["ink"] for use in cover["inks"]] == ["Soot", "Ember"]
    assert (inner["paper"], cover["paper"]) == ("uncoated paper", "coated paper")
    assert (inner["ink_limit_pct"], cover["ink_limit_pct"]) == (260, 300)
    totals = {total["ink"]: total["spreads"] for total in document["inks"]}
    assert totals == {"Soot": 2, "Fjord": 1, "Rowan": 1, "Ember": 1}


# --- options -------------------------------------------------------------------------------------


def test_strict_counts_what_is_unsure(tmp_path, capfd):
    text = changed("lab = [26, 1, 1]", 'srgb = "#202020"') + NIGHT.replace("= 40", "= 90")
    folder = draw_book(tmp_path / "book", text, spreads=("1",))
    document = batched(folder, capfd)
    assert (states(document), document["exit_code"]) == ({"1": "unsure"}, 0)
    assert "\n  1: unsure: Cellar" in document["err"]
    assert batched(folder, capfd, "--strict")["exit_code"] == 1


@pytest.mark.skipif(os.name != "posix", reason="a terminal of POSIX")
def test_how_far_it_is_on_a_terminal(tmp_path):
    """All of it from the beginning, and nothing of it among what is said in the end."""
    folder = draw_book(tmp_path / "book", spreads=SPREADS)
    ours, theirs = os.openpty()
    line = [sys.executable, "-m", "inkmix", "batch", folder, "--engine", "threads"]
    with os.fdopen(ours, "rb", buffering=0) as terminal:
        run = subprocess.Popen(line, stderr=theirs, env={**os.environ, "TERM": "xterm"})
        os.close(theirs)
        shown = b""
        with suppress(OSError):  # so a terminal ends
            while piece := terminal.read(4096):
                shown += piece
        assert run.wait(timeout=60) == 0
    text = shown.decode()
    assert text.index("0/3") < text.index("3/3") < text.rindex("left")
    index = folder.resolve() / "reports" / "index.html"
    assert text.endswith(f"All 3 spreads pass.\r\nindex: {index}\r\n")


@pytest.mark.parametrize("engine", ["carts", "dask", "process"])
def test_an_engine_that_there_is_not(engine, tmp_path, capfd):
    ran = command(capfd, "batch", draw_book(tmp_path / "book"), "--engine", engine)
    assert ran.code == 2
    assert f'there is no engine "{engine}"; there are processes, threads, and dask:tcp' in ran.err


@pytest.mark.parametrize("workers", ["0", "-1", "many"])
def test_a_number_of_workers_that_cannot_be(workers, tmp_path, capfd):
    assert command(capfd, "batch", draw_book(tmp_path / "book"), "--workers", workers).code == 2
