"""Plates are found whatever the spelling of their names; litter is passed over; slips are said."""

from pathlib import Path

import pytest

from inkmix.errors import PlateError
from inkmix.plates.find import find_spreads, look_for_spreads
from inkmix.plates.pattern import natural_key

INKS = ("Soot", "Fjord", "Rowan")
FOLDERS = "plates/{spread}/{ink}.tif"


def lay(folder: Path, *names: str) -> None:
    """Empty files by these names: finding opens none."""
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()


def names_of(folder: Path, found: dict) -> dict:
    return {
        spread: {ink: path and path.relative_to(folder).as_posix() for ink, path in inks.items()}
        for spread, inks in found.items()
    }


def test_one_folder_a_spread(tmp_path):
    lay(tmp_path, *(f"plates/0{n}/{ink}.tif" for n in (1, 2) for ink in INKS))
    found = look_for_spreads(tmp_path, FOLDERS, INKS)
    assert found.faults == ()
    assert found.notes == ()
    assert names_of(tmp_path, found.spreads) == {
        f"0{n}": {ink: f"plates/0{n}/{ink}.tif" for ink in INKS} for n in (1, 2)
    }


def test_natural_order(tmp_path):
    lay(tmp_path, *(f"plates/spread {n}/Soot.tif" for n in (10, 2, 1, 33)))
    spreads = find_spreads(tmp_path, FOLDERS, INKS)
    assert list(spreads) == ["spread 1", "spread 2", "spread 10", "spread 33"]
    assert sorted(["b", "a10", "A2", "3"], key=natural_key) == ["3", "A2", "a10", "b"]


def test_spread_and_ink_in_one_name(tmp_path):
    """Underscores in both: the longest ink name that is known wins."""
    inks = ("Fog", "Pale_Fog")
    lay(tmp_path, "night_01_Fog.tif", "night_01_Pale_Fog.tif")
    found = find_spreads(tmp_path, "{spread}_{ink}.tif", inks)
    assert names_of(tmp_path, found) == {
        "night_01": {"Fog": "night_01_Fog.tif", "Pale_Fog": "night_01_Pale_Fog.tif"}
    }


def test_one_file_of_all_inks(tmp_path):
    lay(tmp_path, "a.tif", "b.tif")
    found = find_spreads(tmp_path, "{spread}.tif", INKS)
    assert names_of(tmp_path, found) == {s: dict.fromkeys(INKS, f"{s}.tif") for s in ("a", "b")}


def test_no_spread_in_the_pattern(tmp_path):
    lay(tmp_path, "Soot.tif", "Fjord.tif", "Rowan.tif")
    assert list(find_spreads(tmp_path, "{ink}.tif", INKS)) == ["sheet"]


def test_system_litter_is_passed_over(tmp_path):
    lay(
        tmp_path,
        "plates/01/Soot.tif",
        "plates/01/._Soot.tif",
        "plates/01/.DS_Store",
        "plates/01/Thumbs.db",
        "plates/01/Soot_thumb.tif",
        "plates/.trash/Soot.tif",
        "plates/__MACOSX/Soot.tif",
        "plates/@eaDir/Soot.tif",
        "plates/thumbnails/Soot.tif",
        "plates/notes.txt",
    )
    found = look_for_spreads(tmp_path, FOLDERS, INKS)
    assert list(found.spreads) == ["01"]
    assert (found.faults, found.notes) == ((), ())


def test_a_thumb_in_a_word_is_no_thumbnail(tmp_path):
    lay(tmp_path, "plates/thumbelina/Soot.tif")
    assert list(find_spreads(tmp_path, FOLDERS, INKS)) == ["thumbelina"]


def test_any_unicode_form(tmp_path):
    """macOS hands out names decomposed (NFD), books are typed composed (NFC)."""
    lay(tmp_path, "plates/01/Kra\u0308he.tif")
    found = look_for_spreads(tmp_path, FOLDERS, ("Kr\u00e4he",))
    assert found.spreads["01"]["Kr\u00e4he"].exists()
    assert found.faults == ()


@pytest.mark.parametrize("name", ["SOOT.TIF", "soot.tiff", "Soot.Tiff"])
def test_any_case_and_either_ending(tmp_path, name):
    lay(tmp_path, f"Plates/01/{name}")
    found = look_for_spreads(tmp_path, FOLDERS, ("Soot",))
    assert found.spreads["01"]["Soot"].name == name
    said = any("taken for Soot, though written differently" in note for note in found.notes)
    assert said == (not name.startswith("Soot"))


def test_several_files_for_one_ink(tmp_path):
    lay(tmp_path, "plates/01/Soot.tif", "plates/01/Soot.tiff", "plates/01/Fjord.tif")
    with pytest.raises(PlateError) as caught:
        find_spreads(tmp_path, FOLDERS, INKS)
    text = str(caught.value)
    assert "01, Soot: has 2 files: plates/01/Soot.tif, plates/01/Soot.tiff" in text
    assert "leave only one" in text


def test_near_miss_of_an_ink_without_a_plate(tmp_path):
    lay(tmp_path, "plates/01/Soot.tif", "plates/01/Fiord.tif", "plates/01/Rowan.tif")
    with pytest.raises(PlateError) as caught:
        find_spreads(tmp_path, FOLDERS, INKS)
    (fault,) = caught.value.faults
    assert str(fault) == (
        "plates/01/Fiord.tif: Fiord is no ink of the book, but Fjord has no plate in this "
        "spread; did you mean Fjord? Rename one"
    )


def test_file_of_no_ink_is_said(tmp_path):
    lay(tmp_path, *(f"plates/01/{ink}.tif" for ink in INKS), "plates/01/sketch.tif")
    found = look_for_spreads(tmp_path, FOLDERS, INKS)
    assert found.notes == ("plates/01/sketch.tif: sketch is no ink of the book, left out",)


def test_absent_plate_is_none(tmp_path):
    lay(tmp_path, "plates/01/Soot.tif")
    assert find_spreads(tmp_path, FOLDERS, INKS)["01"]["Rowan"] is None


def test_nothing_found(tmp_path):
    with pytest.raises(PlateError, match="no plate was found, but files named like plates/"):
        find_spreads(tmp_path, FOLDERS, INKS)


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        ("../{spread}/{ink}.tif", "leaves the folder"),
        ("/tmp/{spread}/{ink}.tif", "leaves the folder"),
        ("plates\\{spread}\\{ink}.tif", "joined by /"),
        ("C:/plates/{ink}.tif", "leaves the folder"),
        ("plates/{page}/{ink}.tif", "{page} is not known"),
        ("plates/soot.tif", "names neither {spread} nor {ink}"),
        ("", "names neither"),
    ],
)
def test_patterns_that_cannot_be(tmp_path, pattern, words):
    with pytest.raises(PlateError) as caught:
        find_spreads(tmp_path, pattern, INKS)
    assert words in str(caught.value)


def test_brackets_in_names_are_letters(tmp_path):
    lay(tmp_path, "plates [final]/01/Soot (2).tif")
    found = find_spreads(tmp_path, "plates [final]/{spread}/{ink} (2).tif", INKS)
    assert found["01"]["Soot"] is not None


def test_a_field_twice_must_agree(tmp_path):
    lay(tmp_path, "01/01_Soot.tif", "01/02_Soot.tif")
    found = find_spreads(tmp_path, "{spread}/{spread}_{ink}.tif", INKS)
    assert names_of(tmp_path, found)["01"]["Soot"] == "01/01_Soot.tif"
