"""A first book from a folder: what is guessed, that it can be read, that nothing is overwritten."""

import hashlib
import json
import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

import inkmix.book.first.folder
from inkmix.base.errors import OutputError, PlateError
from inkmix.book.first.colour_words import COLOURS, ENDINGS, plain_words
from inkmix.book.first.folder import Started
from inkmix.book.first.inkwords import InkGuess, guess_each, guess_inks, is_ink_word
from inkmix.book.first.layout import file_of, find_layout, is_plate_path, spread_pattern
from inkmix.book.first.sizes import PlateSize, guess_strip
from inkmix.book.meant.condition import resolve_condition
from inkmix.book.meant.plates import book_spreads, find_spread
from inkmix.book.meant.sources import spread_sources
from inkmix.checks.confidence import may_pass
from inkmix.cli.main import run
from inkmix.jobs.books import read_book
from inkmix.jobs.start import start_book, write_book_schema

NIGHT = ("Soot", "Fjord", "Rowan", "Brass", "Fog")


def draw(
    folder: Path, *names: str, ppi: float | None = 200, size: tuple[int, int] = (24, 16)
) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        pixels = np.full(size[::-1], 200, np.uint8)
        if path.suffix == ".png":
            Image.fromarray(pixels).save(path, dpi=(ppi, ppi) if ppi else None)
        else:
            tags = {"resolution": (ppi, ppi), "resolutionunit": 2} if ppi else {}
            tifffile.imwrite(path, pixels, photometric="minisblack", **tags)


def contents(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def started(folder: Path) -> tuple[Started, str]:
    before = contents(folder)
    result = start_book(folder)
    after = contents(folder)
    after.pop("book.toml")
    assert after == before
    return result, result.path.read_text()


class TestBook:
    def test_it_can_be_read_and_resolved(self, tmp_path: Path) -> None:
        draw(tmp_path, *(f"plates/{s}/{i}.tif" for s in ("night-01", "night-02") for i in NIGHT))
        done, _ = started(tmp_path)
        book = read_book(tmp_path)
        assert book.ink_names == NIGHT
        assert done.next_steps[-1] == f"Then: inkmix batch {tmp_path}"  # check asks for one spread
        assert [ink.swatch for ink in book.inks] == [f"night-ferry/{name}" for name in NIGHT]
        assert book.plates.pattern == "plates/{spread}/{ink}.tif"
        assert [spread.name for spread in book_spreads(book)] == ["night-01", "night-02"]
        assert resolve_condition(book).hints == ()

    def test_nothing_passes_while_inks_and_paper_are_guessed(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif", "plates/01/Rowan.tif")
        started(tmp_path)
        book = read_book(tmp_path)
        assert book.paper.is_guess
        assert book.press.is_guess
        assert book.order_is_guess
        assert all(ink.is_guess for ink in book.inks)
        condition = resolve_condition(book)
        assert any("the paper is a guess" in guess for guess in condition.guesses)
        assert "the colour of Soot is a guess" in condition.guesses
        assert not may_pass(condition, np.array([100.0, 0.0]))

    def test_every_value_that_is_guessed_says_so(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif", "plates/01/Rot.tif")
        result, text = started(tmp_path)
        values = [line for line in text.splitlines() if " = " in line and line[0] not in "#["]
        known = ("format = 1", 'name = "Soot"', 'name = "Rot"')
        marked = ("# guessed", 'guessed = "', "guessed_order = [")
        unmarked = [line for line in values if not any(mark in line for mark in marked)]
        assert set(unmarked) <= set(known)
        assert sum("# guessed" in line for line in text.splitlines()) >= len(result.guesses) > 5

    def test_what_was_measured_has_its_lines_ready(self, tmp_path: Path) -> None:
        """Where the # goes, the book names a press file and tells a mix of its own inks."""
        draw(tmp_path, "plates/01/Soot.tif", "plates/01/Fjord.tif")
        _, text = started(tmp_path)
        mix = 'mix = { "Soot" = 60, "Fjord"'
        for setting in ("condition = ", "[[measured]]", mix, "lab = [24, 2, -9]"):
            assert text.count(f"# {setting}") == 1
            text = text.replace(f"# {setting}", setting)
        (tmp_path / "book.toml").write_text(text, encoding="utf-8")
        (tmp_path / "press").mkdir()
        (tmp_path / "press" / "readings.toml").touch()
        book = read_book(tmp_path)
        assert book.press.condition == "press/readings.toml"
        assert book.measured[0].mix_pct == {"Soot": 60, "Fjord": 60}
        assert book.measured[0].lab == (24, 2, -9)

    def test_a_book_of_one_ink_has_no_mix_to_tell(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        assert "[[measured]]" not in started(tmp_path)[1]

    def test_no_plate_size_is_invented(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif", ppi=None)
        result, text = started(tmp_path)
        assert read_book(tmp_path).plates.ppi is None
        assert "resolution not said" in text
        assert any("resolution" in step for step in result.next_steps)
        assert "# Their resolution is needed; write what they were drawn at:\n# ppi = 400" in text

    def test_sizes_are_told(self, tmp_path: Path) -> None:
        draw(tmp_path, "Soot.tif", "Fog.png", size=(400, 200))
        text = started(tmp_path)[1]
        assert "400 × 200 px at 200 ppi, that is 50.8 × 25.4 mm" in text
        assert "resolution is needed" not in text
        assert read_book(tmp_path).strip is None

    def test_the_size_of_most_plates_is_told(self, tmp_path: Path) -> None:
        draw(tmp_path, "p/01/Soot.tif", size=(30, 20))
        draw(tmp_path, "p/01/Fog.tif", "p/02/Soot.tif", "p/02/Fog.tif")
        assert "# The plates: 24 × 16 px at 200 ppi" in started(tmp_path)[1]

    def test_a_strip_of_standard_leaves(self, tmp_path: Path) -> None:
        size = (round(846 / 25.4 * 72), round(154 / 25.4 * 72))
        draw(tmp_path, "front/Soot.tif", "back/Soot.tif", size=size, ppi=72)
        started(tmp_path)
        strip = read_book(tmp_path).strip
        assert strip is not None
        assert (strip.panels, strip.trim_mm, strip.bleed_mm) == (8, (840, 148), 3)

    def test_masks_and_reference(self, tmp_path: Path) -> None:
        for spread in ("01", "02"):
            draw(tmp_path, f"plates/{spread}/Soot.tif", f"plates/{spread}/Fog.tif")
            draw(tmp_path, f"masks/{spread}.png")
        draw(tmp_path, "masks/hull.png", "reference/whole.png")
        started(tmp_path)
        book = read_book(tmp_path)
        assert [night.mask for night in book.nights] == ["masks/{spread}.png", "masks/hull.png"]
        assert [night.lightest_L for night in book.nights] == [None, None]
        assert book.reference == "reference/whole.png"

    def test_of_several_pictures_none_is_taken_for_the_reference(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif", "reference/first.png", "reference/second.png")
        started(tmp_path)
        assert read_book(tmp_path).reference is None

    def test_a_missing_plate_is_allowed_for(self, tmp_path: Path) -> None:
        draw(tmp_path, "p/01/Soot.tif", "p/01/Fog.tif", "p/02/Soot.tif")
        started(tmp_path)
        assert read_book(tmp_path).plates.absent == "empty"

    def test_awkward_names(self, tmp_path: Path) -> None:
        folder = tmp_path / 'N\u00e4chte "quoted"'
        draw(folder, "pl\u00e4tten/erste Nacht/Tiefblau.tif", "pl\u00e4tten/erste Nacht/Ocker.tif")
        started(folder)
        book = read_book(folder)
        assert book.title == 'N\u00e4chte "quoted"'
        assert set(book.ink_names) == {"Tiefblau", "Ocker"}
        (spread,) = book_spreads(book)
        assert spread.name == "erste Nacht"
        assert all(spread.files.values())


class TestMultiInk:
    def test_cmyk_file(self, tmp_path: Path) -> None:
        pixels = np.zeros((8, 8, 4), np.uint8)
        tifffile.imwrite(tmp_path / "sheet.tif", pixels, photometric="separated")
        started(tmp_path)
        book = read_book(tmp_path)
        assert book.plates.pattern == "{spread}.tif"
        assert book.plates.channels == ("Cyan", "Magenta", "Yellow", "Black")
        assert book.ink_names[0] == "Black"
        sources = spread_sources(book, find_spread(book, "sheet"))
        assert {ink: source.channel for ink, source in sources.items() if source} == {
            "Cyan": 0, "Magenta": 1, "Yellow": 2, "Black": 3,
        }  # fmt: skip

    def test_file_that_names_its_inks(self, tmp_path: Path) -> None:
        pixels = np.zeros((8, 8, 5), np.uint8)
        names = b"".join(name.encode() + b"\0" for name in NIGHT)
        tifffile.imwrite(
            tmp_path / "sheet.tif",
            pixels,
            photometric="separated",
            extratags=[(332, 3, 1, 2, True), (333, 2, len(names), names, True)],
        )
        started(tmp_path)
        book = read_book(tmp_path)
        assert (book.ink_names, book.plates.channels) == (NIGHT, ())


class TestNames:
    def test_a_mask_is_never_taken_for_every_spread_in_silence(self, tmp_path: Path) -> None:
        """Two of three spreads have a mask of their own, one mask bears the name of none."""
        for spread in ("01", "02", "11"):
            draw(tmp_path, f"plates/{spread}/Soot.tif", f"plates/{spread}/Fog.tif")
        draw(tmp_path, "masks/01.png", "masks/11_sky.png", "masks/hull.png")
        started = start_book(tmp_path)
        nights = {night.mask: night.spreads for night in read_book(tmp_path).nights}
        assert nights == {
            "masks/01.png": ("01",), "masks/11_sky.png": ("11",), "masks/hull.png": (),
        }  # fmt: skip
        (said,) = (one for one in started.guesses if "hull.png" in one)
        assert "taken for all 3 spreads: say on which it is, spreads = [...]" in said

    def test_a_book_of_several_spreads_shows_how_each_has_its_mask(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif", "plates/01/Fog.tif")
        start_book(tmp_path)
        assert 'mask = "masks/sea.png"' in (tmp_path / "book.toml").read_text()
        (tmp_path / "book.toml").unlink()
        draw(tmp_path, "plates/02/Soot.tif", "plates/02/Fog.tif")
        start_book(tmp_path)
        text = (tmp_path / "book.toml").read_text()
        assert 'mask = "masks/{spread}.png"' in text
        assert "one for each spread" in text

    def test_masks_of_one_name_are_told_apart_by_their_folders(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/Soot.tif", "plates/Fog.tif")
        draw(tmp_path, "a/masks/sky.png", "b/masks/Sky.png", "masks/sea.png", "masks/sea.tif")
        started(tmp_path)
        names = {night.name: night.mask for night in read_book(tmp_path).nights}
        assert names == {
            "sky (a/masks)": "a/masks/sky.png",
            "Sky (b/masks)": "b/masks/Sky.png",
            "sea (masks) 1": "masks/sea.png",
            "sea (masks) 2": "masks/sea.tif",
        }

    @pytest.mark.parametrize("folders", [("plates",), ("plates/01", "plates/02")])
    def test_more_plates_than_a_book_takes(self, folders: tuple[str, ...], tmp_path: Path) -> None:
        inks = (*NIGHT, "Red", "Blue", "Green", "Yellow")
        draw(tmp_path, *(f"{folder}/{ink}.tif" for folder in folders for ink in inks))
        with pytest.raises(PlateError, match=r"9 inks, by their names: Blue, .* up to 8"):
            start_book(tmp_path)
        assert not (tmp_path / "book.toml").exists()

    def test_many_spreads_called_by_colours_are_no_inks(self, tmp_path: Path) -> None:
        spreads = ["red", "blue", "green", "yellow", "orange", "violet", "brown", "pink", "white"]
        draw(tmp_path, *(f"plates/{spread}/{ink}.tif" for spread in spreads for ink in "AB"))
        started(tmp_path)
        assert read_book(tmp_path).plates.pattern == "plates/{spread}/{ink}.tif"

    def test_one_name_with_two_endings(self, tmp_path: Path) -> None:
        draw(tmp_path, "Black.tif", "black.PNG", "Red.tif", "other/sketch.png")
        result, _ = started(tmp_path)
        assert read_book(tmp_path).ink_names == ("Black", "Red")
        assert result.notes == (
            "black.PNG: Black.tif has the same name and was taken; keep the one that is meant",
            "other/sketch.png: may be a plate, but is not named as the others are, {ink}.tif",
        )

    def test_endings_and_cases_of_one_folder_are_one_set(self, tmp_path: Path) -> None:
        names = ("01/Soot.tif", "01/Fjord.TIF", "01/Rowan.tiff", "01/brass.png")
        more = ("02/soot.TIFF", "02/FJORD.tif", "02/Rowan.PNG", "02/brass.tif")
        draw(tmp_path, *(f"plates/{name}" for name in (*names, *more)))
        result, _ = started(tmp_path)
        book = read_book(tmp_path)
        assert book.plates.pattern == "plates/{spread}/{ink}.tif"
        assert set(book.ink_names) == {"Soot", "Fjord", "Rowan", "brass"}
        assert result.notes == ()
        for spread in book_spreads(book):
            assert None not in spread.files.values()
            assert spread.faults == ()

    def test_pngs_alone_have_their_own_ending(self, tmp_path: Path) -> None:
        draw(tmp_path, "Soot.png", "Rowan.PNG")
        started(tmp_path)
        assert read_book(tmp_path).plates.pattern == "{ink}.png"

    def test_what_lies_among_plates_and_is_none_is_named(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/Soot.tif", "plates/Rowan.tif", "plates/Fog_old.tif", "masks/sky.png")
        for name in ("plates/Brass.psd", "plates/notes.txt", "letter.txt"):
            (tmp_path / name).write_bytes(b"x")
        Image.new("RGB", (24, 16)).save(tmp_path / "plates" / "sketch.png", dpi=(200, 200))
        result, _ = started(tmp_path)
        assert read_book(tmp_path).ink_names == ("Soot", "Rowan")
        assert sorted(result.notes) == [
            "plates/Brass.psd: is no plate by its ending; plates are TIFF or PNG files",
            "plates/Fog_old.tif: is no plate by its name",
            "plates/notes.txt: is no plate by its ending; plates are TIFF or PNG files",
            "plates/sketch.png: is a picture in colours, and plates are grey",
        ]

    def test_names_that_are_no_text_are_left_out_and_said(self, tmp_path: Path) -> None:
        try:
            (tmp_path / "x\udcff").mkdir()
        except OSError:
            pytest.skip("this file system has names in UTF-8 only")
        draw(tmp_path, "Soot.tif", "Fog\udcff.tif", "masks/sky\udcff.png", "x\udcff/Red.tif")
        result, _ = started(tmp_path)
        assert read_book(tmp_path).ink_names == ("Soot",)
        said = "its name is not UTF-8 text; rename the file, or the folder that it lies in"
        names = ("Fog\udcff.tif", "masks/sky\udcff.png", "x\udcff/Red.tif")
        assert result.notes == tuple(f"{name}: {said}" for name in names)

    def test_a_folder_whose_name_is_no_text(self, tmp_path: Path) -> None:
        try:
            draw(tmp_path / "night\udcff", "Soot.tif")
        except OSError:
            pytest.skip("this file system has names in UTF-8 only")
        started(tmp_path / "night\udcff")
        assert read_book(tmp_path / "night\udcff").title == "night\ufffd"

    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("So{x}ot.tif", "So{x}ot.tif: is not a name for an ink"),
            ('So"ot.tif', 'So"ot.tif: is not a name for an ink'),
            (f"{'x' * 101}.tif", "names of inks have 1 to 100 characters"),
            ("soot.tif", "soot.tif: differs from Soot.tif in case only"),
            (".{ink}/Rowan.tif", None),
            ("a\nb.tif", "holds a backslash or a character that cannot be seen"),
            ("a\x7fb.tif", "holds a backslash or a character that cannot be seen"),
            ("a\\b.tif", "holds a backslash or a character that cannot be seen"),
            ("{ink}.tif", "holds {ink} or {spread}"),
            ("masks/a{b}.png", "masks/a{b}.png: no book can name this file"),
        ],
    )
    def test_what_no_book_can_name_is_told_as_what_lies_there(
        self, name: str, words: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        draw(tmp_path, "Soot.tif", "Fog.tif", name)
        code, said = run(["start", str(tmp_path)]), capsys.readouterr().err
        assert "book.toml, line" not in said
        assert words is None or words in said
        assert code == 0 or not (tmp_path / "book.toml").exists()
        assert code in (0, 3)

    def test_any_other_fault_of_the_draft_is_told_of_the_folder(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        draw(tmp_path, "Soot.tif", "Fog.tif")
        folder = inkmix.book.first.folder
        monkeypatch.setattr(folder, "draft_text", lambda *_: "format = 1\nx = 2\n")
        said = "no book can be written for what lies here"
        with pytest.raises(PlateError, match=said) as caught:
            start_book(tmp_path)
        assert {fault.where for fault in caught.value.faults} == {str(tmp_path)}
        assert not (tmp_path / "book.toml").exists()

    def test_unreadable_plates_are_named_where_no_other_is_there(self, tmp_path: Path) -> None:
        (tmp_path / "Soot.tif").write_bytes(b"")
        with pytest.raises(PlateError, match=r"Soot\.tif"):
            start_book(tmp_path)


class TestRefusals:
    def test_a_book_is_never_overwritten(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        (tmp_path / "book.toml").write_text("mine")
        with pytest.raises(OutputError, match="nothing is overwritten"):
            start_book(tmp_path)
        assert (tmp_path / "book.toml").read_text() == "mine"

    def test_a_dangling_link_counts_as_a_book(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        (tmp_path / "book.toml").symlink_to(tmp_path / "elsewhere.toml")
        with pytest.raises(OutputError):
            start_book(tmp_path)
        assert not (tmp_path / "elsewhere.toml").exists()

    @pytest.mark.parametrize(
        ("names", "words"),
        [
            ((), "no plates were found"),
            (("notes.txt",), "no plates were found"),
            (("plates.pdf",), "PDF"),
            (("mask.tif",), "no plates were found"),
        ],
    )
    def test_no_plates(self, names: tuple[str, ...], words: str, tmp_path: Path) -> None:
        for name in names:
            (tmp_path / name).write_bytes(b"%PDF-1.7")
        with pytest.raises(PlateError, match=words):
            start_book(tmp_path)
        assert not (tmp_path / "book.toml").exists()

    def test_no_folder(self, tmp_path: Path) -> None:
        with pytest.raises(PlateError, match="is not there"):
            start_book(tmp_path / "nowhere")
        (tmp_path / "file").write_bytes(b"")
        with pytest.raises(PlateError, match="is not a folder"):
            start_book(tmp_path / "file")

    def test_broken_plates_are_named_and_left_out(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        (tmp_path / "plates/01/Fog.tif").write_bytes(b"")
        result, _ = started(tmp_path)
        assert any("Fog.tif" in note for note in result.notes)
        assert read_book(tmp_path).ink_names == ("Soot",)

    def test_litter_is_passed_over(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        for litter in ("plates/01/._Soot.tif", "plates/01/Thumbs.db", "__MACOSX/01/Soot.tif"):
            (tmp_path / litter).parent.mkdir(parents=True, exist_ok=True)
            (tmp_path / litter).write_bytes(b"x")
        assert started(tmp_path)[0].notes == ()

    def test_a_folder_that_cannot_be_written(self, tmp_path: Path) -> None:
        draw(tmp_path, "plates/01/Soot.tif")
        tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
        other = tmp_path.parent / f"{tmp_path.name}-other"
        draw(other, "plates/01/Soot.tif")
        code = (  # a first run loads what a user without rights could not read any more
            "import os, sys\n"
            "from inkmix.cli.main import run\n"
            "assert run(['start', sys.argv[2]]) == 0\n"
            "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
            "sys.exit(run(['start', sys.argv[1]]))\n"
        )
        for path in (tmp_path, *tmp_path.parents):
            if path.owner() == "root" and path != Path("/"):
                path.chmod(path.stat().st_mode | 0o055)
        try:
            done = subprocess.run(
                [sys.executable, "-c", code, str(tmp_path), str(other)],
                capture_output=True,
                text=True,
            )
        finally:
            tmp_path.chmod(0o755)
        assert (done.returncode, "Permission denied" in done.stderr) == (2, True), done.stderr
        assert "Traceback" not in done.stderr
        assert os.listdir(tmp_path) == ["plates"]


class TestCommand:
    def test_says_what_it_guessed_and_what_to_do(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        draw(tmp_path, "plates/01/Soot.tif", "plates/01/K.tif")
        assert run(["start", str(tmp_path)]) == 0
        out, err = capsys.readouterr()
        assert out == ""
        assert 'srgb = "#000000"' in err
        assert "inkmix check" in err
        assert run(["start", str(tmp_path)]) == 2
        assert "nothing is overwritten" in capsys.readouterr().err

    def test_schema(self, tmp_path: Path) -> None:
        assert run(["start", "--schema", str(tmp_path)]) == 0
        schema = json.loads((tmp_path / "book.schema.json").read_text())
        assert "press" in schema["properties"]
        assert os.listdir(tmp_path) == ["book.schema.json"]
        with pytest.raises(OutputError):
            write_book_schema(tmp_path)

    def test_unreadable_folder_is_exit_code_3(self, tmp_path: Path) -> None:
        assert run(["start", str(tmp_path / "nowhere")]) == 3


INKS = ("Soot", "Rowan", "Fog")


class TestLayout:
    @pytest.mark.parametrize(
        "pattern",
        [
            "plates/{spread}/{ink}.tif",
            "{spread}/{ink}.tif",
            "{ink}/{spread}.tif",
            "plates/{ink}/{spread}.png",
            "plates/{spread}_{ink}.tif",
            "{spread}-{ink}.tif",
            "{ink}_{spread}.tif",
            "{spread} {ink}.tif",
            "deep/down/{spread}/{ink}.tiff",
        ],
    )
    @pytest.mark.parametrize("spreads", [("01", "02"), ("night-a", "night-b"), ("p1", "p2", "p3")])
    def test_patterns(self, pattern: str, spreads: tuple[str, ...]) -> None:
        paths = [
            pattern.replace("{spread}", spread).replace("{ink}", ink)
            for spread in spreads
            for ink in INKS
        ]
        layout = find_layout(paths, is_ink=INKS.__contains__)
        assert layout is not None
        assert layout.pattern == pattern
        assert set(layout.inks) == set(INKS)
        assert set(layout.spreads) == set(spreads)

    def test_loose_files(self) -> None:
        layout = find_layout(["Soot.tif", "Fog.tif", "Soot 2.tif"], is_ink=is_ink_word)
        assert layout is not None
        assert (layout.pattern, layout.spreads) == ("{ink}.tif", ("sheet",))

    def test_unknown_inks_in_folders(self) -> None:
        paths = [f"plates/{s}/{i}.tif" for s in ("a", "b", "c") for i in ("one", "two")]
        layout = find_layout(paths, is_ink=lambda _: False)
        assert layout is not None
        assert layout.pattern == "plates/{spread}/{ink}.tif"

    def test_one_folder_of_unknown_inks_is_no_ink(self) -> None:
        layout = find_layout(["plates/Mulberry.tif", "plates/Pond.tif"], is_ink=is_ink_word)
        assert layout is not None
        assert layout.inks == ("Mulberry", "Pond")

    def test_one_folder_with_the_name_of_a_colour_is_no_ink(self) -> None:
        layout = find_layout(["grey/Mulberry.tif", "grey/Pond.tif"], is_ink=is_ink_word)
        assert layout is not None
        assert layout.inks == ("Mulberry", "Pond")

    def test_more_unknown_inks_than_spreads_are_still_no_folders(self) -> None:
        paths = [f"plates/{s}/{i}.tif" for s in ("a", "b") for i in ("one", "two", "three")]
        layout = find_layout(paths, is_ink=lambda _: False)
        assert layout is not None
        assert layout.pattern == "plates/{spread}/{ink}.tif"

    def test_numbers_are_spreads_and_no_inks(self) -> None:
        paths = [f"{ink}_{page}.tif" for ink in ("Mulberry", "Pond") for page in ("01", "02")]
        layout = find_layout(paths, is_ink=lambda _: False)
        assert layout is not None
        assert (layout.inks, layout.spreads) == (("Mulberry", "Pond"), ("01", "02"))

    def test_other_pictures_are_no_plates(self) -> None:
        names = ["masks/a.png", "night_mask.tif", "reference/a.png", "a/report.png", "a.jpg"]
        assert not any(map(is_plate_path, names))
        assert is_plate_path("plates/Preface.tif")  # holds a word, but is none

    def test_pictures_by_spread(self) -> None:
        assert spread_pattern(["m/01.png", "m/02.png"], ["01", "02"]) == "m/{spread}.png"
        assert spread_pattern(["m/01.png"], ["01", "02"]) is None


def guess_ink(name: str) -> InkGuess:
    (guess,) = guess_each([name])
    return guess


class TestInkWords:
    @pytest.mark.parametrize(
        ("name", "colour"),
        [
            ("black", "#000000"), ("Schwarz", "#000000"), ("K", "#000000"), ("noir", "#000000"),
            ("01_Cyan", "#00a0dc"), ("dunkelblau", "#1f4fa3"), ("Grün", "#1f8a4c"),
            ("Deep Red", "#d0202a"), ("rosé", "#f07aa8"),
        ],
    )  # fmt: skip
    def test_colour_words(self, name: str, colour: str) -> None:
        guess = guess_ink(name)
        assert (guess.srgb, guess.swatch) == (colour, None)

    @pytest.mark.parametrize(
        ("words", "colour"),
        [
            ("crveni", "#d0202a"), ("pomarańczowe", "#ee7d1a"), ("amarelo", "#ffe000"),
            ("vihreä", "#1f8a4c"), ("mavi", "#1f4fa3"), ("roxo", "#6a3f9c"), ("hnědý", "#7a4a2a"),
            ("fekete", "#000000"), ("branco", "#ffffff"), ("růžové", "#f07aa8"),
            ("grått", "#808080"), ("GRØNN plate", "#1f8a4c"), ("grøn", "#1f8a4c"),
            ("kırmızı", "#d0202a"),
        ],
    )  # fmt: skip
    def test_languages_of_latin_script(self, words: str, colour: str) -> None:
        """Words of the Unicode CLDR 48.2, annotations of coloured circles and hearts."""
        assert guess_ink(words).srgb == colour

    @pytest.mark.parametrize(
        ("name", "colour"),
        [
            ("coral", "#ff7f50"), ("Midnight Blue", "#191970"), ("dark-red", "#8b0000"),
            ("rebeccapurple", "#663399"), ("Tomato_v3_final", "#ff6347"), ("olive", "#808000"),
        ],
    )  # fmt: skip
    def test_named_colours_of_css(self, name: str, colour: str) -> None:
        """Values of CSS Color Module Level 4, section 6.1."""
        assert guess_ink(name).srgb == colour

    def test_words_are_as_they_are_looked_up(self) -> None:
        assert all(plain_words(word) == (word,) for word in COLOURS)
        assert all(re.fullmatch("#[0-9a-f]{6}", colour) for colour in COLOURS.values())
        assert COLOURS.keys() >= ENDINGS
        assert len(COLOURS) > 350

    @pytest.mark.parametrize("name", ["mimosa", "overt", "Formosa", "corrode", "tigris"])
    def test_words_that_only_end_like_a_colour(self, name: str) -> None:
        assert not is_ink_word(name)

    @pytest.mark.parametrize(
        ("names", "title", "taken"),
        [
            (("red-fox_teal", "red-fox_coral"), "", ("#17808a", "#ff7f50")),
            (("red_fox_teal", "redfox_plum"), "Red Fox", ("#17808a", "#dda0dd")),
            (("NF_Soot_v2", "NF_Rowan_final"), "", ("night-ferry/Soot", "night-ferry/Rowan")),
            (("2026-11-28 plate Soot 03",), "", ("night-ferry/Soot",)),
            (("Light Blue", "Dark Blue"), "", ("#add8e6", "#00008b")),
            (("red-fox_teal", "red-fox_xyz"), "", ("#17808a", "#808080")),
            (("Blue", "Dark Blue"), "", ("#1f4fa3", "#00008b")),
            (("Blue", "Coral Blue"), "", ("#1f4fa3", "#ff7f50")),
            (("Red",), "Red", ("#d0202a",)),
        ],
    )
    def test_what_names_share_and_the_title_are_no_colour(
        self, names: tuple[str, ...], title: str, taken: tuple[str, ...]
    ) -> None:
        guesses = guess_each(names, title=title)
        assert tuple(guess.swatch or guess.srgb for guess in guesses) == taken
        assert tuple(guess.name for guess in guesses) == names

    @pytest.mark.parametrize("name", ["Soot", "soot", "SOOT", "Soot 2", "01 Soot"])
    def test_swatches(self, name: str) -> None:
        assert guess_ink(name).swatch == "night-ferry/Soot"

    def test_a_slip(self) -> None:
        guess = guess_ink("Rowen")
        assert (guess.name, guess.swatch, guess.why) == (
            "Rowen",
            "night-ferry/Rowan",
            "the nearest name",
        )

    def test_character(self) -> None:
        assert guess_ink("Neon Pink").character == ("fluorescent",)
        assert guess_ink("Gold").character == ("metallic",)

    def test_nothing_known(self) -> None:
        assert not is_ink_word("Zwölf")
        assert not any(map(is_ink_word, ("Plank", "Storm", "Quay")))  # they end in k, m and y
        assert is_ink_word("Nachtblau")
        assert guess_ink("Zwölf").srgb == "#808080"

    def test_process_inks_first_then_dark_before_light_and_an_orange_last(self) -> None:
        # Common practice; an orange scatters, so it is printed last (measured seven-ink presses).
        given = ["pink", "orange", "yellow", "navy 2", "green", "cyan", "black", "white"]
        guesses, words = guess_inks([*given, "magenta"])
        assert [guess.name for guess in guesses] == [
            "black", "navy 2", "cyan", "magenta", "pink", "yellow", "green", "white", "orange",
        ]  # fmt: skip
        assert words == "process inks first, then dark before light, an orange last"


class TestSizes:
    def test_millimetres(self) -> None:
        assert PlateSize(width_px=2540, height_px=1270, ppi=254).mm == pytest.approx((254, 127))
        assert PlateSize(width_px=10, height_px=10, ppi=None).mm is None

    @pytest.mark.parametrize(
        ("width_mm", "height_mm", "expected"),
        [
            (840, 148, ("A6", 8, 0)),
            (846, 154, ("A6", 8, 3)),
            (296 * 2 + 10, 220, ("A5", 4, 5)),
            (105, 148, None),  # one leaf is no strip
            (880, 150, None),
            (845, 148, None),
            (842, 148, None),  # two millimetres are more than a pixel of rounding
        ],
    )
    def test_strip(
        self, width_mm: float, height_mm: float, expected: tuple[str, int, float] | None
    ) -> None:
        size = PlateSize(
            width_px=round(width_mm / 25.4 * 300), height_px=round(height_mm / 25.4 * 300), ppi=300
        )
        guess = guess_strip(size)
        found = None if guess is None else (guess.format, guess.panels, guess.bleed_mm)
        assert found == expected


def test_a_book_of_several_spreads_says_how_one_of_them_may_differ(tmp_path: Path) -> None:
    draw(tmp_path, *(f"plates/{spread}/Soot.tif" for spread in ("2", "10")))
    _, text = started(tmp_path)
    starts = ("# [[override]]", "# spreads =", "# press =")
    off = [line.removeprefix("# ") for line in text.splitlines() if line.startswith(starts)]
    (tmp_path / "book.toml").write_text(text + "\n".join(off))
    limit = read_book(tmp_path).for_spread("10").press.ink_limit_pct
    assert limit is not None
    assert limit.value == 300
    assert read_book(tmp_path).for_spread("2").press.ink_limit_pct is None


def test_the_file_of_an_ink_is_the_one_that_the_pattern_takes_for_it():
    layout = find_layout(["plates/a/Black.tif", "plates/b/Black.tif", "plates/a/k.tif"],
                         is_ink=lambda name: True)  # fmt: skip
    assert layout is not None
    assert file_of(layout, "k") == "plates/a/k.tif"
    assert file_of(layout, "Black") == "plates/a/Black.tif"
    assert file_of(layout, "lac") is None


def test_a_word_of_web_pages_is_said_to_be_one():
    """CSS Color 4 has plum as #dda0dd, a pale violet; red is no such word, for ours holds."""
    plum, red = guess_each(["Plum", "Red"])
    assert plum.srgb == "#dda0dd"
    assert plum.why.endswith("by that name on web pages; an ink may look quite otherwise")
    assert red.why == 'the word "red", a screen colour'
