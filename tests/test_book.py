"""The book file: what is read, and every way in which it may be wrong."""

import json
import math
import pickle
from pathlib import Path

import jsonschema
import pytest

from inkmix.base.errors import BookError, Fault
from inkmix.book.double_hits import first_hits
from inkmix.book.faults import did_you_mean
from inkmix.book.models import schema_of
from inkmix.book.paths import fill, inside
from inkmix.book.read import parse_book, read_book
from inkmix.book.text import key_path
from inkmix.book.values import Book, Told
from inkmix.checks import table
from inkmix.press.constants import PAPER_CLASSES
from inkmix.press.processes import PROCESSES
from inkmix.press.solids.opacity import OPACITY_WORDS
from inkmix.press.values import MAX_INKS

GOOD = """\
format = 1
title = "The Night Ferry"

[paper]
swatch = "night-ferry/uncoated"
gsm = 120

[[inks]]
name = "Soot"
swatch = "night-ferry/Soot"

[[inks]]
name = "Rowan"
lab = [52.5, 60, 40]
opacity = 0.2
tone_value_increase_pct = 18

[[inks]]
name = "Fog"
density = { red = 0.2, green = 0.18, blue = 0.15, status = "E", relative = true }
character = ["metallic"]
polarity = "light is ink"

[press]
process = "sheet-fed offset"
ink_limit_pct = 280
edge_growth_mm = 0.02
confirmed_by_printer = ["ink_limit_pct"]

[plates]
pattern = "plates/{spread}/{ink}.tif"
ppi = 400
absent = "empty"

[strip]
panels = 8
panel_mm = [110, 150]
bleed_mm = 3
sides = ["front", "back"]

[total_ink]
min_area_mm2 = 2.5

[[night]]
name = "open sea"
rect_mm = [10, 20, 100, 50]
lightest_L = 22
share_pct = 90

[[night]]
name = "hull"
rule = [{ plate = "Soot", at_least_pct = 40 }]

[[tones]]
name = "dusk"
mix = { Rowan = 60, Soot = 20 }
intended = "#3a2c4d"
tolerance_de00 = 4

[[tones]]
name = "rust"
mix = { Rowan = 100 }
lab = [52, 60, 40]

[reference]
picture = "reference/{spread}.png"
"""

SOOT = '[[inks]]\nname = "Soot"\nswatch = "night-ferry/Soot"\n'


def read(text: str | bytes, folder: Path) -> Book:
    data = text.encode() if isinstance(text, str) else text
    return parse_book(data, path=folder / "book.toml", form=table.book_form())


def faults(text: str | bytes, folder: Path) -> list[Fault]:
    with pytest.raises(BookError) as caught:
        read(text, folder)
    assert caught.value.exit_code == 2
    assert all("Traceback" not in str(fault) for fault in caught.value.faults)
    return list(caught.value.faults)


def only_fault(text: str | bytes, folder: Path) -> str:
    found = faults(text, folder)
    assert len(found) == 1, [str(fault) for fault in found]
    return str(found[0])


@pytest.mark.parametrize(
    ("x", "y", "fits"),
    [(500, 20, True), (860, 140, True), (880, 20, False), (10, 150, False), (-100, 20, False)],
)
def test_a_night_lies_on_the_strip_of_the_book(x: int, y: int, fits: bool, tmp_path: Path) -> None:
    """The strip measures 880 × 150 mm; what leaves it in part is cut later, and said."""
    text = GOOD.replace("rect_mm = [10, 20, 100, 50]", f"rect_mm = [{x}, {y}, 100, 50]")
    if fits:
        assert read(text, tmp_path).nights[0].rect_mm == (x, y, 100, 50)
    else:
        assert "lies wholly off the sheet" in only_fault(text, tmp_path)


def test_a_tint_of_one_percent_in_a_mix_is_meant(tmp_path: Path) -> None:
    """A mix that is written in fractions is known by that no ink of it is above 1 %."""
    text = GOOD.replace("{ Rowan = 60, Soot = 20 }", "{ Rowan = 60, Soot = 1 }")
    assert read(text, tmp_path).tones[0].mix_pct == {"Rowan": 60, "Soot": 1}
    fractions = GOOD.replace("{ Rowan = 60, Soot = 20 }", "{ Rowan = 0.6, Soot = 1 }")
    assert "write { Rowan = 60, Soot = 100 }" in only_fault(fractions, tmp_path)


@pytest.mark.parametrize(("L", "fits"), [(30, False), (39.9, False), (40.1, True), (60, True)])
def test_paper_is_not_as_dark_as_an_ink(L: float, fits: bool, tmp_path: Path) -> None:
    """The darkest coloured stocks are about L* 40 (common practice)."""
    paper = f'lab = [{L}, 2, 1]\nclass = "uncoated"\n'
    text = GOOD.replace('swatch = "night-ferry/uncoated"\n', paper)
    if fits:
        assert read(text, tmp_path).paper.lab == (L, 2, 1)
    else:
        assert "paper is lighter than L* 40" in only_fault(text, tmp_path)


def test_every_ink_has_a_channel_unless_it_may_be_absent(tmp_path: Path) -> None:
    text = GOOD.replace("{spread}/{ink}.tif", "{spread}.tif").replace(
        'absent = "empty"', 'absent = "refuse"\nchannels = ["Soot", "", "Fog"]'
    )
    assert "lacks Rowan" in only_fault(text, tmp_path)
    lacking = text.replace('absent = "refuse"', 'absent = "empty"')
    assert read(lacking, tmp_path).plates.channels == ("Soot", "", "Fog")


def test_what_a_book_does_not_say(tmp_path: Path) -> None:
    """The values that hold then are those that README and `--schema` tell."""
    bare = f"""format = 1
title = "Quay"
[paper]
swatch = "night-ferry/uncoated"
{SOOT}
[press]
process = "sheet-fed offset"
[plates]
pattern = "{{spread}}/{{ink}}.tif"
[[night]]
name = "sea"
rect_mm = [0, 0, 10, 10]
[[tones]]
name = "dusk"
mix = {{ Soot = 20 }}
"""
    book = read(bare, tmp_path)
    assert (book.min_area_mm2, book.plates.absent, book.plates.ppi) == (1.0, "refuse", None)
    (night,), (tone,) = book.nights, book.tones
    assert (night.share_pct, night.lightest_L, night.mask_shows) == (95.0, None, None)
    assert (tone.tolerance_de00, tone.intended_lab, tone.intended_srgb) == (None, None, None)
    assert (book.press.ink_limit_pct, book.press.edge_growth_mm) == (None, None)
    assert (book.strip, book.reference) == (None, None)
    assert (book.paper.guessed, book.inks[0].guessed) == (False, False)


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) == 1, old
    return GOOD.replace(old, new)


class TestReading:
    def test_a_good_book(self, tmp_path: Path) -> None:
        (tmp_path / "book.toml").write_text(GOOD)
        book = read_book(tmp_path, form=table.book_form())
        assert book == read_book(tmp_path / "book.toml", form=table.book_form())
        assert book.folder == tmp_path.resolve()
        assert book.ink_names == ("Soot", "Rowan", "Fog")
        assert [note for note in book.notes if "opacity" not in note] == []

    def test_each_limit_knows_whose_it_is(self, tmp_path: Path) -> None:
        press = read(GOOD, tmp_path).press
        assert press.ink_limit_pct == Told(value=280.0, whose="printer")
        assert press.edge_growth_mm == Told(value=0.02, whose="user")

    def test_a_limit_nobody_gave_is_none(self, tmp_path: Path) -> None:
        assert read(changed("edge_growth_mm = 0.02\n", ""), tmp_path).press.edge_growth_mm is None

    def test_inks(self, tmp_path: Path) -> None:
        soot, rowan, fog = read(GOOD, tmp_path).inks
        assert (soot.swatch, soot.opacity, soot.polarity) == ("night-ferry/Soot", None, None)
        assert (rowan.lab, rowan.tone_value_increase_pct) == ((52.5, 60.0, 40.0), 18.0)
        assert fog.density is not None
        assert (fog.density.status, fog.density.relative) == ("E", True)
        assert (fog.character, fog.polarity) == (frozenset({"metallic"}), "light is ink")

    def test_strip_measures_its_sheet(self, tmp_path: Path) -> None:
        strip = read(GOOD, tmp_path).strip
        assert strip is not None
        assert strip.trim_mm == (880.0, 150.0)
        assert strip.sheet_mm == (886.0, 156.0)

    def test_nights_and_tones(self, tmp_path: Path) -> None:
        book = read(GOOD, tmp_path)
        sea, hull = book.nights
        assert (sea.rect_mm, sea.lightest_L, sea.share_pct) == ((10, 20, 100, 50), 22.0, 90.0)
        assert (hull.rule[0].plate, hull.lightest_L, hull.share_pct) == ("Soot", None, 95.0)
        dusk, rust = book.tones
        assert (dusk.mix_pct, dusk.intended_srgb) == ({"Rowan": 60.0, "Soot": 20.0}, "#3a2c4d")
        assert (rust.intended_lab, rust.tolerance_de00) == ((52.0, 60.0, 40.0), None)

    def test_values_travel_between_processes(self, tmp_path: Path) -> None:
        book = read(GOOD, tmp_path)
        assert pickle.loads(pickle.dumps(book)) == book

    def test_two_inks_may_share_a_swatch(self, tmp_path: Path) -> None:
        text = changed("lab = [52.5, 60, 40]", 'swatch = "night-ferry/Soot"')
        assert read(text, tmp_path).inks[1].swatch == "night-ferry/Soot"

    def test_a_second_hit_prints_the_plate_of_the_first(self, tmp_path: Path) -> None:
        second = f'{SOOT}plate = "Soot"\n\n'.replace('"Soot"\ns', '"Soot 2"\ns')
        inks = read(changed("[press]", f"{second}[press]"), tmp_path).inks
        assert [(ink.name, ink.plate, ink.hit_of) for ink in inks if ink.name.startswith("S")] == [
            ("Soot", None, None),
            ("Soot 2", "Soot", "Soot"),
        ]
        text = changed("[press]", f"{second}[press]")
        text = text.replace("{ink}.tif", "all.tif").replace(
            'absent = "empty"', 'channels = ["Soot", "Rowan", "Fog"]'
        )
        assert len(read(text, tmp_path).inks) == 4

    def test_a_second_hit_has_nothing_of_its_own(self, tmp_path: Path) -> None:
        second = SOOT.replace('"Soot"\n', '"Soot 2"\n', 1) + 'plate = "Soot"\nchannel = 2\n'
        third = SOOT.replace('"Soot"\n', '"Soot 3"\n', 1) + 'plate = "Soot 2"\n'
        first, other = faults(changed("[press]", f"{second}{third}[press]"), tmp_path)
        assert "inks[4].channel: is given together with plate" in str(first)
        assert 'inks[5].plate: "Soot 2" has no plate of its own' in str(other)
        assert 'write plate = "Soot" here' in str(other)

    def test_hits_of_one_ink_have_the_very_same_colour(self) -> None:
        lab = {"name": "Soot", "lab": [30, 1, 2]}
        chart = {"measurements": "chart.txt"}
        inks = [
            lab,
            {**lab, "name": "Soot 2"},
            {**lab, "name": "Soot 3", "lab": [30, 1, 3]},
            {"name": "a", "srgb": "#AA0000"},
            {"name": "b", "srgb": "#aa0000"},
            {"name": "Fog", **chart},
            {"name": "Fjord", **chart},
            {"name": "Fog 2", "column": "fog", **chart},
        ]
        hits = first_hits(inks)
        again = {name: first for name, first in hits.items() if first}
        assert again == {"Soot 2": "Soot", "b": "a", "Fog 2": "Fog"}

    def test_guesses_of_the_very_same_colour_are_no_hits(self) -> None:
        grey = {"srgb": "#808080"}
        inks = [
            {"name": "a", **grey, "guessed": "#808080"},
            {"name": "b", **grey, "guessed": True},
            {"name": "c", **grey, "guessed": "#808080", "plate": "a"},
            {"name": "d", **grey, "guessed": "#707070"},  # somebody told it since
            {"name": "e", **grey},
            {"name": "f", **grey, "guessed": True},
        ]
        hits = first_hits(inks)
        assert hits == {"a": None, "b": None, "c": "a", "d": None, "e": "d", "f": None}

    def test_a_hit_may_come_before_the_ink_that_has_the_plate(self) -> None:
        lab = {"lab": [30, 1, 2]}
        inks = [{"name": "Soot 2", "plate": "Soot", **lab}, {"name": "Soot", **lab}]
        assert first_hits(inks) == {"Soot 2": "Soot", "Soot": None}
        copy = {"name": "Soot 3", **lab}
        assert first_hits([copy, *inks]) == {"Soot 3": None, "Soot 2": "Soot 3", "Soot": "Soot 3"}

    def test_a_mix_over_the_ink_limit_is_a_note(self, tmp_path: Path) -> None:
        text = changed("{ Rowan = 60, Soot = 20 }", "{ Rowan = 100, Soot = 100, Fog = 100 }")
        note, _ = read(text, tmp_path).notes  # and one on opacity
        assert "tones[1].mix" in note
        assert "300 %" in note

    def test_channel_by_name_or_number(self, tmp_path: Path) -> None:
        text = changed("opacity = 0.2", "channel = 2").replace(
            'polarity = "light is ink"', 'channel = "Fog"'
        )
        assert [ink.channel for ink in read(text, tmp_path).inks] == [None, 2, "Fog"]

    @pytest.mark.parametrize("word", OPACITY_WORDS)
    def test_opacity_in_a_word(self, word: str, tmp_path: Path) -> None:
        book = read(changed("opacity = 0.2", f'opacity = "{word}"'), tmp_path)
        assert book.inks[1].opacity == word
        assert book.notes == ()

    def test_opacity_in_a_number_says_once_what_it_means_now(self, tmp_path: Path) -> None:
        (note,) = read(GOOD, tmp_path).notes
        assert note.startswith("book.toml, line 15: inks[2].opacity: Rowan 0.2: a number now is")
        both = GOOD.replace('name = "Soot"\n', 'name = "Soot"\nopacity = 0\n', 1)
        (note,) = read(both, tmp_path).notes
        assert "Soot 0, Rowan 0.2" in note

    def test_windows_line_ends(self, tmp_path: Path) -> None:
        assert read(GOOD.replace("\n", "\r\n"), tmp_path).title == "The Night Ferry"


class TestText:
    """What editors, word processors and Windows do to a text file."""

    def test_byte_order_mark_is_accepted_and_said(self, tmp_path: Path) -> None:
        note, _ = read(b"\xef\xbb\xbf" + GOOD.encode(), tmp_path).notes  # and one on opacity
        assert "byte-order mark" in note

    @pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32"])
    def test_wide_text(self, encoding: str, tmp_path: Path) -> None:
        assert "save it again with the encoding UTF-8" in only_fault(
            GOOD.encode(encoding), tmp_path
        )

    def test_latin_1_names_its_line(self, tmp_path: Path) -> None:
        text = changed("The Night Ferry", "Die Nachtfähre").encode("latin-1")
        message = only_fault(text, tmp_path)
        assert "line 2" in message
        assert "0xe4" in message

    @pytest.mark.parametrize("empty", [b"", b"  \n\n"])
    def test_empty_file(self, empty: bytes, tmp_path: Path) -> None:
        assert "is empty" in only_fault(empty, tmp_path)

    def test_huge_file(self, tmp_path: Path) -> None:
        assert "at most" in only_fault(b"#" * 1_000_001, tmp_path)

    @pytest.mark.parametrize(
        ("old", "new", "line", "words"),
        [
            ("ink_limit_pct = 280", "ink_limit_pct = 2,8", 26, "write 2.8"),
            ("{ Rowan = 100 }", "{ Rowan = 99,5 }", 62, "write 99.5"),
            ('"The Night Ferry"', "\u201cThe Night Ferry\u201d", 2, "curly quotes"),
            ('"The Night Ferry"', "\u201eThe Night Ferry\u201c", 2, "curly quotes"),
            ('"The Night Ferry"', "\u2018The Night Ferry\u2019", 2, "curly quotes"),
            ('"The Night Ferry"', "The Night Ferry", 2, "without quotes"),
            ('title = "The', 'title: "The', 2, "colon"),
            ("plates/{spread}/{ink}.tif", r"plates\{spread}\{ink}.tif", 31, "write paths with /"),
            ("plates/{spread}/{ink}.tif", r"C:\Users\me\{ink}.tif", 31, "write paths with /"),
            ("[paper]", "[paper", 4, "is not TOML"),
            ("gsm = 120", 'gsm = 120\nswatch = "x"', 7, "is given twice"),
            ('Ferry"\n', "Ferry\n", 2, "is not TOML"),
        ],
    )
    def test_text_fault_names_line_and_cure(
        self, old: str, new: str, line: int, words: str, tmp_path: Path
    ) -> None:
        message = only_fault(changed(old, new), tmp_path)
        assert f"line {line}:" in message
        assert words in message

    def test_all_text_faults_at_once(self, tmp_path: Path) -> None:
        text = changed("ink_limit_pct = 280", "ink_limit_pct = 2,8").replace(
            '"The Night Ferry"', "\u201cThe Night Ferry\u201d"
        )
        assert [str(fault).split(":")[0] for fault in faults(text, tmp_path)] == [
            "book.toml, line 2",
            "book.toml, line 26",
        ]

    def test_lines_of_a_text_of_several_are_no_keys(self, tmp_path: Path) -> None:
        text = changed('"The Night Ferry"', '"""\\\n[paper]\ngsm: 1\n"""') + "\n["
        message = only_fault(text, tmp_path)
        assert "gsm" not in message

    def test_keys_after_a_text_of_several_lines_keep_their_line(self, tmp_path: Path) -> None:
        waive = 'by = "x"\nreason = """\n[inks]\nby = 1"""\nchck = 2\n'
        found = faults(f"{GOOD}\n[[waive]]\n{waive}", tmp_path)
        line = GOOD.count("\n") + 7
        assert any(fault.where == f"book.toml, line {line}: waive[1].chck" for fault in found)

    @pytest.mark.parametrize(
        ("added", "words"),
        [
            ("x = " + "[" * 20, "more than 16 open brackets"),
            ("a." * 20 + "a = 1", "a key of more than 16 parts"),
            ("x = " + "9" * 5000, "a number of 5,000 signs"),
            ("x = {a.a.a.a.a.a.a.a.a.a = {a.a.a.a.a.a.a.a.a.a = 1}}", "is nested too deeply"),
            ("x = [" + "1, " * 50_001 + "]", "more than 50,000 keys and values"),
        ],
    )
    def test_bounds_are_said(self, added: str, words: str, tmp_path: Path) -> None:
        assert words in only_fault(f"{added}\n{GOOD}", tmp_path)

    def test_many_faults_are_counted(self, tmp_path: Path) -> None:
        found = faults(GOOD + "".join(f"k{k} = 1\n" for k in range(50)), tmp_path)
        assert len(found) == 21
        assert str(found[-1]) == "book.toml: and 30 more"

    def test_a_slip_is_no_percentage(self, tmp_path: Path) -> None:
        assert "write" not in only_fault(changed("opacity = 0.2", "opacity = 1.01"), tmp_path)

    def test_curly_quotes_inside_a_title_are_fine(self, tmp_path: Path) -> None:
        text = changed("The Night Ferry", "The \u201cNight\u201d Ferry")
        assert read(text, tmp_path).title == "The \u201cNight\u201d Ferry"

    @pytest.mark.parametrize("data", [b"\xff\xd8\xff\xe0 JFIF", b"%PDF-1.7\n%\xe2\xe3", b"\0\0"])
    def test_other_files_are_refused(self, data: bytes, tmp_path: Path) -> None:
        assert faults(data, tmp_path)

    def test_missing_book_says_how_to_begin(self, tmp_path: Path) -> None:
        with pytest.raises(BookError, match="inkmix start"):
            read_book(tmp_path, form=table.book_form())


class TestFormat:
    def test_newer_format_is_refused_by_name(self, tmp_path: Path) -> None:
        text = changed("format = 1", "format = 2").replace("[strip]", "[origami]")
        assert "is a book of format 2" in only_fault(text, tmp_path)

    @pytest.mark.parametrize("value", ["0", '"1"', "true", "1.5"])
    def test_other_formats(self, value: str, tmp_path: Path) -> None:
        assert "format: is" in only_fault(changed("format = 1", f"format = {value}"), tmp_path)

    def test_missing_format(self, tmp_path: Path) -> None:
        assert "format: is missing" in only_fault(changed("format = 1\n", ""), tmp_path)


# What is changed in the good book; the key path that must be named; words that must be there.
WRONG = [
    ("ink_limit_pct = 280", "ink_limit_pct = 2.8", "press.ink_limit_pct", "write 280"),
    ("ink_limit_pct = 280", 'ink_limit_pct = "280"', "press.ink_limit_pct", "without quotes"),
    ("ink_limit_pct = 280", "ink_limit_pct = 28000", "press.ink_limit_pct", "write 280 "),
    ("ink_limit_pct = 280", "ink_limit_pct = nan", "press.ink_limit_pct", "finite"),
    ("ink_limit_pct = 280", "ink_limit_pct = true", "press.ink_limit_pct", "a number"),
    ("share_pct = 90", "share_pct = 0.9", "night[1].share_pct", "write 90"),
    ("lightest_L = 22", "lightest_L = 0.22", "night[1].lightest_L", "it lies from 1 to 100 L*"),
    ("[10, 20, 100, 50]", "[10, 20, 100]", "night[1].rect_mm", "exactly 4 are expected"),
    ("rule = [{ plate", "spreads = []\nrule = [{ plate", "night[2].spreads", "at least 1"),
    ("rule = [{", 'spreads = ["a", "b", "a"]\nrule = [{', "night[2].spreads[3]", "named already"),
    ('rule = [{ plate = "Soot", at_least_pct = 40 }]', 'rule = { plate = "Soot" }', "night[2].rule",
     "write [[night.rule]] in two brackets"),
    ("[total_ink]", "[[total_ink]]", "total_ink", "is 1 table, "),
    ("at_least_pct = 40", "at_least_pct = 0.4", "night[2].rule[1].at_least_pct", "write 40"),
    ("tone_value_increase_pct = 18", "tone_value_increase_pct = 0.18", "inks[2].tone", "write 18"),
    ("opacity = 0.2", "opacity = 20", "inks[2].opacity", "write 0.2"),
    ("opacity = 0.2", "opacity = 0x1ffffffffffffffff", "inks[2].opacity", "64 bits"),
    ('"The Night Ferry"', '"The\\u001b[2JFerry"', "title", "a control character (U+001B)"),
    ('name = "dusk"', 'name = "du\\u202esk"', "tones[1].name", "changes the direction of writing"),
    ('name = "Fog"', 'name = "Fog\\n"', "inks[3].name", "a line break (U+000A)"),
    ('name = "hull"', 'name = "hull\\u0085"', "night[2].name", "a line break (U+0085)"),
    ('["front", "back"]', '["front", "ba\\tck"]', "strip.sides[2]", "a tab (U+0009)"),
    ("night-ferry/uncoated", "night-ferry\\u2028", "paper.swatch", "a line break (U+2028)"),
    ("lab = [52.5, 60, 40]", "lab = [20, 60, 100]", "inks[2].lab", "Z would be -3.5"),
    ("opacity = 0.2", "opacity = -1", "inks[2].opacity", "from 0 to 1"),
    ("opacity = 0.2", "opacity = nan", "inks[2].opacity", "from 0 to 1"),
    ("opacity = 0.2", "opacity = true", "inks[2].opacity", '"slightly opaque"'),
    ("opacity = 0.2", "opacity = [0.2]", "inks[2].opacity", "from 0 to 1"),
    ("opacity = 0.2", 'opacity = "0.2"', "inks[2].opacity", "without quotes"),
    ("opacity = 0.2", 'opacity = "glossy"', "inks[2].opacity", '"transparent", "slightly'),
    ("opacity = 0.2", 'opacity = "Opaque"', "inks[2].opacity", 'did you mean "opaque"?'),
    ("opacity = 0.2", 'opacity = "slightly opaqe"', "inks[2].opacity", '"slightly opaque"?'),
    ("{ Rowan = 100 }", "{ Rowan = 0.6 }", "tones[2].mix", "Rowan = 60"),
    ("{ Rowan = 100 }", "{ Rowan = 140 }", "tones[2].mix.Rowan", "0 to 100"),
    ("{ Rowan = 100 }", "{ Roman = 100 }", "tones[2].mix.Roman", 'did you mean "Rowan"?'),
    ("{ Rowan = 100 }", "{}", "tones[2].mix", "bare paper"),
    ('plate = "Soot"', 'plate = "soot"', "night[2].rule[1].plate", 'did you mean "Soot"?'),
    ("opacity = 0.2", "opacty = 0.2", "inks[2].opacty", 'did you mean "opacity"?'),
    ("[strip]", "[stripe]", "stripe", 'did you mean "strip"?'),
    ("lab = [52.5, 60, 40]\n", "", "inks[2]", "has no colour"),
    ("opacity = 0.2", 'srgb = "#aa3322"', "inks[2]", "is given by lab and srgb"),
    ("lab = [52.5, 60, 40]", 'srgb = "red"', "inks[2].srgb", "#rrggbb"),
    ("lab = [52.5, 60, 40]", "lab = [52,5, 60, 40]", "inks[2].lab", "a point"),
    ("lab = [52.5, 60, 40]", "lab = [152, 60, 40]", "inks[2].lab", "from 0 to 100"),
    ("lab = [52.5, 60, 40]", "lab = [60, -152, 40]", "inks[2].lab", "-128 to 128"),
    ("lab = [52.5, 60, 40]", "lab = [0.5, 0.6, 0.4]", "inks[2].lab", "not to 1"),
    ("lab = [52.5, 60, 40]", "lab = [52.5, nan, 40]", "inks[2].lab[2]", "finite"),
    ("lab = [52.5, 60, 40]", "xyz = [0.3, 0.2, 0.05]", "inks[2].xyz", "[30, 20, 5]"),
    ("lab = [52.5, 60, 40]", "xyz = [30, -20, 5]", "inks[2].xyz", "not negative"),
    ("lab = [52.5, 60, 40]", "xyz = [300, 200, 50]", "inks[2].xyz", "0 to 100"),
    ("lab = [52.5, 60, 40]", 'measurements = "none.txt"', "inks[2].measurements", "no file"),
    ("opacity = 0.2", 'plate = "Soto"', "inks[2].plate", 'did you mean "Soot"?'),
    ("opacity = 0.2", 'plate = "Rowan"', "inks[2].plate", "names the ink itself"),
    ("opacity = 0.2", 'plate = "Soot"', "inks[2].plate", "another ink"),
    ("opacity = 0.2", 'column = "M"', "inks[2].column", "measurements"),
    ('name = "Fog"', 'name = "Soot"', "inks[3].name", "earlier ink"),
    ('name = "Fog"', 'name = "a/b"', "inks[3].name", "file names"),
    ('name = "rust"', 'name = "Dusk"', "tones[2].name", "earlier tone"),
    ('status = "E"', 'status = "e"', "inks[3].density.status", 'did you mean "E"?'),
    (", relative = true", "", "inks[3].density.relative", "is missing"),
    ("red = 0.2", "red = -2", "inks[3].density.red", "from 0 to 4"),
    ('["metallic"]', '["mettalic"]', "inks[3].character[1]", 'did you mean "metallic"?'),
    ('"sheet-fed offset"', '"sheetfed offset"', "press.process", 'did you mean "sheet-fed offset"'),
    ('["ink_limit_pct"]', '["ink_limit"]', "press.confirmed", 'did you mean "ink_limit_pct"?'),
    ('["ink_limit_pct"]', '["overprints"]', "press.confirmed", "not given"),
    ("[110, 150]", "[110]", "strip.panel_mm", "has 1 value, but exactly 2"),
    ("[110, 150]", "[0.11, 0.15]", "strip.panel_mm", "from 5 to 5000"),
    ("panels = 8", "panels = 8.0", "strip.panels", "a whole number"),
    ("[10, 20, 100, 50]", "[10, 20, 0, 50]", "night[1].rect_mm", "has an area"),
    ("[10, 20, 100, 50]", "[900, 20, 100, 50]", "night[1].rect_mm", "off the sheet"),
    ("[10, 20, 100, 50]", '[10, 20, 100, 50]\nmask = "m.png"', "night[1]", "mask and rect_mm"),
    ("share_pct = 90", 'mask_shows = "black"', "night[1].mask_shows", "belongs to mask"),
    ("rect_mm = [10, 20, 100, 50]\n", "", "night[1]", "has no area"),
    ('intended = "#3a2c4d"\n', "", "tones[1].tolerance_de00", "nothing to compare"),
    ('intended = "#3a2c4d"', 'intended = "#3a2c4d"\nlab = [1, 2, 3]', "tones[1]", "and lab"),
    ("[[tones]]\nname = \"dusk\"", "[[tones]]\n", "tones[1].name", "is missing"),
    ("[press]", "[[press]]", "press", "one bracket"),
    ("gsm = 120", 'class = "matt"', "paper.class", "coated"),
    ("absent = \"empty\"", 'absent = "empty"\nchannels = ["Soot"]', "plates.channels", "{ink}"),
    ("{spread}/{ink}.tif", "{spreads}/{ink}.tif", "plates.pattern", "{spread} and {ink}"),
]  # fmt: skip


class TestHints:
    @pytest.mark.parametrize("value", ["0.22", "0.5"])
    def test_what_is_no_share_gets_no_hint(self, value: str, tmp_path: Path) -> None:
        text = changed("lightest_L = 22", f"lightest_L = {value}")
        (message,) = map(str, faults(text, tmp_path))
        assert "if that was meant" not in message


class TestFaults:
    @pytest.mark.parametrize(("old", "new", "where", "words"), WRONG)
    def test_one_clear_message(
        self, old: str, new: str, where: str, words: str, tmp_path: Path
    ) -> None:
        found = [str(fault) for fault in faults(changed(old, new), tmp_path)]
        assert any(f": {where}" in message and words in message for message in found), found

    def test_one_mistake_gives_one_message(self, tmp_path: Path) -> None:
        many = [
            (old, new) for old, new, *_ in WRONG if len(faults(changed(old, new), tmp_path)) > 1
        ]
        # a lightened pattern stands beside `channels`, and a mask's file is missing too
        allowed = {"absent", "[10, 20, 100, 50]"}
        assert all(any(old.startswith(start) for start in allowed) for old, _ in many), many

    def test_all_faults_at_once_in_file_order(self, tmp_path: Path) -> None:
        text = GOOD
        for old, new in [
            ("gsm = 120", "gsm = 1.2"),
            ("opacity = 0.2", "opacty = 0.2"),
            ("ink_limit_pct = 280", "ink_limit_pct = 2.8"),
            ("panels = 8", 'panels = "8"'),
            ("{ Rowan = 100 }", "{ Roan = 100 }"),
        ]:
            text = text.replace(old, new)
        places = [fault.where for fault in faults(text, tmp_path)]
        assert places == [
            "book.toml, line 6: paper.gsm",
            "book.toml, line 15: inks[2].opacty",
            "book.toml, line 26: press.ink_limit_pct",
            "book.toml, line 36: strip.panels",
            "book.toml, line 62: tones[2].mix.Roan",
        ]

    def test_single_bracket_where_two_are_meant(self, tmp_path: Path) -> None:
        start, rest = GOOD.split("[[inks]]", 1)
        text = start + "[inks]\nname = 'Soot'\nsrgb = '#000000'\n" + rest[rest.index("[press]") :]
        assert any("[[inks]]" in str(fault) for fault in faults(text, tmp_path))

    def test_nothing_but_a_format(self, tmp_path: Path) -> None:
        places = {fault.where for fault in faults("format = 1", tmp_path)}
        assert {
            f"book.toml: {key}" for key in ("title", "paper", "inks", "press", "plates")
        } == places

    def test_nine_inks(self, tmp_path: Path) -> None:
        more = "".join(f'[[inks]]\nname = "x{n}"\nsrgb = "#123456"\n' for n in range(6))
        message = only_fault(changed("[press]", more + "[press]"), tmp_path)
        assert f"at most {MAX_INKS}" in message

    def test_a_path_as_unlikely_value_is_cut(self, tmp_path: Path) -> None:
        message = only_fault(changed('"front"', "[" + "1," * 500 + "1]"), tmp_path)
        assert len(message) < 300


class TestPaperWhite:
    """A white that belongs to another illuminant.

    XYZ of D65 (95.047, 100, 108.883) and D50 (96.422, 100, 82.521): CIE 15.
    """

    def paper(self, line: str) -> str:
        return changed('swatch = "night-ferry/uncoated"', f'class = "coated"\n{line}')

    @pytest.mark.parametrize(
        "line",
        [
            "lab = [95, -2.3, -18.9]",
            "lab = [93, 1.0, -19.0]",
            "lab = [94, 2.4, 17.0]",
            "xyz = [84.7, 89.1, 97.0]",
        ],
    )
    def test_plainly_d65(self, line: str, tmp_path: Path) -> None:
        assert "D65" in only_fault(self.paper(line), tmp_path)

    @pytest.mark.parametrize(
        "line",
        [
            "lab = [95, 0, -2]",  # FOGRA39L's paper
            "lab = [93.5, 2.5, -10]",  # brightened, M1 (ISO 12647-2:2013, from memory)
            "lab = [93, 0, 12]",  # cream
            "lab = [82, 0, 3]",  # newsprint
            "lab = [80, -2, -18]",  # plainly blue stock
            "xyz = [80, 83, 76]",
        ],
    )
    def test_real_papers(self, line: str, tmp_path: Path) -> None:
        assert read(self.paper(line), tmp_path).paper.paper_class == "coated"

    def test_tinted_stock_is_let_in(self, tmp_path: Path) -> None:
        assert read(self.paper("lab = [95, -2.3, -18.9]\ntinted = true"), tmp_path).paper.tinted

    def test_swapped(self, tmp_path: Path) -> None:
        assert "the order is L, a, b" in only_fault(self.paper("lab = [0, -2, 95]"), tmp_path)
        assert "the order is L, a, b" in only_fault(self.paper("lab = [-2, 0, 95]"), tmp_path)

    def test_class_is_needed_beside_a_colour(self, tmp_path: Path) -> None:
        text = changed('swatch = "night-ferry/uncoated"', "lab = [93, 0, 2]")
        assert "has no class" in only_fault(text, tmp_path)


class TestPaths:
    @pytest.mark.parametrize(
        ("path", "words"),
        [
            ("../plates/{ink}.tif", "leaves"),
            ("plates/../../{ink}.tif", "leaves"),
            ("/srv/{ink}.tif", "absolute"),
            ("C:/plates/{ink}.tif", "absolute"),
            ("~/plates/{ink}.tif", "absolute"),
            ("plates/{ink.tif", "may stand in it"),
        ],
    )
    def test_patterns_stay_inside(self, path: str, words: str, tmp_path: Path) -> None:
        message = only_fault(changed("plates/{spread}/{ink}.tif", path), tmp_path)
        assert "plates.pattern" in message
        assert words in message

    def test_a_backslash_that_toml_swallowed(self, tmp_path: Path) -> None:
        text = changed("reference/{spread}.png", r"reference\night.png")
        assert "backslash" in only_fault(text, tmp_path)

    def test_a_symbolic_link_out_of_the_folder(self, tmp_path: Path) -> None:
        outside, folder = tmp_path / "outside", tmp_path / "book"
        outside.mkdir()
        folder.mkdir()
        (outside / "sea.png").write_bytes(b"")
        (folder / "masks").symlink_to(outside)
        (folder / "plates").symlink_to(outside)
        text = changed("rect_mm = [10, 20, 100, 50]", 'mask = "masks/sea.png"')
        messages = [str(fault) for fault in faults(text, folder)]
        assert len(messages) == 2
        assert all("by a symbolic link" in message for message in messages)

    def test_inside(self, tmp_path: Path) -> None:
        assert inside(tmp_path, "a/b.tif", where="x") == tmp_path / "a/b.tif"
        with pytest.raises(BookError):
            inside(tmp_path, "../b.tif", where="x")

    def test_fill(self) -> None:
        assert fill("{spread}/{ink}.tif", ink="Soot") == "{spread}/Soot.tif"


class TestKeys:
    def test_table_of_keys_and_schema_agree(self) -> None:
        schema = schema_of(table.book_form())
        names = {"": schema["properties"].keys()}
        for name, definition in (
            ("paper", "Paper"), ("inks", "Ink"), ("inks.density", "DensityReading"),
            ("inks.measured_on", "Paper"),
            ("press", "Press"), ("plates", "Plates"), ("strip", "Strip"),
            ("measured", "MeasuredMix"), ("measured.density", "DensityReading"),
            ("total_ink", "TotalInk"), ("night", "NightArea"), ("night.rule", "RulePart"),
            ("tones", "NamedTone"), ("reference", "Reference"), ("override", "Override"),
            ("waive", "Waiver"),
        ):  # fmt: skip
            names[name] = schema["$defs"][definition]["properties"].keys()
        assert {name: set(keys) for name, keys in table.book_form().tables.items()} == {
            name: set(keys) for name, keys in names.items()
        }

    def test_choices_of_the_schema_are_the_known_names(self) -> None:
        definitions = schema_of(table.book_form())["$defs"]
        classes = definitions["Paper"]["properties"]["class"]["anyOf"][0]["enum"]
        assert tuple(classes) == PAPER_CLASSES
        assert tuple(definitions["Press"]["properties"]["process"]["enum"]) == tuple(PROCESSES)

    def test_schema_accepts_what_is_read_and_refuses_what_is_not(self) -> None:
        import tomllib

        validator = jsonschema.Draft202012Validator(schema_of(table.book_form()))
        validator.check_schema(schema_of(table.book_form()))
        assert validator.is_valid(tomllib.loads(GOOD))
        assert not validator.is_valid(tomllib.loads(changed("opacity", "opacty")))
        good, bad = [f'"{word}"' for word in OPACITY_WORDS], ['"glossy"', "1.01", "-0.01", "true"]
        for value in (*good, *bad):
            text = changed("opacity = 0.2", f"opacity = {value}")
            assert validator.is_valid(tomllib.loads(text)) == (value in good)
        assert not validator.is_valid(tomllib.loads(changed("= 280", "= 2.8")))
        assert json.loads(json.dumps(schema_of(table.book_form()))) == schema_of(table.book_form())
        assert '"_' not in json.dumps(schema_of(table.book_form()))

    def test_key_path_counts_from_one(self) -> None:
        assert key_path(("inks", 1, "opacity")) == "inks[2].opacity"

    def test_did_you_mean(self) -> None:
        assert did_you_mean("rowen", ["Soot", "Rowan"]) == 'did you mean "Rowan"?'
        assert did_you_mean("zzz", ["Soot", "Rowan"]) == "known: Soot, Rowan"

    def test_nothing_is_infinite(self) -> None:
        for keys in table.book_form().tables.values():
            for key in keys.values():
                assert all(math.isfinite(x) for x in (key.low, key.high) if x is not None)
