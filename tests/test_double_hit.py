"""The same ink printed twice, end to end: a book of Soot, Fjord and Soot again, drawn here."""

import re
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from counted import open_spread
from known_inks import ink_from_reflectance, paper_from_lab, paper_from_reflectance
from plate_files import write_tiff

from inkmix.base.errors import PlateError
from inkmix.colour.colorimetry import lab_to_xyz100
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.jobs.printing.white import lookup_for
from inkmix.press.condition import Patches, press_condition
from inkmix.press.inks import ink_from_lab
from inkmix.press.processes import find_process

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
    result = check_spread(book, "01", remedies=False)
    assert "Soot 2: prints the plate of Soot once more, a double hit" in result.warnings
    assert [ink.file for ink in result.inks] == ["01/Soot.tif", "01/Fjord.tif", "01/Soot.tif"]
    assert result.facts["total_ink"].max_pct == pytest.approx(100 * (230 + 153 + 230) / 255)
    assert result.facts["nights"][0].verdict != "not checked"


def test_where_no_curve_is_enough_both_hits_are_put_forward_alike(tmp_path):
    folder = drawn(tmp_path, plate='plate = "Soot"')
    (folder / "book.toml").write_text(
        (folder / "book.toml").read_text("utf-8").replace("lightest_L = 30", "lightest_L = 15")
    )
    findings = check_spread(read_book(folder), "01", checks="night").findings
    said = [remedy.sentence for finding in findings for remedy in finding.remedies]
    assert re.search(r"\(Soot (\d+) \+ Fjord 100 \+ Soot 2 \1\)", said[0])
    assert not any(words.startswith("Under Soot, Soot 2") for words in said)


def test_a_copy_under_the_name_of_the_second_hit_prints_the_same(tmp_path):
    (tmp_path / "a").mkdir(), (tmp_path / "b").mkdir()
    told = check_spread(
        read_book(drawn(tmp_path / "a", plate='plate = "Soot"')), "01", remedies=False
    )
    folder = drawn(tmp_path / "b")
    shutil.copy(folder / "01" / "Soot.tif", folder / "01" / "Soot 2.tif")
    copied = check_spread(read_book(folder), "01", remedies=False)
    assert copied.warnings == told.warnings
    assert copied.facts["nights"] == told.facts["nights"]
    assert copied.facts["total_ink"] == told.facts["total_ink"]


def test_the_second_hit_deepens_night(tmp_path):
    book = read_book(drawn(tmp_path, plate='plate = "Soot"'))
    spread = open_spread(book, "01")
    lookup = lookup_for(spread, spread.condition, adapt_to_paper=False)
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


# --- solids of two inks, measured -----------------------------------------------------------------


def measured_press():
    """Black, a violet and black again, by their colours; two of three pairs are told (invented)."""
    paper = paper_from_lab("coated", (95, 1, -4), paper_class="coated")
    black = ink_from_lab("Soot", (16, 0, 0), paper=paper)
    inks = [black, ink_from_lab("Fjord", (30, 45, -55), paper=paper), replace(black, name="Soot 2")]
    pairs = Patches(
        tone_pct=np.array([[100.0, 100, 0], [100, 0, 100]]),
        xyz100=lab_to_xyz100([[10, 6, -9], [9, 0, 0]]),
    )
    press = press_condition(paper, inks, process=find_process("sheet-fed offset"), patches=pairs)
    return press, pairs


def test_pairs_are_heeded_where_an_ink_is_printed_twice():
    """They count exactly, and teach the layer of the violet; the first black is as it was."""
    press, pairs = measured_press()
    np.testing.assert_allclose(press.xyz100(pairs.tone_pct), pairs.xyz100, rtol=1e-3)
    alone = press_condition(press.paper, press.inks, process=press.process)
    assert press.spots == ("Fjord", "Soot 2")
    told, untold = press.model.solids, alone.model.solids
    assert told[0].opacity == untold[0].opacity
    assert told[1].opacity.why == "learnt"
    assert np.abs(told[1].spectrum - untold[1].spectrum).max() > 0.001


def test_two_hits_of_a_measured_black_print_as_told():
    """Where spectra are measured, the fit may move the opacity alone."""
    paper = paper_from_reflectance("coated", np.full(36, 0.85), paper_class="coated")
    black = ink_from_reflectance("Soot", np.full(36, 0.02), paper=paper)
    pair = Patches(tone_pct=np.array([[100.0, 100]]), xyz100=lab_to_xyz100([[9, 0, 0]]))
    press = press_condition(
        paper,
        [black, replace(black, name="Soot 2")],
        process=find_process("sheet-fed offset"),
        patches=pair,
    )
    np.testing.assert_allclose(press.lab([100, 100]), [9, 0, 0], atol=0.01)
    first, second = press.model.solids
    np.testing.assert_array_equal(first.spectrum, second.spectrum)
