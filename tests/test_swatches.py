"""Swatches by name, what their charts say, and that the shipped files are what makes them."""

import shutil
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from known_inks import paper_from_lab

import inkmix
from inkmix.base.errors import MeasurementError, SwatchError
from inkmix.base.shipped import swatches_folder
from inkmix.colour.colorimetry import lab_to_xyz100, reflectance_to_xyz100, xyz100_to_lab
from inkmix.colour.measured.cgats import parse_cgats
from inkmix.colour.measured.table import MeasurementTable, paper_rows, ramp_rows
from inkmix.press.inks import Paper
from inkmix.press.swatches.by_name import (
    is_invented,
    list_inks,
    list_papers,
    load_ink,
    load_overprints,
    load_paper,
)
from inkmix.press.swatches.charts import ink_from_table, paper_from_table, patches_from_table
from inkmix.press.swatches.files import read_measurements

TOOLS = Path(__file__).parent / "tools"
REFERENCE = Path(__file__).parent / "reference"
DEMO = ("Soot", "Fjord", "Rowan", "Brass", "Fog")
NIGHT_FERRY = [f"night-ferry/{name}" for name in DEMO]


def lab_of(name: str, paper: str) -> np.ndarray:
    return xyz100_to_lab(load_ink(name, paper=paper).solid_xyz100)


# --- the published sets: aims of ISO 12647-2 and -3 as printed in the data themselves ------------


@pytest.mark.parametrize(
    ("ink", "paper", "lab"),
    [
        # ISO 12647-2:2004/Amd 1, paper type 1/2, as published in FOGRA39L.
        ("fogra39l/K", "fogra39l", (16, 0, 0)),
        ("fogra39l/C", "fogra39l", (55, -37, -50)),
        ("fogra39l/M", "fogra39l", (48, 74, -3)),
        ("fogra39l/Y", "fogra39l", (89, -5, 93)),
        # FOGRA29L and TR 002, first decimal as in the published tables.
        ("fogra29l/K", "fogra29l", (31.9, 2.0, 2.1)),
        ("tr002/K", "tr002", (36.7, 1.7, 4.2)),
        ("tr002/M", "tr002", (52.7, 44.1, -1.1)),
    ],
)
def test_published_solids(ink: str, paper: str, lab: tuple[float, float, float]) -> None:
    # XYZ of the files has two decimals: up to 0.15 in the a* of a dark patch.
    np.testing.assert_allclose(lab_of(ink, paper), lab, atol=0.15)


def test_published_overprint_is_shipped() -> None:
    # FOGRA39L, M+Y = 47/68/48 (ISO 12647-2:2004/Amd 1), printed K, C, M, Y.
    inks = [f"fogra39l/{ink}" for ink in "KCMY"]
    patches = load_overprints("fogra39l", inks)
    assert patches is not None
    assert len(patches.tone_pct) == 11  # 16 primaries less paper and four solids
    red = (patches.tone_pct == [0, 0, 100, 100]).all(axis=1)
    np.testing.assert_allclose(xyz100_to_lab(patches.xyz100[red][0]), (47, 68, 48), atol=0.11)


@pytest.mark.parametrize("name", ["fogra39l", "fogra29l", "tr002"])
def test_selections_hold_the_numbers_of_the_published_sets(name: str) -> None:
    whole = read_measurements(REFERENCE / f"{name}.txt")
    part = read_measurements(swatches_folder() / f"{name}.txt")
    rows = [whole.sample_names.index(sample) for sample in part.sample_names]
    for field in ("tone_pct", "xyz100", "lab"):
        np.testing.assert_array_equal(getattr(part, field), getattr(whole, field)[rows])
    for plate in "CMYK":
        tones = set(whole.tone_pct[ramp_rows(whole, plate), "CMYK".index(plate)])
        assert set(part.tone_pct[ramp_rows(part, plate), "CMYK".index(plate)]) == tones


# --- the invented set ----------------------------------------------------------------------------


def test_night_ferry_has_inks_around_the_hue_circle_on_three_papers() -> None:
    inks = [ink for ink in list_inks() if ink.name.startswith("night-ferry/")]
    assert len(inks) >= 16
    assert all(ink.known == "ramp" and ink.invented and len(ink.papers) == 3 for ink in inks)
    assert all(ink.opacity is not None for ink in inks)  # nothing about a shipped ink is guessed
    assert sum(ink.opacity > 0.05 for ink in inks if ink.opacity) == 4  # three whites and Flare
    lab = np.array([lab_of(ink.name, "night-ferry/uncoated") for ink in inks])
    vivid = np.hypot(lab[:, 1], lab[:, 2]) > 20
    hues = np.sort(np.degrees(np.arctan2(lab[vivid, 2], lab[vivid, 1])) % 360)
    assert np.diff([*hues, hues[0] + 360]).max() < 60
    assert lab[:, 0].max() > 85
    assert lab[:, 0].min() < 30


@pytest.mark.parametrize(
    ("paper", "lightness", "black"),
    [
        ("night-ferry/coated", (94, 97), (12, 18)),
        ("night-ferry/uncoated", (92, 94), (25, 28)),
        ("night-ferry/newsprint", (79, 84), (32, 38)),
    ],
)
def test_night_ferry_papers_are_plausible(
    paper: str, lightness: tuple[float, float], black: tuple[float, float]
) -> None:
    # About the published sets: coated 95 and 16, uncoated 95.7 and 31.9, newsprint 80 and 37.
    assert lightness[0] <= xyz100_to_lab(load_paper(paper).xyz100)[0] <= lightness[1]
    assert black[0] <= lab_of("night-ferry/Soot", paper)[0] <= black[1]


def test_night_can_be_printed_with_the_demo_inks() -> None:
    patches = load_overprints("night-ferry/uncoated", NIGHT_FERRY)
    assert patches is not None
    solids = np.isin(patches.tone_pct, (0, 100)).all(axis=1)
    assert solids.sum() == 26  # 32 less paper and the single solids
    assert (~solids).sum() >= 10
    lightness = xyz100_to_lab(patches.xyz100[solids])[:, 0]
    assert 20 <= lightness.min() <= 24


def test_ramps_darken_step_by_step() -> None:
    for paper in ("night-ferry/coated", "night-ferry/uncoated", "night-ferry/newsprint"):
        for ink in list_inks():
            if paper in ink.papers:  # of The Night Ferry; the yellow of TR 002 turns at its end
                loaded = load_ink(ink.name, paper=paper)
                np.testing.assert_array_equal(loaded.tone_pct, np.arange(0, 101, 10))
                assert (np.diff(loaded.xyz100[:, 1]) < 0).all(), ink.name


def test_a_fluorescent_ink_reflects_more_than_it_gets() -> None:
    flare = load_ink("night-ferry/Flare", paper="night-ferry/coated")
    assert flare.character == {"fluorescent"}
    assert flare.reflectance is not None
    assert flare.reflectance.max() > 1.2


def test_an_opaque_ink_comes_with_its_solid_over_black() -> None:
    gull = load_ink("night-ferry/Gull", paper="night-ferry/uncoated")
    soot = load_ink("night-ferry/Soot", paper="night-ferry/uncoated")
    assert gull.opacity is None  # the reading over the black says more than a number
    assert gull.over_black_xyz100 is not None
    assert gull.black_xyz100 is not None
    np.testing.assert_allclose(gull.black_xyz100, soot.solid_xyz100)
    assert gull.over_black_xyz100[1] > 3 * soot.solid_xyz100[1]
    assert soot.over_black_xyz100 is None


def test_colours_follow_from_the_spectra() -> None:
    for paper in list_papers():
        if paper.reflectance is not None:
            np.testing.assert_allclose(paper.xyz100, reflectance_to_xyz100(paper.reflectance))


def test_regenerating_gives_the_shipped_swatches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(TOOLS))
    import make_night_ferry_swatches
    import make_published_swatches

    made = dict(make_night_ferry_swatches.files())
    assert {path.name for path in (swatches_folder() / "night-ferry").glob("*.txt")} == set(made)
    for name, content in made.items():
        shipped = read_measurements(swatches_folder() / "night-ferry" / name)
        again = parse_cgats(content.encode(), where=name)
        assert again.sample_names == shipped.sample_names
        assert again.keywords == shipped.keywords
        # one step of the last decimal: another processor may round another way
        assert shipped.reflectance is not None
        np.testing.assert_allclose(again.reflectance, shipped.reflectance, atol=1.01e-4)
    for name in ("fogra39l", "fogra29l", "tr002"):
        shipped_text = (swatches_folder() / f"{name}.txt").read_text(encoding="utf-8")
        assert make_published_swatches.selection(name) == shipped_text
    for module in (
        "make_night_ferry_swatches",
        "make_published_swatches",
        "night_ferry_inks",
        "print_physics",
    ):
        sys.modules.pop(module, None)


def test_every_file_is_marked_and_has_its_source() -> None:
    told = (swatches_folder() / "SOURCES.md").read_text(encoding="utf-8")
    paths = list(swatches_folder().rglob("*.txt"))
    assert len(paths) == 7
    for path in paths:
        assert path.name in told
        header = path.read_text(encoding="utf-8").split("BEGIN_DATA_FORMAT")[0]
        invented = path.parent.name == "night-ferry"
        assert ("INVENTED DATA" in header) == invented
        assert ("Altered source version" in header) != invented
    assert is_invented("night-ferry/coated")
    assert not is_invented("fogra39l")
    assert sum(path.stat().st_size for path in paths) < 400_000


# --- names ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("night-ferry/Fiord", "did you mean night-ferry/Fjord?"),
        ("Rowan", "did you mean night-ferry/Rowan?"),
        ("night-ferry/soot", "did you mean night-ferry/Soot?"),
        ("fogra39/K", "did you mean fogra39l/K?"),
        ("zzzz", "`inkmix inks` lists them all"),
        ("", "`inkmix inks` lists them all"),
    ],
)
def test_unknown_inks_get_a_hint(name: str, hint: str) -> None:
    with pytest.raises(SwatchError) as caught:
        load_ink(name, paper="night-ferry/uncoated")
    assert caught.value.exit_code == 2
    assert hint in str(caught.value)


def test_unknown_papers_get_a_hint() -> None:
    with pytest.raises(SwatchError, match=r'no paper "uncoatd"; did you mean night-ferry/uncoated'):
        load_paper("uncoatd")


def test_the_chart_nearest_to_the_paper_is_taken_and_it_is_said() -> None:
    mine = paper_from_lab("my stock", (94, 0, 3), paper_class="newsprint")
    ink = load_ink("night-ferry/Tide", paper=mine)
    assert ink.name == "Tide"
    assert ink.measured_on.name == "night-ferry/newsprint"
    assert "as printed on night-ferry/newsprint, not on my stock" in ink.source
    exact = load_ink("night-ferry/Tide", paper="night-ferry/coated")
    assert "not on" not in exact.source
    only = load_ink("fogra39l/C", paper="night-ferry/newsprint")
    assert only.measured_on.name == "fogra39l"


# --- overprints ----------------------------------------------------------------------------------


def test_overprints_take_the_order_of_the_plates() -> None:
    some = load_overprints("night-ferry/uncoated", [NIGHT_FERRY[1], NIGHT_FERRY[3]])
    assert some is not None
    assert some.tone_pct.shape[1] == 2
    assert (some.tone_pct.min(axis=1) > 0).all()
    assert [100, 100] in some.tone_pct.tolist()
    assert load_overprints("night-ferry/uncoated", [NIGHT_FERRY[3], NIGHT_FERRY[1]]) is None


def test_second_hits_and_strangers_have_no_share_in_overprints() -> None:
    plates = [*NIGHT_FERRY, "night-ferry/Soot", "fogra39l/C", "night-ferry/Tide"]
    patches = load_overprints(load_paper("night-ferry/uncoated"), plates)
    assert patches is not None
    assert patches.tone_pct.shape == (38, 8)
    assert (patches.tone_pct[:, 5:] == 0).all()


def test_no_overprints_where_none_were_measured() -> None:
    assert load_overprints("night-ferry/coated", NIGHT_FERRY) is None
    assert load_overprints("night-ferry/uncoated", NIGHT_FERRY[:1]) is None
    assert load_overprints("elsewhere", NIGHT_FERRY) is None


# --- charts of the user's own --------------------------------------------------------------------

PAPER = paper_from_lab("stock", (93, 0, 3), paper_class="uncoated")


def chart(tones: list[list[float]], lab: list[list[float]], **more: object) -> MeasurementTable:
    """A small chart of two inks."""
    table = MeasurementTable(
        sample_names=tuple(map(str, range(len(tones)))),
        plates=("Soot", "Fjord"),
        tone_pct=np.array(tones, dtype=float),
        lab=np.array(lab, dtype=float),
        source="mine.txt",
    )
    return replace(table, **more)


RAMP = chart(
    [[0, 0], [50, 0], [100, 0], [100, 0], [0, 100], [100, 100]],
    [[94, 0, 2], [60, 0, 1], [26, 0, 1], [28, 0, 1], [30, 20, -50], [20, 2, -6]],
)


def test_a_ramp_becomes_an_ink_and_repeats_are_averaged() -> None:
    ink = ink_from_table(RAMP, "Soot", paper=PAPER, name="Black of mine")
    assert (ink.name, ink.known) == ("Black of mine", "ramp")
    np.testing.assert_array_equal(ink.tone_pct, [0, 50, 100])
    mean_y = lab_to_xyz100([[26, 0, 1], [28, 0, 1]])[:, 1].mean()
    assert ink.solid_xyz100[1] == pytest.approx(mean_y)
    assert ink.measured_on.name == "stock"
    assert ink.measured_on.xyz100[1] == pytest.approx(lab_to_xyz100([94, 0, 2])[1])


def test_a_solid_alone_is_known_as_that() -> None:
    assert ink_from_table(RAMP, "Fjord", paper=PAPER).known == "solid"


def test_a_chart_without_bare_paper_leans_on_the_book_s() -> None:
    table = chart([[50, 0], [100, 0]], [[60, 0, 1], [26, 0, 1]])
    ink = ink_from_table(table, "Soot", paper=PAPER)
    assert ink.measured_on is PAPER
    with pytest.raises(MeasurementError, match="no patch of bare paper"):
        paper_from_table(table, name="stock", paper_class="uncoated")


def test_the_class_of_a_paper_must_be_told() -> None:
    with pytest.raises(MeasurementError, match="class of the paper is not given"):
        paper_from_table(RAMP, name="stock")
    told = replace(RAMP, keywords={"PAPER_CLASS": "newsprint"})
    assert paper_from_table(told, name="stock").paper_class == "newsprint"
    assert paper_from_table(told, name="stock", paper_class="coated").paper_class == "coated"


@pytest.mark.parametrize(
    ("column", "message"),
    [
        ("Fiord", "no ink Fiord, but it holds Soot, Fjord; did you mean Fjord?"),
        ("Fog", "no ink Fog"),
    ],
)
def test_an_ink_that_the_chart_lacks(column: str, message: str) -> None:
    with pytest.raises(MeasurementError, match=r"^mine\.txt: ") as caught:
        ink_from_table(RAMP, column, paper=PAPER)
    assert message in str(caught.value)


def test_an_ink_without_its_solid() -> None:
    table = chart([[0, 0], [50, 0]], [[94, 0, 2], [60, 0, 1]])
    with pytest.raises(MeasurementError, match="no patch of Soot alone at 100 %"):
        ink_from_table(table, "Soot", paper=PAPER)


def test_mixtures_of_a_chart_in_the_order_of_the_plates() -> None:
    patches = patches_from_table(RAMP, ["Fjord", None, "Soot"])
    assert patches is not None
    assert patches.noise == "single sheet"
    np.testing.assert_array_equal(patches.tone_pct, [[100, 0, 100]])
    told = replace(RAMP, keywords={"LAY_DOWN_ORDER": "Soot; Fjord"})
    assert patches_from_table(told, ["Fjord", "Soot"]) is None


@pytest.mark.parametrize("bare", [0.0, 0.08])
def test_densities_relative_or_absolute(bare: float) -> None:
    table = MeasurementTable(
        sample_names=("paper", "solid"),
        plates=("M",),
        tone_pct=np.array([[0.0], [100.0]]),
        density=np.array([[bare, bare, bare], [0.15 + bare, 1.05 + bare, 0.5 + bare]]),
        density_channels=("red", "green", "blue"),
        density_status="E",
        source="densities.txt",
    )
    ink = ink_from_table(table, "M", paper=PAPER)
    assert ink.known == "density"
    # Such a magenta on uncoated paper (status E about 1.0 to 1.15, from memory) is the one of
    # FOGRA29L, whose solid has Y 22.97 on a paper of 89.31: 0.59.
    assert np.log10(PAPER.xyz100[1] / ink.solid_xyz100[1]) == pytest.approx(0.59, abs=0.1)
    blind = replace(table, density=table.density[:, :1], density_channels=("red",))
    with pytest.raises(MeasurementError, match="D_RED, D_GREEN and D_BLUE are needed"):
        ink_from_table(blind, "M", paper=PAPER)


# --- files and folders ---------------------------------------------------------------------------


def test_a_file_that_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(MeasurementError, match="cannot be read"):
        read_measurements(tmp_path / "none.txt")
    with pytest.raises(MeasurementError, match="cannot be read"):
        read_measurements(tmp_path)


def test_the_folder_inside_the_package_goes_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "inkmix"
    monkeypatch.setattr(inkmix, "__file__", str(package / "__init__.py"))
    with pytest.raises(SwatchError, match="install the package again"):
        swatches_folder()
    for folder in (tmp_path / "swatches", package / "_swatches"):
        shutil.copytree(Path(__file__).parents[1] / "swatches", folder)
        assert swatches_folder() == folder


def test_papers_are_values_with_all_that_is_known() -> None:
    for paper in list_papers():
        assert isinstance(paper, Paper)
        assert paper.source
    table = read_measurements(swatches_folder() / "night-ferry" / "uncoated.txt")
    assert len(paper_rows(table)) == 1
