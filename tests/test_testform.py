"""A test form: what it prints, where it lies, and that plates, list and document tell the same."""

import json
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import tifffile
from drawn_book import BOOK, draw_book
from PIL import Image

from inkmix.base.errors import OutputError, UsageError
from inkmix.cli.main import run
from inkmix.colour.measured.cgats import parse_patch_list
from inkmix.jobs.books import read_book
from inkmix.jobs.testform.make import form_of_book
from inkmix.pages.testform.write import write_testform
from inkmix.press.forms.values import KINDS

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
def test_nothing_is_over_the_ink_limit(count, tmp_path):
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


def test_a_second_run_replaces_the_first_and_a_file_of_others_stays(tmp_path):
    book = book_of(tmp_path / "book", text_of(1))
    write_testform(book, tmp_path / "form", sheet_mm=A5)
    first = document(tmp_path / "form")
    write_testform(book, tmp_path / "form", sheet_mm=A5, repeats=1)
    assert document(tmp_path / "form") != first
    (tmp_path / "form" / "testform.txt").write_text("notes of mine", encoding="utf-8")
    with pytest.raises(OutputError, match=r"testform\.txt: already exists"):
        write_testform(book, tmp_path / "form", sheet_mm=A5)


def test_from_the_command_line(tmp_path, capsys):
    book_of(tmp_path / "book", text_of(2))
    words = ["testform", str(tmp_path / "book"), "--to", str(tmp_path / "form"), "--sheet"]
    assert run([*words, "210x148"]) == 0
    said = capsys.readouterr().err
    assert "inkmix calibrate" in said
    with Image.open(tmp_path / "form" / "testform.png") as picture:
        assert picture.width == 2480
