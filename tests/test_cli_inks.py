"""`inkmix inks`: what it lists, filters, writes; densities and tone value increase behind it."""

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from known_inks import paper_from_reflectance

from inkmix.base.errors import SwatchError
from inkmix.cli.inks import inks
from inkmix.cli.main import run
from inkmix.colour.colorimetry import lab_to_xyz100, reflectance_to_xyz100, xyz100_to_srgb1
from inkmix.jobs.books import read_book
from inkmix.jobs.inks.entries import field_of, inks_at_hand, inks_of_book
from inkmix.pages.inks.page import render_page
from inkmix.pages.inks.words import as_text, opacity_word
from inkmix.press.figures.densities import principal_channel
from inkmix.press.figures.density_curve import density_curve
from inkmix.press.inks import ink_from_ramp, ink_from_xyz100
from inkmix.press.solids.opacity import Opacity
from inkmix.press.swatches.by_name import load_ink, load_paper


def call(*arguments: str) -> Result:
    result = CliRunner().invoke(inks, arguments, catch_exceptions=False)
    assert result.exit_code == 0
    return result


# --- densitometry --------------------------------------------------------------------------------


def curve_of(ink, *, status):
    return density_curve(ink.tone_pct, ink.xyz100, ink.reflectance, status=status)


@pytest.mark.parametrize(
    ("ink", "paper", "increase_pct"),
    [
        # Computed from the published sets by Murray-Davies in the broad channels Y (K, M): FOGRA39L
        # K 17.2, M 13.7; FOGRA29L K 22.3, M 18.9. Figures of another program; last digit 0.1.
        ("fogra39l/K", "fogra39l", 17.2),
        ("fogra39l/M", "fogra39l", 13.7),
        ("fogra29l/K", "fogra29l", 22.3),
        ("fogra29l/M", "fogra29l", 18.9),
    ],
)
def test_tone_value_increase_of_published_ramps(ink: str, paper: str, increase_pct: float) -> None:
    curve = curve_of(load_ink(ink, paper=paper), status="T")
    assert curve.approximate
    assert curve.increase_50_pct == pytest.approx(increase_pct, abs=0.1)


def test_whole_curve_of_a_published_black() -> None:
    # FOGRA39L K, the same computation: 2:1.2 5:3.0 10:5.8 20:10.2 40:16.0 60:16.6 80:11.5 95:3.5
    curve = curve_of(load_ink("fogra39l/K", paper="fogra39l"), status="T")
    assert curve.increase_pct is not None
    told = {2: 1.2, 5: 3.0, 10: 5.8, 20: 10.2, 40: 16.0, 60: 16.6, 80: 11.5, 95: 3.5}
    found = dict(zip(curve.tone_pct.tolist(), curve.increase_pct.tolist(), strict=True))
    for tone, increase in told.items():
        assert found[tone] == pytest.approx(increase, abs=0.1)


@pytest.mark.parametrize(
    ("ink", "channel"),
    [
        *(("fogra39l/C", "red"), ("fogra39l/M", "green"), ("fogra39l/Y", "blue")),
        *(("fogra39l/K", "visual"), ("night-ferry/Soot", "visual"), ("night-ferry/Gull", "visual")),
        *(("night-ferry/Fjord", "red"), ("night-ferry/Brass", "blue")),
    ],
)
def test_principal_channel(ink: str, channel: str) -> None:
    assert curve_of(load_ink(ink, paper="fogra39l"), status="E").channel == channel


@pytest.mark.parametrize(("least", "channel"), [(0.74, "red"), (0.76, "visual")])
def test_an_ink_whose_densities_differ_by_less_than_a_quarter_is_grey(
    least: float, channel: str
) -> None:
    assert principal_channel({"red": 1.0, "green": 0.9, "blue": least, "visual": 0.9}) == channel


def test_what_is_known_of_papers() -> None:
    """FOGRA39L has XYZ and no spectra; the invented papers have spectra."""
    known = {entry.name: entry.known for entry in inks_at_hand((), paper=None, status="E")}
    assert known["fogra39l"] == "XYZ"
    assert known["night-ferry/uncoated"] == "spectrum"


def test_densities_of_a_grey_are_its_logarithm() -> None:
    paper = paper_from_reflectance("white", np.full(36, 0.8), paper_class="coated")
    ramp = [np.full(36, 0.8), np.full(36, 0.08), np.full(36, 0.008)]
    ink = ink_from_ramp("grey", tone_pct=[0, 50, 100], reflectance=ramp, paper=paper)
    curve = curve_of(ink, status="T")
    assert not curve.approximate
    np.testing.assert_allclose(curve.above_paper, [0, 1, 2], atol=1e-9)
    # Murray-Davies: (1 - 10^-1) / (1 - 10^-2) = 0.90909
    assert curve.increase_50_pct == pytest.approx(40.909, abs=5e-4)


def test_status_t_and_e_differ_in_blue_only() -> None:
    # Status E is narrower in blue and reads a yellow higher (ISO 5-3).
    brass = load_ink("night-ferry/Oilskin", paper="night-ferry/coated")
    wide, narrow = (curve_of(brass, status=status) for status in ("T", "E"))
    assert wide.channel == narrow.channel == "blue"
    assert narrow.above_paper[-1] > wide.above_paper[-1] + 0.02
    fjord = load_ink("night-ferry/Fjord", paper="night-ferry/coated")
    wide, narrow = (curve_of(fjord, status=status) for status in ("T", "E"))
    np.testing.assert_array_equal(wide.density, narrow.density)


def test_a_solid_alone_has_no_curve_and_a_pale_one_no_increase() -> None:
    paper = load_paper("fogra39l")
    solid = curve_of(ink_from_xyz100("x", [20, 20, 20], paper=paper), status="E")
    assert solid.increase_50_pct is None
    assert solid.at(50) is None
    assert solid.at(100) == pytest.approx(float(np.log10(paper.xyz100[1] / 20)), abs=0.02)
    pale = curve_of(ink_from_xyz100("x", paper.xyz100 * 0.97, paper=paper), status="E")
    assert pale.increase_pct is None


def test_approximate_densities_are_near_those_of_the_spectra() -> None:
    # XYZ for filters: documented as up to 0.7 too low; greatest in dense, narrow bands.
    for name in ("Soot", "Thrift", "Shoal", "Driftwood", "Samphire"):
        known = load_ink(f"night-ferry/{name}", paper="night-ferry/uncoated")
        xyz100 = reflectance_to_xyz100(known.reflectance)
        blind = ink_from_ramp(name, tone_pct=known.tone_pct, xyz100=xyz100, paper=known.measured_on)
        rough, fine = curve_of(blind, status="T"), curve_of(known, status="T")
        assert rough.approximate
        assert rough.channel == fine.channel
        assert rough.above_paper[-1] == pytest.approx(fine.above_paper[-1], abs=0.3)


def test_a_colour_outside_srgb_is_marked() -> None:
    inside, outside = field_of(np.array([40.0, 40.0, 33.0])), field_of(np.array([15.0, 20.0, 60.0]))
    assert inside.in_srgb
    assert not outside.in_srgb
    assert re.fullmatch("#[0-9a-f]{6}", outside.hex)
    channels = [int(inside.hex[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    np.testing.assert_allclose(channels, xyz100_to_srgb1([40.0, 40.0, 33.0]), atol=0.5 / 255)


# --- the list ------------------------------------------------------------------------------------


def test_everything_is_listed_by_paper() -> None:
    text = call().stdout
    for paper in ("night-ferry/coated: coated paper, invented", "tr002: newsprint paper, measured"):
        assert paper in text
    assert sum(line.startswith("  Soot ") for line in text.splitlines()) == 3
    assert "TVI: tone value increase at 50 %" in text.replace("\n", " ").replace("  ", " ")
    assert "never printed or measured" in text
    assert "\x1b" not in text


def test_opacity_is_listed_with_whose_word_it_is(tmp_path: Path) -> None:
    page = tmp_path / "inks.html"
    listed_inks = ("Gull", "Flare", "Rowan", "--paper", "night-ferry/uncoated")
    text = call(*listed_inks).stdout
    lines = {line.split()[0]: line for line in text.splitlines() if line.startswith("  ")}
    assert lines["Gull"].endswith("opacity 0.44 (measured over black)")
    assert "opacity 0.37 (told)" in lines["Flare"]
    assert "opacity" not in lines["Rowan"]
    assert "Opacity: share of its own colour" in text
    assert "Opacity" not in call("Rowan", "--paper", "night-ferry/uncoated").stdout
    call(*listed_inks, "--page", str(page))
    html = page.read_text(encoding="utf-8")
    assert html.count("· opacity") == 2
    assert "opacity 0.44 (measured over black)" in html
    told = {ink["name"]: ink for ink in json.loads(call(*listed_inks, "--json").stdout)["inks"]}
    assert told["night-ferry/Rowan"]["opacity"] == 0
    assert told["night-ferry/Rowan"]["opacity_from"] == "told"
    assert told["night-ferry/Gull"]["opacity_from"] == "measured over black"


def test_a_guess_says_whom_to_ask() -> None:
    guess = Opacity(value=0.03, sd=0.02, why="guessed", by="its hue")
    assert opacity_word(guess) == "(guessed by its hue; ask the ink maker)"


def test_an_opacity_of_half_a_hundredth_is_listed_and_less_is_none() -> None:
    (paper,) = inks_at_hand(("rowan",), paper="night-ferry/uncoated", status="E")
    (ink,) = paper.inks
    shown = []
    for value in (0.0049, 0.0051, 0.03):
        one = replace(ink, opacity=Opacity(value=value, sd=0.01, why="told"))
        text = as_text((replace(paper, inks=(one,)),), colours=False)
        shown.append(next(iter(re.findall(r"opacity (0\.\d\d) \(told\)", text)), None))
    assert shown == [None, "0.01", "0.03"]


def test_few_inks_are_listed_with_their_whole_curve() -> None:
    text = call("Soot", "--paper", "night-ferry/uncoated").stdout
    rows = re.findall(r"^ +(\d+) +(\d\.\d\d) +(-?\d+\.\d)$", text, flags=re.MULTILINE)
    assert [int(tone) for tone, _, _ in rows] == list(range(0, 101, 10))
    densities = [float(density) for _, density, _ in rows]
    assert densities == sorted(densities)
    assert rows[0][2] == rows[-1][2] == "0.0"


@pytest.mark.parametrize(
    ("arguments", "inks_listed", "papers"),
    [
        (("night-ferry/Soot",), 3, 3),
        (("soot", "FJORD", "--paper", "night-ferry/coated"), 2, 1),
        (("--paper", "newsprint"), 28, 2),
        (("fogra39l",), 4, 1),
        (("K",), 3, 3),
        ((), 84, 6),
    ],
)
def test_filters(arguments: tuple[str, ...], inks_listed: int, papers: int) -> None:
    document = json.loads(call(*arguments, "--json").stdout)
    assert len(document["inks"]) == inks_listed
    assert len(document["papers"]) == papers


def test_json_stands_alone_on_stdout(tmp_path: Path) -> None:
    result = call("Gull", "--paper", "coated", "--json", "--page", str(tmp_path / "inks.html"))
    document = json.loads(result.stdout)
    assert document["format"] == 1
    (gull,) = document["inks"]
    assert gull["name"] == "night-ferry/Gull"
    assert gull["invented"] is True
    assert gull["opacity"] > 0
    assert gull["density"]["curve"][0]["above_paper"] == 0
    assert gull["density"]["curve"][-1]["tone_value_increase_pct"] == 0
    assert gull["density"]["solid_above_paper"] > gull["density"]["curve"][5]["above_paper"]
    assert "written: " in result.stderr


def test_unknown_names_are_told_together_with_hints() -> None:
    with pytest.raises(SwatchError) as caught:
        inks_at_hand(["Sooot", "Rowann"], paper=None, status="E")
    first, second = caught.value.faults
    assert "did you mean night-ferry/Soot?" in str(first)
    assert "did you mean night-ferry/Rowan?" in str(second)
    with pytest.raises(SwatchError, match="did you mean uncoated"):
        inks_at_hand([], paper="uncoatet", status="E")


def test_exit_code_and_message_of_an_unknown_name(capfd: pytest.CaptureFixture[str]) -> None:
    assert run(["inks", "Sooot"]) == 2
    out, err = capfd.readouterr()
    assert out == ""
    assert err == 'inkmix: swatches: no ink "Sooot"; did you mean night-ferry/Soot?\n'


def test_colour_fields_only_where_asked_for() -> None:
    papers = inks_at_hand(["Fjord"], paper="night-ferry/uncoated", status="E")
    with_fields, without = (as_text(papers, colours=colours) for colours in (True, False))
    digits = papers[0].inks[0].solid.hex
    red, green, blue = (int(digits[k : k + 2], 16) for k in (1, 3, 5))
    assert f"\x1b[48;2;{red};{green};{blue}m" in with_fields
    assert digits in without
    assert re.sub(r"\x1b\[[0-9;]*m", "", with_fields).replace(" ", "") == without.replace(" ", "")


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are a thing of POSIX")
@pytest.mark.parametrize("no_color", ["", "1"])
def test_a_terminal_gets_colour_fields_unless_it_does_not_want_them(no_color: str) -> None:
    import pty

    controller, terminal = pty.openpty()
    subprocess.run(
        [sys.executable, "-m", "inkmix", "inks", "Fog", "--paper", "night-ferry/coated"],
        stdout=terminal,
        env={**os.environ, "NO_COLOR": no_color},
        check=True,
    )
    os.close(terminal)
    written = os.read(controller, 100_000)
    os.close(controller)
    assert (b"\x1b[48;2;" in written) == (not no_color)


# --- the inks of a book --------------------------------------------------------------------------

OWN = """\
format = 1
title = "T"
[paper]
lab = [94, 0.5, 2]
class = "uncoated"
[[inks]]
name = "Night"
lab = [34.5, 0, 2.5]
[[inks]]
name = "Coral"
srgb = "#e8604c"
[[inks]]
name = "Sun"
swatch = "night-ferry/Brass"
[press]
process = "sheet-fed offset"
[plates]
pattern = "{ink}.tif"
"""


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a book of inks told in three ways, which is where commands run."""
    (tmp_path / "book.toml").write_text(OWN, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("book", [".", "book.toml"])
def test_the_inks_of_a_book_are_listed_on_its_paper(own: Path, book: str) -> None:
    document = json.loads(call(book, "--json").stdout)
    (paper,) = document["papers"]
    assert (paper["name"], paper["lab"]) == ("uncoated paper", [94, 0.5, 2])
    night, coral, sun = document["inks"]
    assert [ink["name"] for ink in (night, coral, sun)] == ["Night", "Coral", "Sun"]
    assert (night["lab"], night["known"]) == ([34.5, 0, 2.5], "solid of Lab")
    assert coral["known"] == "screen colour"
    assert sun["known"] == "ramp of XYZ, on night-ferry/uncoated"
    assert (night["invented"], sun["invented"]) == (False, True)


def test_one_ink_of_a_book_and_one_that_it_has_not(own: Path, capfd: pytest.CaptureFixture) -> None:
    assert [ink["name"] for ink in json.loads(call(".", "Sun", "--json").stdout)["inks"]] == ["Sun"]
    assert run(["inks", ".", "Soot"]) == 2
    assert "ink Soot: no plate has this name, but the inks are Night, Coral, Sun" in (
        capfd.readouterr().err
    )
    assert run(["inks", ".", "--paper", "coated"]) == 2
    assert "the book says its paper" in capfd.readouterr().err


def test_a_set_is_meant_where_a_folder_is_called_so_too(own: Path) -> None:
    (own / "night-ferry").mkdir()
    (own / "night-ferry" / "book.toml").write_text(OWN, encoding="utf-8")
    assert len(json.loads(call("night-ferry", "--json").stdout)["inks"]) == 72
    assert len(json.loads(call("./night-ferry", "--json").stdout)["inks"]) == 3


def test_a_ramp_is_shown_of_every_ink_and_begins_and_ends_as_told(own: Path) -> None:
    """Steps that nobody read are predicted: ten, each darker than the one before."""
    (paper,) = inks_of_book(read_book(own))
    for ink in paper.inks:
        L = [tint.lab[0] for tint in ink.ramp]
        assert len(L) == 11
        assert sorted(L, reverse=True) == L
        np.testing.assert_allclose(ink.ramp[0].lab, paper.colour.lab, atol=1e-6)
        np.testing.assert_allclose(ink.ramp[-1].lab, ink.solid.lab, atol=1e-6)
    page = render_page((paper,), status="E").decode()
    assert page.count('<div class="ramp"') == 3
    ramps = re.findall(r'<div class="ramp".*?</div>', page)
    assert [ramp.count("<i ") for ramp in ramps] == [11, 11, 11]
    assert page.index('class="ramp"') < page.index('class="density"')


def test_tints_that_nobody_read_have_the_usual_increase(own: Path) -> None:
    """A solid alone prints by the usual curve of uncoated paper: 20 to 30 % more at 50 %.

    ISO 12647-2 has 22 and 28 % for it; Murray and Davies in Y.
    """
    (paper,) = inks_of_book(read_book(own), ["Night"])
    (night,) = paper.inks
    Y = [lab_to_xyz100(night.ramp[step].lab)[1] for step in (0, 5, 10)]
    assert 70 < 100 * (Y[0] - Y[1]) / (Y[0] - Y[2]) < 80


# --- the page ------------------------------------------------------------------------------------


class Page(HTMLParser):
    """Counts elements and collects every address."""

    def __init__(self) -> None:
        super().__init__()
        self.count: dict[str, int] = {}
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.count[tag] = self.count.get(tag, 0) + 1
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href")]


def test_the_page_needs_nothing_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "new" / "inks.html"
    result = call("--page", str(target))
    assert result.stdout == ""
    content = target.read_text(encoding="utf-8")
    page = Page()
    page.feed(content)
    assert page.count["article"] == 84
    assert page.count["svg"] == 84 + 3 + 1  # curves, key, plane
    assert set(page.addresses) == {"#words"}  # on the page itself
    assert "script" not in page.count
    assert "url(" not in content
    assert target.stat().st_size < 1_000_000
    assert [path.name for path in target.parent.iterdir()] == ["inks.html"]


def test_same_inks_same_bytes() -> None:
    pages = {
        render_page(inks_at_hand(["Fog"], paper=None, status="E"), status="E") for _ in range(2)
    }
    assert len(pages) == 1


def test_a_page_that_cannot_be_written(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert run(["inks", "Fog", "--page", str(tmp_path / "file" / "inks.html")]) == 2
    assert "Traceback" not in capfd.readouterr().err
