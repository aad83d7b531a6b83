"""A test form: what it prints, where it lies, and that plates, list and document tell the same."""

import json
import shutil
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import tifffile
from drawn_book import BOOK, changed, digests, draw_book
from PIL import Image
from schemas import refuse_unlike

from inkmix.base.errors import OutputError, UsageError
from inkmix.cli.main import run
from inkmix.colour.measured.cgats import parse_patch_list
from inkmix.export.forms.lettering import width_mm
from inkmix.jobs.books import read_book
from inkmix.jobs.testform.make import form_of_book
from inkmix.pages.testform.document import form_schema
from inkmix.pages.testform.list import patch_table
from inkmix.pages.testform.write import write_testform
from inkmix.press.forms import mixes
from inkmix.press.forms.values import KINDS
from inkmix.press.scoring.keywords import stated_order

A5 = (210.0, 148.0)
INK = """
[[inks]]
name = "{}"
lab = {}
"""
OTHERS = {
    "Brass": "[78, 18, 70]",
    "Fog": "[74, -6, -14]",
    "Moss": "[50, -28, 24]",
    "Heather": "[52, 30, -30]",
    "Clay": "[60, 20, 22]",
}


def text_of(count: int, *, text: str = BOOK) -> str:
    """The book with one to eight inks."""
    head, _, tail = text.partition("[[inks]]")
    tables = ("[[inks]]" + tail.partition("[press]")[0]).split("[[inks]]")[1:]
    more = [INK.format(name, lab).replace("[[inks]]", "") for name, lab in OTHERS.items()]
    inks = "".join(f"[[inks]]{table.rstrip()}\n\n" for table in [*tables, *more][:count])
    return f"{head}{inks}[press]{tail.partition('[press]')[2]}"


def book_of(folder: Path, text: str = BOOK):
    folder.mkdir(parents=True, exist_ok=True)
    text = changed("[plates]", "[plates]\nppi = 150", text)  # no plates are there to tell it
    (folder / "book.toml").write_text(text, encoding="utf-8")
    return read_book(folder)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """A form of three inks on A5, whose book has plates; the folder and the form."""
    home = tmp_path_factory.mktemp("form")
    book = read_book(draw_book(home / "book"))
    return home / "form", write_testform(book, home / "form", sheet_mm=A5)


def plate(folder: Path, ink: str) -> np.ndarray:
    return tifffile.imread(folder / "plates" / "testform" / f"{ink}.tif")


def at_centre(numbers: np.ndarray, place, ppi: float) -> int:
    row = int((place["y_mm"] + place["height_mm"] / 2) / 25.4 * ppi)
    col = int((place["x_mm"] + place["width_mm"] / 2) / 25.4 * ppi)
    return int(numbers[row, col])


def document(folder: Path) -> dict:
    return json.loads((folder / "testform.json").read_bytes())


# --- what is printed ------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 8])
def test_nothing_is_over_the_ink_limit(count, tmp_path, monkeypatch):
    monkeypatch.setattr(mixes, "MOST_CANDIDATES", 100)  # eight inks take seconds with all
    form = form_of_book(book_of(tmp_path, text_of(count)), sheet_mm=(297, 210))
    totals = [sum(patch.tone_pct.values()) for patch in form.patches]
    assert max(totals) <= 260 + 1e-9
    assert form.drawing.mixes.sum(axis=1).max() <= 260 + 1e-9  # marks and words too
    assert len(form.inks) == count


def test_every_kind_is_there(written):
    _, form = written
    kinds = Counter(patch.kind for patch in form.patches)
    assert set(kinds) == set(KINDS) - {"named tone", "over complement"}
    assert kinds["paper"] == 3  # a pair, and once more
    assert len(form.over_limit) == 1  # all three: 300 %


def test_a_plate_holds_exactly_what_the_document_says(written):
    folder, form = written
    said = document(folder)
    plates = {ink: plate(folder, ink) for ink in form.inks}
    assert len(said["patches"]) == len(form.patches)
    for place in (*said["patches"], *said["fields"]):
        for ink, tone_pct in place["tone_pct"].items():
            number = at_centre(plates[ink], place, said["ppi"])
            assert (255 - number) / 255 * 100 == pytest.approx(tone_pct, abs=1e-4)  # four decimals


def test_a_patch_is_even_up_to_its_edges(written):
    folder, form = written
    soot = plate(folder, "Soot")
    for patch in form.patches:
        top, left = (round(side / 25.4 * form.ppi) for side in (patch.y_mm, patch.x_mm))
        side = round(patch.width_mm / 25.4 * form.ppi)
        room = soot[top : top + side, left : left + side]
        assert np.ptp(room) == 0


def test_the_list_says_the_same_as_the_document(written):
    folder, form = written
    table = parse_patch_list((folder / "testform.txt").read_bytes(), where="testform.txt")
    assert table.plates == form.inks
    assert [*table.sample_names] == [str(patch.number) for patch in form.patches]
    tones = [[patch.tone_pct[ink] for ink in form.inks] for patch in form.patches]
    assert np.array_equal(table.tone_pct, tones)


def test_plates_have_the_size_and_resolution_that_are_told(written):
    folder, form = written
    with tifffile.TiffFile(folder / "plates" / "testform" / "Rowan.tif") as file:
        page = file.pages[0]
        assert (page.imagewidth, page.imagelength) == (2480, 1748)  # 210 × 148 mm at 300 ppi
        assert page.resolution == (300.0, 300.0)
    assert form.ppi == 300  # the book's plates have 100, too few


def test_random_order_keeps_list_and_plates_together(tmp_path):
    book = book_of(tmp_path / "book", text_of(2))
    usual = form_of_book(book, sheet_mm=A5)
    mixed = write_testform(book, tmp_path / "form", sheet_mm=A5, seed=7)
    assert [patch.tone_pct for patch in mixed.patches] != [one.tone_pct for one in usual.patches]
    assert Counter(map(mix_of, mixed.patches)) == Counter(map(mix_of, usual.patches))
    soot = plate(tmp_path / "form", "Soot")
    for place in document(tmp_path / "form")["patches"]:
        number = at_centre(soot, place, mixed.ppi)
        assert 100 - number / 2.55 == pytest.approx(place["tone_pct"]["Soot"], abs=1e-4)
    again = form_of_book(book, sheet_mm=A5, seed=7)
    assert again.patches == mixed.patches


def mix_of(patch) -> tuple[float, ...]:
    return tuple(patch.tone_pct.values())


def test_the_list_states_the_lay_down_order(written):
    _, form = written
    assert stated_order(patch_table(form)) == form.inks


def test_the_document_holds_to_its_schema(written):
    folder, _ = written
    refuse_unlike(form_schema, document(folder))


def test_marks_are_where_the_document_says(written):
    folder, form = written
    soot = plate(folder, "Soot")
    odd = [mark["corner"] for mark in document(folder)["corners"] if mark["has_core"]]
    assert odd == ["top left"]
    for mark in document(folder)["corners"]:
        left, top, side = (mark[key] / 25.4 * form.ppi for key in ("x_mm", "y_mm", "width_mm"))
        along = [soot[int(top + side / 2), int(left + side * share)] for share in (0.1, 0.3, 0.5)]
        core = 0 if mark["has_core"] else 255
        assert along == [0, 255, core]  # ring, hole, core; 0 is full ink


def test_lines_have_the_width_that_is_told(written):
    folder, form = written
    (lines,) = (one for one in form.marks if one.kind == "lines" and one.inks == ("Rowan",))
    rowan = plate(folder, "Rowan")
    row = int((lines.y_mm + lines.height_mm / 2) / 25.4 * form.ppi)
    left = round(lines.x_mm / 25.4 * form.ppi)
    stop = left + round(10 / 25.4 * form.ppi)  # the first of four groups: lines downwards
    edges = np.flatnonzero(np.diff(np.pad(rowan[row, left:stop] == 0, 1).astype(int)))
    widths_mm = (edges[1::2] - edges[::2]) / form.ppi * 25.4
    assert widths_mm == pytest.approx(lines.sizes_mm, abs=1e-4)
    assert lines.sizes_mm[0] == pytest.approx(25.4 / 300, abs=1e-4)  # one pixel; 0.05 mm is finer


def test_gaps_have_the_width_that_is_told(written):
    folder, form = written
    (gaps,) = (one for one in form.marks if one.kind == "gaps" and one.inks[1] == "Fjord")
    row = int((gaps.y_mm + gaps.height_mm / 2) / 25.4 * form.ppi)
    across = slice(*(round(x / 25.4 * form.ppi) for x in (gaps.x_mm, gaps.x_mm + gaps.width_mm)))
    soot, fjord = (plate(folder, ink)[row, across] == 0 for ink in gaps.inks)
    assert not (soot & fjord).any()
    ends = np.flatnonzero(np.diff(soot.astype(int)) < 0)
    starts = np.flatnonzero(np.diff(fjord.astype(int)) > 0)
    assert (starts - ends) / form.ppi * 25.4 == pytest.approx(gaps.sizes_mm, abs=1e-4)


def test_every_plate_bears_the_name_of_its_ink(written):
    folder, form = written
    foot = slice(round((form.height_mm - 10) / 25.4 * form.ppi), None)
    middle = slice(round(59 / 25.4 * form.ppi), round(150 / 25.4 * form.ppi))
    for ink in ("Fjord", "Rowan"):
        numbers = plate(folder, ink)[foot, middle]
        assert numbers.min() == 0  # nothing else of it is printed there
        assert len(np.unique(numbers)) > 10  # type, with tints at its edges


def test_known_fields_are_steps_of_the_ramp_that_is_measured(written):
    _, form = written
    ramp = {mix_of(patch) for patch in form.patches if patch.kind in ("ramp", "paper")}
    assert {tuple(field.tone_pct.values()) for field in form.fields} <= ramp
    beside = [field.tone_pct["Soot"] for field in form.fields if field.corner == "top right"]
    assert beside[0] == 0
    assert beside[-1] == 100
    assert len(set(beside)) == len(beside)


def test_repeats_are_apart(tmp_path):
    book = book_of(tmp_path)
    for seed in (None, 3):
        form = form_of_book(book, sheet_mm=(297, 210), repeats=3, seed=seed)
        found: dict[tuple[float, ...], list] = {}
        for patch in form.patches:
            found.setdefault(mix_of(patch), []).append(patch)
        again = [patches for patches in found.values() if len(patches) > 1]
        solids = [mix for mix, patches in found.items() if len(patches) == 3 and max(mix) == 100]
        assert len(solids) >= 3
        apart = min(
            np.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
            for patches in again
            for at, one in enumerate(patches)
            for other in patches[:at]
            if (one.kind, other.copy) != ("paper", 2) and (one.kind, one.copy) != ("paper", 2)
        )
        assert apart == pytest.approx(form.repeats_apart_mm, abs=1e-6)
        assert apart > 2 * form.patches[0].width_mm
    assert form_of_book(book, sheet_mm=(297, 210), repeats=1).repeats_apart_mm is None


def test_the_numbers_of_a_form_go_along_its_rows(written):
    _, form = written
    order = sorted(form.patches, key=lambda one: (one.y_mm, one.x_mm))
    assert [patch.number for patch in order] == list(range(1, len(order) + 1))
    assert len({patch.place for patch in order}) == len(order)


def test_nothing_overlaps_and_all_lies_on_the_sheet(written):
    _, form = written
    placed = [*form.patches, *form.corners, *form.fields, *form.marks]
    for at, one in enumerate(placed):
        assert one.x_mm >= 4 - 0.05  # margin, less half a pixel
        assert one.y_mm >= 4 - 0.05
        assert one.x_mm + one.width_mm <= form.width_mm - 4 + 0.05
        assert one.y_mm + one.height_mm <= form.height_mm - 4 + 0.05
        for other in placed[:at]:
            across = min(one.x_mm + one.width_mm, other.x_mm + other.width_mm)
            down = min(one.y_mm + one.height_mm, other.y_mm + other.height_mm)
            shared = (across - max(one.x_mm, other.x_mm), down - max(one.y_mm, other.y_mm))
            assert min(shared) < 1e-6


def test_the_plates_print_what_the_picture_shows(written, tmp_path):
    """The way back: the plates as a spread of the same book, read and coloured as any other."""
    folder, form = written
    shutil.copytree(folder / "plates", tmp_path / "plates")
    book = BOOK.partition("[strip]")[0]
    (tmp_path / "book.toml").write_text(book, encoding="utf-8")
    print_of_it = tmp_path / "print.png"
    assert run(["predict", str(tmp_path), "--spread", "testform", "--to", str(print_of_it)]) == 0
    with Image.open(print_of_it) as one, Image.open(folder / "testform.png") as other:
        again, picture = np.asarray(one).astype(int), np.asarray(other).astype(int)
    for patch in form.patches:
        row = int((patch.y_mm + patch.height_mm / 2) / 25.4 * form.ppi)
        col = int((patch.x_mm + patch.width_mm / 2) / 25.4 * form.ppi)
        # The table of colours that `predict` uses is within a few steps of the exact model.
        assert np.abs(again[row, col] - picture[row, col]).max() <= 4


# --- the book's own plates ------------------------------------------------------------------------

TWICE = changed("[press]", '[[inks]]\nname = "Soot 2"\nlab = [26, 1, 1]\nplate = "Soot"\n\n[press]')


def test_a_double_hit_has_no_plate_and_counts_twice(tmp_path):
    form = write_testform(book_of(tmp_path / "book", TWICE), tmp_path / "form", sheet_mm=A5)
    names = sorted(path.stem for path in (tmp_path / "form" / "plates" / "testform").iterdir())
    assert names == ["Fjord", "Rowan", "Soot"]
    assert form.plates[0].inks == ("Soot", "Soot 2")
    assert all(patch.tone_pct["Soot"] == patch.tone_pct["Soot 2"] for patch in form.patches)
    assert max(sum(patch.tone_pct.values()) for patch in form.patches) <= 260
    assert ("Soot", "Fjord") in form.over_limit  # 300 % with the second hit
    ramps = {patch.why for patch in form.patches if patch.kind == "ramp"}
    assert ramps == {"Soot", "Fjord", "Rowan"}


def test_a_plate_whose_light_is_ink(tmp_path):
    text = changed("lab = [33, 6, -34]", 'lab = [33, 6, -34]\npolarity = "light is ink"')
    form = write_testform(book_of(tmp_path / "book", text), tmp_path / "form", sheet_mm=A5)
    fjord = plate(tmp_path / "form", "Fjord")
    for patch in document(tmp_path / "form")["patches"]:
        tone8 = at_centre(fjord, patch, form.ppi)
        assert tone8 / 2.55 == pytest.approx(patch["tone_pct"]["Fjord"], abs=1e-4)


def test_a_book_that_keeps_png_plates(tmp_path):
    text = changed('"plates/{spread}/{ink}.tif"', '"{ink}/of-{spread}.png"', text_of(1))
    write_testform(book_of(tmp_path / "book", text), tmp_path / "form", sheet_mm=A5)
    with Image.open(tmp_path / "form" / "Soot" / "of-testform.png") as picture:
        assert (picture.mode, picture.width) == ("L", 1240)  # 210 mm at 150 ppi


def test_a_book_that_keeps_its_inks_in_one_file(tmp_path):
    text = changed('"plates/{spread}/{ink}.tif"', '"plates/{spread}.tif"', text_of(2))
    form = form_of_book(book_of(tmp_path, text), sheet_mm=A5)
    assert [one.file for one in form.plates] == [
        "plates/testform-Soot.tif",
        "plates/testform-Fjord.tif",
    ]
    assert any("one file" in note for note in form.notes)


def test_the_sheet_of_the_strip_is_taken_with_its_bleed(tmp_path):
    text = changed("panel_mm = [27, 34]", "panel_mm = [100, 140]")
    form = form_of_book(book_of(tmp_path, text))
    assert (form.width_mm, form.height_mm) == (206, 146)
    assert min(corner.x_mm for corner in form.corners) >= 3 + 4 - 0.09  # half a pixel


def test_plates_without_a_strip_give_the_size(tmp_path):
    folder = draw_book(tmp_path / "book", BOOK.partition("[strip]")[0])
    with pytest.raises(UsageError, match=r"is 59\.9 × 39\.9 mm"):  # 236 × 157 px at 100 ppi
        form_of_book(read_book(folder))


def test_without_an_ink_limit_no_more_than_four_inks(tmp_path):
    text = changed("ink_limit_pct = 260\n", "", text_of(5)).replace(
        '"sheet-fed offset"', '"screen print"'
    )
    form = form_of_book(book_of(tmp_path, text), sheet_mm=(297, 210))
    held = [sum(tone > 0 for tone in mix_of(patch)) for patch in form.patches]
    assert max(held) == 4
    assert form.ink_limit_pct is None
    assert any("ask your printer" in note for note in form.notes)


def test_a_solid_over_the_limit_is_refused(tmp_path):
    text = changed("ink_limit_pct = 260", "ink_limit_pct = 90")
    with pytest.raises(UsageError, match="its solid is over the ink limit of 90 %"):
        form_of_book(book_of(tmp_path, text), sheet_mm=A5)


NAMED = """
[[tones]]
name = "dusk"
mix = { Soot = 40, Rowan = 60 }
intended = "#5a3a40"
"""


def test_named_tones_are_printed_as_plates_hold_them(tmp_path):
    form = form_of_book(book_of(tmp_path, BOOK + NAMED), sheet_mm=(297, 210))
    (dusk,) = (patch for patch in form.patches if patch.kind == "named tone")
    assert dusk.why == "dusk"
    assert dusk.tone_pct == pytest.approx({"Soot": 40, "Fjord": 0, "Rowan": 60})
    assert form.mixtures[0] == "dusk"


# --- a strip --------------------------------------------------------------------------------------


def test_a_strip_holds_ramps_and_what_tells_most(tmp_path):
    form = form_of_book(book_of(tmp_path), sheet_mm=(297, 210), small=20)
    kinds = Counter(patch.kind for patch in form.patches if patch.copy == 1)
    assert set(kinds) == {"paper", "ramp", "tint"}
    assert kinds["tint"] == 20
    assert form.height_mm < 80
    assert [gain.patches for gain in form.gains] == [0, 10, 20]
    errors = [form.expected_de00, *(gain.expected_de00 for gain in form.gains)]
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < errors[0]


def test_two_inks_have_fewer_tints_than_are_asked_for(tmp_path):
    form = form_of_book(book_of(tmp_path, text_of(2)), sheet_mm=A5, small=40)
    assert sum((one.kind, one.copy) == ("tint", 1) for one in form.patches) == 8
    assert any("only 8 tints" in note for note in form.notes)


def test_a_longer_strip_begins_as_a_shorter_one(tmp_path):
    book = book_of(tmp_path)
    short, long = (form_of_book(book, sheet_mm=(297, 210), small=count) for count in (10, 20))
    tints = [
        [mix_of(one) for one in form.patches if (one.kind, one.copy) == ("tint", 1)]
        for form in (short, long)
    ]
    assert tints[1][:10] == tints[0]
    assert short.gains == long.gains[:2]


# --- what is refused ------------------------------------------------------------------------------


def test_a_sheet_that_is_too_small(tmp_path):
    book = book_of(tmp_path)
    with pytest.raises(UsageError, match=r"at least \d+ mm high") as caught:
        form_of_book(book, sheet_mm=(120, 60))
    needed = int(str(caught.value).split("at least ")[1].split(" mm")[0])
    assert form_of_book(book, sheet_mm=(120, needed)).patches[0].width_mm >= 4.9  # whole pixels


def test_the_folder_of_the_book_is_refused(tmp_path):
    book = book_of(tmp_path)
    with pytest.raises(OutputError, match="own folder"):
        write_testform(book, tmp_path)


def test_a_form_that_may_be_printed_stays_unless_somebody_says_otherwise(tmp_path):
    """By the list of another form the readings of a print would be taken for other patches."""
    book = book_of(tmp_path / "book", text_of(1))
    write_testform(book, tmp_path / "form", sheet_mm=A5)
    first = digests(tmp_path / "form")
    for other in ({"repeats": 1}, {"sheet_mm": (200.0, 148.0)}):  # other patches, other places
        with pytest.raises(OutputError, match=r"may be printed already.*form-2.*--replace"):
            write_testform(book, tmp_path / "form", **{"sheet_mm": A5, **other})
    write_testform(book, tmp_path / "form", sheet_mm=A5)  # the very same
    assert digests(tmp_path / "form") == first
    (tmp_path / "form" / "testform.txt").write_bytes(b"")  # no list, though the places are there
    with pytest.raises(OutputError, match=r"testform\.json: belongs to an earlier form"):
        write_testform(book, tmp_path / "form", sheet_mm=A5, repeats=1)
    write_testform(book, tmp_path / "form", sheet_mm=A5, repeats=1, replace=True)
    assert document(tmp_path / "form")["repeats"] == 1


def test_a_file_of_others_stays(tmp_path):
    book = book_of(tmp_path / "book", text_of(1))
    (tmp_path / "form").mkdir()
    (tmp_path / "form" / "testform.txt").write_text("notes of mine", encoding="utf-8")
    with pytest.raises(OutputError, match=r"testform\.txt: already exists"):
        write_testform(book, tmp_path / "form", sheet_mm=A5, replace=True)


def test_from_the_command_line(tmp_path, capsys):
    book_of(tmp_path / "book", text_of(2))
    words = ["testform", str(tmp_path / "book"), "--to", str(tmp_path / "form"), "--sheet"]
    assert run([*words, "210x148"]) == 0
    said = capsys.readouterr().err
    assert "inkmix calibrate" in said
    with Image.open(tmp_path / "form" / "testform.png") as picture:
        assert picture.width == 1240


def test_words_that_are_no_sheet(tmp_path, capsys):
    book_of(tmp_path / "book", text_of(1))
    words = ["testform", str(tmp_path / "book"), "--to", str(tmp_path / "form"), "--sheet"]
    for wrong in ("A4", "297", "297x", "297x210x3", "nanx210"):
        assert run([*words, wrong]) == 2
        assert "sheet" in capsys.readouterr().err
    assert not (tmp_path / "form").exists()


def test_what_is_said(tmp_path, capsys):
    book_of(tmp_path / "book", BOOK + NAMED)
    words = ["testform", str(tmp_path / "book"), "--to", str(tmp_path / "form")]
    assert run([*words, "--sheet", "210x148"]) == 0
    said = capsys.readouterr().err
    for words in (
        "Left out, over the ink limit of 260 %: solids of Soot + Fjord + Rowan.",
        "in this order: Soot, Fjord and Rowan.",
        "Your printer's own control strip stays on the sheet",
        "what your printer says of ink and order counts more than this form",
        "if the press prints as the model thinks",
        "best as spectra, else as XYZ or Lab: densities alone do not tell a colour",
        "1  mixes that the book names",
        f"calibrate {tmp_path / 'book'} MEASUREMENTS --form {tmp_path / 'form'}",
    ):
        assert words in said


def test_titles_are_whole_on_a_small_sheet(tmp_path):
    """Smaller type, then fewer words: none is cut, and none runs into the marks."""
    form = form_of_book(book_of(tmp_path, text_of(3)), sheet_mm=(100, 80))
    words = [one for one in form.drawing.words if one.y < 12 or one.y > 70]
    assert not any(one.text.endswith("…") for one in words)
    (title,) = [one for one in words if one.text.startswith("Test form of Two panels")]
    assert title.size_pt >= 5
    left = min(corner.x_mm for corner in form.corners if "right" in corner.corner)
    ends = [one.x + width_mm(one.text, size_pt=one.size_pt) for one in words if one.align == "left"]
    assert max(ends) < left


def test_a_strip_may_be_for_the_edge_of_a_sheet(tmp_path):
    book = book_of(tmp_path, text_of(2))
    form = form_of_book(book, sheet_mm=(420, 55), small=10)
    assert form.height_mm <= 55
    with pytest.raises(UsageError, match=r"at least \d+ mm high"):
        form_of_book(book, sheet_mm=(420, 20), small=10)
