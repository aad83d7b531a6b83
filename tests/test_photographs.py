"""Separations of photographs through predict and check, against the exact model and plain numpy.

The referees: the press condition at the tone values of every pixel; scipy's distance transform;
scikit-image's colour difference and connected areas; whole arrays where the program goes by
windows.
"""

import numpy as np
import pytest
from counted import open_spread
from PIL import Image
from scipy import ndimage
from separations import (
    PPI,
    SPREAD,
    PhotoBook,
    in_steps,
    photograph,
    press,
    read_plate,
    separated,
    write_book,
    write_picture,
    write_plate,
)
from skimage.color import deltaE_ciede2000, rgb2xyz
from skimage.measure import label, regionprops

from inkmix.colour.colorimetry import srgb1_to_xyz100, xyz100_to_lab, xyz100_to_srgb1
from inkmix.jobs.check import check_spread
from inkmix.jobs.printing.screen import screen_model
from inkmix.jobs.printing.white import lookup_for
from inkmix.jobs.spread import Spread
from inkmix.pages.report.write import write_report
from inkmix.press.condition import PressCondition
from inkmix.press.table.lookup import (
    LIGHTNESS_SCALE,
    ROUNDING_ERROR_DE00,
    SRGB_SCALE,
    STATED_ERROR_DE00,
    STATED_ERROR_L,
)

CATS_EYE = (slice(80, 152), slice(110, 218))
NARROW = {  # solids of further inks by Lab only: narrow bands, which build fast
    "Soot": "[28, 0, 1]",
    "Fjord": "[33, -4, -34]",
    "Rowan": "[54, 56, 40]",
    "Brass": "[80, 4, 66]",
    "Fog": "[79, -5, -9]",
    "Bottle": "[44, -34, 8]",
    "Mussel": "[38, 16, -22]",
    "Rust": "[47, 34, 38]",
}


def book_of(folder, inks, *, bits=8, picture=("chelsea", *CATS_EYE), **options) -> PhotoBook:
    amounts = separated(photograph(*picture), inks)
    plates = {ink: in_steps(amount, bits) for ink, amount in amounts.items()}
    return write_book(folder, plates, **options)


def narrow_inks() -> dict[str, str]:
    return {ink: f'[[inks]]\nname = "{ink}"\nlab = {lab}\n' for ink, lab in NARROW.items()}


def table_colours(spread: Spread) -> tuple[np.ndarray, np.ndarray]:
    """sRGB (rows, cols, 3), unclipped, and L* of the whole spread, before rounding to 8 bits."""
    plates = spread.plates
    planes = plates.read(slice(0, plates.height_px), slice(0, plates.width_px))
    srgb, lightness = lookup_for(spread, spread.condition, adapt_to_paper=False).evaluate(planes)
    srgb, light = srgb / (255 * SRGB_SCALE), lightness / LIGHTNESS_SCALE
    return srgb, light


def predicted_png(spread: Spread, path) -> np.ndarray:
    """sRGB 0-1 of the written picture, by another reader."""
    write_picture(spread, path)
    return np.asarray(Image.open(path)) / 255.0


def assert_every_pixel_agrees(spread: Spread, exact: PressCondition, tone_pct, png) -> None:
    """Within the stated error before and after rounding, wherever sRGB can show the colour."""
    inks = tone_pct.shape[-1]
    xyz100 = exact.xyz100(tone_pct)
    lab, srgb1 = xyz100_to_lab(xyz100), xyz100_to_srgb1(xyz100)
    shown = ((srgb1 >= 0) & (srgb1 <= 1)).all(axis=-1)
    assert shown.mean() > 0.5
    table, light = table_colours(spread)
    before = deltaE_ciede2000(xyz100_to_lab(srgb1_to_xyz100(table)), lab)
    after = deltaE_ciede2000(xyz100_to_lab(srgb1_to_xyz100(png)), lab)
    assert before[shown].max() <= STATED_ERROR_DE00[inks]
    assert after[shown].max() <= STATED_ERROR_DE00[inks] + ROUNDING_ERROR_DE00
    assert np.abs(light - lab[..., 0]).max() <= STATED_ERROR_L[inks]


@pytest.mark.parametrize(
    ("picture", "inks"),
    [
        (("rocket", slice(0, 200), slice(200, 420)), ("Soot", "Rowan")),
        (("astronaut", slice(60, 200), slice(140, 300)), ("Soot", "Fjord", "Rowan")),
        (("coffee", slice(40, 180), slice(120, 330)), ("Soot", "Fjord", "Rowan", "Brass")),
    ],
)
def test_every_pixel_of_a_photograph_agrees_with_the_exact_model(tmp_path, picture, inks):
    photo = book_of(tmp_path, inks, picture=picture)
    spread = open_spread(photo.book, SPREAD)
    png = predicted_png(spread, tmp_path / "p.png")
    assert_every_pixel_agrees(spread, press(*inks), photo.tone_pct(), png)


def test_five_inks_with_measured_overprints_agree_and_make_a_report(tmp_path):
    """The demo's own inks: spectra, ramps and measured mixtures, as check builds them."""
    photo = book_of(tmp_path, ("Soot", "Fjord", "Rowan", "Brass", "Fog"))
    result = check_spread(photo.book, SPREAD)
    page, values = write_report(result, tmp_path / "report")
    assert page.stat().st_size < 5e6
    assert result.sentence in values.read_text(encoding="utf-8")
    assert result.condition.level == "overprints"
    spread = open_spread(photo.book, SPREAD)
    png = predicted_png(spread, tmp_path / "p.png")
    exact = press("Soot", "Fjord", "Rowan", "Brass", "Fog")
    assert_every_pixel_agrees(spread, exact, photo.tone_pct(), png)


@pytest.mark.parametrize(
    "count", [6, *(pytest.param(count, marks=pytest.mark.long) for count in (7, 8))]
)
def test_further_inks_agree_within_their_stated_error(tmp_path, count):
    inks = tuple(NARROW)[:count]
    photo = book_of(tmp_path, inks, ink_limit_pct=300, **narrow_inks())
    spread = open_spread(photo.book, SPREAD)
    png = predicted_png(spread, tmp_path / "p.png")
    assert_every_pixel_agrees(spread, spread.condition, photo.tone_pct(), png)


def test_16_bit_plates_agree_and_keep_their_fine_steps(tmp_path):
    inks = ("Soot", "Fjord", "Brass")
    photo = book_of(tmp_path, inks, bits=16)
    smooth = {ink: ndimage.gaussian_filter(p / 65535, 2) for ink, p in photo.plates.items()}
    fine = {ink: in_steps(amount, 16) for ink, amount in smooth.items()}
    photo = write_book(tmp_path, fine)
    spread = open_spread(photo.book, SPREAD)
    assert spread.plates.depth == 16
    assert len(np.unique(photo.tone_pct()[..., 0])) > 1000
    png = predicted_png(spread, tmp_path / "p.png")
    assert_every_pixel_agrees(spread, press(*inks), photo.tone_pct(), png)


def test_8_bit_plates_beside_a_16_bit_one_mean_the_same_tones(tmp_path):
    amounts = separated(photograph("chelsea", *CATS_EYE), ("Soot", "Rowan"))
    plates = {"Soot": in_steps(amounts["Soot"], 16), "Rowan": in_steps(amounts["Rowan"], 8)}
    photo = write_book(tmp_path, plates)
    spread = open_spread(photo.book, SPREAD)
    png = predicted_png(spread, tmp_path / "p.png")
    assert_every_pixel_agrees(spread, press("Soot", "Rowan"), photo.tone_pct(), png)


# A plate of dots: growth at its edges, and total ink over a disc.


def dithered(amount: np.ndarray) -> np.ndarray:
    """Error diffusion by an independent library; True is ink."""
    return np.asarray(Image.fromarray(in_steps(amount)).convert("1"))


def grown_pct(ink: np.ndarray, growth_px: float) -> np.ndarray:
    """Coverage, in steps of 255, after growth: scipy's exact distance is the referee."""
    distance = ndimage.distance_transform_edt(~ink)
    return np.rint(255 * np.clip(1 + growth_px - distance, 0, 1))


def box(plane: np.ndarray, factor: int) -> np.ndarray:
    rows, cols = (size // factor for size in plane.shape)
    mean = plane.reshape(rows, factor, cols, factor).mean(axis=(1, 3))
    return np.floor(mean + 0.5)


def disc(dots: np.ndarray, factor: int) -> np.ndarray:
    """Mean over a disc of 1 mm, in steps of 255; beyond the plate its last dots go on."""
    radius = 0.5 * PPI / 25.4
    reach = int(radius)
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    inside = (x**2 + y**2 <= radius**2).astype(int)
    plane = box(np.pad(255.0 * dots, reach * factor, mode="edge"), factor)
    sums = ndimage.convolve(plane.astype(int), inside)[reach:-reach, reach:-reach]
    return (sums + inside.sum() // 2) // inside.sum()


def screened_book(folder, factor: int, **options) -> PhotoBook:
    """Soot as 1-bit dots `factor` times finer than Rowan's tones."""
    amounts = separated(photograph("chelsea", *CATS_EYE), ("Soot", "Rowan"))
    fine = np.kron(amounts["Soot"], np.ones((factor, factor)))
    rowan = in_steps(amounts["Rowan"])
    photo = write_book(folder, {"Soot": dithered(fine), "Rowan": rowan}, **options)
    write_plate(folder / f"plates/{SPREAD}-Soot.tif", photo.plates["Soot"], ppi=PPI * factor)
    return photo


@pytest.mark.parametrize("factor", [1, 3])
@pytest.mark.parametrize("growth_mm", [0.02, 0.2])
def test_a_1_bit_plate_grows_at_its_edges(tmp_path, factor, growth_mm):
    """Independent: distance transform, block means, and the model without a tone curve."""
    photo = screened_book(tmp_path, factor)
    text = (tmp_path / "book.toml").read_text(encoding="utf-8")
    text = text.replace("[plates]", f"edge_growth_mm = {growth_mm}\n[plates]")
    (tmp_path / "book.toml").write_text(text, encoding="utf-8")
    dots = read_plate(tmp_path / f"plates/{SPREAD}-Soot.tif")
    np.testing.assert_array_equal(dots, photo.plates["Soot"])
    soot = box(grown_pct(dots, growth_mm * PPI * factor / 25.4), factor)
    tone_pct = np.stack([soot, photo.plates["Rowan"]], axis=-1) * (100 / 255)
    spread = open_spread(photo.book, SPREAD)
    png = predicted_png(spread, tmp_path / "p.png")
    exact = press("Soot", "Rowan").with_screened(["Soot"])
    assert_every_pixel_agrees(spread, exact, tone_pct, png)


def test_dots_in_an_8_bit_file_are_dots_too(tmp_path):
    """Only 0 and 255, finely mixed: known as screened by its pixels, and printed the same."""
    photo = screened_book(tmp_path, 1)
    once = predicted_png(open_spread(photo.book, SPREAD), tmp_path / "one.png")
    path = tmp_path / f"plates/{SPREAD}-Soot.tif"
    write_plate(path, photo.plates["Soot"] * np.uint8(255))
    spread = open_spread(photo.book, SPREAD)
    assert spread.plates.screened == (True, False)
    np.testing.assert_array_equal(predicted_png(spread, tmp_path / "eight.png"), once)


def test_dots_beside_a_16_bit_plate_agree(tmp_path):
    amounts = separated(photograph("chelsea", *CATS_EYE), ("Soot", "Rowan"))
    rowan = in_steps(amounts["Rowan"], 16)
    photo = write_book(tmp_path, {"Soot": dithered(amounts["Soot"]), "Rowan": rowan})
    spread = open_spread(photo.book, SPREAD)
    growth_px = spread.limits.edge_growth_mm.value * PPI / 25.4
    soot = grown_pct(photo.plates["Soot"], growth_px) / 255
    tone_pct = 100 * np.stack([soot, rowan / 65535], axis=-1)
    png = predicted_png(spread, tmp_path / "p.png")
    exact = press("Soot", "Rowan").with_screened(["Soot"])
    assert_every_pixel_agrees(spread, exact, tone_pct, png)


@pytest.mark.parametrize("factor", [1, 3])
def test_total_ink_of_a_1_bit_plate_is_taken_over_a_disc(tmp_path, factor):
    photo = screened_book(tmp_path, factor, ink_limit_pct=110)
    dots = photo.plates["Soot"]
    total = disc(dots, factor) + photo.plates["Rowan"]
    over = total > np.floor(110 * 255 / 100)
    facts = check_spread(photo.book, SPREAD).facts["total_ink"]
    single = (box(255.0 * dots, factor) + photo.plates["Rowan"]).max()
    assert total.max() < single  # without the disc one dot would count as 100 %
    assert facts.max_pct == pytest.approx(100 * total.max() / 255, abs=1e-9)
    assert facts.over_area_pct == pytest.approx(100 * over.mean(), abs=1e-9)
    assert 0 < over.sum() < over.size


def test_night_of_a_1_bit_plate_counts_what_prints_not_the_disc(tmp_path):
    """L* comes from grown dots pixel by pixel; a rule asks for tone values over the disc."""
    night = (
        '[[night]]\nname = "fur"\nlightest_L = 40\nshare_pct = 60\n'
        'rule = [{ plate = "Soot", at_least_pct = 30 }]\n'
    )
    photo = screened_book(tmp_path, 1, more=night)
    dots = photo.plates["Soot"]
    growth_px = open_spread(photo.book, SPREAD).limits.edge_growth_mm.value * PPI / 25.4
    planes = [grown_pct(dots, growth_px), photo.plates["Rowan"]]
    tone_pct = np.stack(planes, axis=-1) * (100 / 255)
    light = press("Soot", "Rowan").with_screened(["Soot"]).lab(tone_pct)[..., 0]
    inside = disc(dots, 1) >= np.ceil(0.3 * 255)
    facts = check_spread(photo.book, SPREAD).facts["nights"][0]
    assert facts.area_mm2 == pytest.approx(inside.sum() * (25.4 / PPI) ** 2)
    assert facts.median_L == pytest.approx(np.median(light[inside]), abs=STATED_ERROR_L[2] + 0.1)
    shares = [100 * (light[inside] <= 40 + slack).mean() for slack in (-0.4, 0.4)]
    assert shares[0] - 1e-9 <= facts.reached_pct <= shares[1] + 1e-9


def test_dots_cover_as_much_as_they_grow(tmp_path):
    """Mean coverage of a plate of dots: that of the grown dots, not of the file."""
    photo = screened_book(tmp_path, 1)
    growth_px = open_spread(photo.book, SPREAD).limits.edge_growth_mm.value * PPI / 25.4
    dots = photo.plates["Soot"]
    soot = check_spread(photo.book, SPREAD).inks[0]
    assert soot.mean_tone_pct == pytest.approx(100 * dots.mean(), rel=1e-12)
    covered = 100 * grown_pct(dots, growth_px).mean() / 255
    assert soot.mean_coverage_pct == pytest.approx(covered, rel=1e-12)
    assert covered > 100 * dots.mean() + 1


def test_nothing_grows_on_a_screen(tmp_path):
    """The layers of a screen are the files' own dots; the sentence on the pair counts them."""
    photo = screened_book(tmp_path, 1)
    tone_pct = np.stack([255.0 * photo.plates["Soot"], photo.plates["Rowan"]], axis=-1)
    tone_pct *= 100 / 255
    spread = open_spread(photo.book, SPREAD)
    screen = screen_model(spread.condition)
    screen_lab = xyz100_to_lab(screen.xyz100(tone_pct))
    path = tmp_path / "screen.png"
    write_picture(spread, path, on_screen=True)
    shown = xyz100_to_lab(srgb1_to_xyz100(np.asarray(Image.open(path)) / 255.0))
    assert deltaE_ciede2000(shown, screen_lab).max() <= STATED_ERROR_DE00[2] + ROUNDING_ERROR_DE00
    _, printed_L = table_colours(spread)
    miss_L = printed_L.mean() - screen_lab[..., 0].mean()
    said = check_spread(photo.book, SPREAD).screen_difference
    assert float(said.split("L* ")[1].split()[0]) == pytest.approx(abs(miss_L), abs=0.15)


def test_named_tones_gain_as_usual_beside_plates_of_dots(tmp_path):
    """A mix is told in tone values; the ruling of its dots is not that of the file's pixels."""
    tone = '[[tones]]\nname = "mid"\nmix = { Soot = 50, Rowan = 30 }\nintended = "#884433"\n'
    photo = screened_book(tmp_path, 1, more=tone)
    (named,) = check_spread(photo.book, SPREAD).facts["tones"]
    wanted = press("Soot", "Rowan").lab(np.array([50.0, 30.0]))
    np.testing.assert_allclose(named.predicted_lab, wanted, atol=1e-9)


# The three checks once more, on whole arrays.

CUP = ("coffee", slice(60, 260), slice(150, 430))
LIMIT_PCT = 240
NIGHT_L, SHARE_PCT = 45.0, 80.0
RECT_MM = (4.0, 3.0, 25.0, 18.0)
HEX, LAB = "#7a4a30", (30.0, 12.0, 14.0)
MORE = f"""\
[total_ink]
min_area_mm2 = 1
[[night]]
name = "saucer"
rect_mm = {list(RECT_MM)}
lightest_L = {NIGHT_L}
share_pct = {SHARE_PCT}
[[tones]]
name = "coffee"
mix = {{ Soot = 40, Rowan = 60, Brass = 55 }}
intended = "{HEX}"
tolerance_de00 = 5
[[tones]]
name = "shadow"
mix = {{ Soot = 80, Fjord = 30 }}
lab = {list(LAB)}
tolerance_de00 = 5
"""
FOUR = ("Soot", "Fjord", "Rowan", "Brass")


@pytest.fixture(scope="module")
def cup(tmp_path_factory):
    return book_of(
        tmp_path_factory.mktemp("cup"), FOUR, picture=CUP, more=MORE, ink_limit_pct=LIMIT_PCT
    )


@pytest.fixture(scope="module")
def cup_result(cup):
    return check_spread(cup.book, SPREAD)


def whole(photo: PhotoBook) -> np.ndarray:
    """Ink amounts (I, rows, cols) of the files."""
    names = [photo.folder / f"plates/{SPREAD}-{ink}.tif" for ink in photo.plates]
    return np.stack([read_plate(name) for name in names])


def test_total_ink_equals_plain_sums(cup, cup_result):
    """Integers, so equal; percentages to the last bits of a division."""
    total = whole(cup).sum(axis=0, dtype=int)
    over = total * 100 > LIMIT_PCT * 255
    facts = cup_result.facts["total_ink"]
    px_mm2 = (25.4 / PPI) ** 2
    sizes = np.array([region.area for region in regionprops(label(over, connectivity=2))])
    assert facts.limit_pct == LIMIT_PCT
    assert facts.whose == "user"
    assert facts.max_pct == pytest.approx(100 * total.max() / 255, rel=1e-12)
    assert facts.over_area_pct == pytest.approx(100 * over.mean(), rel=1e-12)
    assert facts.over_area_mm2 == pytest.approx(over.sum() * px_mm2, rel=1e-12)
    assert facts.areas == (sizes * px_mm2 >= 1).sum() > 3
    assert facts.specks == (sizes * px_mm2 < 1).sum() > 3
    bars = np.histogram(total * 100 // 255, bins=np.arange(0, 410, 10))[0]
    found = np.array([share for _, share in facts.histogram])
    np.testing.assert_allclose(found, 100 * bars[: len(found)] / total.size, rtol=1e-12)


def test_areas_over_the_limit_are_those_of_another_labelling(cup, cup_result):
    """Worst area first: value, box and size by scikit-image."""
    total = whole(cup).sum(axis=0, dtype=int)
    labels = label(total * 100 > LIMIT_PCT * 255, connectivity=2)
    regions = [r for r in regionprops(labels, total) if r.area * (25.4 / PPI) ** 2 >= 1]
    regions.sort(key=lambda r: (-r.intensity_max, -r.area))
    shown = [f for f in cup_result.findings if f.check == "total ink" and f.place is not None]
    assert len(shown) == min(12, len(regions))
    for finding, region in zip(shown, regions, strict=False):
        top, left, bottom, right = region.bbox
        assert (finding.rows_px, finding.cols_px) == ((top, bottom), (left, right))
        assert finding.value == pytest.approx(100 * region.intensity_max / 255, rel=1e-12)
        assert finding.area_mm2 == pytest.approx(region.area * (25.4 / PPI) ** 2, rel=1e-12)
        assert finding.place.x_mm == pytest.approx(left * 25.4 / PPI)
        assert finding.place.y_mm == pytest.approx(top * 25.4 / PPI)


def test_night_equals_plain_counts_of_the_tables_lightness(cup, cup_result):
    px_per_mm = PPI / 25.4
    left, top = (round(mm * px_per_mm) for mm in RECT_MM[:2])
    spread = open_spread(cup.book, SPREAD)
    lookup = lookup_for(spread, spread.condition, adapt_to_paper=False)
    _, light = lookup.evaluate(np.ascontiguousarray(whole(cup)))
    right, bottom = (round((a + b) * px_per_mm) for a, b in (RECT_MM[::2], RECT_MM[1::2]))
    night = np.sort(light[top:bottom, left:right].ravel().astype(int))
    facts = cup_result.facts["nights"][0]
    assert facts.area_mm2 == pytest.approx(night.size / px_per_mm**2, rel=1e-12)
    assert facts.reached_pct == pytest.approx(100 * (night <= NIGHT_L * 256).mean(), rel=1e-12)
    assert facts.value_L == night[int(np.ceil(SHARE_PCT / 100 * night.size)) - 1] / 256
    assert facts.darkest_L == night[0] / 256
    assert facts.median_L == night[-(-night.size // 2) - 1] / 256
    assert 0 < facts.reached_pct < 100


def test_night_agrees_with_the_exact_model(cup, cup_result):
    """Not only with the table: L* of the share within the table's error of L*."""
    rows, cols = (round(RECT_MM[1] * PPI / 25.4), round(RECT_MM[0] * PPI / 25.4))
    tones = cup.tone_pct()[rows : rows + 142, cols : cols + 197]
    exact = np.quantile(press(*FOUR).lab(tones)[..., 0], SHARE_PCT / 100)
    assert cup_result.facts["nights"][0].value_L == pytest.approx(exact, abs=STATED_ERROR_L[4])


def test_tones_equal_scikit_image(cup_result):
    """The hex colour is relative to paper white: adapted to D50 after Bradford, times paper."""
    condition = press(*FOUR)
    bradford = np.array(  # Lam 1985, as in ICC.1 annex E
        [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
    )
    d65, d50 = rgb2xyz(np.ones(3)), np.array([0.96422, 1.0, 0.82521])
    cones = bradford @ rgb2xyz(np.array([int(HEX[i : i + 2], 16) / 255 for i in (1, 3, 5)]))
    relative = np.linalg.solve(bradford, cones * (bradford @ d50) / (bradford @ d65)) / d50
    mixes = ((40, 0, 60, 55), (80, 30, 0, 0))
    wanted = (xyz100_to_lab(relative * condition.paper.xyz100), np.array(LAB))
    for tone, mix, intended in zip(cup_result.facts["tones"], mixes, wanted, strict=True):
        predicted = condition.lab(np.array(mix, float))
        np.testing.assert_allclose(tone.intended_lab, intended, atol=0.05)  # sRGB's white, rounded
        np.testing.assert_allclose(tone.predicted_lab, predicted, atol=1e-9)
        assert tone.de00 == pytest.approx(float(deltaE_ciede2000(predicted, intended)), abs=0.02)
        assert tone.total_ink_pct == sum(mix)


def test_mean_coverage_and_inked_area_equal_plain_means(cup, cup_result):
    planes, condition = whole(cup), press(*FOUR)
    coverage = condition.coverage(cup.tone_pct())
    for index, ink in enumerate(cup_result.inks):
        assert ink.mean_tone_pct == pytest.approx(100 * planes[index].mean() / 255, rel=1e-12)
        assert ink.max_tone_pct == pytest.approx(100 * int(planes[index].max()) / 255, rel=1e-12)
        assert ink.inked_area_pct == pytest.approx(100 * (planes[index] > 0).mean(), rel=1e-12)
        mean = 100 * coverage[..., index].mean()
        assert ink.mean_coverage_pct == pytest.approx(mean, abs=1e-6)
