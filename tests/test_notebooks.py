"""The notebooks: they run from a bare start, tell what they promise, and leave pictures."""

import os
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from PIL import Image

FOLDER = Path(__file__).parents[1] / "notebooks"
NAMES = sorted(path.stem for path in FOLDER.glob("*.py"))


def run(name, pictures):
    """What a notebook prints; every picture that it promises is there, and is one."""
    ended = subprocess.run(
        [sys.executable, "-W", "error", str(FOLDER / f"{name}.py")],
        capture_output=True,
        text=True,
        env={**os.environ, "INKMIX_PICTURES": str(pictures)},
        cwd=pictures,
    )
    assert ended.returncode == 0, ended.stderr
    text = (FOLDER / f"{name}.py").read_text(encoding="utf-8")
    promised = set(re.findall(r'picture\(.*, "([a-z-]+)"\)', text))
    promised |= set(re.findall(r'name="([a-z-]+)"', text))
    saved = {path.stem: path for path in pictures.glob("*.png")}
    assert set(saved) == promised
    for path in saved.values():
        with Image.open(path) as image:
            assert min(image.size) > 100
            assert len(image.convert("RGB").getcolors(1 << 24)) > 2
    return ended.stdout


def test_all_stories_are_there():
    stories = ["accuracy_on_published_prints", "choosing_a_palette", "how_dark_can_night_be"]
    assert stories == NAMES


@pytest.mark.long
def test_every_telling_helps_on_every_published_chart(tmp_path):
    """As its words say; the figures of told ramps are those of README."""
    printed = run("accuracy_on_published_prints", tmp_path)
    rows = re.findall(r"^(fogra\w+|tr002) +((?:\d+\.\d\d *){6})$", printed, re.M)
    means = {name: [float(mean) for mean in figures.split()] for name, figures in rows}
    assert set(means) == {"fogra29l", "fogra39l", "tr002"}
    for solids, ramps, overprints, twenty, forty, screen in means.values():
        assert screen > 5 > solids > ramps > overprints > twenty > forty
    readme = (FOLDER.parent / "README.md").read_text(encoding="utf-8")
    for chart, name in (("FOGRA39L, coated", "fogra39l"), ("TR 002, newsprint", "tr002")):
        assert f"| {chart} | {means[name][0]:.2f} (" in readme


@pytest.mark.parametrize("name", NAMES)
def test_every_cell_is_told_in_words_first(name):
    """Format: jupytext's percent scripts; code cells and prose take turns."""
    text = (FOLDER / f"{name}.py").read_text(encoding="utf-8")
    cells = re.findall(r"^# %%(.*)$", text, re.M)
    assert cells[0] == " [markdown]"
    assert not any(one == two == "" for one, two in pairwise(cells))
    assert re.search(r"^#       format_name: percent$", text, re.M)


@pytest.mark.long
def test_a_palette_is_chosen_with_reasons_and_a_next_step(tmp_path):
    printed = run("choosing_a_palette", tmp_path)
    assert "The Night Ferry: Soot, Fjord, Rowan, Brass, Fog on night-ferry/uncoated" in printed
    assert re.search(r"^20 palettes; the best of them:$", printed, re.M)
    assert re.search(r"give the deep night.* within dE00 \d\.\d\.", printed)
    assert re.search(
        r"no pair here goes below L\* \d\d\.\d \(measured overprints left out\)\.", printed
    )
    command = r"^inkmix predict night-ferry --spread night-ferry --ink Rowan=\w+$"
    assert re.search(command, printed, re.M)


@pytest.fixture(scope="module")
def told_of_night(tmp_path_factory):
    """What the notebook prints, and its own words."""
    text = (FOLDER / "how_dark_can_night_be.py").read_text(encoding="utf-8")
    return run("how_dark_can_night_be", tmp_path_factory.mktemp("pictures")), text


def test_night_is_told_as_it_prints(told_of_night):
    """Lighter than on screen (8-14 L* on the published charts), by paper more than by limit."""
    printed, _ = told_of_night
    pairs = re.findall(r"on screen L\* +([\d.]+) +printed L\* +([\d.]+)", printed)
    screen, print_ = ([float(pair[k]) for pair in pairs] for k in (0, 1))
    assert screen[0] == print_[0]  # one solid is the same on both
    assert all(other - one > 8 for one, other in zip(screen[1:], print_[1:], strict=True))
    rows = re.findall(
        r"^(\w+) +L\* +([\d.]+) under 100 %, +([\d.]+) under 200 %, +([\d.]+) under 300 %",
        printed,
        re.M,
    )
    darkest = {name: [float(L) for L in figures] for name, *figures in rows}
    for one, two, three in darkest.values():
        assert one > two >= three
        assert two - three < 2
    assert darkest["coated"][2] < darkest["uncoated"][2] < darkest["newsprint"][2]


def test_casts_show_on_newsprint_more_than_on_the_paper_of_the_book(told_of_night):
    """As its words say: there the darkest is neutral itself, and no cast has much of a hue."""
    printed, _ = told_of_night
    rows = re.findall(
        r"^(\w+) +([a-z ]+?) +L\* +[\d.]+ ± [\d.]+ +a\* +([-\d.]+) +b\* +([-\d.]+) +(.+)$",
        printed,
        re.M,
    )
    found = {(paper, cast): (float(a), float(b), mix) for paper, cast, a, b, mix in rows}
    assert len(found) == 8
    assert found["uncoated", "neutral"] == found["uncoated", "whatever is darkest"]
    chroma = {key: (a**2 + b**2) ** 0.5 for key, (a, b, _) in found.items()}
    assert max(chroma["uncoated", cast] for cast in ("warm", "cold")) < 3
    a, b, _ = found["newsprint", "warm"]
    assert chroma["newsprint", "warm"] > 4
    assert min(a, b) > 2


def test_a_second_hit_hardly_pays_and_the_moon_stands_in_the_dark_that_is_told(told_of_night):
    printed, text = told_of_night
    once, twice = (
        float(re.search(rf"^Soot {hits}: +L\* ([\d.]+)", printed, re.M)[1])
        for hits in ("once", "twice")
    )
    assert 0 < once - twice < 0.5
    assert re.findall(r"bare paper makes L\\\* (\d+)", text) == [f"{once:.0f}"]
