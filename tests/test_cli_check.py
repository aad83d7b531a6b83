"""`inkmix check` on sound books: exit codes, JSON, report, and every kind of plate that is read."""

import json
from pathlib import Path

import numpy as np
import pytest
from drawn_book import (
    BOOK,
    HEIGHT_PX,
    INKS,
    NIGHT,
    PPI,
    WIDTH_PX,
    changed,
    command,
    digests,
    draw_book,
    plate_of,
    plates,
)
from plate_files import write_separated, write_tiff
from schemas import refuse_unlike

from inkmix.pages.report.json_report import report_schema

TONE = """
[[tones]]
name = "brick"
mix = {{ Rowan = 80, Soot = 20 }}
lab = [{L}, {a}, {b}]
tolerance_de00 = {tolerance}
"""


def checked(folder: Path, capfd, *options: str) -> dict:
    """The report of a run that could be made."""
    ran = command(capfd, "check", folder, "--json", *options)
    assert ran.messages == []
    document = json.loads(ran.out)
    refuse_unlike(report_schema, document)
    written = folder / "reports" / document["spread"] / "report.json"
    assert written.read_text(encoding="utf-8") == ran.out
    return {"code": ran.code, "err": ran.err, **document}


def words(document: dict) -> str:
    return document["err"]


# --- verdicts and exit codes ---------------------------------------------------------------------


def test_a_book_that_passes(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    report = checked(folder, capfd)
    assert (report["verdict"], report["code"]) == ("pass", 0)
    assert checked(folder, capfd, "--strict")["code"] == 0


def test_opacity_is_told_with_whose_word_it_is_and_a_guess_is_a_question(tmp_path, capfd):
    told = changed("lab = [33, 6, -34]", 'lab = [33, 6, -34]\nopacity = "slightly opaque"')
    folder = draw_book(tmp_path / "book", changed("[52, 58, 40]", "[62, 58, 66]", told))
    report = checked(folder, capfd)
    assert [(ink["opacity"], ink["opacity_from"]) for ink in report["inks"]] == [
        (0.0, "usual"), (0.03, "told in the book"), (0.03, "guessed by its hue"),
    ]  # fmt: skip
    (question,) = [ask for ask in report["ask_printer"] if "opacity" in ask["what"]]
    assert (question["what"], question["whose"]) == ("Rowan, opacity", "guessed")
    assert "a guess by its hue" in question["why"]
    condition = report["condition"]
    assert [ink["name"] for ink in condition["process_inks"]] == ["Soot"]
    assert condition["spots"] == ["Fjord", "Rowan"]
    (caution,) = condition["cautions"]
    assert f"caution: {caution}" in words(report)
    assert condition["unproven"] == []
    assert not [note for note in report["warnings"] if "opacity" in note]  # a word needs no note
    numbers = changed('"slightly opaque"', "0.03", told)
    (note,) = [
        note
        for note in checked(draw_book(tmp_path / "old", numbers), capfd)["warnings"]
        if "opacity" in note
    ]
    assert "in older books it said how far the ink covers" in note


@pytest.mark.parametrize(
    ("text", "check"),
    [
        (changed("260", "120"), "total ink"),
        (BOOK + NIGHT.replace("= 40", "= 12"), "night"),
        (BOOK + TONE.format(L=20, a=40, b=-40, tolerance=2), "named tones"),
    ],
)
def test_a_book_that_fails(text, check, tmp_path, capfd):
    report = checked(draw_book(tmp_path / "book", text), capfd)
    assert (report["verdict"], report["code"]) == ("fail", 1)
    failing = {finding["check"] for finding in report["findings"] if finding["verdict"] == "fail"}
    assert failing == {check}


def test_the_terminal_lists_as_many_findings_as_the_page_and_counts_the_rest(tmp_path, capfd):
    tones = [f'[[tones]]\nname = "t{number}"\nmix = {{ Rowan = 80 }}\n' for number in range(43)]
    report = checked(draw_book(tmp_path / "book", BOOK + "".join(tones)), capfd)
    listed = [line for line in words(report).splitlines() if ". no limit given: " in line]
    assert len(listed) == 40
    assert "  ... 3 more; report.json holds all." in words(report)


def test_remedies_are_searched_for_as_many_nights_as_a_search_can_serve(
    tmp_path, capfd, monkeypatch
):
    monkeypatch.setattr("inkmix.checks.night.at_work.MOST_SEARCHED", 2)
    nights = [
        NIGHT.replace("= 40", f"= {limit}").replace('name = "', f'name = "{limit} ')
        for limit in (14, 10, 12, 40)
    ]
    report = checked(draw_book(tmp_path / "book", BOOK + "".join(nights)), capfd)
    helped = {finding["name"][:2] for finding in report["findings"] if finding["remedies"]}
    assert helped == {"10", "12"}  # farthest above their limits
    assert (
        "3 night areas are too light or unsure; remedies were looked for in the 2 that miss most"
        in words(report)
    )


def test_unsure_leaves_with_1_only_where_it_is_strict(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + TONE.format(L=41, a=36, b=26, tolerance=50))
    (tone,) = checked(folder, capfd)["tones"]
    distance = tone["de00"]
    text = BOOK + TONE.format(L=41, a=36, b=26, tolerance=distance + 0.2)
    (folder / "book.toml").write_text(text)
    report = checked(folder, capfd)
    assert (report["verdict"], report["code"]) == ("unsure", 0)
    assert checked(folder, capfd, "--strict")["code"] == 1


def test_the_same_bytes_twice(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT.replace("= 40", "= 12"))
    checked(folder, capfd)
    first = digests(folder)
    checked(folder, capfd)
    assert digests(folder) == first
    assert {"reports/front/report.html", "reports/front/report.json"} < first.keys()


def test_another_folder_and_a_named_spread(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", spreads=("front", "back"))
    target = tmp_path / "elsewhere" / "deep"
    ran = command(capfd, "check", folder / "book.toml", "--spread", "back", "--to", target)
    assert (ran.code, ran.out) == (0, "")
    assert f"written: {target / 'report.html'}" in ran.err
    assert json.loads((target / "report.json").read_text(encoding="utf-8"))["spread"] == "back"
    assert not (folder / "reports").exists()


def test_inputs_stay_as_they_are(tmp_path, capfd):
    folder = draw_book(tmp_path / "book", BOOK + NIGHT)
    before = digests(folder)
    checked(folder, capfd)
    after = digests(folder)
    assert {path: after[path] for path in before} == before


# --- how well it is known ------------------------------------------------------------------------


@pytest.mark.parametrize("limit_L", [1, 40, 99])
def test_no_verdict_on_a_screen_colour_is_pass(limit_L, tmp_path, capfd):
    text = changed("lab = [26, 1, 1]", 'srgb = "#000000"')
    text += NIGHT.replace("= 40", f"= {limit_L}") + TONE.format(L=40, a=36, b=26, tolerance=50)
    report = checked(draw_book(tmp_path / "book", text), capfd)
    assert report["condition"]["hints"] == ["Soot"]
    resting = [night["verdict"] for night in report["nights"]]
    resting += [tone["verdict"] for tone in report["tones"]]
    assert len(resting) == 2
    assert "pass" not in resting


@pytest.mark.parametrize("process", ["stencil duplicator", "screen print"])
def test_a_process_outside_the_evidence_says_so(process, tmp_path, capfd):
    text = changed("sheet-fed offset", process) + NIGHT.replace("= 40", "= 99")
    folder = draw_book(tmp_path / "book", text + TONE.format(L=40, a=36, b=26, tolerance=50))
    report = checked(folder, capfd)
    assert any(process in reason for reason in report["condition"]["unproven"])
    assert "pass" not in [item["verdict"] for item in (*report["nights"], *report["tones"])]
    page = (folder / "reports" / "front" / "report.html").read_text(encoding="utf-8")
    assert "Unproven:" in page


def test_offset_inks_by_their_solids_are_no_unproven_process(tmp_path, capfd):
    report = checked(draw_book(tmp_path / "book"), capfd)
    assert report["condition"]["unproven"] == []
    assert report["condition"]["hints"] == []


# --- kinds of plates -----------------------------------------------------------------------------


def mean_tones(report: dict) -> dict[str, float]:
    """Mean tone value of each plate, as the report says it."""
    return {ink["name"]: ink["mean_tone_pct"] for ink in report["inks"]}


def drawn_means() -> dict[str, float]:
    """The same from the drawing itself."""
    return {
        ink: float(100 * (1 - numbers.astype(float).mean() / 255))
        for ink, numbers in plates().items()
    }


def assert_plates_are_right(report: dict) -> None:
    """Means as drawn, to the last digit of the report."""
    told = mean_tones(report)
    for ink, mean in drawn_means().items():
        assert told[ink] == pytest.approx(mean, abs=5e-5)


def test_grey_plates(tmp_path, capfd):
    assert_plates_are_right(checked(draw_book(tmp_path / "book"), capfd))


def one_file(folder: Path, text: str) -> Path:
    """The book with its plates together in one file, which is still to be written."""
    draw_book(folder, text)
    for ink in INKS:
        plate_of(folder, ink).unlink()
    return folder / "plates" / "front.tif"


TOGETHER = changed("plates/{spread}/{ink}.tif", "plates/{spread}.tif")


def ink_amounts() -> list[np.ndarray]:
    return [255 - numbers for numbers in plates().values()]


def test_cmyk_with_told_channels(tmp_path, capfd):
    text = TOGETHER.replace(
        "{spread}.tif", '{spread}.tif"\nchannels = ["Fjord", "Rowan", "", "Soot'
    )
    text = text.replace('"Soot"\n\n[strip]', '"Soot"]\n\n[strip]')
    path = one_file(tmp_path / "book", text)
    soot, fjord, rowan = ink_amounts()
    write_separated(path, np.stack([fjord, rowan, 0 * soot, soot], axis=-1), ppi=PPI)
    report = checked(tmp_path / "book", capfd)
    assert_plates_are_right(report)
    assert "channel 4 of 4 is read as Soot" in words(report)


NAMES = ("Rowan", "Fjord", "Soot", "Varnish")


def test_inks_named_in_the_file(tmp_path, capfd):
    path = one_file(tmp_path / "book", TOGETHER)
    amounts = ink_amounts()
    write_separated(path, np.stack([*amounts[::-1], amounts[0]], axis=-1), NAMES, ppi=PPI)
    assert_plates_are_right(checked(tmp_path / "book", capfd))


def test_colour_whose_channels_are_equal(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    grey = plates()["Rowan"]
    write_tiff(plate_of(folder, "Rowan"), np.stack([grey] * 3, axis=-1), PPI, photometric="rgb")
    report = checked(folder, capfd)
    assert_plates_are_right(report)
    assert "R = G = B" in words(report)


def test_sixteen_bits_tiles_and_packing(tmp_path, capfd):
    folder = draw_book(tmp_path / "book")
    deep = plates()["Soot"].astype(np.uint16) * 257
    write_tiff(plate_of(folder, "Soot"), deep, PPI, compression="zlib", tile=(64, 64))
    write_tiff(plate_of(folder, "Fjord"), plates()["Fjord"], PPI, compression="lzw")
    assert_plates_are_right(checked(folder, capfd))


def test_a_line_plate_three_times_as_fine(tmp_path, capfd):
    """1200 beside 400 ppi; the line plate gains at its edges, not by a curve."""
    text = changed("[27, 34]", "[12, 10]").replace("bleed_mm = 3", "bleed_mm = 0")
    folder = draw_book(tmp_path / "book", text)
    rows, cols = round(10 / 25.4 * 400), round(24 / 25.4 * 400)
    for ink, number in (("Fjord", 200), ("Rowan", 240)):
        write_tiff(plate_of(folder, ink), np.full((rows, cols), number, np.uint8), 400)
    line = np.ones((3 * rows, 3 * cols), np.bool_)
    line[60:120, 90:900] = False
    write_tiff(plate_of(folder, "Soot"), line, 1200)
    report = checked(folder, capfd)
    assert report["code"] == 0
    told = mean_tones(report)
    assert told["Soot"] == pytest.approx(100 * 60 * 810 / line.size, abs=5e-5)
    assert told["Fjord"] == pytest.approx(100 * 55 / 255, abs=5e-5)


def test_a_spread_without_one_plate(tmp_path, capfd):
    text = changed("[plates]", '[plates]\nabsent = "empty"')
    folder = draw_book(tmp_path / "book", text)
    plate_of(folder, "Rowan").unlink()
    report = checked(folder, capfd)
    assert report["code"] == 0
    assert mean_tones(report)["Rowan"] == 0
    assert "Rowan: no plate in this spread, it prints nothing" in words(report)


def test_size_is_told_in_mm(tmp_path, capfd):
    sheet = checked(draw_book(tmp_path / "book"), capfd)["sheet"]
    assert (sheet["width_px"], sheet["height_px"]) == (WIDTH_PX, HEIGHT_PX)


def test_the_terminal_says_what_is_unproven_or_only_a_hint(tmp_path, capfd):
    text = changed("sheet-fed offset", "screen print")
    folder = draw_book(tmp_path / "book", text)
    said = command(capfd, "check", folder)
    assert "unproven: screen print" in said.err


@pytest.mark.parametrize("name", ["check", "batch"])
def test_where_nothing_can_be_written_is_said_first(name, tmp_path, capfd):
    """Exit code 2, whatever else is wrong: the plates are not there, which alone would be 3."""
    folder = draw_book(tmp_path / "book", BOOK)
    for ink in INKS:
        plate_of(folder, ink).unlink()
    assert command(capfd, name, folder).code == 3
    (tmp_path / "file").write_text("mine")
    ran = command(capfd, name, folder, "--to", tmp_path / "file")
    assert (ran.code, ran.out) == (2, "")
    assert "file: is a file, but a folder is needed for what is written" in ran.err
