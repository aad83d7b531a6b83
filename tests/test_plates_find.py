"""Plates are found whatever the spelling of their names; litter is passed over; slips are said.

What is wrong with one spread stands with that spread; the others are as if it were not there.
"""

import os
import subprocess
import sys
from pathlib import Path, PurePath
from time import perf_counter

import pytest
from rights import drop_rights

from inkmix.plates.found.listing import is_litter, printable
from inkmix.plates.found.one_spread import SpreadFiles
from inkmix.plates.found.pattern import InkNames, natural_key
from inkmix.plates.found.spreads import FoundSpreads, look_for_spreads

INKS = ("Soot", "Fjord", "Rowan")
FOLDERS = "plates/{spread}/{ink}.tif"
COMPOSED, DECOMPOSED = "Kr\u00e4he", "Kra\u0308he"


def lay(folder: Path, *names: str) -> None:
    """Empty files by these names: finding opens none."""
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()


def look(
    folder: Path, pattern: str = FOLDERS, inks: tuple[str, ...] = INKS, **elsewhere: tuple
) -> FoundSpreads:
    return look_for_spreads(folder, pattern, InkNames(usual=inks, elsewhere=elsewhere))


def only(found: FoundSpreads) -> SpreadFiles:
    (spread,) = found.spreads
    return spread


def names_of(folder: Path, found: FoundSpreads) -> dict:
    return {
        spread.name: {
            ink: path and path.relative_to(folder).as_posix() for ink, path in spread.files.items()
        }
        for spread in found.spreads
    }


def faults_of(spread: SpreadFiles) -> list[str]:
    return [str(fault) for fault in spread.faults]


class TestNames:
    def test_one_folder_a_spread(self, tmp_path):
        lay(tmp_path, *(f"plates/0{n}/{ink}.tif" for n in (1, 2) for ink in INKS))
        found = look(tmp_path)
        assert found.faults == found.notes == ()
        assert all(spread.faults == spread.notes == () for spread in found.spreads)
        assert names_of(tmp_path, found) == {
            f"0{n}": {ink: f"plates/0{n}/{ink}.tif" for ink in INKS} for n in (1, 2)
        }

    def test_natural_order(self, tmp_path):
        lay(tmp_path, *(f"plates/spread {n}/Soot.tif" for n in (10, 2, "02", 1, 33)))
        names = [spread.name for spread in look(tmp_path).spreads]
        assert names == ["spread 1", "spread 02", "spread 2", "spread 10", "spread 33"]
        assert sorted(["b", "a10", "A2", "3"], key=natural_key) == ["3", "A2", "a10", "b"]

    def test_spread_and_ink_in_one_name(self, tmp_path):
        """Underscores in both: the longest ink name that is known wins."""
        lay(tmp_path, "night_01_Fog.tif", "night_01_Pale_Fog.tif")
        found = look(tmp_path, "{spread}_{ink}.tif", ("Fog", "Pale_Fog"))
        assert names_of(tmp_path, found) == {
            "night_01": {"Fog": "night_01_Fog.tif", "Pale_Fog": "night_01_Pale_Fog.tif"}
        }

    def test_one_file_of_all_inks(self, tmp_path):
        lay(tmp_path, "a.tif", "b.tif")
        found = look(tmp_path, "{spread}.tif")
        assert names_of(tmp_path, found) == {s: dict.fromkeys(INKS, f"{s}.tif") for s in ("a", "b")}

    def test_no_spread_in_the_pattern(self, tmp_path):
        lay(tmp_path, "Soot.tif", "Fjord.tif", "Rowan.tif")
        assert only(look(tmp_path, "{ink}.tif")).name == "sheet"

    def test_a_folder_for_each_ink(self, tmp_path):
        lay(tmp_path, *(f"{ink}/night {n}.tif" for ink in INKS for n in (1, 2)))
        found = look(tmp_path, "{ink}/{spread}.tif")
        assert names_of(tmp_path, found)["night 2"] == {ink: f"{ink}/night 2.tif" for ink in INKS}

    def test_brackets_in_names_are_letters(self, tmp_path):
        lay(tmp_path, "plates [final]/01/Soot (2).tif")
        found = look(tmp_path, "plates [final]/{spread}/{ink} (2).tif")
        assert only(found).files["Soot"] is not None

    def test_a_dot_in_the_pattern_is_the_folder_itself(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif")
        assert only(look(tmp_path, "./plates//{spread}/{ink}.tif")).files["Soot"] is not None

    def test_a_field_twice_must_agree(self, tmp_path):
        lay(tmp_path, "01/01_Soot.tif", "01/02_Soot.tif")
        found = look(tmp_path, "{spread}/{spread}_{ink}.tif")
        assert names_of(tmp_path, found)["01"]["Soot"] == "01/01_Soot.tif"

    @pytest.mark.skipif(sys.platform != "linux", reason="not every disk holds all of them")
    @pytest.mark.parametrize(
        "name",
        [
            "erste  Nacht",
            'it\'s "quoted"',
            "two\nlines",
            "<b>&amp;<i>",
            "100 % {spread}",
            "\u202eturned",
            "byte \udcff",
            "-rf",
            "x" * 200,
        ],
    )
    def test_any_name_that_a_disk_can_hold(self, name, tmp_path):
        lay(tmp_path, f"plates/{name}/Soot.tif", f"plates/{name}/?.tif", "plates/02/Soot.tif")
        found = look(tmp_path, inks=("Soot",))
        assert {spread.name for spread in found.spreads} == {name, "02"}
        (odd,) = (spread for spread in found.spreads if spread.name == name)
        assert odd.files["Soot"] == tmp_path / "plates" / name / "Soot.tif"
        assert odd.files["Soot"].is_file()
        assert odd.notes[0].isprintable()

    def test_names_as_messages_show_them(self):
        assert printable("a b ä\n\udcff\u202e") == "a b ä\\n\\xff\\u202e"


class TestSpelling:
    def test_any_unicode_form(self, tmp_path):
        """macOS hands out names decomposed (NFD), books are typed composed (NFC)."""
        lay(tmp_path, f"plates/{DECOMPOSED}/{DECOMPOSED}.tif")
        spread = only(look(tmp_path, inks=(COMPOSED,)))
        assert spread.name == COMPOSED
        assert spread.files[COMPOSED].exists()
        assert spread.faults == spread.notes == ()

    @pytest.mark.parametrize("name", ["SOOT.TIF", "soot.tiff", "Soot.Tiff"])
    def test_any_case_and_either_ending(self, tmp_path, name):
        lay(tmp_path, f"Plates/01/{name}")
        spread = only(look(tmp_path, inks=("Soot",)))
        assert spread.files["Soot"].name == name
        said = any("taken for Soot, though written differently" in note for note in spread.notes)
        assert said == (not name.startswith("Soot"))

    def test_a_spread_written_in_two_ways(self, tmp_path):
        lay(tmp_path, "Night_Soot.tif", "night_Fjord.tif", "night_Rowan.tif")
        spread = only(look(tmp_path, "{spread}_{ink}.tif"))
        assert all(spread.files.values())
        assert spread.name == "night"
        assert spread.notes == ("Night_Soot.tif: taken for night, though written differently",)

    @pytest.mark.skipif(sys.platform in ("darwin", "win32"), reason="one folder for both there")
    @pytest.mark.parametrize(
        ("first", "second", "words"),
        [
            ("Night", "night", "plates/Night, plates/night"),
            (
                COMPOSED,
                DECOMPOSED,
                f"{DECOMPOSED} (decomposed letters), plates/{COMPOSED} (composed letters)",
            ),
        ],
    )
    def test_two_folders_that_claim_one_spread(self, first, second, words, tmp_path):
        lay(tmp_path, f"plates/{first}/Soot.tif", f"plates/{second}/Fjord.tif")
        lay(tmp_path, "plates/02/Soot.tif")
        other, spread = look(tmp_path).spreads
        assert (other.name, other.faults) == ("02", ())
        (said,) = faults_of(spread)
        assert "2 folders claim this name" in said
        assert words in said
        assert "rename one" in said

    def test_a_folder_of_other_things_claims_nothing(self, tmp_path):
        lay(tmp_path, "plates/Night/Soot.tif", "plates/night/sketch.tif")
        found = look(tmp_path)
        if sys.platform not in ("darwin", "win32"):
            assert only(found).name == "Night"
            assert only(found).faults == ()

    def test_folders_of_inks_may_spell_a_spread_differently(self, tmp_path):
        lay(tmp_path, "Soot/Night/plate.tif", "Fjord/night/plate.tif")
        assert only(look(tmp_path, "{ink}/{spread}/plate.tif")).faults == ()


class TestSlips:
    def test_several_files_for_one_ink(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif", "plates/01/Soot.tiff", "plates/01/Fjord.tif")
        assert faults_of(only(look(tmp_path))) == [
            "01, Soot: has 2 files: plates/01/Soot.tif, plates/01/Soot.tiff, but an ink has one "
            "plate in a spread; leave only one"
        ]

    def test_several_files_of_all_inks(self, tmp_path):
        lay(tmp_path, "01.tif", "01.tiff")
        (said,) = faults_of(only(look(tmp_path, "{spread}.tif")))
        assert said.startswith("01: has 2 files: 01.tif, 01.tiff")

    def test_near_miss_of_an_ink_without_a_plate(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif", "plates/01/Fiord.tif", "plates/01/Rowan.tif")
        assert faults_of(only(look(tmp_path))) == [
            "plates/01/Fiord.tif: Fiord is not an ink of the book, but Fjord has no plate in this "
            "spread; did you mean Fjord? Rename one"
        ]

    def test_file_of_no_ink_is_said(self, tmp_path):
        lay(tmp_path, *(f"plates/01/{ink}.tif" for ink in INKS), "plates/01/sketch.tif")
        assert only(look(tmp_path)).notes == (
            "plates/01/sketch.tif: sketch is not an ink of the book, left out",
        )

    def test_very_many_files_of_no_ink_are_counted(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif", *(f"plates/01/{n}.tif" for n in range(50)))
        notes = only(look(tmp_path)).notes
        assert len(notes) == 11
        assert notes[-1] == "01: 40 more files are of no ink of the book, left out"

    def test_absent_plate_is_none(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif")
        assert only(look(tmp_path)).files["Rowan"] is None

    def test_nothing_found(self, tmp_path):
        (fault,) = look(tmp_path).faults
        assert "no plate was found, but files named like plates/" in str(fault)
        assert "; plates/ is not there: check the pattern and the names" in str(fault)

    def test_what_lies_where_plates_should_is_named(self, tmp_path):
        lay(tmp_path, *(f"plates/0{n}/{k}.jpg" for n in (1, 2) for k in range(1, 9)))
        lay(tmp_path, "plates/01/.hidden")
        (fault,) = look(tmp_path).faults
        assert "; plates/01/ holds 1.jpg, 2.jpg, 3.jpg, 4.jpg, 5.jpg, 6.jpg and 2 more:" in str(
            fault
        )
        (fault,) = look(tmp_path, "{spread}/inks/{ink}.tif").faults
        assert "; plates/inks/ is not there:" in str(fault)
        (tmp_path / "bare").mkdir()
        (fault,) = look(tmp_path / "bare", "{ink}.tif").faults
        assert "; the folder is empty:" in str(fault)

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
    def test_patterns_that_cannot_be(self, tmp_path, pattern, words):
        found = look(tmp_path, pattern)
        assert words in " ".join(str(fault) for fault in found.faults)
        assert found.spreads == ()

    def test_notes_of_a_spread_stay_with_it(self, tmp_path):
        lay(tmp_path, "plates/01/soot.tif", "plates/02/Soot.tif", "plates/02/Sooot.tif")
        lay(tmp_path, "masks/01/sea.tif", "plates/other/sea.tif")
        found = look(tmp_path, inks=("Soot",))
        assert [(s.name, len(s.notes)) for s in found.spreads] == [("01", 1), ("02", 1)]
        assert found.notes == ("plates/other/sea.tif: sea is not an ink of the book, left out",)


class TestOtherInks:
    """Spreads whose inks are not those of the rest."""

    def test_each_is_held_against_its_own(self, tmp_path):
        lay(tmp_path, *(f"plates/{s}/{i}.tif" for s in ("01", "Cover") for i in ("Soot", "Brass")))
        inner, cover = look(tmp_path, cover=("Brass", "Fog")).spreads
        assert list(inner.files) == list(INKS)
        assert list(cover.files) == ["Brass", "Fog"]
        assert inner.notes == ("plates/01/Brass.tif: Brass is not an ink of the book, left out",)
        assert cover.notes == (
            "plates/Cover/Soot.tif: Soot is not an ink of this spread, left out",
        )

    def test_names_are_read_by_the_inks_of_their_spread(self, tmp_path):
        lay(tmp_path, "night_Pale_Fog.tif", "cover_Pale_Fog.tif", "cover_Fog.tif")
        found = look(tmp_path, "{spread}_{ink}.tif", ("Pale_Fog",), cover=("Fog",))
        assert names_of(tmp_path, found) == {
            "cover": {"Fog": "cover_Fog.tif"},
            "night": {"Pale_Fog": "night_Pale_Fog.tif"},
        }


class TestLitter:
    def test_system_litter_is_passed_over(self, tmp_path):
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
            "plates/lost+found/Soot.tif",
            "plates/notes.txt",
        )
        found = look(tmp_path)
        assert only(found).name == "01"
        assert (found.notes, only(found).faults, only(found).notes) == ((), (), ())

    def test_a_thumb_in_a_word_is_no_thumbnail(self, tmp_path):
        lay(tmp_path, "plates/thumbelina/Soot.tif")
        assert only(look(tmp_path)).name == "thumbelina"
        assert not is_litter(PurePath("plates/thumbelina.tif"))
        assert is_litter(PurePath("plates/thumb.tif"))


@pytest.mark.skipif(sys.platform == "win32", reason="links and rights are others there")
class TestDisks:
    """What a disk holds in place of files and folders: one spread's matter, never a halt."""

    def test_links_that_lead_nowhere_or_around(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif", "plates/02/Fjord.tif", "plates/readme")
        (tmp_path / "plates/02/Soot.tif").symlink_to("gone.tif")
        (tmp_path / "plates/02/sketch.tif").symlink_to("gone.tif")
        (tmp_path / "plates/02/Rowan.tif").symlink_to("Rowan.tif")
        (tmp_path / "plates/03").symlink_to("03")
        (tmp_path / "plates/04").symlink_to("/nowhere/04")
        (tmp_path / "plates/all").symlink_to(".")
        found = {spread.name: faults_of(spread) for spread in look(tmp_path).spreads}
        assert found == {
            "01": [],
            "02": [
                "plates/02/Rowan.tif: is a link that leads back to itself",
                "plates/02/Soot.tif: is a link that leads nowhere",
            ],
            "03": ["plates/03: is a link that leads back to itself"],
            "04": ["plates/04: is a link that leads nowhere"],
        }

    def test_a_folder_or_a_pipe_in_place_of_a_plate(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.tif")
        (tmp_path / "plates/01/Fjord.tif").mkdir()
        (tmp_path / "plates/01/odd.tif").mkdir()
        os.mkfifo(tmp_path / "plates/01/Rowan.tif")
        spread = only(look(tmp_path))
        assert faults_of(spread) == [
            "plates/01/Fjord.tif: is a folder, not a plate file",
            "plates/01/Rowan.tif: is not a plate file",
        ]
        assert spread.files["Fjord"] is spread.files["Rowan"] is None

    def test_folders_among_files_of_all_inks(self, tmp_path):
        lay(tmp_path, "plates/01.tif", "plates/02.tif/x")
        assert only(look(tmp_path, "plates/{spread}.tif")).name == "01"

    def test_links_to_folders_are_followed(self, tmp_path):
        lay(tmp_path, "store/Soot.tif")
        (tmp_path / "plates").mkdir()
        (tmp_path / "plates/01").symlink_to(tmp_path / "store")
        assert only(look(tmp_path)).files["Soot"] == tmp_path / "plates/01/Soot.tif"

    @pytest.mark.parametrize(
        ("closed", "pattern", "told"),
        [
            ("plates/02", FOLDERS, {"01": 0, "02": 1, "03": 0}),
            ("plates", FOLDERS, {}),
            ("inks/Fjord", "inks/{ink}/{spread}.tif", {"01": 1, "02": 1, "03": 1}),
        ],
    )
    def test_folders_that_cannot_be_listed(self, closed, pattern, told, tmp_path):
        lay(tmp_path, *(f"plates/0{n}/{ink}.tif" for n in (1, 2, 3) for ink in INKS))
        lay(tmp_path, *(f"inks/{ink}/0{n}.tif" for n in (1, 2, 3) for ink in INKS))
        (tmp_path / closed).chmod(0)
        program = (
            "import sys; from test_plates_find import look; from pathlib import Path\n"
            f"found = look(Path(sys.argv[1]), {pattern!r})\n"
            "print([(s.name, [str(f) for f in s.faults]) for s in found.spreads])\n"
            "print([str(fault) for fault in found.faults])"
        )
        done = subprocess.run(
            [sys.executable, "-c", program, str(tmp_path)],
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
            preexec_fn=drop_rights,
        )
        (tmp_path / closed).chmod(0o700)
        spreads, faults = map(eval, done.stdout.splitlines())
        assert {name: len(said) for name, said in spreads} == told
        said = [fault for _, more in spreads for fault in more] or faults
        assert set(said) == {f"{closed}: cannot be listed: Permission denied"}

    def test_a_folder_that_is_not_there(self, tmp_path):
        (fault,) = look(tmp_path / "gone").faults
        assert str(fault) == "gone: cannot be listed: No such file or directory"


def test_ten_thousand_files(tmp_path):
    """2,000 spreads of five inks; 7.7 s while each spread looked through all files."""
    inks = (*INKS, "Brass", "Fog")
    for n in range(2000):
        (tmp_path / f"{n}").mkdir()
        for ink in inks:
            os.close(os.open(tmp_path / f"{n}/{ink}.tif", os.O_CREAT))
    best = float("inf")
    for _ in range(3):
        start = perf_counter()
        found = look(tmp_path, "{spread}/{ink}.tif", inks)
        best = min(best, perf_counter() - start)
    assert [spread.name for spread in found.spreads] == [str(n) for n in range(2000)]
    assert all(all(spread.files.values()) for spread in found.spreads)
    assert best < 2  # 0.3 s alone; other work may run beside


class TestWhateverElseLiesThere:
    def test_endings_count_alike(self, tmp_path):
        lay(tmp_path, "plates/01/Soot.TIF", "plates/01/Fjord.png", "plates/01/Rowan.tiff")
        spread = only(look(tmp_path))
        assert [path.name for path in spread.files.values()] == [
            "Soot.TIF", "Fjord.png", "Rowan.tiff"
        ]  # fmt: skip
        assert spread.faults == spread.notes == ()

    def test_of_two_formats_the_patterns_counts(self, tmp_path):
        lay(tmp_path, *(f"plates/01/{ink}.tif" for ink in INKS), "plates/01/Soot.png")
        spread = only(look(tmp_path))
        assert spread.files["Soot"].name == "Soot.tif"
        assert spread.faults == ()
        assert spread.notes == (
            "plates/01/Soot.png: left out, for plates/01/Soot.tif has the ending of the pattern",
        )

    def test_a_png_beside_a_file_of_all_inks_is_no_spread(self, tmp_path):
        lay(tmp_path, "01.tif", "cover.png")
        assert only(look(tmp_path, "{spread}.tif")).name == "01"

    @pytest.mark.parametrize(
        ("pattern", "plate", "strays"),
        [
            (
                "plates/{spread}/{ink}.tif",
                "plates/01/Soot.tif",
                ["plates/loose.tif", "plates/01/Soot.jpg", "plates/01/old", "plates/07/Soot.psd"],
            ),
            ("plates/{ink}.tif", "plates/Soot.tif", ["plates/Soot.jpg", "plates/old"]),
            ("{ink}.tif", "Soot.tif", ["Soot.jpg"]),
            ("plates/{spread}_{ink}.tif", "plates/01_Soot.tif", ["plates/Soot.tif"]),
        ],
    )
    def test_strays(self, tmp_path, pattern, plate, strays):
        """Not what lies outside, not what systems leave, no folders beside the book."""
        lay(tmp_path, plate, *(name for name in strays if "." in name))
        for name in (*(name for name in strays if "." not in name), "masks"):
            (tmp_path / name).mkdir()
        lay(tmp_path, "masks/sky.png", f"{plate.rpartition('/')[0] or '.'}/Thumbs.db")
        found = look(tmp_path, pattern)
        assert sorted(p.relative_to(tmp_path).as_posix() for p in found.strays) == sorted(strays)
