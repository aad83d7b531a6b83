"""What a book says for some spreads: merged, held against the same rules, and worth a digest."""

import os
import pickle
import subprocess
import sys
import tomllib
from dataclasses import fields, replace
from pathlib import Path

import jsonschema
import pytest
from drawn_book import BOOK, NIGHT, PPI, changed, command, draw_book, plate_of, plates
from plate_files import write_png

from inkmix.base.errors import BookError, PlateError, UsageError
from inkmix.book.meant.inputs import input_files
from inkmix.book.meant.plates import book_spreads, find_spread, look_into
from inkmix.book.meant.sources import spread_sources
from inkmix.book.models import schema_of
from inkmix.book.read import parse_book
from inkmix.book.values import USER, Book, Told
from inkmix.checks import table
from inkmix.jobs.books import read_book
from inkmix.jobs.check import check_spread
from inkmix.plates.found.one_spread import SpreadFiles

TONE = '\n[[tones]]\nname = "dusk"\nmix = { Rowan = 60, Fjord = 20 }\n'
COVER = '\n[[override]]\nspreads = ["cover"]\n'
COATED = 'paper = { lab = [95, 0, -2], class = "coated" }\n'
TWO_INKS = (
    '[[override.inks]]\nname = "Soot"\nlab = [16, 0, 0]\n'
    '[[override.inks]]\nname = "Brass"\nlab = [60, 5, 40]\n'
)


def read(text: str, folder: Path = Path("/nowhere")) -> Book:
    return parse_book(text.encode(), path=folder / "book.toml", form=table.book_form())


def faults(text: str) -> list[str]:
    with pytest.raises(BookError) as caught:
        read(text)
    return [str(fault) for fault in caught.value.faults]


def line_of(text: str, words: str) -> int:
    (number,) = (n for n, line in enumerate(text.split("\n"), 1) if words in line)
    return number


class TestMerging:
    def test_whole_tables_replace_and_the_rest_stays(self) -> None:
        book = read(BOOK + TONE + COVER + COATED)
        (override,) = book.overrides
        assert override.spreads == ("cover",)
        assert book.paper.paper_class == "uncoated"
        assert (override.book.paper.paper_class, override.book.paper.lab) == ("coated", (95, 0, -2))
        same = {"inks", "press", "plates", "strip", "tones", "title", "path", "folder"}
        assert all(getattr(override.book, key) == getattr(book, key) for key in same)
        assert override.book.overrides == override.book.waivers == ()

    def test_press_and_total_ink_are_merged_key_by_key(self) -> None:
        text = BOOK.replace("260", "260\nedge_growth_mm = 0.02") + COVER
        text += "total_ink = { min_area_mm2 = 4 }\n[override.press]\nink_limit_pct = 300\n"
        book = read(text)
        cover = book.for_spread("cover")
        assert cover.press.ink_limit_pct == Told(value=300.0, whose=USER)
        assert cover.press.edge_growth_mm == book.press.edge_growth_mm
        assert cover.press.process == "sheet-fed offset"
        assert (book.min_area_mm2, cover.min_area_mm2) == (1.0, 4.0)

    def test_lists_of_tables_replace_the_whole_list(self) -> None:
        night = NIGHT.replace('mask = "masks/cellar.png"', "rect_mm = [0, 0, 9, 9]")
        book = read(BOOK + night + TONE + COVER + "night = []\ntones = []\n" + TWO_INKS)
        cover = book.for_spread("cover")
        assert cover.ink_names == ("Soot", "Brass")
        assert (cover.nights, cover.tones) == ((), ())
        assert len(book.nights) == len(book.tones) == 1

    def test_for_whom_it_holds(self) -> None:
        book = read(BOOK + COVER.replace('"cover"', '"cover", "back"') + COATED)
        classes = {name: book.for_spread(name).paper.paper_class for name in ("cover", "back", "1")}
        assert classes == {"cover": "coated", "back": "coated", "1": "uncoated"}
        once = book.for_spread("cover")
        assert once.for_spread("cover") == once
        assert pickle.loads(pickle.dumps(book)) == book

    def test_names_of_spreads_in_any_unicode_form(self) -> None:
        book = read(BOOK + COVER.replace("cover", "Bru\u0308cke") + COATED)
        assert book.for_spread("Br\u00fccke").paper.paper_class == "coated"

    def test_a_spread_is_told_nothing_of_others(self) -> None:
        nights = NIGHT + NIGHT.replace("cellar", "hold", 1) + 'spreads = ["back"]\n'
        text = BOOK.replace("bleed_mm = 3", 'bleed_mm = 3\nsides = ["front", "back"]') + nights
        book = read(text.replace("masks/cellar.png", "masks/{spread}.png"))
        front, back, flap = (book.for_spread(name) for name in ("front", "back", "flap"))
        assert [night.name for night in front.nights] == ["cellar"]
        assert [night.name for night in back.nights] == ["cellar", "hold"]
        assert all(night.spreads == () for night in back.nights)
        assert front.strip == back.strip == replace(book.strip, sides=())
        assert flap.strip is None


class TestWhatDoesNotOutlive:
    """Words of the printer, limits and measurements are said of something."""

    CONFIRMED = changed("260", '260\nconfirmed_by_printer = ["process", "ink_limit_pct", "paper"]')

    @pytest.mark.parametrize(
        ("more", "left"),
        [
            ("tones = []\n", {"process", "ink_limit_pct", "paper"}),
            ("[override.press]\nink_limit_pct = 300\n", {"process", "paper"}),
            (COATED, {"process"}),
            ('[override.press]\nprocess = "web offset"\n', {"paper"}),
            (
                '[override.press]\nink_limit_pct = 300\nconfirmed_by_printer = ["ink_limit_pct"]\n',
                {"ink_limit_pct"},
            ),
        ],
    )
    def test_what_the_printer_confirmed(self, more: str, left: set[str]) -> None:
        book = read(self.CONFIRMED + COVER + more)
        assert book.for_spread("cover").press.confirmed_by_printer == left
        assert book.for_spread("1").press.confirmed_by_printer == {
            "process",
            "ink_limit_pct",
            "paper",
        }

    def test_inks_that_the_printer_confirmed(self) -> None:
        text = changed("260", '260\nconfirmed_by_printer = ["process", "inks.Fjord"]')
        book = read(text + COVER + TWO_INKS)
        assert book.for_spread("cover").press.confirmed_by_printer == {"process"}

    def test_measured_overprints(self, tmp_path: Path) -> None:
        (tmp_path / "mixes.txt").write_text("")
        text = changed("260", '260\noverprints = "mixes.txt"')
        book = read(text + COVER + COATED, tmp_path)
        assert book.press.overprints == "mixes.txt"
        cover = book.for_spread("cover")
        assert cover.press.overprints is None
        assert any("measured overprints are of other paper" in note for note in cover.notes)
        kept = read(text + COVER + "tones = []\n", tmp_path).for_spread("cover")
        assert (kept.press.overprints, kept.notes) == ("mixes.txt", ())
        own = text + COVER + COATED + '[override.press]\noverprints = "mixes.txt"\n'
        assert read(own, tmp_path).for_spread("cover").press.overprints == "mixes.txt"

    def test_overprints_measured_in_another_process(self, tmp_path: Path) -> None:
        (tmp_path / "mixes.txt").write_text("CGATS.17\n")
        text = changed("260", '260\noverprints = "mixes.txt"')
        text += f'{COVER}[override.press]\nprocess = "web offset"\n'
        cover = read(text, tmp_path).for_spread("cover")
        assert (cover.press.process, cover.press.overprints) == ("web offset", None)

    def test_a_limit_that_stays_on_another_paper_is_said(self) -> None:
        text = BOOK + COVER + COATED
        line = line_of(text, "[[override]]")
        book = read(text)
        assert book.for_spread("cover").notes == (
            f"book.toml, line {line}: override[1]: another paper, and the ink limit of 260 % is "
            "still that of the book",
        )
        assert book.for_spread("front").notes == ()
        told = read(text + "[override.press]\nink_limit_pct = 300\n")
        assert told.for_spread("cover").notes == ()


class TestFaults:
    @pytest.mark.parametrize(
        ("more", "words", "said"),
        [
            (COVER + 'papr = "x"\n', "papr", 'papr: is not a key of a book; did you mean "paper"?'),
            (COVER + "title = 'x'\n", "title = 'x'", "override[1].title: is not a key"),
            (COVER + "paper = { swatch = 3 }\n", "paper = { sw", "override[1].paper.swatch: is 3"),
            (COVER + "paper = { lab = [95, 0, 0] }\n", "paper = { l", "[1].paper: has no class"),
            (COVER + "[override.press]\nink_limit_pct = 3\n", "pct = 3", "write 300 if"),
            (COVER + "[override.press]\ninklimit = 3\n", "inklimit", 'mean "ink_limit_pct"'),
            (COVER, "[[override]]", "override[1]: changes nothing, but it gives one of paper, "),
            ("\n[[override]]\n" + COATED, "[[override]]", "override[1].spreads: is missing"),
            (COVER.replace('["cover"]', "[]") + COATED, "= []", "at least 1 are expected"),
            (COVER.replace('["cover"]', '"cover"') + COATED, '= "cover"', "a list [...] is"),
            (COVER.replace("[[override]]", "[override]") + COATED, "[override]", "two brackets"),
            (COVER + TONE.replace("[[tones", "[[override.tones").replace("Fjord", "Fiord"),
             "mix = ", 'override[1].tones[1].mix.Fiord: "Fiord" is not an ink of these spreads'),
            (COVER + TWO_INKS.replace('"Brass"', '"soot"'), '"soot"', "override[1].inks[2].name"),
            (COVER + TWO_INKS.replace("[60", "[160"), "[160", "override[1].inks[2].lab: is [160"),
            (COVER + 'reference = { picture = "none.png" }\n', "none.png", "there is no file none"),
            (COVER + NIGHT.replace("[[n", "[[override.n").replace("masks/cellar.png", "../x.png"),
             "../x.png", "override[1].night[1].mask"),
            (COVER.replace('"cover"', '"cover", "back", "cover"') + COATED, "spreads = ",
             'override[1].spreads[3]: "cover" is named by override[1] already'),
            (COVER + 'night = [{ name = "x", rect_mm = [0, 0, 9, 9], spreads = ["back"] }]\n',
             "night = ", 'override[1].night[1].spreads[1]: "back" is not a spread of this'),
        ],
    )  # fmt: skip
    def test_each_at_its_line_and_key(self, more: str, words: str, said: str) -> None:
        text = BOOK + more
        (fault,) = faults(text)
        assert fault.startswith(f"book.toml, line {line_of(text, words)}: override")
        assert said in fault

    def test_two_that_name_one_spread(self) -> None:
        text = BOOK + COVER + COATED + COVER.replace("cover", "Cover") + "tones = []\n"
        (fault,) = faults(text)
        line = line_of(text, '["Cover"]')
        assert fault == (
            f'book.toml, line {line}: override[2].spreads[1]: "Cover" is named by override[1] '
            "already, but a spread can have one override only"
        )

    def test_keys_of_the_second_override_stand_in_the_second(self) -> None:
        """Lists inside begin anew: the second override's first ink is its first."""
        wrong = TWO_INKS.replace("[16, 0, 0]", "[16, 0]")
        text = BOOK + COVER + TWO_INKS + COVER.replace("cover", "back") + wrong
        (fault,) = faults(text)
        line = line_of(text, "[16, 0]")
        assert fault.startswith(f"book.toml, line {line}: override[2].inks[1].lab: has 2 values")

    def test_a_tone_that_stays_and_names_an_ink_that_does_not(self) -> None:
        tones = TONE + TONE.replace("dusk", "dawn")
        text = BOOK + tones + COVER + TWO_INKS
        (fault,) = faults(text)
        line = line_of(text, "[[override]]")
        assert fault == (
            f"book.toml, line {line}: override[1]: does not go with tones[1].mix.Rowan, which "
            'stays: "Rowan" is not an ink of these spreads (and 3 more like it); give these '
            "spreads "
            "[[override.tones]] of their own"
        )
        assert len(read(BOOK + tones + COVER + "tones = []\n" + TWO_INKS).overrides) == 1

    def test_channels_that_do_not_hold_its_inks(self) -> None:
        text = changed("{spread}/{ink}.tif", '{spread}.tif"\nchannels = ["Soot", "Fjord", "Rowan')
        text = text.replace('Rowan"\n\n[strip]', 'Rowan"]\n\n[strip]')
        (fault,) = faults(text + COVER + TWO_INKS)
        assert "override[1]: does not go with plates.channels" in fault
        assert "[plates] is one for all spreads; let the override fit it" in fault

    def test_a_strip_that_an_area_lies_off(self) -> None:
        night = '\n[[night]]\nname = "x"\nrect_mm = [40, 0, 9, 9]\n'
        (fault,) = faults(BOOK + night + COVER + "strip = { panels = 1, panel_mm = [27, 34] }\n")
        assert "override[1]: does not go with night[1].rect_mm, which stays: lies wholly" in fault
        assert "[[override.night]]" in fault

    def test_what_is_wrong_with_the_book_is_said_once(self) -> None:
        """And nothing that stays is blamed on the overrides meanwhile."""
        text = changed("lab = [33, 6, -34]", "lab = [133, 6, -34]") + TONE + COVER + TWO_INKS
        (fault,) = faults(text)
        assert "inks[2].lab" in fault

    def test_what_is_wrong_with_an_override_hides_nothing_else(self) -> None:
        text = changed("260", "2.6") + TONE + COVER + 'paper = "x"\n' + COVER.replace("cover", "b")
        said = faults(text + "[override.press]\nink_limit_pct = 2\n")
        assert [fault.split(": ")[1] for fault in said] == [
            "press.ink_limit_pct",
            "override[1].paper",
            "override[2].press.ink_limit_pct",
        ]

    def test_the_schema_knows_them(self) -> None:
        validator = jsonschema.Draft202012Validator(schema_of(table.book_form()))
        good = BOOK + COVER + COATED + "[override.press]\nink_limit_pct = 300\n" + TWO_INKS
        assert validator.is_valid(tomllib.loads(good))
        assert not validator.is_valid(tomllib.loads(good.replace("ink_limit", "limit")))
        assert not validator.is_valid(tomllib.loads(good.replace('["cover"]', "[]")))


class TestDigest:
    def digest(self, text: str, spread: str = "front") -> str:
        return read(text).for_spread(spread).digest

    def test_it_is_of_values_not_of_text(self) -> None:
        text = BOOK + TONE
        other = "# a comment\n" + text.replace("bleed_mm = 3", "bleed_mm = 3.0 # mm")
        other = other.replace("{ Rowan = 60, Fjord = 20 }", "{ Fjord = 20, Rowan = 60.0 }")
        assert self.digest(text) == self.digest(other) == read(text).digest
        assert len(self.digest(text)) == 64

    @pytest.mark.parametrize("spread", ["front", "cover"])
    def test_waivers_and_what_holds_for_others_change_nothing(self, spread: str) -> None:
        own = BOOK + (COVER + COATED if spread == "cover" else "")
        waiver = '[[waive]]\ncheck = "night"\nrests_on = "5f0c2a91d3be"\nreason = "x"\nby = "y"\n'
        other = COVER.replace("cover", "back") + "tones = []\n" + waiver
        night = '\n[[night]]\nname = "x"\nrect_mm = [0, 0, 9, 9]\nspreads = ["back"]\n'
        assert self.digest(own + night + other, spread) == self.digest(own, spread)
        assert self.digest(own + night + other, "back") != self.digest(own, "back")

    def test_neither_does_the_place(self, tmp_path: Path) -> None:
        assert read(BOOK, tmp_path).digest == read(BOOK).digest

    @pytest.mark.parametrize(
        ("old", "new"),
        [
            ("Two panels", "Three panels"),
            ("[94, 0, 3]", "[94, 0, 4]"),
            ("[26, 1, 1]", "[26, 1, 2]"),
            ("260", "261"),
            ("sheet-fed", "web"),
            ("plates/{spread}", "plates/x{spread}"),
            ("[27, 34]", "[27, 35]"),
            ("Rowan = 60", "Rowan = 61"),
            ("lightest_L = 40", "lightest_L = 41"),
        ],
    )
    def test_every_value_counts(self, old: str, new: str) -> None:
        night = '\n[[night]]\nname = "x"\nrect_mm = [0, 0, 9, 9]\nlightest_L = 40\n'
        text = BOOK + night + TONE
        assert text.count(old) == 1
        assert self.digest(text.replace(old, new)) != self.digest(text)

    def test_it_forgets_no_field_that_is_new(self) -> None:
        """Whoever adds a field to Book decides here whether spreads are checked again for it."""
        assert {field.name for field in fields(Book)} == {
            *("path", "folder", "notes", "overrides", "waivers"),  # left out
            *("title", "paper", "inks", "guessed_order", "press", "measured", "plates"),
            *("strip", "sections"),
        }

    def test_an_override_that_says_what_the_book_says_counts_for_nothing(self) -> None:
        same = COVER + "strip = { panels = 2, panel_mm = [27, 34], bleed_mm = 3 }\n"
        assert self.digest(BOOK + same, "cover") == self.digest(BOOK)


class TestFolder:
    """Names of spreads are held against what lies in the folder."""

    NIGHT = '\n[[night]]\nname = "x"\nrect_mm = [0, 0, 9, 9]\nspreads = ["front", "{}"]\n'

    @pytest.mark.parametrize(
        ("more", "key"),
        [
            (COVER.replace('["cover"]', '["front", "frontt"]') + COATED, "override[1].spreads[2]"),
            (NIGHT.format("frontt"), "night[1].spreads[2]"),
            (
                COVER.replace("cover", "front")
                + 'strip = { panels = 2, panel_mm = [27, 34], sides = ["front"] }\n'
                + COVER.replace("cover", "frontt")
                + COATED,
                "override[2].spreads[1]",
            ),
        ],
    )
    def test_a_spread_that_is_not_there(self, more: str, key: str, tmp_path: Path) -> None:
        book = read_book(draw_book(tmp_path / "book", BOOK + more))
        for look in (book_spreads, look_into, lambda b: find_spread(b, "front")):
            with pytest.raises(BookError) as caught:
                look(book)
            (fault,) = caught.value.faults
            assert str(fault) == (
                f'book.toml: {key}: "frontt" is not a spread of this folder; did you mean "front"?'
            )

    def test_a_side_that_is_not_there(self, tmp_path: Path, capfd) -> None:
        text = changed("bleed_mm = 3", 'bleed_mm = 3\nsides = ["front", "bak"]')
        folder = draw_book(tmp_path / "book", text, spreads=("front", "back"))
        for name in ("check", "predict"):
            ran = command(capfd, name, folder, "--spread", "front")
            assert ran.code == 2
            assert ran.messages == [
                'inkmix: book.toml: strip.sides[2]: "bak" is not a spread of this folder; '
                'did you mean "back"?'
            ]

    def test_a_spread_without_plates_that_can_be_read_is_there(self, tmp_path: Path) -> None:
        folder = draw_book(tmp_path / "book", BOOK + self.NIGHT.format("back"))
        (folder / "plates/back").symlink_to("/nowhere/back")
        back, front = book_spreads(read_book(folder))
        assert (back.name, len(back.faults), front.faults) == ("back", 1, ())

    def test_a_cover_in_other_inks_on_other_paper(self, tmp_path: Path) -> None:
        """Plates are those of its inks; condition and limit are its own; the rest is as before."""
        inks = TWO_INKS.replace("Brass", "Rowan").replace("[60, 5, 40]", "[52, 58, 40]")
        text = BOOK + COVER + COATED + inks + "[override.press]\nink_limit_pct = 320\n"
        folder = draw_book(tmp_path / "book", text, spreads=("cover", "front"))
        plate_of(folder, "Fjord", "cover").unlink()
        book = read_book(folder)
        cover, front = book_spreads(book)
        assert (list(cover.files), list(front.files)) == (["Soot", "Rowan"], list(plates()))
        assert list(spread_sources(book, cover)) == ["Soot", "Rowan"]
        result = check_spread(book, "cover", found=cover)
        assert [ink.name for ink in result.inks] == ["Soot", "Rowan"]
        assert result.condition.paper_class == "coated"
        assert result.facts["total_ink"].limit_pct == 320
        assert result.digests["book.toml"] == book.for_spread("cover").digest
        inner = check_spread(book, "front")
        assert (inner.condition.paper_class, inner.facts["total_ink"].limit_pct) == (
            "uncoated",
            260,
        )
        assert inner == check_spread(read(BOOK, folder), "front")
        assert result == check_spread(book.for_spread("cover"), "cover", found=cover)

    def test_predict_knows_the_inks_of_the_spread(self, tmp_path: Path, capfd) -> None:
        text = BOOK + COVER + TWO_INKS.replace('"Brass"', '"Rowan"')
        folder = draw_book(tmp_path / "book", text, spreads=("cover", "front"))
        for spread, code in (("front", 0), ("cover", 2)):
            ran = command(capfd, "predict", folder, "--spread", spread, "--inks", "Fjord")
            assert ran.code == code
        assert ran.messages == [
            "inkmix: ink Fjord: no plate has this name, but the inks are Soot, Rowan"
        ]

    def test_files_that_are_given_are_not_looked_for(self, tmp_path: Path, monkeypatch) -> None:
        book = read_book(draw_book(tmp_path / "book"))
        found = find_spread(book, "front")
        expected = check_spread(book, "front")
        monkeypatch.setattr("inkmix.plates.found.spreads.matches", None)
        assert check_spread(book, "front", found=found) == expected

    def test_faults_of_given_files_are_raised(self, tmp_path: Path) -> None:
        folder = draw_book(tmp_path / "book", spreads=("back", "front"))
        plate_of(folder, "Fjord").rename(plate_of(folder, "Fiord"))
        book = read_book(folder)
        with pytest.raises(PlateError, match="did you mean Fjord"):
            check_spread(book, "front", found=find_spread(book, "front"))
        assert check_spread(book, "back").verdict
        with pytest.raises(UsageError, match='did you mean "front"'):
            check_spread(book, "Front")


OPENED = """
import os, sys
from pathlib import Path
from inkmix.jobs.books import read_book
from inkmix.book.meant.plates import find_spread
from inkmix.jobs.check import check_spread

book = read_book(Path(sys.argv[1]))
opened = set()
folder = str(book.folder) + os.sep

def told(event, arguments):
    if event == "open" and isinstance(arguments[0], str) and arguments[0].startswith(folder):
        opened.add(arguments[0][len(folder):])

found = find_spread(book, sys.argv[2])
sys.addaudithook(told)
check_spread(book, sys.argv[2], found=found)
print("\\n".join(sorted(opened)))
"""


class TestInputs:
    """A check opens no file of the book's folder but those that decide its answer, and all."""

    def whole(self, folder: Path) -> Path:
        """A book that names a file in every place where one can be named."""
        night = NIGHT.replace("masks/cellar.png", "masks/{spread}.png")
        text = BOOK.replace("lab = [52, 58, 40]", 'measurements = "rowan.txt"')
        text += night + night.replace("cellar", "hold") + 'spreads = ["back"]\n'
        text = text.replace(
            'name = "hold"\nmask = "masks/{spread}', 'name = "hold"\nmask = "masks/x'
        )
        text += '[reference]\npicture = "{spread}.png"\n'
        text += COVER.replace("cover", "back") + (
            'paper = { measurements = "paper.txt", class = "uncoated" }\nnight = []\n'
        )
        draw_book(folder, text, spreads=("back", "front"))
        (folder / "masks/cellar.png").rename(folder / "masks/front.png")
        (folder / "masks/x.png").write_bytes((folder / "masks/front.png").read_bytes())
        (folder / "paper.txt").write_bytes((folder / "rowan.txt").read_bytes())
        for spread in ("front", "back"):
            write_png(folder / f"{spread}.png", plates()["Soot"], PPI)
        return folder

    @pytest.mark.parametrize(
        ("spread", "more"),
        [
            ("front", {"masks/front.png"}),
            ("back", {"paper.txt"}),
        ],
    )
    def test_as_the_system_sees_it(self, spread: str, more: set[str], tmp_path: Path) -> None:
        folder = self.whole(tmp_path / "book")
        book = read_book(folder)
        named = input_files(book, find_spread(book, spread))
        done = subprocess.run(
            [sys.executable, "-c", OPENED, str(folder), spread],
            env={**os.environ, "INKMIX_LOOPS": "numpy"},  # which start sooner
            capture_output=True,
            text=True,
            check=True,
        )
        expected = {f"plates/{spread}/{ink}.tif" for ink in plates()}
        expected |= {"rowan.txt", f"{spread}.png", *more}
        assert {path.relative_to(folder).as_posix() for path in named} == expected
        assert set(done.stdout.split("\n")) - {""} == expected

    def test_overprints_and_what_is_not_there(self, tmp_path: Path) -> None:
        (tmp_path / "mixes.txt").write_text("")
        book = read(changed("260", '260\noverprints = "mixes.txt"') + NIGHT.replace(
            "masks/cellar.png", "masks/{spread}.png"), tmp_path)  # fmt: skip
        soot = tmp_path / "plates/01/Soot.tif"
        found = SpreadFiles(name="01", files={"Soot": soot, "Fjord": soot, "Rowan": None})
        assert input_files(book, found) == (
            soot,
            tmp_path / "masks/01.png",
            tmp_path / "mixes.txt",
        )
