"""A press learnt from a photograph of its form: what is found, what is stated, what is refused.

Pictures are rendered by photographed_form.py of presses of another kind (simulated_press.py), whose
truth is known.
"""

import json
import zlib
from dataclasses import replace

import colour
import numpy as np
import pytest
from photographed_form import (
    Shot,
    as_jpeg,
    of_press,
    photographed8,
    random_shot,
    seen_by_sensor,
    write_form,
)
from PIL import Image
from printed_form import INKS
from scipy.ndimage import gaussian_filter
from simulated_press import lab_of, random_press

from inkmix.base.errors import InkmixError, MeasurementError, PictureError, UsageError
from inkmix.book.meant.condition import condition_on_press, resolve_condition
from inkmix.checks.confidence import may_pass, why_not
from inkmix.cli.main import run
from inkmix.colour.colorimetry import xyz100_to_lab
from inkmix.jobs.adopting.adopt import adopt_inks
from inkmix.jobs.books import read_book
from inkmix.jobs.calibrating.averages import write_averages
from inkmix.jobs.calibrating.calibrate import calibrate_book
from inkmix.jobs.calibrating.photograph import read_photograph
from inkmix.jobs.calibrating.placed_form import read_placed_form
from inkmix.jobs.checking.press_known import press_notes
from inkmix.pages.calibration.next_steps import naming, to_do
from inkmix.pages.calibration.page import render_page
from inkmix.pages.calibration.text import calibration_lines
from inkmix.pages.calibration.write import write_calibration
from inkmix.press.calibration.order import likely_order
from inkmix.press.calibration.press_file import parse_press_file, press_file_text
from inkmix.press.inks import ink_from_srgb
from inkmix.press.photograph.camera import tone_curve
from inkmix.press.photograph.light import light_on
from inkmix.sheet.forms.finding import carried, homography, marks_in, placings

SEED = 41
SHOT = random_shot(SEED, width_px=1500, height_px=1100, turned=1, quality=92)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Of a book and its form; read only."""
    return tmp_path_factory.mktemp("ferry")


@pytest.fixture(scope="module")
def form(folder):
    return write_form(folder)


@pytest.fixture(scope="module")
def book(folder, form):
    return read_book(folder)


@pytest.fixture(scope="module")
def printed(form):
    """Reflectance of the mixes of the form, on one sheet."""
    return random_press(SEED).printed(form.drawing.mixes, seed=SEED)


@pytest.fixture(scope="module")
def pixels8(form, printed):
    """What a camera makes of it; every test that changes it takes a copy."""
    return photographed8(form, printed, SHOT)


@pytest.fixture(scope="module")
def found(book, folder, pixels8):
    path = folder / "sheet.jpg"
    path.write_bytes(as_jpeg(pixels8))
    return calibrate_book(book, photo=path, form=folder / "form")


@pytest.fixture(scope="module")
def read(book, folder, form):
    """Reads pixels, or a file, as a photograph of the form."""
    placed, told = read_placed_form(folder / "form"), resolve_condition(book)

    def read(picture, name="other.jpg"):
        path = folder / name
        path.write_bytes(as_jpeg(picture) if isinstance(picture, np.ndarray) else picture)
        return read_photograph(path, placed, told)

    return read


def truth_of(form, printed):
    """Lab (N, 3) of the patches as they lie on the sheet."""
    tones = [[patch.tone_pct.get(name, 0.0) for name in INKS] for patch in form.patches]
    at = [int((form.drawing.mixes == row).all(axis=1).argmax()) for row in tones]
    return lab_of(printed[at])


# --- what is read --------------------------------------------------------------------------------


def test_patches_are_read_within_what_a_camera_misses(found, form, printed):
    """Of 40 other presses and cameras they are dE00 1.7 off on average (constants.toml)."""
    lab = xyz100_to_lab(found.photograph.table.xyz100)
    apart = colour.delta_E(truth_of(form, printed), lab, method="CIE 2000")
    assert apart.mean() < 2.6
    assert found.photograph.table.sample_names[:3] == ("1", "2", "3")
    assert found.suspects == ()


def test_how_the_picture_was_is_told(found):
    """By the sizes of the errors that it was rendered with."""
    seen = found.photograph
    assert seen.size_px == (SHOT.width_px, SHOT.height_px)
    assert 30 < seen.patch_px < 60  # 12 mm of a form of 297 mm that fills most of 1250 px
    assert 1.0 < seen.light_ratio < 1 / (1 - SHOT.vignette) / (1 - SHOT.slope)
    assert seen.light_left < 0.03
    assert seen.marks_off_mm < 0.8
    assert any("no profile" in note and "photograph" in note for note in seen.notes)


def test_named_tones_lie_within_what_is_stated(found):
    """One picture says little: two of three inside, none far off; below a hundred are counted."""
    press, shares = random_press(SEED), []
    for mix in found.mixes[:3]:
        truth = press.truth_lab(np.array([[mix.mix_pct.get(name, 0.0) for name in INKS]]))[0]
        shares.append(colour.delta_E(truth, mix.lab, method="CIE 2000") / mix.de00)
    assert sorted(shares)[1] <= 1
    assert max(shares) < 1.3


@pytest.mark.long
def test_of_a_hundred_photographs_named_tones_lie_within_what_is_stated(book, folder, form):
    """Seeds that nothing was chosen by; a bound that all lay within would be too wide.

    Seeds 2000 to 2099 stood here first: 93.7 % lay inside, so the bound was widened, and those
    seeds can judge no more.
    """
    off, stated = [], []
    for seed in range(3000, 3100):
        path = folder / f"{seed}.jpg"
        path.write_bytes(of_press(form, seed, random_shot(seed)))
        mixes = calibrate_book(book, photo=path, form=folder / "form").mixes[:3]
        path.unlink()
        rows = np.array([[mix.mix_pct.get(name, 0.0) for name in INKS] for mix in mixes])
        truth = random_press(seed).truth_lab(rows)
        lab = np.stack([mix.lab for mix in mixes])
        off.append(colour.delta_E(truth, lab, method="CIE 2000"))
        stated.append([mix.de00 for mix in mixes])
    off, stated = np.array(off), np.array(stated)
    inside = (off <= stated).mean()
    print(f"inside {inside:.3f}, off {np.median(off):.2f}, stated {np.median(stated):.2f}")
    assert inside >= 0.95
    assert np.median(stated) <= 6.0


def test_a_form_is_found_however_it_lies(read, form, printed):
    """Upside down, from the side; the others lie on theirs."""
    lean = ((-0.08, -0.02), (0.08, -0.02), (0.0, 0.0), (0.0, 0.0))
    seen = read(photographed8(form, printed, replace(SHOT, turned=2, lean=lean)))
    lab = xyz100_to_lab(seen.table.xyz100)
    apart = colour.delta_E(truth_of(form, printed), lab, method="CIE 2000")
    assert apart.mean() < 2.6


def test_a_picture_turned_by_its_tag_and_a_deep_scan_are_read_alike(read, pixels8, folder):
    upright = read(pixels8).table.xyz100
    turned = Image.fromarray(np.ascontiguousarray(np.rot90(pixels8)))
    tags = Image.Exif()
    tags[274] = 6  # the camera was turned: rotate by 90 degrees clockwise to show (Exif 2.3)
    turned.save(folder / "turned.png", exif=tags)
    seen = read((folder / "turned.png").read_bytes(), "turned.png")
    assert np.abs(seen.table.xyz100 - upright).max() < 1.5  # a JPEG beside a PNG
    assert any("turned as its orientation tag says" in note for note in seen.notes)


# --- what is stated ------------------------------------------------------------------------------


def test_nothing_is_surer_by_a_photograph(found, book, form):
    """At any mix, and in lightness too, whatever was known before."""
    rng = np.random.default_rng(3)
    tones = np.vstack([np.eye(5) * 100, rng.uniform(0, 100, (40, 5)) * (rng.random((40, 5)) < 0.5)])
    hinted = replace(
        book,
        inks=tuple(
            replace(ink, swatch=None, srgb=tint)
            for ink, tint in zip(
                book.inks, ("#222222", "#204080", "#c04020", "#c0a040", "#90a0b0"), strict=True
            )
        ),
    )
    for one in (book, hinted):
        was, now = resolve_condition(one), condition_on_press(one, found.press)
        for name in ("de00", "L"):
            before = getattr(was.expected_error(tones), name)
            after = getattr(now.expected_error(tones), name)
            assert (after >= before - 1e-9).all()
    assert all(mix.de00 >= mix.was_de00 and mix.was_L <= mix.L for mix in found.mixes)


def test_no_verdict_that_rests_on_a_photograph_passes(found, book):
    deep = np.array([90.0, 68, 10, 0, 0])
    assert may_pass(resolve_condition(book), deep)
    assert not may_pass(found.condition, deep)
    assert "Soot is known only by a photograph" in why_not(found.condition, deep)
    later = found.condition.double_hit("Soot").with_screened(["Fjord"])
    assert not may_pass(later, np.append(deep, 40.0))
    assert "photograph only" in " ".join(later.cautions)


def test_what_was_read_before_says_nothing_of_this_print(found):
    """The book's inks come with measured overprints; their order is not that of the form."""
    patches = found.condition.patches
    assert patches.before.any()
    assert not patches.of_now.before.any()
    alone = likely_order(replace(found.condition, patches=patches.of_now))
    assert likely_order(found.condition) == alone
    assert len({(one.first, one.second) for one in alone.pairs}) == len(alone.pairs)


def test_the_paper_stays_the_book_s(found):
    assert found.condition.paper.xyz100 == pytest.approx(found.was.paper.xyz100)
    assert found.press.is_photograph


def test_the_press_file_keeps_that_a_camera_read_it(found, book, tmp_path):
    again = parse_press_file(press_file_text(found.press).encode(), where="sheet.toml")
    assert again.is_photograph
    path, _ = write_calibration(found, tmp_path / "press")
    assert 'read_by = "photograph"' in path.read_text("utf-8")
    text = (book.folder / "book.toml").read_text("utf-8")
    (tmp_path / "book.toml").write_text(
        text.replace("ink_limit_pct", 'condition = "press/sheet.toml"\nink_limit_pct'), "utf-8"
    )
    named = read_book(tmp_path)
    condition = resolve_condition(named)
    assert condition.photographed == INKS
    assert "photographed on this press" in press_notes(named, condition)[0]
    wrong = press_file_text(found.press).replace('read_by = "photograph"', 'read_by = "a friend"')
    with pytest.raises(MeasurementError, match="read_by: a friend"):
        parse_press_file(wrong.encode(), where="sheet.toml")


def test_what_a_camera_saw_is_handed_on_to_no_other_book(found, book, tmp_path):
    path, _ = write_calibration(found, tmp_path / "there" / "press")
    text = (book.folder / "book.toml").read_text("utf-8")
    (tmp_path / "there" / "book.toml").write_text(
        text.replace("ink_limit_pct", f'condition = "press/{path.name}"\nink_limit_pct'), "utf-8"
    )
    (tmp_path / "here").mkdir()
    bare = text
    for name in INKS:
        bare = bare.replace(f'swatch = "night-ferry/{name}"', 'srgb = "#405060"')
    (tmp_path / "here" / "book.toml").write_text(bare, "utf-8")
    adopted = adopt_inks(
        read_book(tmp_path / "here"), read_book(tmp_path / "there"), tmp_path / "here" / "more.toml"
    )
    assert adopted.condition == ""
    assert any("a camera read it" in one.why for one in adopted.not_taken)
    assert {one.how for one in adopted.inks} == {"swatch"}


def test_a_measured_press_is_not_to_be_replaced_by_a_photograph(found, folder):
    known = replace(found, earlier="readings.txt")
    steps = [one.do for one in to_do(known, naming(known, folder / "press" / "photo.toml"))]
    assert "keep the press file of readings.txt in the book" in steps
    assert not any("name press" in step for step in steps)


def test_a_picture_that_is_one_pixel_wide_shows_no_form():
    assert marks_in(np.full((30_000, 1), 255, np.uint8)) == ()


def test_no_file_of_readings_is_made_of_what_a_camera_saw(found, tmp_path):
    """Read again it would count as an instrument's, and a night could pass by it."""
    with pytest.raises(UsageError, match="a camera read the form"):
        write_averages(found, tmp_path / "mean.txt")
    assert not list(tmp_path.iterdir())


def test_page_and_terminal_say_what_a_photograph_cannot_tell(found, tmp_path):
    page = render_page(found, tmp_path / "press" / "sheet.toml").decode()
    page = page.replace("\N{NO-BREAK SPACE}", " ").replace("’", "'")
    lines = "\n".join(calibration_lines(found, [tmp_path / "sheet.toml", tmp_path / "sheet.html"]))
    for said in (page, lines):
        assert "Nothing is surer by a photograph" in said
        assert "1500 × 1100 px" in said
        assert "times as brightly" in said
    assert "the photographed one is used" in page.lower()
    assert "measured one is used" not in page.lower()
    assert "with an instrument before you print more" in page


# --- what is refused -----------------------------------------------------------------------------


def without_mark(pixels):
    """One corner mark covered with paper; which, is told by where marks are."""
    grey = pixels.mean(axis=-1).astype(np.uint8)
    mark = next(one for one in marks_in(grey) if not one.has_core)
    x, y = np.rint(mark.middle).astype(int)
    pixels[y - 30 : y + 30, x - 30 : x + 30] = pixels[y - 33, x - 33]
    return pixels


def shaded(pixels):
    """A hand's shadow with a soft edge over half of it."""
    shadow = np.ones(pixels.shape[:2])
    shadow[:, : pixels.shape[1] // 2] = 0.8
    return (pixels * gaussian_filter(shadow, 15)[..., None]).astype(np.uint8)


def lamp(pixels):
    """One lamp at one side."""
    fall = np.linspace(1.0, 0.35, pixels.shape[1])[:, None]
    return (pixels * fall).astype(np.uint8)


def clouds(pixels):
    """Something else altogether."""
    grain = gaussian_filter(np.random.default_rng(1).random(pixels.shape), (20, 20, 0))
    return (255 * (grain - grain.min()) / np.ptp(grain)).astype(np.uint8)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (without_mark, "no four that can be the corners"),
        (clouds, "no corner mark, and no four"),
        (lambda pixels: pixels[:, ::-1], "shows the form mirrored"),
        (lambda pixels: pixels[: len(pixels) // 2], "no four that can be the corners"),
        (lambda pixels: pixels[::7, ::7], "so that a patch is .* px wide"),
        (shaded, r"lit unevenly, by a shadow or a shine: .* still differs by \d+"),
        (lamp, "times as brightly at one place as at another"),
        (lambda pixels: np.minimum(pixels * 1.25, 255).astype(np.uint8), "burnt out to white"),
        (lambda pixels: np.maximum(pixels - 90.0, 0).astype(np.uint8), "black as can be"),
    ],
    ids=[
        "mark missing", "another picture", "mirrored", "half of it", "too small", "shadow", "lamp",
        "burnt out", "black",
    ],
)  # fmt: skip
def test_a_picture_that_cannot_be_used_is_refused(read, pixels8, change, said):
    with pytest.raises(PictureError, match=said) as refused:
        read(np.ascontiguousarray(change(pixels8.copy())))
    (fault,) = refused.value.faults
    assert fault.where == "other.jpg"
    assert fault.expected
    assert fault.do


def test_a_form_of_other_patches_is_refused(folder, book, pixels8, tmp_path):
    """The same marks around the same places, but the patches stand in another order."""
    said = json.loads((folder / "form" / "testform.json").read_text("utf-8"))
    mixes = [patch["tone_pct"] for patch in said["patches"]]
    labs = [patch["lab"] for patch in said["patches"]]
    order = np.random.default_rng(2).permutation(len(mixes))
    for patch, at in zip(said["patches"], order, strict=True):
        patch["tone_pct"], patch["lab"] = mixes[at], labs[at]
    (tmp_path / "testform.json").write_text(json.dumps(said), "utf-8")
    (tmp_path / "sheet.jpg").write_bytes(as_jpeg(pixels8))
    with pytest.raises(PictureError, match="the patches between them are not those of"):
        calibrate_book(book, photo=tmp_path / "sheet.jpg", form=tmp_path)


def bomb():
    """A PNG that says of itself to be 60,000 px wide and high."""
    head = (60_000).to_bytes(4) * 2 + bytes([8, 2, 0, 0, 0])
    parts = [(b"IHDR", head), (b"IDAT", zlib.compress(bytes(10**6))), (b"IEND", b"")]
    chunks = [
        len(data).to_bytes(4) + kind + data + zlib.crc32(kind + data).to_bytes(4)
        for kind, data in parts
    ]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("cut.jpg", lambda pixels: as_jpeg(pixels)[:40_000]),
        ("junk.jpg", lambda pixels: np.random.default_rng(1).bytes(10**8)),
        ("bomb.png", lambda pixels: bomb()),
        ("empty.jpg", lambda pixels: b""),
    ],
)
def test_files_that_are_no_picture_are_refused(read, pixels8, name, data, folder):
    with pytest.raises(PictureError) as refused:
        read(data(pixels8), name)
    assert name in refused.value.faults[0].where
    (folder / name).unlink()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda said: said.update(form="a poem"), "is no test form of inkmix"),
        (lambda said: said.update(format=2), "has format 2"),
        (lambda said: said.pop("corners"), "corners is missing"),
        (lambda said: said["corners"].reverse(), "corners are not top left"),
        (lambda said: said["patches"][4].update(x_mm=900.0), "lies outside the form"),
        (lambda said: said["patches"][4]["tone_pct"].update(Soot=140.0), "is no mix of its inks"),
        (lambda said: said.update(width_mm=-3.0), "width_mm"),
        (lambda said: said.update(darkest_ink="Chalk"), "none of its inks"),
        (lambda said: said.update(patches=[]), "patches are missing"),
        (lambda said: said["patches"][0].pop("lab"), "lab is missing"),
    ],
)
def test_a_form_that_cannot_be_one_is_refused(folder, tmp_path, form, change, said):
    told = json.loads((folder / "form" / "testform.json").read_text("utf-8"))
    change(told)
    (tmp_path / "testform.json").write_text(json.dumps(told), "utf-8")
    with pytest.raises(MeasurementError, match=said):
        read_placed_form(tmp_path)


def test_what_has_to_be_named_is_asked_for(book, folder, form, tmp_path, capsys):
    sheet = folder / "none.jpg"
    with pytest.raises(UsageError, match="no form is named"):
        calibrate_book(book, photo=sheet)
    with pytest.raises(UsageError, match="together with measurements"):
        calibrate_book(book, "readings.txt", photo=sheet, form=folder / "form")
    with pytest.raises(UsageError, match="or a photograph"):
        calibrate_book(book)
    with pytest.raises(InkmixError, match="cannot be read"):
        calibrate_book(book, photo=sheet, form=tmp_path)
    words = ["calibrate", str(book.folder), "--form", str(folder / "form")]
    assert run([*words, "--photo", str(sheet)]) == 3
    assert "none.jpg" in capsys.readouterr().err


def test_a_form_of_another_book_is_refused(folder, form, tmp_path):
    text = (folder / "book.toml").read_text("utf-8").replace('"Fog"', '"Mist"')
    text = text.replace("Fog = 45", "Mist = 45")
    (tmp_path / "book.toml").write_text(text, "utf-8")
    with pytest.raises(MeasurementError, match="a form of Soot"):
        calibrate_book(read_book(tmp_path), photo=tmp_path / "a.jpg", form=folder / "form")


# --- the parts -----------------------------------------------------------------------------------


def test_a_homography_carries_its_four_places():
    """Those of a trapezium, and the middle of a square where its diagonals meet."""
    square = np.array([[0.0, 0], [2, 0], [0, 2], [2, 2]])
    seen = np.array([[10.0, 10], [110, 10], [30, 90], [90, 90]])
    found = homography(square, seen)
    assert carried(found, square) == pytest.approx(seen)
    meet = carried(found, np.array([1.0, 1.0]))
    assert meet == pytest.approx([60.0, 10 + 80 * 100 / 160])  # diagonals cut as 100 to 60


def test_light_is_followed_and_type_on_it_is_not():
    """A known fall of light, with lines of type on a fifth of the paper."""
    rows, cols = np.mgrid[:300, :400]
    light = 0.8 * np.exp(-0.4 * cols / 400 - 0.2 * (rows / 300) ** 2)
    linear = np.repeat(light[..., None], 3, axis=2).astype(np.float32)
    typed = np.random.default_rng(1).random((300, 400)) < 0.2
    linear[typed] *= 0.2
    found = light_on(linear, np.ones((300, 400), bool))
    assert found.at(rows[::30, ::30], cols[::30, ::30])[..., 1] == pytest.approx(
        light[::30, ::30], rel=0.01
    )
    assert found.ratio == pytest.approx(np.exp(0.6), rel=0.03)
    assert found.left < 0.01


def test_a_tone_curve_follows_what_is_known_and_stays_where_nothing_is():
    density = np.linspace(0.05, 1.2, 12)
    share, known = (
        10 ** -np.repeat(density[:, None], 3, axis=1),
        10 ** -np.repeat((0.9 * density)[:, None], 3, axis=1),
    )
    sure = tone_curve(share, known, np.full(12, 1e-4))
    assert -np.log10(sure.of(share[:, 0])) == pytest.approx(0.9 * density, abs=0.06)
    unsure = tone_curve(share, known, np.full(12, 9.0))
    assert -np.log10(unsure.of(share[:, 0])) == pytest.approx(density, abs=0.005)


def test_a_sensor_that_sees_as_the_eye_does_is_nearly_srgb(form, printed):
    """The renderer's own check: an average camera is some dE00 off, not tens."""
    linear = seen_by_sensor(printed, Shot())
    wanted = colour.RGB_to_XYZ(np.maximum(linear, 0), "sRGB", apply_cctf_decoding=False)
    grey = np.abs(wanted[0] / wanted[0][1] - wanted[200] / wanted[200][1]).max()
    assert grey < 0.1
    assert linear[0] == pytest.approx([1, 1, 1])


def test_placings_hold_the_true_one_and_no_mark_is_needed_twice(pixels8, form):
    marks = marks_in(pixels8.mean(axis=-1).astype(np.uint8))
    corners = np.array(
        [[one.x_mm + one.width_mm / 2, one.y_mm + one.height_mm / 2] for one in form.corners]
    )
    ways = list(placings(marks, corners, side_mm=form.corners[0].width_mm))
    best = min(ways, key=lambda way: way.misfit)
    assert not best.is_mirrored
    assert best.misfit < 0.2
    assert not list(placings(marks[:3], corners, side_mm=6.0))


def test_an_ink_without_measurements_is_as_unsure_as_before(found):
    """A hint stays a hint in what is expected of it; its colour is what the camera saw."""
    paper = found.condition.paper
    assert all(ink.known == "photograph" for ink in found.condition.inks)
    hint = ink_from_srgb("Soot", "#333333", paper=paper)
    assert replace(found.condition.inks[0], told=hint).told.known == "screen colour"
