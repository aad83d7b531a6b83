"""Counting pixels: means, digests, what gives a wrong plate away; drawn and real pictures."""

import hashlib
from pathlib import Path

import numpy as np
import pytest
from counted import survey
from plate_files import line_work, ramp, write_tiff
from scipy.ndimage import gaussian_filter
from skimage import data

from inkmix.base.errors import PlateError
from inkmix.demo.faults import BLOTS, plant
from inkmix.demo.plates import draw_strip
from inkmix.plates.plate import PlateHeader, PlateSource
from inkmix.plates.set import open_set
from inkmix.plates.survey.joint_counts import STEP, count_jointly
from inkmix.plates.survey.lost_highlights import lights_are_hidden_by
from inkmix.plates.survey.surveyed import survey_faults, survey_notes
from inkmix.plates.survey.suspicion import inverted_plate

SIZE = (160, 240)


def lay(folder: Path, planes: dict[str, np.ndarray], **polarity: str):
    """A set from ink amounts, 0-255, written as grey pictures where black is ink."""
    files = {}
    for ink, ink8 in planes.items():
        path = write_tiff(folder / f"{ink}.tif", np.bitwise_not(ink8))
        files[ink] = PlateSource(path=path, polarity=polarity.get(ink))
    return open_set(files)


def drawing(seed: int, share: float) -> np.ndarray:
    """Soft blots of ink on bare paper."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[: SIZE[0], : SIZE[1]]
    ink = np.zeros(SIZE)
    while np.count_nonzero(ink) < share * ink.size:
        cy, cx, r = rng.uniform(10, 150), rng.uniform(10, 230), rng.uniform(8, 30)
        ink = np.maximum(ink, np.clip(1.4 - np.hypot(y - cy, x - cx) / r, 0, 1))
    return np.rint(ink * rng.integers(120, 256)).astype(np.uint8)


def five(folder: Path, **other) -> dict[str, np.ndarray]:
    shares = {"Soot": 0.3, "Fjord": 0.4, "Rowan": 0.15, "Brass": 0.1, "Fog": 0.25}
    return {ink: drawing(i, share) for i, (ink, share) in enumerate(shares.items())} | other


@pytest.mark.parametrize(
    ("under", "beside", "turned"),
    [
        (0.40, 0.0, None),  # others lie under the dark plate: a rich night; correlation .41
        (0.32, 0.08, 0),  # others lie anywhere; correlation 0
        (0.20, 0.20, 0),  # others lie where it is not full
    ],
)
def test_a_plate_that_is_full_on_bare_paper_is_turned_unless_others_go_with_it(
    under, beside, turned
):
    """Full on four fifths of the sheet, nowhere bare; shares of the sheet that others print on."""
    own = np.full((100, 100), 255, np.uint8)
    own[80:] = 100
    other = np.zeros_like(own)
    other.reshape(-1)[: round(10_000 * under)] = 200
    other.reshape(-1)[10_000 - round(10_000 * beside) :] = 200
    planes = [own, other, np.minimum(other, 180)]
    together = count_jointly([plane.repeat(STEP, 0).repeat(STEP, 1) for plane in planes],
                              first_row=0)  # fmt: skip
    headers = [
        PlateHeader(path=Path(f"{k}.tif"), ink=str(k), width_px=100, height_px=100, bits=8)
        for k in range(3)
    ]
    counts = [np.bincount(plane.ravel(), minlength=256) for plane in planes]
    others = planes[1].astype(int) + planes[2]
    expected = np.corrcoef(own.ravel(), others.ravel())[0, 1]
    assert together.correlation(0) == pytest.approx(expected, abs=1e-9)
    assert inverted_plate(headers, counts, together) == turned


def test_counts_of_one_plate(tmp_path):
    ink = drawing(1, 0.4)
    plates = lay(tmp_path, {"Soot": ink})
    (counted,) = survey(plates)
    assert counted.mean_tone_pct == pytest.approx(100 * ink.mean() / 255)
    assert counted.max_tone_pct == pytest.approx(100 * int(ink.max()) / 255)
    assert counted.inked_area_pct == pytest.approx(100 * np.count_nonzero(ink) / ink.size)
    np.testing.assert_array_equal(counted.histogram, np.bincount(ink.ravel(), minlength=256))
    assert counted.digest == hashlib.sha256((tmp_path / "Soot.tif").read_bytes()).hexdigest()
    assert (counted.blank, counted.screened, counted.looks_inverted) == (False, False, False)


def test_sixteen_bits_are_counted_exactly(tmp_path):
    deep = np.arange(65536, dtype=np.uint16).reshape(256, 256)
    path = write_tiff(tmp_path / "Soot.tif", deep, photometric="miniswhite")
    (counted,) = survey(open_set({"Soot": PlateSource(path=path)}))
    assert counted.mean_tone_pct == pytest.approx(50.0, abs=1e-12)
    assert set(counted.histogram) == {256}


def test_windows_do_not_change_a_count(tmp_path, monkeypatch):
    plates = lay(tmp_path, five(tmp_path))
    whole = survey(plates)
    monkeypatch.setattr("inkmix.plates.set.MAX_WINDOW_PX", 7 * SIZE[1])
    for one, other in zip(whole, survey(plates), strict=True):
        np.testing.assert_array_equal(one.histogram, other.histogram)
        assert one.looks_inverted == other.looks_inverted
        assert one.may_be_inverted == other.may_be_inverted


@pytest.mark.parametrize("ink", ["Soot", "Fjord", "Rowan", "Brass", "Fog"])
def test_the_one_inverted_plate_is_named(tmp_path, ink):
    """Rowan has solid strokes, so its turned plate is bare there: only a doubt can be said."""
    planes = five(tmp_path)
    planes[ink] = 255 - planes[ink]
    counted = survey(lay(tmp_path, planes))
    if ink == "Rowan":
        (note,) = survey_notes(counted)
        assert "Rowan.tif: full on 81.4 % of the sheet and bare almost nowhere" in note
        assert "make sure that it is not inverted" in note
        return
    (fault,) = survey_faults(counted)
    assert f"{ink}.tif: looks inverted" in str(fault)
    assert 'set polarity = "light is ink"' in str(fault)
    assert survey_notes(counted) == ()


def test_a_turned_light_plate_of_a_painting_without_bare_paper_is_doubted(tmp_path):
    """Night all over, one warm plate in the lights only, and that one turned."""
    rng = np.random.default_rng(11)
    dark = rng.normal(170, 30, SIZE).clip(20, 255).astype(np.uint8)
    planes = {"Soot": dark, "Fjord": np.flip(dark) // 2 + 40, "Brass": 255 - drawing(3, 0.2)}
    counted = survey(lay(tmp_path, planes))
    assert survey_faults(counted) == ()
    (note,) = survey_notes(counted)
    assert "Brass.tif: full on" in note


def test_a_sound_set_raises_no_suspicion(tmp_path):
    counted = survey(lay(tmp_path, five(tmp_path)))
    assert survey_faults(counted) == ()
    assert survey_notes(counted) == ()


@pytest.mark.parametrize("told", ["dark is ink", "light is ink"])
def test_told_polarity_ends_the_question(tmp_path, told):
    planes = five(tmp_path)
    planes["Fog"] = 255 - planes["Fog"]
    assert survey_faults(survey(lay(tmp_path, planes, Fog=told))) == ()


def nights() -> dict[str, np.ndarray]:
    """Dark plates as artists make them: mean 80 % and more."""
    rng = np.random.default_rng(6)
    lights = drawing(9, 0.15) > 0
    painted = np.clip(rng.normal(215, 25, SIZE), 0, 255).astype(np.uint8)
    flat = np.full(SIZE, 255, np.uint8)
    return {
        "painted": painted,
        "flat with lights knocked out": np.where(lights, 0, flat).astype(np.uint8),
        "even tone of 80 %": np.full(SIZE, 204, np.uint8),
        "flat with a bare margin": np.pad(flat[8:-8, 8:-8], 8),
    }


@pytest.mark.parametrize("kind", nights())
def test_a_dark_night_plate_is_not_taken_for_inverted(tmp_path, kind):
    planes = five(tmp_path, Soot=nights()[kind])
    assert planes["Soot"].mean() > 0.79 * 255
    counted = survey(lay(tmp_path, planes))
    assert (survey_faults(counted), survey_notes(counted)) == ((), ())


def test_a_flat_night_with_ink_under_it_is_not_taken_for_inverted(tmp_path):
    """Solid black all over but for a few lights, and blue under all of it (a rich night)."""
    small_light = np.zeros(SIZE, np.bool_)
    small_light[40:44, 50:60] = True
    planes = five(
        tmp_path,
        Soot=np.where(small_light, 0, 255).astype(np.uint8),
        Fjord=np.where(small_light, 0, 150).astype(np.uint8),
    )
    assert survey_faults(survey(lay(tmp_path, planes))) == ()


@pytest.mark.parametrize("picture", ["astronaut", "coffee", "chelsea"])
@pytest.mark.parametrize("turned", [None, 0, 1, 2, 3])
def test_separations_of_photographs(tmp_path, picture, turned):
    """Plain CMYK-like separations of pictures nobody drew for this; one of them turned.

    Photographs leave no paper bare, so a turned plate is not always found; but never another one.
    """
    rgb = getattr(data, picture)()[:300, :400].astype(np.int64)
    black = 255 - rgb.max(axis=2)
    planes = [255 - rgb[..., k] - black for k in range(3)] + [black]
    planes = [plane.astype(np.uint8) for plane in planes]
    if turned is not None:
        planes[turned] = 255 - planes[turned]
    counted = survey(lay(tmp_path, dict(zip("CMYK", planes, strict=True))))
    named = [i for i, plate in enumerate(counted) if plate.looks_inverted]
    doubted = [i for i, plate in enumerate(counted) if plate.may_be_inverted]
    assert named in ([], [turned])
    assert doubted in ([], [turned])


def partly_black(rgb: np.ndarray, kind: str) -> dict[str, np.ndarray]:
    """Two usual ways to take part of the grey into black: half of it, or the deep shadows."""
    lacks = 1 - rgb / 255
    grey = lacks.min(axis=-1)
    black = grey / 2 if kind == "half" else np.clip((grey - 0.3) / 0.7, 0, 1) ** 1.2
    share = 1.0 if kind == "half" else 0.6
    inks = np.clip(lacks - share * black[..., None], 0, 1)
    planes = [*np.moveaxis(inks, -1, 0), black]
    return {ink: np.rint(255 * p).astype(np.uint8) for ink, p in zip("CMYK", planes, strict=True)}


def suspected(folder: Path, planes: dict[str, np.ndarray], **polarity: str) -> set[str]:
    """Plates that are named as turned or doubted."""
    counted = survey(lay(folder, planes, **polarity))
    return {c.header.ink for c in counted if c.looks_inverted or c.may_be_inverted}


@pytest.mark.parametrize("kind", ["half", "shadows"])
@pytest.mark.parametrize("picture", ["astronaut", "coffee", "chelsea", "rocket"])
def test_a_turned_plate_of_a_photograph_is_doubted(tmp_path, picture, kind):
    """Each of the four plates of each picture, and none where all are right."""
    planes = partly_black(getattr(data, picture)(), kind)
    assert suspected(tmp_path, planes) == set()
    for ink in planes:
        assert suspected(tmp_path, planes | {ink: 255 - planes[ink]}) == {ink}


@pytest.fixture(scope="module")
def strip() -> dict[str, np.ndarray]:
    """The demo at 60 ppi, without faults."""
    plates, _ = draw_strip(ppi=60)
    return plates


@pytest.mark.parametrize("fault", [*BLOTS, "all", "none"])
def test_the_demo_raises_no_suspicion(tmp_path, strip, fault):
    plates = {ink: plate.copy() for ink, plate in strip.items()}
    plant(plates, ppi=60, seed=3, fault=fault)
    counted = survey(lay(tmp_path, plates))
    assert (survey_faults(counted), survey_notes(counted)) == ((), ())


@pytest.mark.parametrize("ink", ["Soot", "Fjord", "Rowan", "Brass", "Fog"])
def test_each_turned_plate_of_the_demo_is_named(tmp_path, strip, ink):
    """A painting to the edges; black and blue go together, so both may be named for one."""
    planes = strip | {ink: 255 - strip[ink]}
    named = suspected(tmp_path, planes)
    assert ink in named
    assert named <= {"Soot", "Fjord"} or named == {ink}
    others = dict.fromkeys(named, "dark is ink")
    assert suspected(tmp_path, planes, **others) == set()
    notes = survey_notes(survey(lay(tmp_path, planes)))
    faults = survey_faults(survey(lay(tmp_path, planes)))
    assert sum(f"{ink}.tif" in str(said) for said in (*notes, *faults)) == 1


def test_both_hits_of_a_turned_plate_count_as_one(tmp_path):
    planes = partly_black(data.coffee(), "half")
    planes["K"] = 255 - planes["K"]
    plates = lay(tmp_path, planes)
    files = {ink: PlateSource(path=tmp_path / f"{ink}.tif") for ink in planes}
    files["K 2"] = PlateSource(path=tmp_path / "K.tif", hit_of="K")
    counted = survey(open_set(files))
    assert [c.header.ink for c in counted if c.hides_lights] == ["K"]
    assert plates.inks == ("C", "M", "Y", "K")


def test_a_turned_plate_that_hides_the_lights_is_told_how_to_end_the_question(tmp_path):
    planes = partly_black(data.coffee(), "half")
    (note,) = survey_notes(survey(lay(tmp_path, planes | {"K": 255 - planes["K"]})))
    assert note.startswith(f"{tmp_path.name}/K.tif: is it inverted? nothing on the sheet is light")
    assert "it may be meant so" in note
    assert note.endswith('an ink whose plate is right may say polarity = "dark is ink"')


@pytest.mark.parametrize("blur_px", [0, 1])
def test_a_light_ink_that_is_a_ground_under_the_drawing_is_not_taken_for_inverted(
    tmp_path, strip, monkeypatch, blur_px
):
    """Fog lies on all that the others leave pale, and is knocked out under them, sharp or soft."""
    others = sum(plate.astype(int) for ink, plate in strip.items() if ink != "Fog")
    ground = gaussian_filter(np.where(others < 160, 200.0, 0.0), blur_px)
    planes = strip | {"Fog": ground.astype(np.uint8)}
    assert suspected(tmp_path, planes) == set()
    monkeypatch.setattr("inkmix.plates.survey.lost_highlights._SOME_BARE", 1.01)
    assert "Fog" in suspected(tmp_path, planes)  # who does not look for grounds takes it for turned


def test_lights_too_small_for_a_block_are_lights(tmp_path):
    """As dark a sheet as raises the doubt, and stars on a two-thousandth of it."""
    planes = partly_black(data.coffee(), "half")
    planes["K"] = 255 - planes["K"]
    assert suspected(tmp_path, planes) == {"K"}
    rng = np.random.default_rng(8)
    for top, left in zip(rng.integers(0, 396, 8), rng.integers(0, 596, 8), strict=True):
        for plane in planes.values():
            plane[top : top + 4, left : left + 4] = 0
    assert suspected(tmp_path, planes) == set()


def test_a_sheet_without_lights_needs_three_plates_and_a_drawing():
    random = np.random.default_rng(4)
    drawn = random.uniform(0, 1, 2000)
    turned = np.stack([drawn, 0.9 * drawn, 1 - drawn])
    assert lights_are_hidden_by(turned) == (2,)
    assert lights_are_hidden_by(turned[1:]) == ()
    assert lights_are_hidden_by(np.stack([drawn, 0.9 * drawn, np.full(2000, 0.9)])) == ()
    assert lights_are_hidden_by(np.stack([drawn, 0.9 * drawn, 0.3 * drawn])) == ()


def test_same_pixels_in_different_files(tmp_path):
    planes = five(tmp_path)
    plates = lay(tmp_path, planes)
    write_tiff(tmp_path / "Fog.tif", 255 - planes["Soot"], compression="zlib")
    plates = open_set({ink: PlateSource(path=tmp_path / f"{ink}.tif") for ink in planes})
    (fault,) = survey_faults(survey(plates))
    assert "Fog.tif: has the same pixels as the plate of Soot" in str(fault)


def test_the_same_pixels_for_two_hits_of_one_ink_are_said(tmp_path):
    planes = five(tmp_path)
    lay(tmp_path, planes)
    write_tiff(tmp_path / "Soot 2.tif", 255 - planes["Soot"], compression="zlib")
    files = {ink: PlateSource(path=tmp_path / f"{ink}.tif") for ink in planes}
    files["Soot 2"] = PlateSource(path=tmp_path / "Soot 2.tif", hit_of="Soot")
    counted = survey(open_set(files))
    assert survey_faults(counted) == ()
    (note,) = survey_notes(counted)
    assert note == "Soot 2: prints the plate of Soot once more, a double hit"


def test_two_blank_plates_are_no_copies(tmp_path):
    blank = np.zeros(SIZE, np.uint8)
    plates = lay(tmp_path, {"Soot": drawing(1, 0.2), "Fog": blank})
    write_tiff(tmp_path / "Brass.tif", blank + 255, compression="zlib")
    files = {ink: PlateSource(path=tmp_path / f"{ink}.tif") for ink in ("Soot", "Fog", "Brass")}
    counted = survey(open_set(files))
    assert survey_faults(counted) == ()
    assert [note.endswith("holds no ink at all") for note in survey_notes(counted)] == [True, True]
    assert plates.width_px == 240


@pytest.mark.parametrize("photometric", ["minisblack", "miniswhite"])
def test_sixteen_bits_that_end_at_32768(tmp_path, photometric):
    """0 to 32768 is how a widespread picture format counts inside (common practice, no source)."""
    numbers = np.linspace(0, 32768, 160 * 240).astype(np.uint16).reshape(SIZE)
    path = write_tiff(tmp_path / "Soot.tif", numbers, photometric=photometric)
    (fault,) = survey_faults(survey(open_set({"Soot": PlateSource(path=path)})))
    assert "Soot.tif: its 16-bit numbers end at 32768, but they should reach" in str(fault)


def test_a_flat_half_tone_may_stop_at_32768(tmp_path):
    numbers = np.where(line_work(), 32768, 0).astype(np.uint16)
    path = write_tiff(tmp_path / "Soot.tif", numbers, photometric="miniswhite")
    assert survey_faults(survey(open_set({"Soot": PlateSource(path=path)}))) == ()


def test_screened_in_eight_bits_is_flagged(tmp_path):
    y, x = np.mgrid[: SIZE[0], : SIZE[1]]
    dots = (np.sin(x * 0.9) * np.sin(y * 0.9) > 0.2) * np.uint8(255)
    counted = survey(lay(tmp_path, {"Soot": dots}))
    assert counted[0].screened
    assert "taken as already screened" in survey_notes(counted)[0]


def test_solid_shapes_are_not_screened(tmp_path):
    solid = np.zeros(SIZE, np.uint8)
    solid[20:120, 30:200] = 255
    assert not survey(lay(tmp_path, {"Soot": solid}))[0].screened


def test_absent_plate_is_counted_as_blank(tmp_path):
    path = write_tiff(tmp_path / "Soot.tif", ramp())
    counted = survey(open_set({"Soot": PlateSource(path=path), "Fog": None}, absent="empty"))
    assert (counted[1].blank, counted[1].digest, counted[1].mean_tone_pct) == (True, None, 0.0)
    assert survey_faults(counted) == ()


def test_faults_make_one_error(tmp_path):
    planes = five(tmp_path)
    planes["Fog"] = 255 - planes["Fog"]
    faults = survey_faults(survey(lay(tmp_path, planes)))
    assert PlateError(faults).exit_code == 3
