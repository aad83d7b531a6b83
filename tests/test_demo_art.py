"""The demo strip: same plates every time, within the ink limit, faults where they are said to be.

No value here is gold: the picture is invented. The tests hold it to what its own book promises.
"""

import errno
import tomllib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from inkmix.base.atomic_files import Part
from inkmix.base.errors import OutputError, UsageError
from inkmix.book.meant.tones import screen_colour_over
from inkmix.checks.night.facts import NIGHT
from inkmix.checks.tones.facts import NAMED_TONES
from inkmix.checks.total_ink.facts import TOTAL_INK
from inkmix.colour.colorimetry import delta_e00, xyz100_to_lab
from inkmix.demo.canvas import Stamp, Tile, hold_back, strip_sheet
from inkmix.demo.faults import NAMES, WRONG_BY, plant, planted, tone_mixes
from inkmix.demo.plates import Plates, draw_strip
from inkmix.demo.tones import (
    INK_LIMIT_PCT,
    INKS,
    NIGHTS,
    TONES,
    Mix,
    NightArea,
    Tone,
    mix_pct,
)
from inkmix.demo.write import write_demo
from inkmix.press.condition import PressCondition, press_condition
from inkmix.press.processes import find_process
from inkmix.press.swatches.by_name import load_ink, load_overprints, load_paper

PPI = 40.0  # coarse enough to draw in a moment
SEEDS = range(12)


@pytest.fixture(scope="module")
def strip() -> tuple[Plates, Plates]:
    return draw_strip(ppi=PPI)


def total_pct(plates: Plates) -> np.ndarray:
    return sum(plate.astype(np.int64) for plate in plates.values()) / 2.55


def faulty(strip: tuple[Plates, Plates], name: str, seed: int) -> Plates:
    plates = {ink: plate.copy() for ink, plate in strip[0].items()}
    plant(plates, ppi=PPI, seed=seed, fault=name)
    return plates


def test_plates_have_the_size_of_the_strip() -> None:
    sheet = strip_sheet(200.0)
    assert (sheet.width_px, sheet.height_px) == (6976, 1228)  # 886 x 156 mm at 200 ppi
    assert (sheet.trim_width_mm, sheet.trim_height_mm) == pytest.approx((880, 150), abs=0.07)


def test_plates_are_named_in_lay_down_order_and_all_carry_ink(strip: tuple[Plates, Plates]) -> None:
    plates, _ = strip
    assert tuple(plates) == INKS
    assert all(plate.dtype == np.uint8 and plate.max() > 100 for plate in plates.values())


def test_the_same_picture_every_time(strip: tuple[Plates, Plates]) -> None:
    again, _ = draw_strip(ppi=PPI)
    assert all(np.array_equal(again[ink], strip[0][ink]) for ink in INKS)


def test_clean_total_ink_stays_15_points_under_the_limit(strip: tuple[Plates, Plates]) -> None:
    assert total_pct(strip[0]).max() <= INK_LIMIT_PCT - 15


def test_holding_back_keeps_order_and_leaves_light_places_alone() -> None:
    total = np.linspace(0, 5, 501, dtype=np.float32)
    planes = np.tile(total / 5, (5, 1, 1))
    hold_back(planes)
    bent = planes.sum(axis=0)[0]
    assert np.all(np.diff(bent) > 0)
    np.testing.assert_allclose(bent[total < 2.1], total[total < 2.1], atol=1e-5)  # float32
    assert bent.max() < 2.45


def test_slices_of_the_strip_meet_without_a_seam(strip: tuple[Plates, Plates]) -> None:
    edges = np.linspace(0, strip_sheet(PPI).width_px, 9).round().astype(int)[1:-1]
    for plate in strip[0].values():
        step = np.abs(np.diff(plate.astype(int), axis=1)).mean(axis=0)
        at_edges = step[edges - 1]
        nearby = np.median([step[edges - 1 + shift] for shift in (-3, -2, 2, 3)], axis=0)
        assert np.all(at_edges <= 2.5 * nearby + 1.0)


@pytest.mark.parametrize("night", NIGHTS, ids=lambda night: night.name)
def test_night_is_dark_by_its_plates(strip: tuple[Plates, Plates], night: NightArea) -> None:
    plates, masks = strip
    inside = masks[night.name] == 255
    assert set(np.unique(masks[night.name])) == {0, 255}
    assert inside.sum() / (PPI / 25.4) ** 2 > 4000  # mm2
    soot, fjord = (plates[ink][inside] / 2.55 for ink in ("Soot", "Fjord"))
    assert np.mean((soot >= 82) & (fjord >= 50)) > 0.98


@pytest.fixture(scope="module")
def press() -> PressCondition:
    names = [f"night-ferry/{ink}" for ink in INKS]
    paper = load_paper("night-ferry/uncoated")
    inks = [load_ink(name, paper=paper) for name in names]
    process = find_process("sheet-fed offset")
    return press_condition(paper, inks, process=process, patches=load_overprints(paper, names))


@pytest.mark.parametrize("night", NIGHTS, ids=lambda night: night.name)
def test_night_prints_darker_than_its_limit_by_more_than_the_expected_error(
    strip: tuple[Plates, Plates], press: PressCondition, night: NightArea
) -> None:
    plates, masks = strip
    inside = masks[night.name] == 255
    tone_pct = np.stack([plate[inside] / 2.55 for plate in plates.values()], axis=-1)[::40]
    lightest = np.quantile(press.lab(tone_pct)[:, 0], night.share_pct / 100)
    assert lightest + press.expected_error(tone_pct).L.max() < night.lightest_L


def intended_de00(press: PressCondition, tone: Tone, mix: Mix) -> float:
    xyz100 = screen_colour_over(press.paper.xyz100, tone.intended)
    return float(delta_e00(press.lab(np.array(mix_pct(mix))), xyz100_to_lab(xyz100)))


@pytest.mark.parametrize("tone", TONES, ids=lambda tone: tone.name)
def test_tones_are_near_what_the_artist_wants_but_not_to_the_digit(
    press: PressCondition, tone: Tone
) -> None:
    off = intended_de00(press, tone, tone.mix)
    error = float(press.expected_error(np.array(mix_pct(tone.mix))).de00)
    assert 0.8 < off < tone.tolerance_de00 - error


@pytest.mark.parametrize("name", WRONG_BY)
def test_a_slipped_mix_is_wrong_by_far_more_than_tolerance_and_error(
    press: PressCondition, name: str
) -> None:
    tone = next(tone for tone in TONES if tone.name == name)
    error = float(press.expected_error(np.array(mix_pct(WRONG_BY[name]))).de00)
    assert intended_de00(press, tone, WRONG_BY[name]) - error > 2 * tone.tolerance_de00


def test_masks_leave_the_lights_out(strip: tuple[Plates, Plates]) -> None:
    plates, masks = strip
    for mask in masks.values():
        assert (total_pct(plates)[mask == 255] > 120).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_pale_night_costs_the_area_its_share(strip: tuple[Plates, Plates], seed: int) -> None:
    for name in ("pale-night", "thin-sea"):
        (what,) = planted(name, seed)
        inside = strip[1][what.area] == 255
        soot = faulty(strip, name, seed)["Soot"][inside] / 2.55
        assert what.check == NIGHT
        assert np.mean(soot < 70) > 0.08  # the area may lack 5 %


@pytest.mark.parametrize("seed", SEEDS)
def test_heavy_ink_exceeds_the_limit_only_where_planted(
    strip: tuple[Plates, Plates], seed: int
) -> None:
    (what,) = planted("heavy-ink", seed)
    x, y, width, height = what.rect_mm
    rows, cols = strip_sheet(PPI).pixels_of(x_mm=x, y_mm=y, width_mm=width, height_mm=height)
    over = total_pct(faulty(strip, "heavy-ink", seed)) > INK_LIMIT_PCT + 10
    assert what.check == TOTAL_INK
    assert over[rows, cols].mean() > 0.3
    assert over.sum() == over[rows, cols].sum()
    assert not any(mask[rows, cols].any() for mask in strip[1].values())


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", NAMES)
def test_each_fault_changes_only_its_own_place(
    strip: tuple[Plates, Plates], name: str, seed: int
) -> None:
    plates = faulty(strip, name, seed)
    changed = np.any([plates[ink] != strip[0][ink] for ink in INKS], axis=0)
    (what,) = planted(name, seed)
    if what.rect_mm is None:
        assert not changed.any()
        return
    x, y, width, height = what.rect_mm
    rows, cols = strip_sheet(PPI).pixels_of(x_mm=x, y_mm=y, width_mm=width, height_mm=height)
    assert changed.any()
    assert changed.sum() == changed[rows, cols].sum()
    if what.area is not None:
        assert strip[1][what.area][rows, cols].mean() > 0.5 * 255  # the rest: smoke, lights, rain


def test_seeds_move_the_places() -> None:
    assert len({planted("pale-night", seed)[0].rect_mm for seed in SEEDS}) == len(SEEDS)


def test_wrong_tone_is_one_mix_of_the_book() -> None:
    for seed in SEEDS:
        (what,) = planted("wrong-tone", seed)
        mixes = tone_mixes(fault="wrong-tone", seed=seed)
        wrong = [tone.name for tone in TONES if mixes[tone.name] != tone.mix]
        assert what.check == NAMED_TONES
        assert wrong == [what.area]


def test_all_plants_every_fault_and_none_none() -> None:
    assert tuple(what.name for what in planted("all", 3)) == NAMES
    assert planted("none", 3) == ()


def test_unknown_fault_is_named_with_the_known_ones() -> None:
    with pytest.raises(UsageError, match="pale-night"):
        planted("purple-night", 0)


def test_stamp_fits_its_slice_at_the_very_edge() -> None:
    tile = Tile(start=0, rows=20, cols=30, px_per_mm=1.0)
    np.testing.assert_allclose(tile.x[0, :2], [-2.5, -1.5])
    np.testing.assert_allclose(tile.to_px(np.array([[-3.0, -3.0]])), [[0, 0]])
    assert Stamp(slice(0, 0), slice(0, 0), np.zeros((0, 0), np.float32)).alpha.size == 0


def test_book_and_plates_on_disk(tmp_path: Path, strip: tuple[Plates, Plates]) -> None:
    folder = tmp_path / "ferry"
    assert write_demo(folder, ppi=PPI) == ()
    for ink in INKS:
        with tifffile.TiffFile(folder / f"plates/night-ferry/{ink}.tif") as tiff:
            page = tiff.pages.first
            assert (page.rowsperstrip, page.compression.name) == (64, "LZW")
            assert page.tags["XResolution"].value == (PPI, 1)
            np.testing.assert_array_equal(255 - page.asarray(), strip[0][ink])
    for night in NIGHTS:
        with Image.open(folder / night.mask) as mask:
            np.testing.assert_array_equal(np.asarray(mask), strip[1][night.name])
    assert not list(folder.rglob(".*"))


def test_book_says_what_was_drawn(tmp_path: Path) -> None:
    write_demo(tmp_path, ppi=PPI, fault="wrong-tone", seed=2)
    book = tomllib.loads((tmp_path / "book.toml").read_text(encoding="utf-8"))
    assert [ink["name"] for ink in book["inks"]] == list(INKS)
    assert book["strip"] == {"panels": 8, "panel_mm": [110, 150], "bleed_mm": 3}
    mixes = tone_mixes(fault="wrong-tone", seed=2)
    assert {tone["name"]: tone["mix"] for tone in book["tones"]} == mixes


def test_a_folder_with_a_book_is_refused(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_text("mine")
    with pytest.raises(OutputError, match="already"):
        write_demo(tmp_path, ppi=PPI)
    assert (tmp_path / "book.toml").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["book.toml"]


def test_a_place_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match="file: is a file, but a folder is needed"):
        write_demo(tmp_path / "file" / "book", ppi=PPI)


@pytest.mark.parametrize("there", [False, True])
@pytest.mark.parametrize("written", [0, 3, 5, 7])
def test_a_full_disk_leaves_nothing_that_was_not_there(
    written: int,
    there: bool,
    strip: tuple[Plates, Plates],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    folder = tmp_path / "new" / "ferry"
    if there:
        (folder / "plates").mkdir(parents=True)
        (folder / "plates" / "notes.txt").write_text("mine")
    before = sorted(tmp_path.rglob("*"))
    flush, flushed = Part.flush, []

    def full(part: Part) -> None:
        flushed.append(part.path)
        if len(flushed) > written:
            raise OSError(errno.ENOSPC, "No space left on device")
        flush(part)

    monkeypatch.setattr(Part, "flush", full)
    monkeypatch.setattr("inkmix.demo.write.draw_strip", lambda ppi: strip)
    with pytest.raises(OutputError, match="cannot be written \\(No space left on device\\)"):
        write_demo(folder, ppi=PPI)
    assert len(flushed) == written + 1
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("name", ["plates/night-ferry/Fog.tif", NIGHTS[0].mask])
def test_files_that_are_there_are_not_overwritten(name: str, tmp_path: Path) -> None:
    (tmp_path / name).parent.mkdir(parents=True)
    (tmp_path / name).write_text("mine")
    with pytest.raises(OutputError, match="already exists"):
        write_demo(tmp_path, ppi=20)
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / name]
    assert (tmp_path / name).read_text() == "mine"
