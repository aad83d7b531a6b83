"""What lies among the plates and is none is named by check and batch, and nothing is dropped."""

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from inkmix.book.meant.plates import find_spread, look_into
from inkmix.book.values import Book
from inkmix.cli.main import run
from inkmix.jobs.books import read_book

BOOK = """format = 1
title = "strays"
[paper]
swatch = "night-ferry/uncoated"
[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"
[[inks]]
name = "Rowan"
swatch = "night-ferry/Rowan"
[press]
process = "sheet-fed offset"
[plates]
pattern = "plates/{spread}/{ink}.tif"
"""
NIGHT = """[[night]]
name = "sky"
mask = "plates/{spread}/sky.png"
lightest_L = 40
"""


def plate(path: Path, corner: int) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    pixels = np.full((72, 72), 150, np.uint8)
    pixels[:corner, :9] = 255
    if path.suffix.lower() == ".png":
        Image.fromarray(pixels).save(path, dpi=(360, 360))
    else:
        tifffile.imwrite(path, pixels, photometric="minisblack", resolution=(360, 360),
                         resolutionunit=2)  # fmt: skip


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """Two plates in two formats, and what somebody left beside them."""
    plate(tmp_path / "plates/01/Soot.TIF", 9)
    plate(tmp_path / "plates/01/Rowan.png", 10)
    (tmp_path / "plates/01/Soot.psd").touch()
    (tmp_path / "plates/01/old").mkdir()
    (tmp_path / "plates/loose.tif").touch()
    (tmp_path / "book.toml").write_text(BOOK, encoding="utf-8")
    return read_book(tmp_path)


STRAYS = (
    "plates/01/old: is a folder among the plates, where none is looked for; left out",
    "plates/01/Soot.psd: is no plate (these are TIFF or PNG files); left out",
    "plates/loose.tif: is not named as plates are, plates/{spread}/{ink}.tif; left out",
)


def test_they_are_notes_of_the_book_and_of_the_spread_that_is_asked_for(book: Book) -> None:
    found = look_into(book)
    assert found.strays == STRAYS
    assert found.spreads[0].notes == ()
    assert find_spread(book, "01").notes == STRAYS


def test_check_names_them(book: Book, capfd: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(book.folder)]) == 0
    told = capfd.readouterr().err
    report = book.folder / "reports" / "01" / "report.json"
    warnings = json.loads(report.read_text(encoding="utf-8"))["warnings"]
    for stray in STRAYS:
        assert f"note: {stray}" in told
        assert stray in warnings


def test_batch_names_them_once(book: Book) -> None:
    assert run(["batch", str(book.folder), "--engine", "threads"]) == 0
    document = json.loads((book.folder / "reports" / "batch.json").read_text(encoding="utf-8"))
    assert [note for note in document["notes"] if note in STRAYS] == list(STRAYS)
    assert document["rows"][0]["checked"]["notes"] == []


def test_what_the_book_names_is_no_stray(book: Book) -> None:
    """A mask among the plates, on any spread; in a flat folder the book itself and its schema."""
    plate(book.folder / "plates" / "01" / "sky.png", 11)
    with book.path.open("a", encoding="utf-8") as file:
        file.write(NIGHT)
    found = look_into(read_book(book.folder))
    assert found.strays == STRAYS
    assert found.spreads[0].notes == ()


def test_in_a_flat_folder_the_book_and_its_schema_are_none(tmp_path: Path) -> None:
    for name in ("Soot.tif", "Rowan.tif", "book.schema.json", "letter.pdf"):
        (tmp_path / name).touch()
    text = BOOK.replace("plates/{spread}/{ink}", "{ink}")
    (tmp_path / "book.toml").write_text(text, encoding="utf-8")
    assert [note.partition(":")[0] for note in look_into(read_book(tmp_path)).strays] == [
        "letter.pdf"
    ]


def test_very_many_are_counted(book: Book) -> None:
    for number in range(30):
        (book.folder / "plates" / f"{number}.txt").touch()
    strays = look_into(book).strays
    assert len(strays) == 11
    assert strays[-1] == "23 more files among the plates are no plates; left out"
