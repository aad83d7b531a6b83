"""The same ink printed twice, end to end: a book of Soot, Fjord and Soot again, drawn here."""

import shutil
from pathlib import Path

import numpy as np
import pytest
from plate_files import write_tiff

from inkmix.book.read import read_book
from inkmix.errors import PlateError
from inkmix.simulate.check import check_spread
from inkmix.simulate.spread import open_spread

BOOK = """\
format = 1
title = "Two hits of soot"

[paper]
swatch = "night-ferry/uncoated"

[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"

[[inks]]
name = "Fjord"
swatch = "night-ferry/Fjord"

[[inks]]
name = "Soot 2"
swatch = "night-ferry/Soot"
{plate}

[press]
process = "sheet-fed offset"
ink_limit_pct = 280

[plates]
pattern = "{{spread}}/{{ink}}.tif"

[[night]]
name = "all of it"
rect_mm = [0, 0, 10, 10]
lightest_L = 30
"""


def drawn(folder: Path, *, plate: str = "") -> Path:
    """Book and plates of Soot and Fjord: an even night of 90 and 60 %, with a few lights."""
    (folder / "book.toml").write_text(BOOK.format(plate=plate), encoding="utf-8")
    (folder / "01").mkdir()
    soot, fjord = np.full((2, 100, 100), 255, np.uint8)
    soot[10:, :] -= 230
    fjord[10:, :] -= 153
    soot[50:52, 50:52] = fjord[60:62, 30:34] = 255
    write_tiff(folder / "01" / "Soot.tif", soot)
    write_tiff(folder / "01" / "Fjord.tif", fjord)
    return folder


def test_the_book_prints_one_plate_twice(tmp_path):
    book = read_book(drawn(tmp_path, plate='plate = "Soot"'))
    result = check_spread(book, "01")
    assert "Soot 2: prints the plate of Soot once more, a double hit" in result.warnings
    assert [ink.file for ink in result.inks] == ["01/Soot.tif", "01/Fjord.tif", "01/Soot.tif"]
    assert result.total_ink.max_pct == pytest.approx(100 * (230 + 153 + 230) / 255)
    assert result.nights[0].verdict != "not checked"


def test_a_copy_under_the_name_of_the_second_hit_prints_the_same(tmp_path):
    (tmp_path / "a").mkdir(), (tmp_path / "b").mkdir()
    told = check_spread(read_book(drawn(tmp_path / "a", plate='plate = "Soot"')), "01")
    folder = drawn(tmp_path / "b")
    shutil.copy(folder / "01" / "Soot.tif", folder / "01" / "Soot 2.tif")
    copied = check_spread(read_book(folder), "01")
    assert copied.warnings == told.warnings
    assert copied.nights == told.nights
    assert copied.total_ink == told.total_ink


def test_the_second_hit_deepens_night(tmp_path):
    book = read_book(drawn(tmp_path, plate='plate = "Soot"'))
    lookup = open_spread(book, "01").lookup()
    once, twice = np.array([[230, 153, 0], [230, 153, 230]], np.uint8)
    _, lightness = lookup.evaluate(np.stack([once, twice], axis=-1))
    assert lightness[1] < lightness[0] - 2 * 256  # at least 2 L*


def test_a_copy_for_another_ink_stays_a_fault(tmp_path):
    folder = drawn(tmp_path, plate='plate = "Soot"')
    shutil.copy(folder / "01" / "Soot.tif", folder / "01" / "Fjord.tif")
    with pytest.raises(PlateError, match="for both Soot and Fjord"):
        check_spread(read_book(folder), "01")


def test_without_plate_or_copy_the_second_hit_lacks_its_plate(tmp_path):
    with pytest.raises(PlateError, match=r"Soot 2: has no plate"):
        check_spread(read_book(drawn(tmp_path)), "01")
