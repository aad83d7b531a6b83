"""From a book to a press condition, limits, plates and intended colours, on real swatches."""

from pathlib import Path

import numpy as np
import pytest

from inkmix.base.errors import (
    BookError,
    Fault,
    InkmixError,
    MeasurementError,
    PlateError,
    SwatchError,
    UsageError,
)
from inkmix.base.shipped import swatches_folder
from inkmix.book.meant.collected_faults import all_of
from inkmix.book.meant.condition import (
    resolve_condition,
    resolve_inks,
    resolve_limits,
    resolve_paper,
)
from inkmix.book.meant.inputs import spread_file
from inkmix.book.meant.plates import book_spreads, find_spread, look_into
from inkmix.book.meant.sheet import expected_size, resolve_sheet
from inkmix.book.meant.sources import Sources, spread_sources
from inkmix.book.meant.tones import intended_lab, intended_words, screen_colour_over
from inkmix.book.read import parse_book
from inkmix.book.values import Book, Told
from inkmix.checks import table
from inkmix.checks.confidence import may_pass
from inkmix.colour.colorimetry import WHITE_XYZ100, delta_e00, xyz100_to_lab
from inkmix.press.condition import press_condition
from inkmix.press.processes import PROCESSES, find_process
from inkmix.press.solids.opacity import OPACITY_WORDS
from inkmix.press.swatches.by_name import load_ink, load_paper

HEAD = 'format = 1\ntitle = "The Night Ferry"\n'
PAPER = '[paper]\nswatch = "night-ferry/uncoated"\n'
FIVE = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
INKS = "".join(f'[[inks]]\nname = "{n}"\nswatch = "night-ferry/{n}"\n' for n in FIVE)
PRESS = '[press]\nprocess = "sheet-fed offset"\n'
PLATES = '[plates]\npattern = "plates/{spread}/{ink}.tif"\n'


def book(
    folder: Path,
    *,
    paper: str = PAPER,
    inks: str = INKS,
    press: str = PRESS,
    plates: str = PLATES,
    more: str = "",
) -> Book:
    text = HEAD + paper + inks + press + plates + more
    return parse_book(text.encode(), path=folder / "book.toml", form=table.book_form())


def ink(line: str, name: str = "Soot") -> str:
    return f'[[inks]]\nname = "{name}"\n{line}\n'


RAMP = """CGATS.17
DESCRIPTOR "two invented inks"
BEGIN_DATA_FORMAT
SAMPLE_ID {plates} XYZ_X XYZ_Y XYZ_Z
END_DATA_FORMAT
BEGIN_DATA
1 0 0 80 83 70
2 50 0 30 31 27
3 100 0 5 5.2 4.5
4 100 0 5.2 5.4 4.7
5 0 50 55 45 20
6 0 100 40 30 8
7 100 100 4 3.9 3
END_DATA
"""


def write_ramp(folder: Path, plates: str = "1 2") -> None:
    names = " ".join(f"2CLR_{name}" for name in plates.split())
    (folder / "chart.txt").write_text(RAMP.format(plates=names))


class TestPaper:
    def test_swatch(self, tmp_path: Path) -> None:
        paper = resolve_paper(book(tmp_path))
        np.testing.assert_array_equal(paper.xyz100, load_paper("night-ferry/uncoated").xyz100)

    def test_lab_comes_back(self, tmp_path: Path) -> None:
        text = '[paper]\nclass = "newsprint"\nlab = [82, 0.5, 4]\n'
        paper = resolve_paper(book(tmp_path, paper=text))
        np.testing.assert_allclose(xyz100_to_lab(paper.xyz100), [82, 0.5, 4], atol=1e-9)
        assert paper.paper_class == "newsprint"

    def test_xyz_is_taken_as_it_is(self, tmp_path: Path) -> None:
        text = '[paper]\nclass = "coated"\nxyz = [84, 87.5, 71]\n'
        assert resolve_paper(book(tmp_path, paper=text)).xyz100.tolist() == [84, 87.5, 71]

    def test_a_screen_white_is_no_brighter_than_paper(self, tmp_path: Path) -> None:
        text = '[paper]\nclass = "uncoated"\nsrgb = "#ffffff"\n'
        lab = xyz100_to_lab(resolve_paper(book(tmp_path, paper=text)).xyz100)
        # FOGRA29L's paper
        np.testing.assert_allclose(lab, [95.71, 0.61, -2.32], atol=0.01)

    def test_on_a_screen_white_every_ink_is_a_hint(self, tmp_path: Path) -> None:
        text = '[paper]\nclass = "uncoated"\nsrgb = "#fffff8"\n'
        condition = resolve_condition(book(tmp_path, paper=text))
        assert condition.hints == FIVE
        assert condition.with_screened(["Soot"]).hints == FIVE

    def test_a_measured_chart_brings_paper_and_inks_with_their_spectra(
        self, tmp_path: Path
    ) -> None:
        """The shipped Night Ferry chart as if somebody had measured it: as good as the swatches."""
        chart = swatches_folder() / "night-ferry" / "uncoated.txt"
        (tmp_path / "chart.txt").write_bytes(chart.read_bytes())
        text = '[paper]\nclass = "uncoated"\nmeasurements = "chart.txt"\n'
        inks = "".join(f'[[inks]]\nname = "{name}"\nmeasurements = "chart.txt"\n' for name in FIVE)
        own = resolve_condition(book(tmp_path, paper=text, inks=inks))
        paper = load_paper("night-ferry/uncoated")
        shipped = press_condition(
            paper,
            [load_ink(f"night-ferry/{name}", paper=paper) for name in FIVE],
            process=find_process("sheet-fed offset"),
        )
        tones = np.full((1, 5), 40.0)
        np.testing.assert_allclose(own.lab(tones), shipped.lab(tones), atol=1e-9)
        assert own.level == "ramps"

    def test_a_paper_file_without_paper_names_its_key(self, tmp_path: Path) -> None:
        write_ramp(tmp_path)
        text = (tmp_path / "chart.txt").read_text().replace("1 0 0 80 83 70\n", "")
        (tmp_path / "chart.txt").write_text(text)
        paper = '[paper]\nclass = "uncoated"\nmeasurements = "chart.txt"\n'
        with pytest.raises(MeasurementError, match=r"paper\.measurements"):
            resolve_paper(book(tmp_path, paper=paper))

    def test_unknown_swatch_names_its_key(self, tmp_path: Path) -> None:
        with pytest.raises(SwatchError, match=r"paper\.swatch.*night-ferry/uncoated"):
            resolve_paper(book(tmp_path, paper='[paper]\nswatch = "night-ferry/uncoatd"\n'))


class TestInks:
    def test_nothing_passes_on_a_paper_that_was_guessed(self, tmp_path: Path) -> None:
        solid = np.array([100.0, 0, 0, 0, 0])
        sure = resolve_condition(book(tmp_path))
        guessed = resolve_condition(book(tmp_path, paper=f"{PAPER}guessed = true\n"))
        assert may_pass(sure, solid)
        assert not may_pass(guessed, solid)

    def test_five_of_the_night_ferry(self, tmp_path: Path) -> None:
        condition = resolve_condition(book(tmp_path))
        assert tuple(ink.name for ink in condition.inks) == FIVE
        assert condition.hints == ()
        paper = xyz100_to_lab(load_paper("night-ferry/uncoated").xyz100)
        np.testing.assert_allclose(condition.lab([0, 0, 0, 0, 0]), paper, atol=1e-6)

    def test_shipped_overprints_are_found(self, tmp_path: Path) -> None:
        assert resolve_condition(book(tmp_path)).patches is not None
        other = INKS.replace("night-ferry/Fog", "night-ferry/Kelp")
        turned = "".join(reversed([f"[[inks]]{part}" for part in INKS.split("[[inks]]")[1:]]))
        assert resolve_condition(book(tmp_path, inks=turned)).patches is None
        mixed = resolve_condition(book(tmp_path, inks=other)).patches
        assert mixed is None or not mixed.tone_pct[:, 4].any()

    @pytest.mark.parametrize(
        ("line", "known"),
        [
            ("lab = [31.9, 2.0, 2.1]", "solid"),
            ("xyz = [6.9, 7.1, 5.5]", "solid"),
            ('srgb = "#000000"', "screen colour"),
            (
                "density = {red=1.2, green=1.2, blue=1.2, status='T', relative=true}",
                "density",
            ),
        ],
    )
    def test_ways_to_know_an_ink(self, line: str, known: str, tmp_path: Path) -> None:
        here = book(tmp_path, inks=ink(line))
        (made,) = resolve_inks(here, resolve_paper(here))
        assert (made.name, made.known) == ("Soot", known)

    def test_measured_lab_comes_back(self, tmp_path: Path) -> None:
        condition = resolve_condition(book(tmp_path, inks=ink("lab = [31.9, 2.0, 2.1]")))
        np.testing.assert_allclose(condition.lab([100]), [31.9, 2.0, 2.1], atol=1e-6)

    def test_a_screen_black_is_no_darker_than_a_plausible_solid(self, tmp_path: Path) -> None:
        condition = resolve_condition(book(tmp_path, inks=ink('srgb = "#000000"')))
        # FOGRA29L's black solid has L* 31.9
        assert 28 < condition.lab([100])[0] < 36
        assert condition.hints == ("Soot",)

    def test_the_book_overrides_a_swatch(self, tmp_path: Path) -> None:
        lines = (
            'swatch = "night-ferry/Shell"\nopacity = 0.9\ntone_value_increase_pct = 12\n'
            'character = ["metallic"]'
        )
        here = book(tmp_path, inks=ink(lines))
        (made,) = resolve_inks(here, resolve_paper(here))
        assert (made.opacity, made.tone_value_increase_pct) == (0.9, 12.0)
        assert made.over_black_xyz100 is None  # what the book says counts more than the reading
        assert "metallic" in made.character
        plain = load_ink("night-ferry/Shell", paper="night-ferry/uncoated")
        here = book(tmp_path, inks=ink('swatch = "night-ferry/Shell"'))
        (made,) = resolve_inks(here, resolve_paper(here))
        assert made.opacity is None
        np.testing.assert_array_equal(made.over_black_xyz100, plain.over_black_xyz100)

    @pytest.mark.parametrize(("word", "value"), OPACITY_WORDS.items())
    def test_opacity_in_a_word(self, word: str, value: float, tmp_path: Path) -> None:
        here = book(tmp_path, inks=ink(f'lab = [60, 70, 75]\nopacity = "{word}"'))
        (solid,) = resolve_condition(here).model.solids
        assert (solid.opacity.value, solid.opacity.why) == (value, "told")

    @pytest.mark.parametrize(
        ("said", "character"),
        [("", {"fluorescent"}), ('character = ["metallic"]', {"fluorescent", "metallic"})],
    )
    def test_what_a_swatch_is_stays_beside_what_the_book_adds(
        self, said: str, character: set[str], tmp_path: Path
    ) -> None:
        """Flare is the fluorescent one of the invented inks."""
        flare = ink(f'swatch = "night-ferry/Flare"\n{said}', name="Flare")
        (found,) = resolve_condition(book(tmp_path, inks=flare)).inks
        assert found.character == character

    def test_a_double_hit(self, tmp_path: Path) -> None:
        once = ink('swatch = "night-ferry/Soot"')
        twice = once + ink('swatch = "night-ferry/Soot"', name="Soot 2")
        single = resolve_condition(book(tmp_path, inks=once)).lab([100])
        double = resolve_condition(book(tmp_path, inks=twice)).lab([[100, 0], [100, 100]])
        np.testing.assert_allclose(double[0], single, atol=1e-6)
        assert double[1][0] < single[0] - 1

    def test_faults_of_all_inks_at_once(self, tmp_path: Path) -> None:
        (tmp_path / "half.txt").write_text("CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID XYZ_X")
        inks = ink('swatch = "night-ferry/Sot"') + ink('measurements = "half.txt"', name="Fjord")
        with pytest.raises(MeasurementError) as caught:
            resolve_condition(book(tmp_path, inks=inks))
        text = str(caught.value)
        assert "inks[1]" in text
        assert "inks[2]" in text
        assert caught.value.exit_code == 3


class TestMeasurements:
    def test_ramp_by_number(self, tmp_path: Path) -> None:
        write_ramp(tmp_path)
        inks = ink('measurements = "chart.txt"\ncolumn = "1"')
        condition = resolve_condition(book(tmp_path, inks=inks))
        assert (condition.inks[0].known, condition.level) == ("ramp", "ramps")
        np.testing.assert_allclose(condition.inks[0].xyz100[-1], [5.1, 5.3, 4.6])

    def test_unknown_column(self, tmp_path: Path) -> None:
        write_ramp(tmp_path)
        inks = ink('measurements = "chart.txt"\ncolumn = "3"')
        with pytest.raises(MeasurementError, match=r"inks\[1\].*it holds 1, 2"):
            resolve_condition(book(tmp_path, inks=inks))

    def test_own_overprints(self, tmp_path: Path) -> None:
        write_ramp(tmp_path)
        inks = ink('measurements = "chart.txt"\ncolumn = "1"') + ink(
            'measurements = "chart.txt"\ncolumn = "2"', name="Rowan"
        )
        press = PRESS + 'overprints = "chart.txt"\n'
        paper = '[paper]\nclass = "uncoated"\nxyz = [80, 83, 70]\n'
        condition = resolve_condition(book(tmp_path, paper=paper, inks=inks, press=press))
        assert condition.level == "overprints"
        measured = xyz100_to_lab([4, 3.9, 3])
        # measured overprints win, up to what is put down to the noise of one sheet
        assert delta_e00(condition.lab([100, 100]), measured) < 1.0

    def test_overprints_of_other_inks(self, tmp_path: Path) -> None:
        write_ramp(tmp_path)
        with pytest.raises(MeasurementError, match=r"press\.overprints"):
            resolve_condition(book(tmp_path, press=PRESS + 'overprints = "chart.txt"\n'))

    @pytest.mark.parametrize("data", [b"", b"\xff\xfe\0", b"CGATS.17\n", b"%PDF-1.4"])
    def test_no_chart(self, data: bytes, tmp_path: Path) -> None:
        (tmp_path / "chart.txt").write_bytes(data)
        with pytest.raises(MeasurementError, match=r"inks\[1\]: chart\.txt"):
            resolve_condition(book(tmp_path, inks=ink('measurements = "chart.txt"')))

    def test_negative_colours_are_refused(self, tmp_path: Path) -> None:
        # so yellow that Z is below 0
        with pytest.raises(BookError, match=r"inks\[1\].lab: .* Z would be -4.8"):
            book(tmp_path, inks=ink("lab = [5, -120, 100]"))


class TestLimits:
    def test_process_default(self, tmp_path: Path) -> None:
        here = book(tmp_path)
        limits = resolve_limits(here, resolve_paper(here))
        usual = PROCESSES["sheet-fed offset"].ink_limit_pct
        assert usual is not None
        assert limits.ink_limit_pct == Told(value=usual["uncoated"], whose="process default")
        assert limits.edge_growth_mm.whose == "process default"

    def test_user_and_printer(self, tmp_path: Path) -> None:
        press = PRESS + (
            "ink_limit_pct = 260\nedge_growth_mm = 0.02\nconfirmed_by_printer = ['ink_limit_pct']\n"
        )
        here = book(tmp_path, press=press)
        limits = resolve_limits(here, resolve_paper(here))
        assert limits.ink_limit_pct == Told(value=260.0, whose="printer")
        assert limits.edge_growth_mm == Told(value=0.02, whose="user")

    def test_stencil_has_no_limit(self, tmp_path: Path) -> None:
        here = book(tmp_path, press='[press]\nprocess = "stencil duplicator"\n')
        assert resolve_limits(here, resolve_paper(here)).ink_limit_pct is None
        assert any("stencil" in reason for reason in resolve_condition(here).unproven)


def sources_of(book: Book, name: str) -> Sources:
    return spread_sources(book, find_spread(book, name))


def touch(folder: Path, *names: str) -> None:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")


class TestPlates:
    def test_by_ink(self, tmp_path: Path) -> None:
        touch(tmp_path, "plates/01/Soot.tif", "plates/01/Fog.tif", "plates/02/Soot.tif")
        touch(tmp_path, "plates/02/._Soot.tif")
        inks = ink('srgb = "#000000"\npolarity = "light is ink"') + ink(
            'srgb = "#cccccc"', name="Fog"
        )
        here = book(tmp_path, inks=inks)
        assert [spread.name for spread in book_spreads(here)] == ["01", "02"]
        soot = sources_of(here, "01")["Soot"]
        assert soot is not None
        assert soot.path == tmp_path.resolve() / "plates/01/Soot.tif"
        assert (soot.channel, soot.page, soot.polarity) == (None, 1, "light is ink")
        assert sources_of(here, "02")["Fog"] is None

    def test_channels(self, tmp_path: Path) -> None:
        touch(tmp_path, "01.tif")
        inks = ink('srgb = "#000000"') + ink('srgb = "#cccccc"', name="Fog")
        plates = (
            '[plates]\npattern = "{spread}.tif"\nchannels = ["", "Fog", "", "Soot"]\npage = 2\n'
        )
        files = sources_of(book(tmp_path, inks=inks, plates=plates), "01")
        assert [(s.channel, s.page) for s in files.values() if s] == [(3, 2), (1, 2)]

    def test_channel_numbers_count_from_one(self, tmp_path: Path) -> None:
        touch(tmp_path, "01.tif")
        plates = '[plates]\npattern = "{spread}.tif"\n'
        here = book(tmp_path, inks=ink('srgb = "#000000"\nchannel = 2'), plates=plates)
        files = sources_of(here, "01")
        assert files["Soot"] is not None
        assert files["Soot"].channel == 1

    def test_a_second_hit_prints_the_plate_of_the_first(self, tmp_path: Path) -> None:
        inks = INKS + ink('swatch = "night-ferry/Soot"\nplate = "Soot"', name="Soot 2")
        touch(tmp_path, *(f"plates/01/{name}.tif" for name in FIVE))
        here = book(tmp_path, inks=inks)
        sources = sources_of(here, "01")
        first, second = sources["Soot"], sources["Soot 2"]
        assert first is not None
        assert second is not None
        assert (second.path, first.hit_of, second.hit_of) == (first.path, None, "Soot")
        assert find_spread(here, "01").notes == ()
        touch(tmp_path, "plates/01/Soot 2.tif")
        (note,) = find_spread(here, "01").notes
        assert "plates/01/Soot 2.tif: a copy of the plate of Soot" in note
        (tmp_path / "plates/01/Soot 2.tif").write_bytes(b"another picture")
        with pytest.raises(PlateError, match=r"Soot 2.tif: is not a copy of the plate of Soot"):
            sources_of(here, "01")

    def test_a_second_hit_in_a_file_of_several_inks(self, tmp_path: Path) -> None:
        touch(tmp_path, "01.tif")
        inks = ink('srgb = "#000000"') + ink('srgb = "#000000"\nplate = "Soot"', name="Soot 2")
        plates = '[plates]\npattern = "{spread}.tif"\nchannels = ["", "Soot"]\n'
        files = sources_of(book(tmp_path, inks=inks, plates=plates), "01")
        assert [s.channel for s in files.values() if s] == [1, 1]

    def test_a_spread_that_is_not_there(self, tmp_path: Path) -> None:
        touch(tmp_path, "plates/01/Soot.tif", "plates/02/Soot.tif", "plates/cover/Soot.tif")
        with pytest.raises(UsageError, match="known: 01, 02, cover"):
            find_spread(book(tmp_path), "x")
        with pytest.raises(UsageError, match='did you mean "cover"'):
            find_spread(book(tmp_path), "covr")
        touch(tmp_path, *(f"plates/{n}/Soot.tif" for n in range(100, 200)))
        with pytest.raises(UsageError, match="117 and 83 more"):
            find_spread(book(tmp_path), "x")

    def test_nothing_there(self, tmp_path: Path) -> None:
        with pytest.raises(PlateError, match="no plate was found"):
            book_spreads(book(tmp_path))

    def test_what_is_wrong_with_one_spread_does_not_stop_the_others(self, tmp_path: Path) -> None:
        folder = tmp_path / "book"
        touch(tmp_path, "Soot.tif", "book/plates/01/Fog.tif", "book/plates/02/Fog.tif")
        touch(tmp_path, "book/plates/02/sketch.tif", "book/plates/03/Sooot.tif")
        touch(tmp_path, "book/plates/03/Fog.tif", "book/masks/x.tif")
        (folder / "plates/01/Soot.tif").symlink_to(tmp_path / "Soot.tif")
        here = book(folder)
        one, two, three = book_spreads(here)
        assert one.faults == two.faults == one.notes == three.notes == ()
        assert two.notes == ("plates/02/sketch.tif: sketch is not an ink of the book, left out",)
        with pytest.raises(PlateError, match=r"plates/01/Soot\.tif.*symbolic link"):
            spread_sources(here, one)
        with pytest.raises(PlateError, match=r"Sooot is not an ink"):
            spread_sources(here, three)
        assert sources_of(here, "02")["Fog"] is not None

    def test_a_folder_that_is_no_spread_is_said_apart(self, tmp_path: Path) -> None:
        touch(tmp_path, "01/Soot.tif", "masks/sea.tif")
        found = look_into(book(tmp_path, plates='[plates]\npattern = "{spread}/{ink}.tif"\n'))
        assert [(spread.name, spread.notes) for spread in found.spreads] == [("01", ())]
        assert found.notes == ("masks/sea.tif: sea is not an ink of the book, left out",)

    def test_any_name_that_a_disk_can_hold(self, tmp_path: Path) -> None:
        """Names from the disk are no paths of the book: braces, quotes and line ends are signs."""
        name = 'a {b} "c" \n\\ ~\u202e\udcff'
        touch(tmp_path, f"plates/{name}/Soot.tif", f"masks/{name}.png")
        here = book(tmp_path)
        (spread,) = book_spreads(here)
        assert spread.name == name
        soot = spread_sources(here, spread)["Soot"]
        assert soot is not None
        assert soot.path.is_file()
        assert spread_file(here, "masks/{spread}.png", name, key="mask").is_file()

    def test_a_mask_behind_a_link_that_leads_around(self, tmp_path: Path) -> None:
        (tmp_path / "masks").symlink_to("masks")
        path = spread_file(book(tmp_path), "masks/{spread}.png", "01", key="night[1].mask")
        assert not path.is_file()

    def test_sheet_of_a_strip(self, tmp_path: Path) -> None:
        more = "[strip]\npanels = 8\npanel_mm = [110, 150]\nbleed_mm = 3\nsides = ['front']\n"
        here = book(tmp_path, more=more)
        size = expected_size(here, "front")
        assert size is not None
        assert (size.trim_width_mm, size.trim_height_mm, size.bleed_mm) == (880, 150, 3)
        assert expected_size(here, "cover") is None
        sheet = resolve_sheet(here, "front", width_px=6976, height_px=1228, ppi=200)
        assert len(sheet.panels) == 8
        assert sheet.trim_width_mm == pytest.approx(880, abs=0.1)
        assert resolve_sheet(here, "cover", width_px=10, height_px=10, ppi=72).panels == ()

    def test_pictures_of_a_spread(self, tmp_path: Path) -> None:
        here = book(tmp_path)
        path = spread_file(here, "masks/{spread}.png", "01", key="night[1].mask")
        assert path == here.folder / "masks/01.png"
        with pytest.raises(BookError):
            spread_file(here, "{spread}/m.png", "..", key="night[1].mask")


class TestTones:
    def tone(self, folder: Path, line: str) -> Book:
        return book(folder, more=f'[[tones]]\nname = "dusk"\nmix = {{ Rowan = 60 }}\n{line}\n')

    def test_grey_128_is_what_iec_61966_2_1_says(self, tmp_path: Path) -> None:
        lab = xyz100_to_lab(screen_colour_over(WHITE_XYZ100, "#808080"))
        assert lab[0] == pytest.approx(53.585, abs=1e-3)

    def test_white_means_bare_paper(self, tmp_path: Path) -> None:
        paper = load_paper("night-ferry/uncoated")
        (tone,) = self.tone(tmp_path, 'intended = "#ffffff"').tones
        # sRGB's white, adapted, misses D50 by rounding of the published matrices
        np.testing.assert_allclose(
            intended_lab(tone, paper), xyz100_to_lab(paper.xyz100), atol=0.02
        )
        assert intended_words(tone) == "#ffffff, relative to paper white"

    def test_a_screen_colour_over_the_white_of_d50(self) -> None:
        # sRGB red in Lab D50 is 54.29, 80.81, 69.89, from memory
        lab = xyz100_to_lab(screen_colour_over([96.422, 100, 82.521], "#ff0000"))
        np.testing.assert_allclose(lab, [54.29, 80.81, 69.89], atol=0.02)

    def test_lab_is_absolute(self, tmp_path: Path) -> None:
        (tone,) = self.tone(tmp_path, "lab = [30, 2, -20]").tones
        for name in ("night-ferry/uncoated", "night-ferry/newsprint"):
            assert intended_lab(tone, load_paper(name)) == (30.0, 2.0, -20.0)
        assert "absolute" in intended_words(tone)

    def test_nothing_intended(self, tmp_path: Path) -> None:
        (tone,) = self.tone(tmp_path, "").tones
        assert intended_lab(tone, load_paper("night-ferry/uncoated")) is None


def test_the_gravest_error_carries_all_faults() -> None:
    def fail(kind: type[InkmixError], where: str) -> None:
        raise kind(Fault(where=where, found="wrong"))

    with pytest.raises(PlateError) as caught:
        all_of(
            [
                lambda: fail(SwatchError, "a"),
                lambda: fail(PlateError, "b"),
                lambda: fail(SwatchError, "c"),
            ]
        )
    assert [fault.where for fault in caught.value.faults] == ["a", "b", "c"]
